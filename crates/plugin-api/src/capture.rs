//! Files that are replayed.

use crate::options::{ConfigError, Options};
use crate::source::Carries;
use std::path::PathBuf;
use stream::{EntryBody, SourceId};

/// A kind of capture, describing itself. One `static` each, listed in `assembly::registry`.
pub struct CapturePlugin {
    /// The word for it in a run file: `kind = "candump"`.
    pub kind: &'static str,
    /// One line for a person.
    pub summary: &'static str,
    /// What its records hold.
    pub carries: Carries,
    /// The JSON schema of its options.
    pub schema: fn() -> serde_json::Value,
    /// Opens the files, reads what stands before the data. One capture for each file, in the order of the files.
    pub open: fn(&CaptureSetup) -> Result<Captures, OpenError>,
}

/// One capture for each file of a source.
pub type Captures = Vec<Box<dyn Capture>>;

/// What a capture is made from.
#[derive(Clone, Debug)]
pub struct CaptureSetup {
    /// Its id in the stream.
    pub id: SourceId,
    /// Its name in the run file.
    pub name: String,
    /// Its own options.
    pub options: Options,
    /// The files.
    pub files: Vec<PathBuf>,
}

/// A capture could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// Its options.
    #[error(transparent)]
    Options(#[from] ConfigError),
    /// Its files.
    #[error(transparent)]
    Capture(#[from] CaptureError),
}

/// A file that was recorded before: candump text, a table, a recording. Pulled, since captures are merged by event
/// time.
pub trait Capture: Send {
    /// The next record in file order, or what else is known of the source at that place (a gap, its link); `None` at
    /// the end. Sequence numbers count from 0.
    ///
    /// # Errors
    /// A line that cannot be read. Reading may go on after it with the next line; the caller counts and reports.
    fn next_entry(&mut self) -> Result<Option<EntryBody>, CaptureError>;

    /// How far through the files it is, 0 to 1, for progress.
    fn progress(&self) -> f64;

    /// Lines that were read and not used, by reason: other interfaces, comments. Never silent, so told at the end.
    fn unused(&self) -> Vec<(String, u64)>;

    /// How it takes the file to be written, a line each: for a person who confirms it before the replay.
    fn understood(&self) -> Vec<String> {
        Vec::new()
    }
}

/// A capture that cannot be read, or a line of it.
#[derive(Debug, thiserror::Error)]
pub enum CaptureError {
    /// One line is of no use; the next may be.
    #[error("{file}:{line}:{column}: {what}")]
    Line {
        /// The file.
        file: String,
        /// The line, from 1.
        line: u64,
        /// The column (character), from 1.
        column: u64,
        /// What is wrong and what was expected.
        what: String,
    },
    /// The file cannot be read any further.
    #[error("{file}: {what}")]
    File {
        /// The file.
        file: String,
        /// What is wrong.
        what: String,
    },
}
