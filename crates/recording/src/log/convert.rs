//! A closed segment becomes Parquet.

use super::columns::{Builder, properties, schema};
use super::segment::SegmentReader;
use super::{ClosedSegment, FOLDER, LogError, segment_name};
use crate::digests::{Line, sha256_of_file};
use crate::disk::{Disk, doing, remove_if_there};
use crate::manifest::RunId;
use crate::part::{Chunks, Part, PartError, note};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::path::{Path, PathBuf};
use std::sync::Arc;

impl From<PartError> for LogError {
    fn from(e: PartError) -> LogError {
        match e {
            PartError::Disk(e) => LogError::Disk(e),
            PartError::Parquet(file, what) => LogError::Parquet { file, what },
        }
    }
}

/// Turns a closed segment of the recording in `folder` into Parquet, notes its digest and removes the segment.
/// `sources` are the names of the sources by id.
///
/// The steps: write under a temporary name, sync, rename, sync the folder, note the digest, remove the segment.
/// After a failure or crash at any of them the call may be repeated: what is done already is not done again.
///
/// # Errors
/// Where the disk refuses or the segment cannot be read. Nothing is lost: the segment is still there.
pub fn segment_to_parquet(
    disk: &Arc<dyn Disk>,
    folder: &Path,
    closed: &ClosedSegment,
    sources: &[String],
) -> Result<PathBuf, LogError> {
    let relative = format!("{FOLDER}/{:06}.parquet", closed.number);
    let path = folder.join(&relative);
    let segment = folder.join(FOLDER).join(segment_name(closed.number));
    let line = if holds(disk.as_ref(), &path, closed) {
        Line { sha256: sha256_of_file(disk.as_ref(), &path)?, path: relative }
    } else {
        write(disk, folder, relative, closed, sources)?
    };
    note(disk.as_ref(), folder, closed.run_id, line)?;
    remove_if_there(disk.as_ref(), &segment)?;
    let log = folder.join(FOLDER);
    disk.sync_folder(&log).map_err(doing("sync", &log))?;
    Ok(path)
}

fn write(
    disk: &Arc<dyn Disk>,
    folder: &Path,
    relative: String,
    closed: &ClosedSegment,
    sources: &[String],
) -> Result<Line, LogError> {
    let mut part = Part::create(disk, folder, relative.clone(), schema(), properties())?;
    for (key, value) in keys(closed) {
        part.note(key, value);
    }
    match fill(disk.as_ref(), folder, closed, sources, &mut part) {
        Ok(()) => Ok(part.finish()?),
        Err(e) => {
            part.discard();
            Err(e)
        }
    }
}

fn fill(
    disk: &dyn Disk,
    folder: &Path,
    closed: &ClosedSegment,
    sources: &[String],
    part: &mut Part,
) -> Result<(), LogError> {
    let mut rows = Builder::new(sources);
    let mut put = |rows: &mut Builder| -> Result<(), LogError> {
        let batch = rows
            .take()
            .map_err(|e| LogError::Parquet { file: folder.join(segment_name(closed.number)), what: e.to_string() })?;
        Ok(part.write(&batch)?)
    };
    if closed.entries > 0 {
        let mut segment = SegmentReader::open(disk, folder, closed.run_id, closed.number)?;
        segment.end = segment.end.min(closed.bytes);
        let mut entries = Vec::new();
        while segment.next_block(&mut entries)? {
            for entry in entries.drain(..) {
                rows.push(&entry);
                if rows.is_full() {
                    put(&mut rows)?;
                }
            }
        }
    }
    put(&mut rows)
}

/// What a file of the log says about itself.
fn keys(closed: &ClosedSegment) -> [(&'static str, String); 6] {
    [
        ("bise.version", env!("CARGO_PKG_VERSION").to_owned()),
        ("bise.run_id", closed.run_id.to_string()),
        ("bise.segment", closed.number.to_string()),
        ("bise.entries", closed.entries.to_string()),
        ("bise.first_ordinal", closed.ordinals.start.to_string()),
        ("bise.end_ordinal", closed.ordinals.end.to_string()),
    ]
}

/// Whether the file is there, whole, and holds what the segment holds.
fn holds(disk: &dyn Disk, path: &Path, closed: &ClosedSegment) -> bool {
    content_of(disk, path).is_some_and(|c| ClosedSegment { bytes: closed.bytes, ..c } == *closed)
}

/// What a file of the log holds by its own account; `None` where it is not there or not whole. `bytes` is 0.
pub(crate) fn content_of(disk: &dyn Disk, path: &Path) -> Option<ClosedSegment> {
    let reader = ParquetRecordBatchReaderBuilder::try_new(Chunks::open(disk, path).ok()?).ok()?;
    let file = reader.metadata().file_metadata();
    let notes = file.key_value_metadata()?;
    let note = |key: &str| notes.iter().find(|n| n.key == key)?.value.as_deref();
    let number = |key: &str| note(key)?.parse::<u64>().ok();
    let content = ClosedSegment {
        run_id: RunId(u128::from_str_radix(note("bise.run_id")?, 16).ok()?),
        number: number("bise.segment")?.try_into().ok()?,
        ordinals: number("bise.first_ordinal")?..number("bise.end_ordinal")?,
        entries: number("bise.entries")?,
        bytes: 0,
    };
    (file.num_rows() as u64 == content.entries).then_some(content)
}
