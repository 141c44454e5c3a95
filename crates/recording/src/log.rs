//! The log of a recording.
pub mod convert;
pub mod format;
pub mod read;
pub mod writer;

pub use convert::segment_to_parquet;
pub use read::LogReader;
pub use writer::{LogOptions, LogWriter};

use crate::digests::DigestError;
use crate::disk::DiskError;
use std::ops::Range;
use std::path::PathBuf;

/// A segment that nothing is written to any more. Convert it with [`segment_to_parquet`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClosedSegment {
    /// Its number, from 1.
    pub number: u32,
    /// Its entries; may have gaps where entries were lost. Empty: `start == end`.
    pub ordinals: Range<u64>,
    /// How many entries there are.
    pub entries: u64,
    /// How many bytes of the file hold them; what follows is of no use.
    pub bytes: u64,
}

/// The log cannot be written or read.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// The file system refused something, and nothing was lost by it.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// Entries were not written and are gone. Nothing is recorded until `resume` succeeds.
    #[error("entries {} to {} were not recorded: {source}", .lost.start, .lost.end.saturating_sub(1))]
    NotWritten {
        /// Their ordinals.
        lost: Range<u64>,
        /// Why.
        source: DiskError,
    },
    /// Entries were written, but whether they are durable is not known. Nothing is recorded until `resume` succeeds.
    #[error("entries {} to {} may not survive a crash: {source}", .doubtful.start, .doubtful.end.saturating_sub(1))]
    NotSynced {
        /// Their ordinals.
        doubtful: Range<u64>,
        /// Why.
        source: DiskError,
    },
    /// After a failure: this entry was not taken.
    #[error("entry {ordinal} is not recorded: the log failed before and has not resumed")]
    NotRecording {
        /// The entry.
        ordinal: u64,
    },
    /// An entry that cannot be recorded.
    #[error("entry {ordinal} cannot be recorded: {what}")]
    Entry {
        /// The entry.
        ordinal: u64,
        /// Why.
        what: String,
    },
    /// A file of the log is damaged.
    #[error("{}: {what} at byte {offset}; `salvage` keeps what is whole before it", .file.display())]
    Corrupt {
        /// The file.
        file: PathBuf,
        /// Where.
        offset: u64,
        /// What is wrong.
        what: String,
    },
    /// The digest of a file could not be noted.
    #[error(transparent)]
    Digests(#[from] DigestError),
}
