//! `manifest.toml`: what was recorded, with which configuration, and how it ended.
//!
//! Written once when the run starts and once when it has ended, each time whole: what is there is never half
//! of it. It holds the configuration files themselves, so that a recording can be evaluated again anywhere.

mod file;

pub(crate) use file::{CutRow, placed};

use crate::disk::{Disk, DiskError, read_all};
use crate::tables::Rows;
use std::fmt;
use std::ops::Range;
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
    /// The sensors that the channels name, as they stood when the run started.
    pub sensors: Vec<SensorState>,
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

/// A sensor, transmitter or module that channels of the run name, and its calibration when the run started.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SensorState {
    /// Its serial number.
    pub serial: String,
    /// What it is; may be empty.
    pub kind: String,
    /// The day of its calibration, `2026-01-31`; `None` where none is known.
    pub calibrated: Option<String>,
    /// The day it is due.
    pub due: Option<String>,
    /// The certificate; may be empty.
    pub certificate: String,
    /// `valid`, `due-soon`, `overdue`, `not-yet` (calibrated after the run), `suspended` or `unknown`.
    pub state: String,
    /// The channels that name it.
    pub channels: Vec<String>,
}

/// A capture that was replayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaptureFile {
    /// Its path as it was given.
    pub path: String,
    /// The source that read it.
    pub source: String,
    /// Its size.
    pub bytes: u64,
    /// Its SHA-256, 64 hexadecimal digits.
    pub sha256: String,
    /// What was done to its times, as the run file says; empty = nothing.
    pub clock: String,
}

/// Lines or entries of a source's captures that were not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotUsed {
    /// What and why.
    pub what: String,
    /// How many.
    pub count: u64,
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
    /// Rows in the tables.
    pub rows: Rows,
    /// Stretches that were not recorded.
    pub not_recorded: Vec<NotRecorded>,
    /// Ordinals that are not in the log although later ones are, and that no entry of the log explains.
    pub missing: Vec<Range<u64>>,
    /// One per source, in order.
    pub sources: Vec<SourceEnd>,
    /// What salvage cut off.
    pub cuts: Vec<Cut>,
    /// What of the captures was not used.
    pub not_used: Vec<NotUsed>,
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

/// What salvage cut off the end of a segment, or a damaged file of the log that it set aside whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// The segment or file, relative to the recording.
    pub file: String,
    /// From where, in bytes.
    pub at: u64,
    /// How many bytes.
    pub bytes: u64,
    /// Why.
    pub reason: String,
    /// Where the bytes are kept, relative to the recording; empty where the file was not there.
    pub kept: String,
}

/// `manifest.toml` is not what it should be.
#[derive(Debug, thiserror::Error)]
pub enum ManifestError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// A later format.
    #[error(
        "{}: format {found} is newer than the newest this program reads ({FORMAT}); use a newer program",
        .file.display()
    )]
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
    pub fn read(disk: &dyn Disk, folder: &Path) -> Result<Manifest, ManifestError> {
        let path = folder.join(FILE);
        let bytes = read_all(disk, &path)?;
        let wrong = |what: String| ManifestError::Malformed { file: path.clone(), what };
        let text = String::from_utf8(bytes).map_err(|_| wrong("is not UTF-8 text".to_owned()))?;
        match file::format_of(&text).map_err(wrong)? {
            n if n > u64::from(FORMAT) => Err(ManifestError::Newer { file: path.clone(), found: n }),
            _ => file::parse(&text).map_err(wrong),
        }
    }

    /// The text of `manifest.toml`.
    ///
    /// # Errors
    /// Where a value cannot be written as TOML.
    pub fn to_text(&self) -> Result<String, ManifestError> {
        file::text(self).map_err(|what| ManifestError::Malformed { file: FILE.into(), what })
    }

    /// The names of the sources by id.
    pub fn source_names(&self) -> Vec<String> {
        self.layout.sources.iter().map(|s| s.name.clone()).collect()
    }
}

#[cfg(test)]
mod tests;
