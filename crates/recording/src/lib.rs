//! A recording: one folder per run, written so that a crash costs at most what was not yet synced.
//!
//! * [`disk`]: the file system as a recording needs it, and the disks that tests use instead
//! * [`folder`]: the folder as a whole: made, opened, finished; complete or not
//! * [`manifest`]: what was recorded, with which configuration, how it ended
//! * [`log`]: entries as received: segments while they are written, Parquet once closed
//! * [`tables`]: samples, snapshots and events as Parquet, readable without this program
//! * [`point_results`]: results of points taken by hand as Parquet
//! * [`digests`]: the SHA-256 of every final file, chained
//! * [`integrity`]: whether it is still what was written
//! * [`whole_log`]: its entries in order, holes explained
//! * [`salvage`]: from what a crash left to a log that is whole
//!
//! **Invariant:** a file with a final name is whole and never changes. What is being written has the ending
//! `.seg` (log) or `.tmp` (everything else). The log is ground state: all tables can be made again from it.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

mod cells;
pub mod digests;
pub mod disk;
pub mod folder;
pub mod integrity;
pub mod log;
pub mod manifest;
mod part;
pub mod point_results;
pub mod salvage;
pub mod tables;
#[cfg(test)]
mod testing;
pub mod whole_log;

pub use digests::DigestError;
pub use disk::{Disk, DiskError, RealDisk};
pub use folder::{FolderError, Recording, State, Stored};
pub use integrity::IntegrityError;
pub use log::{ClosedSegment, LogError, LogOptions, LogReader, LogWriter};
pub use manifest::{Manifest, ManifestError, RunId};
pub use salvage::{SalvageError, Salvaged};
pub use tables::{Summary, TableError, TablesOptions, TablesReader, TablesWriter};
pub use whole_log::{WholeLog, WholeLogError};
