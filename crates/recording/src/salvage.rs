//! From what a crash left to a log that is whole.
use crate::digests::DigestError;
use crate::disk::{Disk, DiskError};
use crate::folder::{FolderError, Recording};
use crate::log::LogError;
use crate::manifest::{Cut, Ending, ManifestError};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A recording whose log is whole again and whose tables are gone: replay the log with the configuration in
/// the manifest, write the tables with `TablesWriter`, then `recording.finish(End { how: Salvaged, cuts, .. })`.
pub struct Salvaged {
    /// The recording, locked.
    pub recording: Recording,
    /// Entries in the log.
    pub entries: u64,
    /// What was cut off.
    pub cuts: Vec<Cut>,
    /// Ordinals that are not in the log, with entries before and after them.
    pub missing: Vec<Range<u64>>,
}

/// A recording cannot be salvaged.
#[derive(Debug, thiserror::Error)]
pub enum SalvageError {
    /// The folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The log.
    #[error(transparent)]
    Log(#[from] LogError),
    /// The manifest.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// The digests.
    #[error(transparent)]
    Digests(#[from] DigestError),
    /// Nothing to do.
    #[error("{} is whole already ({how:?}); nothing to salvage", .folder.display())]
    Whole {
        /// The recording.
        folder: PathBuf,
        /// How it ended.
        how: Ending,
    },
}

/// Makes the log of an unfinished recording whole: cuts what is torn (keeping it in `log/cut-*.bin`), closes
/// every segment to Parquet and removes all tables, which are to be rebuilt from the log.
///
/// # Errors
/// Where the recording is whole already, still being written, or the disk refuses. It may be repeated.
pub fn salvage(_disk: Arc<dyn Disk>, _folder: &Path) -> Result<Salvaged, SalvageError> {
    unimplemented!()
}
