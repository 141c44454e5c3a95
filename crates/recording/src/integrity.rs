//! Whether a recording that has ended is still what was written, before anything is computed from it.

use crate::digests::{self, DigestError, Wrong};
use crate::disk::Disk;
use crate::folder::Stored;
use crate::{log, manifest};
use std::ops::Range;
use std::path::PathBuf;

/// A recording is not what was written.
#[derive(Debug, thiserror::Error)]
pub enum IntegrityError {
    /// The digests cannot be read, or their chain is broken.
    #[error("{0}; bring `digests` back from a copy of the recording")]
    Digests(#[from] DigestError),
    /// A file is missing, was changed, or does not belong there.
    #[error("{}: {}; {}", .folder.join(&.wrong.path).display(), .wrong.what, remedy(.wrong))]
    File {
        /// The recording.
        folder: PathBuf,
        /// Which file, and what is wrong with it.
        wrong: Wrong,
    },
    /// Entries that the log does not hold, and nothing says why.
    #[error(
        "{}: entries {} to {} are not in the log, and neither the log nor the manifest says why; \
         bring the files of `log` back from a copy of the recording",
        .folder.display(), .missing.start, .missing.end.saturating_sub(1)
    )]
    Hole {
        /// The recording.
        folder: PathBuf,
        /// Their ordinals.
        missing: Range<u64>,
    },
    /// More or fewer entries than there were at the end.
    #[error(
        "{}: the manifest counts {said} entries and the log holds {found}; \
         bring the files of `log` back from a copy of the recording",
        .folder.display()
    )]
    Entries {
        /// The recording.
        folder: PathBuf,
        /// By the manifest.
        said: u64,
        /// In the log.
        found: u64,
    },
}

fn remedy(wrong: &Wrong) -> &'static str {
    if wrong.path == manifest::FILE {
        "bring it back from a copy of the recording; to evaluate with another configuration, `replay --with RUN.toml`"
    } else if wrong.what.contains("no line") {
        "bring `digests` back from a copy of the recording, or move away what is not part of it"
    } else {
        "bring it back from a copy of the recording"
    }
}

impl Stored {
    /// Holds a recording that has ended against its digests, before it is replayed: manifest and log must be whole. The
    /// content of the log's files is left out: reading them checks it. What is wrong with the tables is the answer: the
    /// log is ground state, and a replay does without them.
    ///
    /// # Errors
    /// Where a file of the log is missing or too many, the manifest was changed, or the digests are broken.
    pub fn check(&self, disk: &dyn Disk) -> Result<Vec<IntegrityError>, IntegrityError> {
        let in_log = |path: &str| path.starts_with(&format!("{}/", log::FOLDER));
        let ended = self.manifest.end.is_some();
        let (_, wrong) = digests::wrong(disk, &self.folder, self.manifest.run_id, ended, |path| !in_log(path))?;
        let mut tables = Vec::new();
        for wrong in wrong {
            let of_table = wrong.path.contains('/') && !in_log(&wrong.path);
            let e = IntegrityError::File { folder: self.folder.clone(), wrong };
            if !of_table {
                return Err(e);
            }
            tables.push(e);
        }
        Ok(tables)
    }
}

#[cfg(test)]
mod tests;
