//! Writing a log.
use super::{ClosedSegment, LogError};
use crate::disk::Disk;
use crate::manifest::RunId;
use std::path::Path;
use std::sync::Arc;
use stream::LogEntry;

/// How a log is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LogOptions {
    /// Identity of the run, in the head of every segment.
    pub run_id: RunId,
    /// A segment longer than this wants to be rolled.
    pub segment_bytes: u64,
}

impl LogOptions {
    /// Segments of 64 MiB.
    pub fn new(run_id: RunId) -> LogOptions {
        LogOptions { run_id, segment_bytes: 64 << 20 }
    }
}

/// Writes a log.
pub struct LogWriter;

impl LogWriter {
    /// Starts the log of the recording in `folder` with segment 1.
    ///
    /// # Errors
    /// Where the segment cannot be made.
    pub fn create(_disk: Arc<dyn Disk>, _folder: &Path, _options: LogOptions) -> Result<LogWriter, LogError> {
        unimplemented!()
    }
    /// Puts an entry into memory; nothing goes to the disk before `flush`. Ordinals must rise.
    ///
    /// # Errors
    /// `NotRecording` after a failure, `Entry` where the entry cannot be recorded.
    pub fn append(&mut self, _entry: &LogEntry) -> Result<(), LogError> {
        unimplemented!()
    }
    /// Bytes waiting in memory.
    pub fn waiting(&self) -> usize {
        unimplemented!()
    }
    /// Bytes written to the disk so far, all segments.
    pub fn written(&self) -> u64 {
        unimplemented!()
    }
    /// Whether entries are being recorded.
    pub fn is_recording(&self) -> bool {
        unimplemented!()
    }
    /// Writes what waits as one block.
    ///
    /// # Errors
    /// `NotWritten`.
    pub fn flush(&mut self) -> Result<(), LogError> {
        unimplemented!()
    }
    /// Flushes and syncs: afterwards all entries with an ordinal below the answer are durable.
    ///
    /// # Errors
    /// `NotWritten`, `NotSynced`.
    pub fn sync(&mut self) -> Result<u64, LogError> {
        unimplemented!()
    }
    /// Whether the segment is long enough.
    pub fn needs_roll(&self) -> bool {
        unimplemented!()
    }
    /// Syncs, closes the segment and starts the next.
    ///
    /// # Errors
    /// As `sync`; or `Disk` where the next could not be started: then `resume` returns the closed one.
    pub fn roll(&mut self) -> Result<ClosedSegment, LogError> {
        unimplemented!()
    }
    /// After a failure: tries to start a new segment. Returns the one before, which wants to be converted.
    ///
    /// # Errors
    /// Where the disk still refuses; may be tried again at any time.
    pub fn resume(&mut self) -> Result<Option<ClosedSegment>, LogError> {
        unimplemented!()
    }
    /// Syncs and closes. On an error the segment is closed at its last whole block and returned all the same.
    pub fn close(self) -> (Option<ClosedSegment>, Result<(), LogError>) {
        unimplemented!()
    }
}
