//! The folder of a recording as a whole.
use crate::digests::DigestError;
use crate::disk::{Disk, DiskError};
use crate::log::{LogError, LogWriter};
use crate::manifest::{End, Manifest, ManifestError};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A recording being written; holds its lock.
pub struct Recording;

/// In which state a recording is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Ended in order.
    Complete,
    /// Salvaged after a crash.
    Salvaged,
    /// Still being written by some process.
    BeingWritten,
    /// Ended by a crash, not salvaged.
    Unfinished,
}

/// A recording that is there.
#[derive(Clone, Debug)]
pub struct Stored {
    /// Its folder.
    pub folder: PathBuf,
    /// Its manifest.
    pub manifest: Manifest,
    /// Its state.
    pub state: State,
}

/// A folder is not the recording it should be.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The manifest.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// The digests.
    #[error(transparent)]
    Digests(#[from] DigestError),
    /// A new recording needs a new folder.
    #[error("{} is not empty; a recording needs a folder of its own", .0.display())]
    NotEmpty(PathBuf),
    /// Another process writes there.
    #[error("{} is still being written by another process; wait until it has ended", .0.display())]
    BeingWritten(PathBuf),
    /// There is no recording.
    #[error("{} is not a recording: there is no manifest.toml in it", .0.display())]
    NotARecording(PathBuf),
    /// There is no folder.
    #[error("{} does not exist", .0.display())]
    Missing(PathBuf),
}

impl Recording {
    /// Makes the folder, takes its lock and writes the manifest.
    ///
    /// # Errors
    /// Where the folder is not empty or the disk refuses.
    pub fn create(_disk: Arc<dyn Disk>, _folder: &Path, _manifest: Manifest) -> Result<Recording, FolderError> {
        unimplemented!()
    }
    /// The folder.
    pub fn folder(&self) -> &Path {
        unimplemented!()
    }
    /// The manifest as it was written at the start.
    pub fn manifest(&self) -> &Manifest {
        unimplemented!()
    }
    /// Starts the log.
    ///
    /// # Errors
    /// Where its first segment cannot be made.
    pub fn log(&self, _segment_bytes: u64) -> Result<LogWriter, LogError> {
        unimplemented!()
    }
    /// Writes the manifest for the last time and gives the lock back. Log and tables must be closed before.
    ///
    /// # Errors
    /// The recording is then unfinished and can be salvaged.
    pub fn finish(self, _end: End) -> Result<(), FolderError> {
        unimplemented!()
    }
    /// Opens a recording that is there, to read it.
    ///
    /// # Errors
    /// Where there is none or its manifest cannot be read.
    pub fn open(_disk: &dyn Disk, _folder: &Path) -> Result<Stored, FolderError> {
        unimplemented!()
    }
}
