use super::*;
use crate::digests::Verified;
use crate::disk::fake::{Fault, FaultError, LimitedDisk, MemoryDisk};
use crate::log::format;
use crate::manifest::{End, Ending, Manifest};
use crate::tables::{TablesOptions, TablesWriter};
use crate::testing::{RUN, capture, end, entry, folder, layout, manifest, memory, plain_batch, read_log};
use stream::LogEntry;

fn expected(n: u64) -> Vec<LogEntry> {
    (0..n).map(entry).collect()
}

/// What a crash leaves: a closed segment, one that was closed and not converted, one with a torn end; a whole
/// part of samples and one under its temporary name.
fn crashed(torn: usize) -> MemoryDisk {
    let (memory, disk) = memory();
    let recording = Recording::create(disk.clone(), folder(), manifest()).unwrap();
    let mut log = recording.log(1 << 20).unwrap();
    let mut tables = TablesWriter::create(disk.clone(), folder(), RUN, &layout(), TablesOptions::default()).unwrap();
    (0..10).for_each(|i| log.append(&entry(i)).unwrap());
    let first = log.roll().unwrap().unwrap();
    segment_to_parquet(&disk, folder(), &first, &[]).unwrap();
    (10..20).for_each(|i| log.append(&entry(i)).unwrap());
    log.roll().unwrap();
    tables.write(&plain_batch(0, 100)).unwrap();
    tables.roll().unwrap();
    tables.write(&plain_batch(100, 100)).unwrap();
    (20..30).for_each(|i| log.append(&entry(i)).unwrap());
    log.flush().unwrap();
    (30..40).for_each(|i| log.append(&entry(i)).unwrap());
    log.flush().unwrap();
    memory.put(&folder().join("samples/000002.parquet.tmp"), b"PAR1");
    let last = folder().join("log/000003.seg");
    let whole = memory.content(&last).unwrap();
    memory.put(&last, &whole[..whole.len() - torn]);
    memory.copy()
}

/// Salvages, rebuilds and ends; the checks that hold for every recording that was salvaged.
fn salvaged(memory: &MemoryDisk, entries: u64) -> (Vec<Cut>, Manifest) {
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    let s = salvage(&disk, folder()).unwrap();
    assert_eq!(s.entries, entries);
    assert_eq!(read_log(&disk).unwrap(), expected(entries));
    let mut tables = TablesWriter::create(disk.clone(), folder(), RUN, &layout(), TablesOptions::default()).unwrap();
    tables.write(&plain_batch(0, 150)).unwrap();
    tables.close().1.unwrap();
    let cuts = s.cuts.clone();
    let manifest = s.recording.finish(End { how: Ending::Salvaged, cuts: s.cuts, ..end() }).unwrap();
    let stored = Stored::open(disk.as_ref(), folder()).unwrap();
    assert_eq!(stored.state, State::Salvaged);
    let Verified { wrong, .. } = stored.verify(disk.as_ref()).unwrap();
    assert_eq!(wrong, [""; 0]);
    assert!(memory.paths().iter().all(|p| p.extension().is_none_or(|e| e != "seg" && e != "tmp")));
    (cuts, manifest)
}

#[test]
fn everything_whole_is_kept_and_the_rest_is_said() {
    let memory = crashed(3);
    let before = memory.content(&folder().join("log/000003.seg")).unwrap();
    let (cuts, manifest) = salvaged(&memory, 30);
    let [cut] = cuts.as_slice() else { panic!("{cuts:?}") };
    assert_eq!((cut.file.as_str(), cut.at + cut.bytes), ("log/000003.seg", before.len() as u64));
    assert_eq!(cut.reason, "the file ends inside a block");
    assert_eq!(memory.content(&folder().join(&cut.kept)).unwrap(), before[cut.at as usize..]);
    assert_eq!(manifest.end.unwrap().cuts, cuts);
    // The digests of the time before are vouched for by the new ones.
    assert!(memory.content(&folder().join("digests.salvaged-1")).is_some());
}

/// The same with the operating system's files: a process that ends without closing anything.
#[test]
fn a_real_folder_is_salvaged() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("run");
    let disk: Arc<dyn Disk> = Arc::new(crate::disk::RealDisk);
    let recording = Recording::create(disk.clone(), &folder, manifest()).unwrap();
    let mut log = recording.log(1 << 20).unwrap();
    (0..10).for_each(|i| log.append(&entry(i)).unwrap());
    log.sync().unwrap();
    let e = salvage(&disk, &folder).err().unwrap();
    assert!(matches!(e, SalvageError::Folder(FolderError::BeingWritten(_))), "{e}");
    drop((log, recording));
    let torn = std::fs::OpenOptions::new().append(true).open(folder.join("log/000001.seg")).unwrap();
    torn.set_len(torn.metadata().unwrap().len() + 4096).unwrap();
    let s = salvage(&disk, &folder).unwrap();
    assert_eq!((s.entries, s.cuts.len(), s.cuts[0].bytes), (10, 1, 4096));
    s.recording.finish(End { how: Ending::Salvaged, cuts: s.cuts, ..end() }).unwrap();
    let stored = Stored::open(disk.as_ref(), &folder).unwrap();
    assert_eq!(stored.verify(disk.as_ref()).unwrap().wrong, [""; 0]);
    assert_eq!(stored.log(&disk).unwrap().map(Result::unwrap).collect::<Vec<_>>(), expected(10));
}

