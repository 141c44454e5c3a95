//! The disk fills up while a run goes on: loud, counted, and made good as far as it can be.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::load::Assembled;
use assembly::record::{RecordOptions, Recorded, SEGMENT_BYTES, Session};
use kit::{Step, assembled, check_recording, quick, wait_for};
use plugin_api::Clock;
use recording::disk::fake::{Fault, FaultError, LimitedDisk};
use recording::disk::{DiskFile, DiskLock, DiskRead};
use recording::{Disk, RealDisk, State, Stored};
use runtime::BootClock;
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use stream::{EntryBody, EventKind, EventTime, Gap, GapCause, LogEntry, OperatorAction, OperatorContent};

fn limited() -> LimitedDisk {
    LimitedDisk::new(Arc::new(RealDisk))
}

fn start(a: Assembled, disk: &LimitedDisk, segment_bytes: u64) -> Session {
    start_on(a, Arc::new(disk.clone()), segment_bytes)
}

fn start_on(a: Assembled, disk: Arc<dyn Disk>, segment_bytes: u64) -> Session {
    let clock: Arc<dyn Clock> = Arc::new(BootClock::start(1.0));
    Session::start(a, RecordOptions { clock, disk, simulated: true, segment_bytes, timing: quick() }).unwrap()
}

fn streaming(folder: &Path, name: &str) -> Assembled {
    assembled(folder, &[(name, vec![vec![Step::Up, Step::Stream(2000)]])])
}

fn writing(s: &Session) -> bool {
    s.counters().recording.writing.load(Ordering::Relaxed) == 1
}

fn trouble(s: &Session) -> String {
    s.counters().recording.trouble.lock().unwrap().clone()
}

fn synced(s: &Session) -> u64 {
    s.counters().recording.synced.load(Ordering::Relaxed)
}

fn snapshots(s: &Session) -> u64 {
    s.counters().snapshots.load(Ordering::Relaxed)
}

fn wait_for_entries(s: &Session) {
    let so_far = synced(s);
    wait_for("entries to become durable", || synced(s) > so_far + 200);
}

fn wait_for_snapshots(s: &Session) {
    let so_far = snapshots(s);
    wait_for("evaluation to go on", || snapshots(s) > so_far + 3);
}

fn gaps(entries: &[LogEntry]) -> Vec<(u64, Gap)> {
    let gap = |e: &LogEntry| match &e.body {
        EntryBody::Gap(g) if g.cause == GapCause::NotRecorded => Some((e.ordinal, g.clone())),
        _ => None,
    };
    entries.iter().filter_map(gap).collect()
}

/// Every ordinal that is not in the log must be told by a gap entry right after the hole, to the number and not
/// later than the hole began; what is missing at the end stands in the manifest. The holes' lengths.
fn check_holes(entries: &[LogEntry], folder: &Path, next: u64) -> Vec<u64> {
    let mut holes = Vec::new();
    let mut told = Vec::new();
    assert_eq!(entries[0].ordinal, 0);
    for w in entries.windows(2) {
        let hole = w[1].ordinal - w[0].ordinal - 1;
        let EntryBody::Gap(Gap { cause: GapCause::NotRecorded, lost, from, to, source: None }) = &w[1].body else {
            assert_eq!(hole, 0, "a hole before entry {} that nothing tells of", w[1].ordinal);
            continue;
        };
        // What was written and could not be synced counts as lost, though it may be there.
        assert!(*lost >= hole, "entry {}: {lost} told, {hole} missing", w[1].ordinal);
        assert!(*from <= w[0].logged_at && *to == w[1].logged_at, "{from} to {to}, after {}", w[0].logged_at);
        holes.push(hole);
        told.push(*lost);
    }
    let end = Stored::open(&RealDisk, folder).unwrap().manifest.end.unwrap();
    let tail = next - entries.last().unwrap().ordinal - 1;
    if tail > 0 {
        holes.push(tail);
        assert!(end.not_recorded.last().unwrap().lost >= tail, "{:?}, {tail} missing", end.not_recorded);
        told.push(end.not_recorded.last().unwrap().lost);
    }
    assert_eq!(end.not_recorded.iter().map(|n| n.lost).collect::<Vec<_>>(), told);
    holes
}

