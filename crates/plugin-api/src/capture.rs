//! Files that are replayed.

use stream::RawRecord;

/// A capture made by something else: candump text, a table. Pulled, since captures are merged by event time.
pub trait Capture: Send {
    /// The next record in file order, or `None` at the end. Sequence numbers count from 0.
    ///
    /// # Errors
    /// A line that cannot be read. Reading may go on after it with the next line; the caller counts and reports.
    fn next_record(&mut self) -> Result<Option<RawRecord>, CaptureError>;

    /// How far through the file it is, 0 to 1, for progress.
    fn progress(&self) -> f64;
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