#[test]
fn twice_is_harmless() {
    let memory = crashed(0);
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    drop(salvage(&disk, folder()).unwrap());
    let paths = memory.paths();
    drop(salvage(&disk, folder()).unwrap());
    assert_eq!(memory.paths(), paths);
    salvaged(&memory, 40);
    let copy = memory.copy();
    let e = salvage(&disk, folder()).err().unwrap();
    assert!(matches!(e, SalvageError::Whole { state: State::Salvaged, .. }), "{e}");
    assert_eq!(memory.paths(), copy.paths());
}

/// Salvage crashes at every one of its operations and is then repeated: the same result, nothing lost or twice.
#[test]
fn a_crash_of_salvage_itself_can_be_salvaged() {
    let counting = LimitedDisk::new(Arc::new(crashed(3)));
    drop(salvage(&(Arc::new(counting.clone()) as Arc<dyn Disk>), folder()).unwrap());
    assert!(counting.operations() > 40, "{}", counting.operations());
    for at in 0..counting.operations() {
        let memory = crashed(3);
        let limited = LimitedDisk::new(Arc::new(memory.clone()));
        limited.set_fault(Some(Fault { at, lasting: true, error: FaultError::Io }));
        let _ = salvage(&(Arc::new(limited) as Arc<dyn Disk>), folder());
        let (cuts, _) = salvaged(&memory, 30);
        assert_eq!(cuts.len(), 1, "operation {at}");
        assert_eq!(cuts[0].reason, "the file ends inside a block", "operation {at}");
    }
}

/// The run crashes after the last digest was noted and before the manifest was put in place.
#[test]
fn an_end_that_was_announced_and_did_not_come_is_no_hindrance() {
    let memory = crashed(0);
    digests::append(&memory, folder(), RUN, Line { sha256: "0".repeat(64), path: "manifest.toml".into() }).unwrap();
    salvaged(&memory, 40);
}

#[test]
fn broken_digests_are_set_aside() {
    let memory = crashed(0);
    let mut bytes = memory.content(&folder().join("digests")).unwrap();
    bytes[100] ^= 1;
    memory.put(&folder().join("digests"), &bytes);
    salvaged(&memory, 40);
    assert_eq!(memory.content(&folder().join("digests.salvaged-1")).unwrap(), bytes);
}

#[test]
fn what_is_missing_between_segments_is_said() {
    let memory = crashed(0);
    memory.remove(&folder().join("log/000002.seg")).unwrap();
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    let s = salvage(&disk, folder()).unwrap();
    assert_eq!((s.entries, ordinals(&disk)), (30, (0..10).chain(20..40).collect()));
}

fn ordinals(disk: &Arc<dyn Disk>) -> Vec<u64> {
    read_log(disk).unwrap().iter().map(|e| e.ordinal).collect()
}

/// What is done to `log/000001.parquet`, the only file without a segment, and what salvage says of it.
fn harmed(harm: impl FnOnce(&MemoryDisk, &Path)) -> (MemoryDisk, Vec<Cut>) {
    let memory = crashed(0);
    harm(&memory, &folder().join("log/000001.parquet"));
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    let s = salvage(&disk, folder()).unwrap();
    assert_eq!((s.entries, ordinals(&disk)), (30, (10..40).collect()));
    let cuts = s.cuts.clone();
    s.recording.finish(End { how: Ending::Salvaged, cuts: s.cuts, ..end() }).unwrap();
    let stored = Stored::open(disk.as_ref(), folder()).unwrap();
    assert_eq!(stored.verify(disk.as_ref()).unwrap().wrong, [""; 0]);
    (memory, cuts)
}

fn flip(memory: &MemoryDisk, path: &Path, at: usize) -> Vec<u8> {
    let mut bytes = memory.content(path).unwrap();
    bytes[at] ^= 1;
    memory.put(path, &bytes);
    bytes
}

#[test]
fn a_damaged_closed_file_is_set_aside_and_the_rest_is_kept() {
    let mut damaged = Vec::new();
    let (memory, cuts) = harmed(|m, path| damaged = flip(m, path, 40));
    let [cut] = cuts.as_slice() else { panic!("{cuts:?}") };
    assert_eq!((cut.file.as_str(), cut.at, cut.bytes), ("log/000001.parquet", 0, damaged.len() as u64));
    assert_eq!(cut.reason, "the file is damaged: its SHA-256 is not the one in `digests`");
    assert_eq!(cut.kept, "log/damaged-000001-1.bin");
    assert_eq!(memory.content(&folder().join(&cut.kept)).unwrap(), damaged);
}

