//! What can go wrong when a run, a replay or a salvage is put to work.

use crate::problem::Problems;
use plugin_api::{CaptureError, ConfigError, OpenError};
use recording::{FolderError, IntegrityError, LogError, ManifestError, SalvageError, TableError, WholeLogError};
use runtime::RunError;
use std::path::PathBuf;

/// Any failure of this crate.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The configuration.
    #[error(transparent)]
    Config(#[from] Problems),
    /// A plugin's options.
    #[error(transparent)]
    Options(#[from] ConfigError),
    /// The run.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The recording's folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The log.
    #[error(transparent)]
    Log(#[from] LogError),
    /// The tables.
    #[error(transparent)]
    Tables(#[from] TableError),
    /// The manifest.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// Salvage.
    #[error(transparent)]
    Salvage(#[from] SalvageError),
    /// A recording is not what was written.
    #[error(transparent)]
    Integrity(#[from] IntegrityError),
    /// A capture.
    #[error(transparent)]
    Capture(#[from] CaptureError),
    /// The system.
    #[error("{what}: {source}")]
    Io {
        /// What was tried.
        what: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// Something asked for that cannot be.
    #[error("{0}")]
    Refused(String),
    /// What a replay names and is not there.
    #[error("{}: no such file or folder", .0.display())]
    NotThere(PathBuf),
    /// What a replay names and cannot be replayed.
    #[error("{} is neither a recording nor a capture: {why}", .path.display())]
    Neither {
        /// What was named.
        path: PathBuf,
        /// Why.
        why: String,
    },
}

impl From<OpenError> for Error {
    fn from(e: OpenError) -> Error {
        match e {
            OpenError::Options(e) => Error::Options(e),
            OpenError::Capture(e) => Error::Capture(e),
        }
    }
}

impl From<WholeLogError> for Error {
    fn from(e: WholeLogError) -> Error {
        match e {
            WholeLogError::Log(e) => Error::Log(e),
            WholeLogError::Integrity(e) => Error::Integrity(e),
        }
    }
}

impl Error {
    /// For `map_err`: what was tried.
    pub(crate) fn io(what: impl Into<String>) -> impl FnOnce(std::io::Error) -> Error {
        let what = what.into();
        move |source| Error::Io { what, source }
    }
}
