//! Recordings that were changed, or of which something is lost: a replay refuses them, a salvage keeps what is whole.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::Error;
use assembly::record::{RecordOptions, Session};
use assembly::replay::{ReplayOptions, Replayed, recording};
use assembly::salvage::{Salvage, salvage};
use kit::{Step, assembled, check_recording, quick, wait_for};
use recording::{IntegrityError, Manifest, RealDisk, Stored};
use runtime::BootClock;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use stream::{EventKind, GapCause};
use tempfile::TempDir;

/// A recording whose log is several files, ended in order. The name must be another in every test.
fn recorded(name: &str) -> (TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let script = vec![vec![Step::Up, Step::Stream(4000)]];
    let a = assembled(dir.path(), &[(name, script)]);
    let options = RecordOptions {
        clock: Arc::new(BootClock::start(1.0)),
        disk: kit::real_disk(),
        simulated: true,
        segment_bytes: 8 << 10,
        timing: quick(),
    };
    let session = Session::start(a, options).unwrap();
    let third = session.folder().join("log/000004.parquet");
    wait_for("four files of the log", || third.exists());
    wait_for("results", || session.counters().sources[0].records.load(Ordering::Relaxed) > 100);
    let folder = session.stop().folder;
    (dir, folder)
}

fn replay(folder: &Path, compare: bool) -> Result<Replayed, Error> {
    let options = ReplayOptions { disk: kit::real_disk(), with: None, out: None, compare, progress: &mut |_| {} };
    recording(folder, options)
}

fn refused(folder: &Path) -> IntegrityError {
    match replay(folder, false) {
        Err(Error::Integrity(e)) => e,
        Err(e) => panic!("refused for another reason: {e}"),
        Ok(_) => panic!("replayed"),
    }
}

fn flip(file: &Path) {
    let mut bytes = fs::read(file).unwrap();
    let at = bytes.len() / 3;
    bytes[at] ^= 1;
    fs::write(file, bytes).unwrap();
}

/// As if the run had never come to its end: no end in the manifest, no tables.
fn unended(folder: &Path) {
    let stored = Stored::open(&RealDisk, folder).unwrap();
    let text = Manifest { end: None, ..stored.manifest }.to_text().unwrap();
    fs::write(folder.join("manifest.toml"), text).unwrap();
    ["samples", "snapshots", "events"].iter().for_each(|t| fs::remove_dir_all(folder.join(t)).unwrap());
}