fn told(r: &Recorded, what: &str) {
    assert!(r.troubles.iter().any(|t| t.contains(what)), "{what}: {:?}", r.troubles);
}

#[test]
fn space_comes_back_and_recording_goes_on() {
    let dir = tempfile::tempdir().unwrap();
    let disk = limited();
    let s = start(streaming(dir.path(), "full"), &disk, SEGMENT_BYTES);
    wait_for_entries(&s);
    let whole_until = synced(&s);
    disk.set_room(1000);
    wait_for("the disk to be full", || !writing(&s));
    assert!(trouble(&s).contains("NOT RECORDED") && trouble(&s).contains("free some space"), "{}", trouble(&s));
    wait_for_snapshots(&s);
    let lost = s.counters().recording.lost.load(Ordering::Relaxed);
    assert!(lost > 0);
    disk.set_room(u64::MAX);
    wait_for("recording again", || writing(&s));
    assert_eq!(trouble(&s), "");
    wait_for_entries(&s);
    let recorded = s.stop();
    assert!(recorded.not_recorded >= lost);
    told(&recorded, "NOT RECORDED");
    told(&recorded, "made again from the log");
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    assert_eq!(recorded.entries, entries.len() as u64);
    assert_eq!(recorded.entries + recorded.not_recorded, recorded.counts.entries, "every entry is one or the other");
    assert_eq!(entries.iter().take_while(|e| e.ordinal < whole_until).count() as u64, whole_until);
    let holes = check_holes(&entries, &recorded.folder, recorded.counts.entries);
    assert_eq!(holes, [recorded.not_recorded]);
    let (ordinal, gap) = gaps(&entries).remove(0);
    let before = entries.iter().rfind(|e| e.ordinal < ordinal).unwrap();
    assert_eq!(gap.from, before.logged_at, "from the last entry that was written");
    assert_eq!(entries.last().map(|e| &e.body), Some(&EntryBody::End));
    let stored = Stored::open(&RealDisk, &recorded.folder).unwrap();
    assert_eq!(stored.state, State::Complete);
    let events: Vec<_> = stored.tables(&kit::real_disk()).events().unwrap().map(Result::unwrap).collect();
    assert!(events.iter().any(|e| e.kind == EventKind::Gap && e.text.contains("not")), "a person is told");
}

#[test]
fn space_never_comes_back() {
    let dir = tempfile::tempdir().unwrap();
    let disk = limited();
    let s = start(streaming(dir.path(), "stays_full"), &disk, SEGMENT_BYTES);
    wait_for_entries(&s);
    let whole_until = synced(&s);
    disk.set_room(0);
    wait_for("the disk to be full", || !writing(&s));
    wait_for_snapshots(&s);
    let recorded = s.stop();
    assert!(recorded.not_recorded > 0);
    told(&recorded, "NOT RECORDED");
    told(&recorded, "the recording is not finished");
    told(&recorded, "bise salvage");
    assert_eq!(Stored::open(&RealDisk, &recorded.folder).unwrap().state, State::Unfinished);
    // Salvage on the full disk fails, says so, and harms nothing.
    let full: Arc<dyn Disk> = Arc::new(disk);
    let refused = assembly::salvage::salvage(&full, &recorded.folder, &mut |_| {}).unwrap_err();
    assert!(refused.to_string().contains("free some space"), "{refused}");
    let salvaged = assembly::salvage::salvage(&kit::real_disk(), &recorded.folder, &mut |_| {}).unwrap();
    let entries = check_recording(&recorded.folder);
    assert_eq!(salvaged.entries, entries.len() as u64);
    assert!(entries.iter().enumerate().all(|(i, e)| e.ordinal == i as u64), "no hole");
    assert!(salvaged.entries >= whole_until);
    assert_eq!(Stored::open(&RealDisk, &recorded.folder).unwrap().state, State::Salvaged);
}

