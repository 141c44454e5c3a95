//! From what a crash left to a log that is whole: the part of salvage that needs no evaluation.
//!
//! The steps, each of which may be the last before another crash and is then found done or done again:
//! 1. a closed file of the log that is damaged is set aside as `log/damaged-000001-1.bin` with a note beside it that
//!    says what it is, also of a file that is not there at all; where its segment is left, step 4 makes it again;
//! 2. digests that name tables, an end or a file that is gone are set aside as `digests.salvaged-1` and begun afresh
//!    with that file;
//! 3. all tables are removed, since they are made again from the log;
//! 4. of every segment that is left, what follows its last whole block is kept as `log/cut-000001.bin` with
//!    `log/cut-000001.toml`, which says what it is; then the segment is closed to Parquet.

mod cut;
mod damaged;
mod set_aside;

use crate::digests::{self, DigestError, Digests, Line, sha256_of_file};
use crate::disk::{Disk, DiskError, doing, remove_if_there};
use crate::folder::{FolderError, Recording, State, Stored};
use crate::log::convert::content_of;
use crate::log::read::log_parts;
use crate::log::{self, ClosedSegment, LogError, entries_from_segment, segment_to_parquet};
use crate::manifest::Cut;
use crate::tables;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A recording whose log is whole again and whose tables are gone: replay the log with the configuration in
/// the manifest, write the tables, then `recording.finish(End { how: Ending::Salvaged, cuts, .. })`.
pub struct Salvaged {
    /// The recording, locked.
    pub recording: Recording,
    /// Entries in the log.
    pub entries: u64,
    /// What was cut off or set aside, also by a salvage that was itself cut short.
    pub cuts: Vec<Cut>,
}

/// A recording cannot be salvaged.
#[derive(Debug, thiserror::Error)]
pub enum SalvageError {
    /// The folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The log.
    #[error(transparent)]
    Log(#[from] LogError),
    /// The digests.
    #[error(transparent)]
    Digests(#[from] DigestError),
    /// Nothing to do.
    #[error("{} is whole: it has {}; there is nothing to salvage", .folder.display(),
        if *.state == State::Complete { "ended in order" } else { "been salvaged before" })]
    Whole {
        /// The recording.
        folder: PathBuf,
        /// Its state.
        state: State,
    },
    /// No log to rebuild from.
    #[error("{} was made from {captures} and has no log of its own; replay that again instead", .folder.display())]
    FromCaptures {
        /// The recording.
        folder: PathBuf,
        /// What it was made from.
        captures: String,
    },
    /// What is kept of a cut cannot be read.
    #[error("{}: {what}", .file.display())]
    CutNote {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        what: String,
    },
}

/// Makes the log of an unfinished recording whole and removes its tables, which are to be rebuilt from the log.
/// Nothing of the log is destroyed: what is cut off is kept.
///
/// # Errors
/// Where the recording is whole already, still being written, or the disk refuses. It may be repeated.
pub fn salvage(disk: &Arc<dyn Disk>, folder: &Path) -> Result<Salvaged, SalvageError> {
    let stored = Stored::open(disk.as_ref(), folder)?;
    let captures: Vec<&str> = stored.manifest.captures.iter().map(|c| c.path.as_str()).collect();
    match stored.state {
        state @ (State::Complete | State::Salvaged) => {
            return Err(SalvageError::Whole { folder: stored.folder, state });
        }
        State::BeingWritten => return Err(FolderError::BeingWritten(stored.folder).into()),
        State::Unfinished if !captures.is_empty() => {
            let captures = captures.join(", ");
            return Err(SalvageError::FromCaptures { folder: stored.folder, captures });
        }
        State::Unfinished => {}
    }
    let recording = Recording::take_up(disk.clone(), stored)?;
    damaged::set_aside(&recording)?;
    set_aside::old_digests(&recording)?;
    remove_tables(disk.as_ref(), folder)?;
    let closed = close_segments(&recording)?;
    let cuts = cut::all(disk.as_ref(), folder)?;
    note_all(&recording)?;
    Ok(Salvaged { recording, entries: closed.iter().map(|c| c.entries).sum(), cuts })
}

/// Removes parts of tables, whole or not; leaves alone what no recording puts there.
fn remove_tables(disk: &dyn Disk, folder: &Path) -> Result<(), DiskError> {
    for table in [tables::SAMPLES, tables::SNAPSHOTS, tables::EVENTS] {
        let table = folder.join(table);
        for name in disk.list(&table).map_err(doing("list", &table))? {
            if name.ends_with(".parquet") || name.ends_with(".parquet.tmp") {
                remove_if_there(disk, &table.join(name))?;
            }
        }
    }
    Ok(())
}

/// Closes every segment that is left; what the log then holds, file by file.
fn close_segments(recording: &Recording) -> Result<Vec<ClosedSegment>, SalvageError> {
    let (disk, folder) = (recording.disk(), recording.folder());
    let (run_id, sources) = (recording.manifest().run_id, recording.manifest().source_names());
    let log = folder.join(log::FOLDER);
    for name in disk.list(&log).map_err(doing("list", &log))?.iter().filter(|n| n.ends_with(".tmp")) {
        remove_if_there(disk.as_ref(), &log.join(name))?;
    }
    let mut closed = Vec::new();
    for part in log_parts(disk.as_ref(), folder)? {
        let file = log.join(format!("{:06}.parquet", part.number));
        let converted = if part.parquet { content_of(disk.as_ref(), &file) } else { None };
        if !part.segment {
            let unreadable = || LogError::Parquet {
                file,
                what: "is as it was written and cannot be read; try again, or a newer program".to_owned(),
            };
            closed.push(converted.ok_or_else(unreadable)?);
            continue;
        }
        let prefix = entries_from_segment(disk.as_ref(), folder, run_id, part.number, |_| {})?;
        let content = match converted {
            // Removed only after its file was whole: the segment has nothing that the file has not.
            Some(c) if c.entries >= prefix.whole.entries => c,
            _ => {
                cut::keep(disk.as_ref(), folder, &prefix)?;
                prefix.whole
            }
        };
        segment_to_parquet(disk, folder, &content, &sources)?;
        closed.push(content);
    }
    Ok(closed)
}

/// Sees to it that every final file of the log has its digest.
fn note_all(recording: &Recording) -> Result<(), SalvageError> {
    let (disk, folder) = (recording.disk().as_ref(), recording.folder());
    let run_id = recording.manifest().run_id;
    let digests = Digests::read(disk, folder, run_id)?;
    let log = folder.join(log::FOLDER);
    for name in disk.list(&log).map_err(doing("list", &log))? {
        let path = format!("{}/{name}", log::FOLDER);
        if digests.of(&path).is_none() {
            let sha256 = sha256_of_file(disk, &log.join(name))?;
            digests::append(disk, folder, run_id, Line { sha256, path })?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