fn salvaged(folder: &Path) -> Salvage {
    salvage(&kit::real_disk(), folder, &mut |_| {}).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn a_replay_refuses_a_log_or_a_manifest_that_is_not_what_was_written() {
    let (_dir, folder) = recorded("refuses");
    check_recording(&folder);
    let first = folder.join("log/000001.parquet");
    let whole = fs::read(&first).unwrap();
    fs::remove_file(&first).unwrap();
    assert!(matches!(refused(&folder), IntegrityError::File { wrong, .. } if wrong.path == "log/000001.parquet"));
    fs::write(&first, &whole).unwrap();
    flip(&first);
    let e = replay(&folder, false).err().unwrap();
    assert!(matches!(&e, Error::Log(_)) && e.to_string().contains("000001.parquet: was changed"), "{e}");
    fs::write(&first, &whole).unwrap();
    let manifest = folder.join("manifest.toml");
    let text = fs::read_to_string(&manifest).unwrap();
    let other = text.replace("200 degC", "210 degC");
    assert_ne!(other, text);
    fs::write(&manifest, other).unwrap();
    let e = refused(&folder).to_string();
    assert!(e.contains("manifest.toml: the file was changed") && e.contains("--with RUN.toml"), "{e}");
    fs::write(&manifest, text).unwrap();
    let digests = folder.join("digests");
    let chain = fs::read(&digests).unwrap();
    flip(&digests);
    assert!(matches!(refused(&folder), IntegrityError::Digests(_)));
    fs::write(&digests, chain).unwrap();
    check_recording(&folder);
}

/// Digests made anew over fewer files are in order in themselves: ordinals and counts tell.
#[test]
fn digests_made_to_fit_do_not_hide_a_file_that_is_gone() {
    let (_dir, folder) = recorded("hides");
    let run_id = Stored::open(&RealDisk, &folder).unwrap().manifest.run_id;
    let lines = recording::digests::Digests::read(&RealDisk, &folder, run_id).unwrap().lines;
    let newest = lines.iter().filter(|l| l.path.starts_with("log/")).map(|l| l.path.clone()).max().unwrap();
    let without = |gone: &str| {
        fs::remove_file(folder.join("digests")).unwrap();
        let kept = lines.iter().filter(|l| l.path != gone);
        kept.for_each(|l| recording::digests::append(&RealDisk, &folder, run_id, l.clone()).unwrap());
    };
    for (gone, in_the_middle) in [("log/000002.parquet".to_owned(), true), (newest, false)] {
        let bytes = fs::read(folder.join(&gone)).unwrap();
        fs::remove_file(folder.join(&gone)).unwrap();
        without(&gone);
        match refused(&folder) {
            IntegrityError::Hole { missing, .. } => assert!(in_the_middle && missing.start > 0, "{missing:?}"),
            IntegrityError::Entries { said, found, .. } => assert!(!in_the_middle && found < said, "{found} {said}"),
            e => panic!("{gone}: {e}"),
        }
        fs::write(folder.join(&gone), bytes).unwrap();
    }
    without("");
    check_recording(&folder);
}

#[test]
fn a_table_that_was_changed_stops_a_comparison_and_is_told_by_a_replay() {
    let (_dir, folder) = recorded("table");
    flip(&folder.join("samples/000001.parquet"));
    let replayed = replay(&folder, false).unwrap_or_else(|e| panic!("{e}"));
    let [note] = replayed.notes.as_slice() else { panic!("{:?}", replayed.notes) };
    assert!(note.contains("samples/000001.parquet: the file was changed") && note.contains("nothing is read from it"));
    let e = replay(&folder, true).err().unwrap();
    assert!(matches!(&e, Error::Integrity(IntegrityError::File { .. })), "{e}");
}

#[test]
fn a_salvage_goes_around_a_damaged_file_and_a_replay_comes_to_the_same() {
    let (_dir, folder) = recorded("around");
    let before = check_recording(&folder);
    unended(&folder);
    let damaged = folder.join("log/000002.parquet");
    flip(&damaged);
    let bytes = fs::read(&damaged).unwrap();
    let s = salvaged(&folder);
    assert_eq!((s.cuts.len(), s.missing.len()), (1, 1), "{:?} {:?}", s.cuts, s.missing);
    let hole = s.missing[0].clone();
    assert!(hole.start > 0 && s.entries + (hole.end - hole.start) == before.len() as u64);
    assert_eq!((s.not_recorded.len(), s.not_recorded[0].lost), (1, hole.end - hole.start));
    assert_eq!(fs::read(folder.join(&s.cuts[0].kept)).unwrap(), bytes);
    let end = Stored::open(&RealDisk, &folder).unwrap().manifest.end.unwrap();
    assert_eq!((end.missing, end.cuts, end.tables_complete), (s.missing, s.cuts, true));
    // Compares salvage's rebuild with a replay to the bit.
    let after = check_recording(&folder);
    assert!(after.iter().eq(before.iter().filter(|e| !hole.contains(&e.ordinal))));
    let tables = Stored::open(&RealDisk, &folder).unwrap().tables(&kit::real_disk());
    let gaps: Vec<_> =
        tables.events().unwrap().map(Result::unwrap).filter(|e| e.kind == EventKind::Gap).map(|e| e.ordinal).collect();
    assert_eq!(gaps, [hole.start], "an event says where the {} stretch is", GapCause::NotRecorded.word());
    let replayed = replay(&folder, false).unwrap_or_else(|e| panic!("{e}"));
    assert!(replayed.notes.iter().any(|n| n.contains("are missing, as the manifest says")), "{:?}", replayed.notes);
}

/// The first files and the last, which leave no hole between entries, and one that somebody moved away.
#[test]
fn a_salvage_names_what_is_lost_at_either_end() {
    let (_dir, folder) = recorded("ends");
    let before = check_recording(&folder);
    unended(&folder);
    let mut names: Vec<_> = fs::read_dir(folder.join("log")).unwrap().map(|e| e.unwrap().path()).collect();
    names.sort();
    fs::remove_file(&names[0]).unwrap();
    flip(names.last().unwrap());
    let s = salvaged(&folder);
    assert_eq!((s.cuts.len(), s.missing.len(), s.missing[0].start), (2, 1, 0), "{:?} {:?}", s.cuts, s.missing);
    let (damaged, gone) = (&s.cuts[0], &s.cuts[1]);
    assert!(damaged.reason.contains("SHA-256") && damaged.bytes > 0, "{damaged:?}");
    assert_eq!((gone.file.as_str(), gone.kept.as_str()), ("log/000001.parquet", ""));
    let after = check_recording(&folder);
    assert!(s.missing[0].end == after[0].ordinal && after.last().unwrap().ordinal < before.last().unwrap().ordinal);
}