#[test]
fn a_disk_that_is_full_until_the_run_stops_leaves_a_tail_that_the_manifest_tells() {
    let dir = tempfile::tempdir().unwrap();
    let disk = limited();
    let s = start(streaming(dir.path(), "full_tail"), &disk, SEGMENT_BYTES);
    wait_for_entries(&s);
    disk.set_room(100);
    wait_for("the disk to be full", || !writing(&s));
    wait_for_snapshots(&s);
    // Room for what is made at the end, not enough to record again.
    disk.set_room(7 << 20);
    let recorded = s.stop();
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    assert_eq!(recorded.entries + recorded.not_recorded, recorded.counts.entries);
    assert_eq!(check_holes(&entries, &recorded.folder, recorded.counts.entries), [recorded.not_recorded]);
}

/// A disk that refuses single files by their names, for as long as it is told to, and counts how often.
#[derive(Clone, Default)]
struct Picky {
    /// Not to be made.
    make: Arc<Mutex<Vec<&'static str>>>,
    /// Not to be written to after the first write, which is a segment's head.
    write: Arc<Mutex<Vec<&'static str>>>,
    refused: Arc<AtomicU64>,
}

impl Picky {
    fn allows(&self, list: &Mutex<Vec<&'static str>>, path: &Path) -> io::Result<()> {
        if list.lock().unwrap().iter().all(|name| !path.ends_with(name)) {
            return Ok(());
        }
        self.refused.fetch_add(1, Ordering::Relaxed);
        Err(io::ErrorKind::StorageFull.into())
    }
}

struct PickyFile {
    disk: Picky,
    path: PathBuf,
    file: Box<dyn DiskFile>,
    begun: bool,
}

impl Write for PickyFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.begun {
            self.disk.allows(&self.disk.write, &self.path)?;
        }
        self.begun = true;
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl DiskFile for PickyFile {
    fn sync(&mut self) -> io::Result<()> {
        self.file.sync()
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.file.truncate(bytes)
    }
}

