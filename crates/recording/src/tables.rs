//! Samples, snapshots and events as Parquet.
use crate::digests::DigestError;
use crate::disk::{Disk, DiskError};
use crate::manifest::RunId;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Batch, Event, Layout, Sample, Snapshot};

/// How tables are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TablesOptions {
    /// zstd level, 1 to 22.
    pub compression_level: i32,
    /// A part of the samples holds at most this many rows; then all three tables start new parts.
    pub part_rows: u64,
}

impl Default for TablesOptions {
    fn default() -> Self {
        TablesOptions { compression_level: 1, part_rows: 16_000_000 }
    }
}

/// Rows in whole parts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rows {
    /// Samples.
    pub samples: u64,
    /// Snapshots.
    pub snapshots: u64,
    /// Events.
    pub events: u64,
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
    /// The layout cannot become a table.
    #[error("the snapshots cannot become a table: {0}")]
    Layout(String),
    /// The digests.
    #[error(transparent)]
    Digests(#[from] DigestError),
}

/// Writes the tables of a recording.
pub struct TablesWriter;

impl TablesWriter {
    /// Starts the tables of the recording in `folder`; parts are numbered on from those that are there.
    ///
    /// # Errors
    /// Where folders or files cannot be made, or names of columns are not unique.
    pub fn create(
        _disk: Arc<dyn Disk>,
        _folder: &Path,
        _run_id: RunId,
        _layout: &Layout,
        _options: TablesOptions,
    ) -> Result<TablesWriter, TableError> {
        unimplemented!()
    }
    /// Takes a batch.
    ///
    /// # Errors
    /// The rows of parts not yet whole are then dropped; the next batch starts new parts.
    pub fn write(&mut self, _batch: &Batch) -> Result<(), TableError> {
        unimplemented!()
    }
    /// Completes the parts being written; the next batch starts new ones.
    ///
    /// # Errors
    /// As `write`.
    pub fn roll(&mut self) -> Result<(), TableError> {
        unimplemented!()
    }
    /// Rows in whole parts so far.
    pub fn rows(&self) -> Rows {
        unimplemented!()
    }
    /// Completes everything.
    ///
    /// # Errors
    /// As `write`.
    pub fn close(self) -> Result<Rows, TableError> {
        unimplemented!()
    }
}

/// Reads the tables of a recording back.
pub struct TablesReader;

impl TablesReader {
    /// Opens the tables of the recording in `folder`, whose manifest says `layout`.
    ///
    /// # Errors
    /// Where the parts cannot be listed.
    pub fn open(_disk: Arc<dyn Disk>, _folder: &Path, _layout: &Layout) -> Result<TablesReader, TableError> {
        unimplemented!()
    }
    /// All samples in order.
    pub fn samples(&self) -> impl Iterator<Item = Result<Sample, TableError>> + '_ {
        std::iter::empty()
    }
    /// All snapshots in order.
    pub fn snapshots(&self) -> impl Iterator<Item = Result<Snapshot, TableError>> + '_ {
        std::iter::empty()
    }
    /// All events in order.
    pub fn events(&self) -> impl Iterator<Item = Result<Event, TableError>> + '_ {
        std::iter::empty()
    }
}
