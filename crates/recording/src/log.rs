//! The log of a recording: entries as received, in one order.
//!
//! While it is written it is a segment (`log/000001.seg`: [`mod@format`], [`entry`]); a segment that is closed becomes
//! Parquet (`log/000001.parquet`: [`convert`], [`columns`]) and is removed. [`LogReader`] reads both.

pub mod columns;
pub mod convert;
pub mod entry;
pub mod format;
pub mod read;
pub mod segment;
pub mod writer;

pub use convert::segment_to_parquet;
pub use read::LogReader;
pub use segment::{Prefix, entries_from_segment};
pub use writer::{LogOptions, LogWriter};

use crate::digests::DigestError;
use crate::disk::DiskError;
use crate::manifest::RunId;
use std::ops::Range;
use std::path::PathBuf;

/// The folder of the log in a recording.
pub const FOLDER: &str = "log";

/// A segment that nothing is written to any more. Convert it with [`segment_to_parquet`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClosedSegment {
    /// Identity of the run.
    pub run_id: RunId,
    /// Its number, from 1.
    pub number: u32,
    /// Its ordinals; some between may be missing where entries were lost. Empty: `start == end`.
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
    /// A segment cannot be read any further.
    #[error("{}: at byte {offset}: {fault}{}", .file.display(),
        if .fault.is_damage() { "; `salvage` keeps what is whole before it" } else { "" })]
    Segment {
        /// The file.
        file: PathBuf,
        /// Where.
        offset: u64,
        /// What is wrong.
        fault: format::Fault,
    },
    /// A Parquet file of the log cannot be read or written.
    #[error("{}: {what}", .file.display())]
    Parquet {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// The digest of a file could not be noted.
    #[error(transparent)]
    Digests(#[from] DigestError),
}

/// The name of a segment's file.
pub(crate) fn segment_name(number: u32) -> String {
    format!("{number:06}.seg")
}

#[cfg(test)]
mod tests;