impl Disk for Picky {
    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        self.allows(&self.make, path)?;
        let file = RealDisk.create(path)?;
        Ok(Box::new(PickyFile { disk: self.clone(), path: path.to_owned(), file, begun: false }))
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        RealDisk.make_folder(folder)
    }

    fn append(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        RealDisk.append(path)
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskRead>> {
        RealDisk.open(path)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        RealDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        RealDisk.remove(path)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        RealDisk.sync_folder(folder)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        RealDisk.list(folder)
    }

    fn size(&self, path: &Path) -> io::Result<Option<u64>> {
        RealDisk.size(path)
    }

    fn free_space(&self, folder: &Path) -> io::Result<u64> {
        RealDisk.free_space(folder)
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn DiskLock>>> {
        RealDisk.lock(path)
    }
}

#[test]
fn a_gap_entry_that_is_lost_itself_is_told_again() {
    let dir = tempfile::tempdir().unwrap();
    let disk = Picky::default();
    let s = start_on(streaming(dir.path(), "gap_lost"), Arc::new(disk.clone()), SEGMENT_BYTES);
    wait_for_entries(&s);
    // Each next segment can be begun, and takes nothing: not even the entry that tells of the loss before.
    disk.write.lock().unwrap().extend(["000001.seg", "000002.seg", "000003.seg"]);
    wait_for("three failures", || disk.refused.load(Ordering::Relaxed) >= 3);
    wait_for("recording again", || writing(&s));
    wait_for_entries(&s);
    let recorded = s.stop();
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    assert_eq!(recorded.entries + recorded.not_recorded, recorded.counts.entries);
    assert_eq!(check_holes(&entries, &recorded.folder, recorded.counts.entries), [recorded.not_recorded]);
    assert_eq!(gaps(&entries).iter().map(|(_, g)| g.lost).collect::<Vec<_>>(), [recorded.not_recorded]);
}

#[test]
fn a_closed_segment_that_could_not_be_converted_is_converted_at_the_end() {
    let dir = tempfile::tempdir().unwrap();
    let disk = Picky::default();
    disk.make.lock().unwrap().push("log/000001.parquet.tmp");
    let s = start_on(streaming(dir.path(), "unconverted"), Arc::new(disk.clone()), 20_000);
    wait_for("the first segment to be refused", || disk.refused.load(Ordering::Relaxed) > 0);
    disk.make.lock().unwrap().clear();
    wait_for_entries(&s);
    let recorded = s.stop();
    assert_eq!(recorded.not_recorded, 0, "no entry is lost by that");
    told(&recorded, "log segment to Parquet");
    let entries = check_recording(&recorded.folder);
    assert_eq!(entries.len() as u64, recorded.counts.entries);
    let left = RealDisk.list(&recorded.folder.join("log")).unwrap();
    assert!(left.iter().all(|n| n.ends_with(".parquet")) && left[0] == "000001.parquet", "{left:?}");
}

#[test]
fn tables_that_could_not_be_written_are_made_again_from_the_log() {
    let dir = tempfile::tempdir().unwrap();
    let s = start_on(streaming(dir.path(), "tables_fail"), kit::real_disk(), SEGMENT_BYTES);
    // The folder is gone: the first part of this table cannot be begun.
    std::fs::remove_dir(s.folder().join("events")).unwrap();
    wait_for_entries(&s);
    let recorded = s.stop();
    assert_eq!(recorded.not_recorded, 0);
    told(&recorded, "sink parquet");
    told(&recorded, "made again from the log");
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    assert_eq!(entries.len() as u64, recorded.counts.entries);
}

#[test]
fn an_entry_that_no_log_can_hold_costs_little_more_than_itself() {
    let dir = tempfile::tempdir().unwrap();
    let s = start_on(streaming(dir.path(), "too_long"), kit::real_disk(), SEGMENT_BYTES);
    wait_for_entries(&s);
    let content = OperatorContent::Note("x".repeat(17 << 20));
    let author = "A. Tester".to_owned();
    assert!(s.operator(OperatorAction { author, pressed_at: EventTime(0), content }));
    wait_for("the note to be refused", || s.counters().recording.lost.load(Ordering::Relaxed) > 0);
    wait_for("recording again", || writing(&s));
    wait_for_entries(&s);
    let recorded = s.stop();
    told(&recorded, "more than an entry can hold");
    let entries = check_recording(&recorded.folder);
    assert_eq!(check_holes(&entries, &recorded.folder, recorded.counts.entries), [recorded.not_recorded]);
}

/// Faults at any operation, once or for a while, several in a row, with segments so small that they are closed and
/// converted all the time: what is missing is told to the number, and a replay comes to the same.
#[test]
fn a_fault_anywhere_is_told_and_survived() {
    let dir = tempfile::tempdir().unwrap();
    std::thread::scope(|scope| {
        for round in 0..12u64 {
            let parent = dir.path().join(round.to_string());
            scope.spawn(move || fault_round(round, &parent));
        }
    });
}

fn fault_round(round: u64, parent: &Path) {
    let disk = limited();
    let name = format!("fault_{round}");
    let s = start(streaming(parent, &name), &disk, 20_000);
    let mut random = round.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut next = |below: u64| {
        // Xorshift: any seeded choice will do.
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        random % below
    };
    wait_for_entries(&s);
    let mut refused = 0;
    for _ in 0..4 {
        let error = if next(2) == 0 { FaultError::Io } else { FaultError::Full };
        let (at, lasting) = (disk.operations() + next(12), next(3) == 0);
        disk.set_fault(Some(Fault { at, lasting, error }));
        wait_for("the fault", || disk.operations() > at);
        if lasting {
            wait_for("the disk to refuse", || !writing(&s));
            wait_for_snapshots(&s);
            disk.set_fault(None);
        }
        refused += u64::from(!trouble(&s).is_empty());
        wait_for("recording again", || writing(&s));
        wait_for_entries(&s);
    }
    let recorded = s.stop();
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    let holes: u64 = check_holes(&entries, &recorded.folder, recorded.counts.entries).iter().sum();
    assert!(holes <= recorded.not_recorded, "{holes} missing, {} told", recorded.not_recorded);
    assert_eq!(entries.len() as u64 + holes, recorded.counts.entries);
    assert!(refused == 0 || !gaps(&entries).is_empty() || recorded.not_recorded == 0);
    let once: BTreeSet<u64> = entries.iter().map(|e| e.ordinal).collect();
    assert_eq!(once.len(), entries.len());
}
