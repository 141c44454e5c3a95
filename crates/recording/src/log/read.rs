//! Reading a log.
use super::LogError;
use crate::disk::Disk;
use std::path::Path;
use std::sync::Arc;
use stream::LogEntry;

/// The entries of a recording in order.
pub struct LogReader;

impl LogReader {
    /// Opens the log of the recording in `folder`.
    ///
    /// # Errors
    /// No log there.
    pub fn open(_disk: &Arc<dyn Disk>, _folder: &Path) -> Result<LogReader, LogError> {
        unimplemented!()
    }

    /// How far through the log's bytes it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        unimplemented!()
    }
}

impl Iterator for LogReader {
    type Item = Result<LogEntry, LogError>;
    fn next(&mut self) -> Option<Self::Item> {
        unimplemented!()
    }
}