/// Without digests that could tell, the file is read to its end.
#[test]
fn a_closed_file_that_cannot_be_read_is_set_aside_where_the_digests_are_broken() {
    let (_, cuts) = harmed(|m, path| {
        flip(m, &folder().join("digests"), 100);
        m.put(path, b"PAR1PAR1");
    });
    assert!(cuts.len() == 1 && cuts[0].reason.starts_with("the file is damaged: "), "{cuts:?}");
}

#[test]
fn a_closed_file_that_was_moved_away_is_named() {
    let (_, cuts) = harmed(|m, path| m.remove(path).unwrap());
    let [cut] = cuts.as_slice() else { panic!("{cuts:?}") };
    assert_eq!((cut.file.as_str(), cut.kept.as_str()), ("log/000001.parquet", ""));
    assert_eq!(cut.reason, "the file is missing: `digests` names it");
}

/// As for a torn segment: wherever such a salvage crashes, the next one comes to the same.
#[test]
fn a_crash_while_a_damaged_file_is_set_aside_can_be_salvaged() {
    let torn = || {
        let memory = crashed(0);
        flip(&memory, &folder().join("log/000001.parquet"), 40);
        memory
    };
    let counting = LimitedDisk::new(Arc::new(torn()));
    drop(salvage(&(Arc::new(counting.clone()) as Arc<dyn Disk>), folder()).unwrap());
    for at in 0..counting.operations() {
        let memory = torn();
        let limited = LimitedDisk::new(Arc::new(memory.clone()));
        limited.set_fault(Some(Fault { at, lasting: true, error: FaultError::Io }));
        let _ = salvage(&(Arc::new(limited) as Arc<dyn Disk>), folder());
        let disk: Arc<dyn Disk> = Arc::new(memory);
        let s = salvage(&disk, folder()).unwrap();
        let files: Vec<&str> = s.cuts.iter().map(|c| c.kept.as_str()).collect();
        assert_eq!((s.entries, files), (30, vec!["log/damaged-000001-1.bin"]), "operation {at}");
    }
}

/// A block in the middle of a segment that is not the last: what follows it is kept aside, later segments stay.
#[test]
fn a_damaged_segment_does_not_take_later_ones_along() {
    let memory = crashed(0);
    let middle = folder().join("log/000002.seg");
    let mut bytes = memory.content(&middle).unwrap();
    bytes[format::HEAD_BYTES + 30] ^= 4;
    memory.put(&middle, &bytes);
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    let s = salvage(&disk, folder()).unwrap();
    assert_eq!((s.entries, ordinals(&disk)), (30, (0..10).chain(20..40).collect()));
    assert_eq!(s.cuts[0].reason, "the checksum of the block does not match");
    assert_eq!(s.cuts[0].at, format::HEAD_BYTES as u64);
}

fn message(memory: &MemoryDisk) -> String {
    let disk: Arc<dyn Disk> = Arc::new(memory.clone());
    salvage(&disk, folder()).err().map_or_else(String::new, |e| e.to_string())
}

#[test]
fn messages() {
    let memory = crashed(0);
    let segment = folder().join("log/000003.seg");
    let head = |version: u32, number: u32| {
        let mut b = format::SegmentHead { run_id: RUN, number }.encode();
        b[8..12].copy_from_slice(&version.to_le_bytes());
        let crc = crc32fast::hash(&b[..32]);
        b[32..].copy_from_slice(&crc.to_le_bytes());
        b.to_vec()
    };
    memory.put(&segment, &head(2, 3));
    insta::assert_snapshot!(
        message(&memory),
        @"rec/log/000003.seg: at byte 0: log version 2 is newer than this program reads (1); use a newer program"
    );
    memory.put(&segment, &head(1, 4));
    insta::assert_snapshot!(
        message(&memory),
        @"rec/log/000003.seg: at byte 0: segment 4 of run 00112233445566778899aabbccddeeff does not belong here"
    );
    let mut newer = head(1, 3);
    let payload = [99, 0, 0];
    newer.extend(format::BlockHead::of(crc32fast::hash(&newer[..32]), 1, 20, &payload).encode());
    newer.extend(payload);
    memory.put(&segment, &newer);
    insta::assert_snapshot!(
        message(&memory),
        @"rec/log/000003.seg: at byte 36: entry kind 99 is not known to this program; a newer one wrote it"
    );

    let (memory, disk) = crate::testing::memory();
    insta::assert_snapshot!(message(&memory), @"rec is not a recording: there is no manifest.toml in it");
    let held = Recording::create(disk.clone(), folder(), Manifest { captures: vec![capture()], ..manifest() });
    insta::assert_snapshot!(message(&memory), @"rec is being written by another process; wait until that has ended");
    drop(held);
    insta::assert_snapshot!(
        message(&memory),
        @"rec was made from a.log and has no log of its own; replay that again instead"
    );
    let recording = Recording::take_up(disk.clone(), Stored::open(disk.as_ref(), folder()).unwrap()).unwrap();
    recording.finish(end()).unwrap();
    insta::assert_snapshot!(message(&memory), @"rec is whole: it has ended in order; there is nothing to salvage");
}
