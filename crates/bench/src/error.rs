//! Why a case could not be measured.

use std::path::{Path, PathBuf};

/// A case failed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Error {
    /// The file system.
    #[error("{doing} {}: {source}", .path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// With what.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The program's own parts.
    #[error(transparent)]
    Assembly(#[from] assembly::Error),
    /// Anything else.
    #[error("{0}")]
    Failed(String),
}

impl Error {
    /// For `map_err` of a file operation.
    pub(crate) fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> Error {
        let path = path.to_owned();
        move |source| Error::Io { doing, path, source }
    }
}

impl From<assembly::problem::Problems> for Error {
    fn from(e: assembly::problem::Problems) -> Error {
        Error::Assembly(e.into())
    }
}

impl From<recording::TableError> for Error {
    fn from(e: recording::TableError) -> Error {
        Error::Assembly(e.into())
    }
}
