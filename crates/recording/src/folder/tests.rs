use super::*;
use crate::disk::RealDisk;
use crate::disk::fake::{Fault, FaultError, LimitedDisk};
use crate::testing::{end, folder, manifest, memory};

fn message<T>(r: Result<T, FolderError>) -> String {
    r.err().map_or_else(String::new, |e| e.to_string())
}

#[test]
fn a_recording_goes_through_its_states() {
    let (_, disk) = memory();
    let state = || Stored::open(disk.as_ref(), folder()).unwrap().state;
    let recording = Recording::create(disk.clone(), folder(), manifest()).unwrap();
    assert_eq!(state(), State::BeingWritten);
    drop(recording);
    assert_eq!(state(), State::Unfinished);
    let stored = Stored::open(disk.as_ref(), folder()).unwrap();
    let recording = Recording::take_up(disk.clone(), stored).unwrap();
    recording.finish(end()).unwrap();
    let stored = Stored::open(disk.as_ref(), folder()).unwrap();
    assert_eq!(stored.state, State::Complete);
    assert_eq!(stored.manifest.end, Some(end()));
    assert_eq!(stored.verify(disk.as_ref()).unwrap().wrong, [""; 0]);
}

/// The same with the operating system's files and locks.
#[test]
fn a_real_folder_is_locked_while_it_is_written() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("20261125-080000Z-bench");
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let state = || Stored::open(disk.as_ref(), &folder).unwrap().state;
    let recording = Recording::create(disk.clone(), &folder, manifest()).unwrap();
    assert_eq!(state(), State::BeingWritten);
    let mut log = recording.log(1 << 20).unwrap();
    log.append(&crate::testing::entry(0)).unwrap();
    log.sync().unwrap();
    assert_eq!(Stored::open(disk.as_ref(), &folder).unwrap().log(&disk).unwrap().count(), 1);
    let (closed, _) = log.close();
    crate::log::segment_to_parquet(&disk, &folder, &closed.unwrap(), &[]).unwrap();
    drop(recording);
    assert_eq!(state(), State::Unfinished);
    let again = Recording::take_up(disk.clone(), Stored::open(disk.as_ref(), &folder).unwrap()).unwrap();
    again.finish(end()).unwrap();
    assert_eq!(state(), State::Complete);
    assert_eq!(disk.list(&folder).unwrap(), ["digests", "log", "manifest.toml"]);
    assert!(disk.free_space(&folder).unwrap() > 0);
    let verified = Stored::open(disk.as_ref(), &folder).unwrap().verify(disk.as_ref()).unwrap();
    assert_eq!((verified.files, verified.wrong), (2, vec![]));
}

#[test]
fn a_recording_that_says_it_ended_is_whole_whatever_failed() {
    for at in 0..20 {
        let (_, disk) = memory();
        drop(Recording::create(disk.clone(), folder(), manifest()).unwrap());
        let limited = LimitedDisk::new(disk.clone());
        limited.set_fault(Some(Fault { at, lasting: true, error: FaultError::Io }));
        let stored = Stored::open(disk.as_ref(), folder()).unwrap();
        let finished = Recording::take_up(Arc::new(limited), stored).unwrap().finish(end());
        let stored = Stored::open(disk.as_ref(), folder()).unwrap();
        match stored.state {
            State::Complete => assert_eq!(stored.verify(disk.as_ref()).unwrap().wrong, [""; 0], "operation {at}"),
            State::Unfinished => assert!(finished.is_err(), "operation {at}"),
            s => panic!("operation {at}: {s:?}"),
        }
    }
}

#[test]
fn messages() {
    let (memory, disk) = memory();
    insta::assert_snapshot!(
        message(Stored::open(disk.as_ref(), folder())),
        @"rec is not a recording: there is no manifest.toml in it"
    );
    memory.put(&folder().join("notes.txt"), b"");
    insta::assert_snapshot!(
        message(Recording::create(disk.clone(), folder(), manifest())),
        @r#"rec is not empty: "notes.txt" is there; a recording needs a folder of its own"#
    );
    memory.put(&folder().join("lock"), b"");
    insta::assert_snapshot!(
        message(Stored::open(disk.as_ref(), folder())),
        @"rec is a recording that ended before its manifest was written: nothing was recorded; the folder can go"
    );
    let (_, disk) = crate::testing::memory();
    let _held = Recording::create(disk.clone(), folder(), manifest()).unwrap();
    let stored = Stored::open(disk.as_ref(), folder()).unwrap();
    insta::assert_snapshot!(
        message(Recording::take_up(disk.clone(), stored)),
        @"rec is being written by another process; wait until that has ended"
    );
    let full = LimitedDisk::new(crate::testing::memory().1);
    full.set_room(10);
    insta::assert_snapshot!(
        message(Recording::create(Arc::new(full), folder(), manifest())),
        @"cannot write rec/manifest.toml.tmp: No space left on device (os error 28); free some space on that disk"
    );
}
