//! `manifest.toml`: what was recorded, with which configuration, and how it ended.
use crate::disk::{Disk, DiskError};
use std::fmt;
use std::path::{Path, PathBuf};
use stream::{Anchor, EventTime, Layout, Span};

/// The format that this program writes.
pub const FORMAT: u32 = 1;
/// Its file name.
pub const FILE: &str = "manifest.toml";

/// The identity of a run: in the manifest and in every file of its recording.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RunId(pub u128);

impl RunId {
    /// A new one, from the system's random numbers.
    ///
    /// # Errors
    /// Where the system gives none.
    pub fn random() -> std::io::Result<RunId> {
        let mut bytes = [0; 16];
        std::io::Read::read_exact(&mut std::fs::File::open("/dev/urandom")?, &mut bytes)?;
        Ok(RunId(u128::from_le_bytes(bytes)))
    }
}

/// 32 hexadecimal digits.
impl fmt::Display for RunId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

/// What `manifest.toml` says. `layout.run` is the run's name, `layout.grid` the distance of the snapshots.
#[derive(Clone, Debug, PartialEq)]
pub struct Manifest {
    /// Name and version of the program that wrote it.
    pub program: String,
    /// The identity of the run.
    pub run_id: RunId,
    /// Whether the values come from a simulator.
    pub simulated: bool,
    /// When the run started.
    pub started: EventTime,
    /// How long a snapshot waits for what comes late.
    pub lateness: Span,
    /// The wall clock against event time at the start.
    pub anchor: Anchor,
    /// Sources, columns and limits.
    pub layout: Layout,
    /// The configuration, file by file.
    pub files: Vec<ConfigFile>,
    /// The captures replayed instead of a log of its own; empty for a run that has one.
    pub captures: Vec<CaptureFile>,
    /// How it ended; `None` while it is written and after a crash.
    pub end: Option<End>,
}

/// A configuration file, whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConfigFile {
    /// What it is for: `run`, `channels`, `dbc` …
    pub role: String,
    /// Its path as it was written in the file that names it.
    pub path: String,
    /// Its text.
    pub text: String,
}

/// A capture that was replayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaptureFile {
    /// Its path as it was given.
    pub path: String,
    /// Its size.
    pub bytes: u64,
    /// Its SHA-256, 64 hexadecimal digits.
    pub sha256: String,
}

/// How a recording ended.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// In order, or salvaged.
    pub how: Ending,
    /// The last event time.
    pub ended: EventTime,
    /// Entries in the log.
    pub entries: u64,
    /// Samples in the tables.
    pub samples: u64,
    /// Snapshots in the tables.
    pub snapshots: u64,
    /// Events in the tables.
    pub events: u64,
    /// Stretches that were not recorded.
    pub not_recorded: Vec<NotRecorded>,
    /// One per source, in order.
    pub sources: Vec<SourceEnd>,
    /// What salvage cut off.
    pub cuts: Vec<Cut>,
    /// Whether all tables hold all that the core made.
    pub tables_complete: bool,
}

/// How a recording came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// In order.
    Complete,
    /// By a crash, and was salvaged.
    Salvaged,
}

/// A stretch that was not recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotRecorded {
    /// From when.
    pub from: EventTime,
    /// Until when.
    pub to: EventTime,
    /// How many entries.
    pub lost: u64,
}

/// The counts of a source at the end.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SourceEnd {
    /// Its name.
    pub name: String,
    /// Records, faults included.
    pub records: u64,
    /// Records known to be lost.
    pub lost: u64,
    /// Faults of all kinds.
    pub faults: u64,
    /// Records that came after their snapshot had closed.
    pub late: u64,
}

/// What salvage cut off the end of a segment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// The segment, relative to the recording.
    pub file: String,
    /// From where, in bytes.
    pub at: u64,
    /// How many bytes.
    pub bytes: u64,
    /// Why.
    pub reason: String,
    /// Where the bytes are kept, relative to the recording.
    pub kept: String,
}

/// `manifest.toml` is not what it should be.
#[derive(Debug, thiserror::Error)]
pub enum ManifestError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// A later format.
    #[error("{}: format {found} is newer than the newest this program reads ({FORMAT}); use a newer program", .file.display())]
    Newer {
        /// The file.
        file: PathBuf,
        /// Its format.
        found: u64,
    },
    /// Not readable.
    #[error("{}: {what}", .file.display())]
    Malformed {
        /// The file.
        file: PathBuf,
        /// What is wrong and where.
        what: String,
    },
}

impl Manifest {
    /// Reads the manifest of a recording.
    ///
    /// # Errors
    /// Where it is missing, of a newer format, or not readable.
    pub fn read(_disk: &dyn Disk, _folder: &Path) -> Result<Manifest, ManifestError> {
        unimplemented!()
    }
}
