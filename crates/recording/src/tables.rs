//! Samples, snapshots and events as Parquet, in parts `samples/000001.parquet` …; readable without this program.
//!
//! | table | columns |
//! |---|---|
//! | `samples` | `time` · `channel` name · `value` SI, null where there is no number · `quality` · `reason` |
//! | `snapshots` | `time` · per column its value, null where there is no number, and `<name>.q` · `limit.<name>` |
//! | `events` | `time` · `ordinal` of the log entry · `kind` · `source` name · `subject` · `value` · `text` |
//!
//! `<name>.q` is the quality, or `quality:reason`; `<name>.u` the standard uncertainty of a derived quantity, null
//! where it is not known; `limit.<name>` is the state of a limit.
//! Times are UTC in nanoseconds. Units, places and formulas are in the metadata of the snapshots' fields, the
//! channels' units in the metadata of the samples' files. Words and names are dictionary columns: measured
//! against bare numeric ids they cost 14 % more time and not a byte, and nobody needs a key to read them.

mod read;
mod rows;
mod schema;
mod write;

pub use read::TablesReader;
pub use write::TablesWriter;

use crate::digests::DigestError;
use crate::disk::DiskError;
use crate::part::PartError;
use std::path::PathBuf;

/// The folder of the samples in a recording.
pub const SAMPLES: &str = "samples";
/// The folder of the snapshots.
pub const SNAPSHOTS: &str = "snapshots";
/// The folder of the events.
pub const EVENTS: &str = "events";

/// Memory a row group may take.
const GROUP_BYTES: usize = 8 << 20;

/// How tables are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TablesOptions {
    /// zstd level, 1 to 22.
    pub compression_level: i32,
    /// A part of a table that holds this many rows is completed and the next one begun.
    pub part_rows: u64,
    /// A row group is ended when it takes this much memory: a table never takes much more.
    pub group_bytes: usize,
}

impl Default for TablesOptions {
    fn default() -> Self {
        TablesOptions { compression_level: 1, part_rows: 16_000_000, group_bytes: GROUP_BYTES }
    }
}

/// Rows of the three tables.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rows {
    /// Samples.
    pub samples: u64,
    /// Snapshots.
    pub snapshots: u64,
    /// Events.
    pub events: u64,
}

/// What became of the rows handed over.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// In whole parts.
    pub written: Rows,
    /// In parts that had to be dropped.
    pub dropped: Rows,
}

impl Summary {
    /// Whether the tables hold all that was handed over.
    pub fn is_complete(&self) -> bool {
        self.dropped == Rows::default()
    }
}

/// Tables cannot be written or read.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// A file could not be written or read as Parquet.
    #[error("{}: {what}", .file.display())]
    File {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// What was handed over does not fit the layout, or the layout cannot become a table.
    #[error("{table}: {what}")]
    Layout {
        /// The table.
        table: &'static str,
        /// What is wrong.
        what: String,
    },
    /// The digest of a part could not be noted.
    #[error(transparent)]
    Digests(#[from] DigestError),
}

impl From<PartError> for TableError {
    fn from(e: PartError) -> TableError {
        match e {
            PartError::Disk(e) => TableError::Disk(e),
            PartError::Parquet(file, what) => TableError::File { file, what },
        }
    }
}

#[cfg(test)]
mod tests;
