//! Every golden recording is whole and replays to the bit.
#![allow(clippy::unwrap_used)]

use assembly::replay::{ReplayOptions, recording};
use recording::{Disk, RealDisk, Stored};
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn golden() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../recordings");
    let entries = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    let mut all: Vec<PathBuf> =
        entries.filter(|p| p.file_name().unwrap().to_string_lossy().starts_with("golden-")).collect();
    all.sort();
    all
}

#[test]
fn golden_recordings_are_whole_and_replay_to_the_bit() {
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let all = golden();
    assert!(!all.is_empty());
    for folder in all {
        let verified = Stored::open(disk.as_ref(), &folder).unwrap().verify(disk.as_ref()).unwrap();
        assert!(verified.wrong.is_empty() && verified.files >= 5, "{}: {verified:?}", folder.display());
        let options =
            ReplayOptions { disk: Arc::clone(&disk), with: None, out: None, compare: true, progress: &mut |_| {} };
        let compared = recording(&folder, options).unwrap().compared.unwrap();
        assert_eq!((compared.different, compared.told.as_slice()), (0, &[][..]), "{}", folder.display());
        assert!(compared.snapshots > 100 && compared.samples > 1000 && compared.events > 10, "{compared:?}");
    }
}
