//! Reading a log: its entries in order, from closed files and from segments that are left.

use super::columns::parse;
use super::segment::SegmentReader;
use super::{FOLDER, LogError};
use crate::digests::{Digests, sha256_of_file};
use crate::disk::{Disk, doing};
use crate::manifest::RunId;
use crate::part::Chunks;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use parquet::file::reader::Length;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::vec;
use stream::LogEntry;

/// The entries of a recording in order, read piece by piece. Ends after the first error.
pub struct LogReader {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    run_id: RunId,
    /// What closed files are held against.
    digests: Digests,
    parts: vec::IntoIter<LogPart>,
    open: Option<Open>,
    entries: vec::IntoIter<LogEntry>,
    last: Option<u64>,
    failed: bool,
    bytes: u64,
    done: u64,
}

/// A file of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct LogPart {
    pub(crate) number: u32,
    pub(crate) segment: bool,
    pub(crate) parquet: bool,
}

enum Open {
    Segment(SegmentReader),
    Parquet { file: PathBuf, rows: ParquetRecordBatchReader, read: u64, total: u64, bytes: u64 },
}

/// The files of a log by number.
pub(crate) fn log_parts(disk: &dyn Disk, folder: &Path) -> Result<Vec<LogPart>, LogError> {
    let log = folder.join(FOLDER);
    let mut parts = BTreeMap::new();
    for name in disk.list(&log).map_err(doing("list", &log))? {
        let Some((number, ending)) = name.split_once('.') else { continue };
        let (Ok(number), "seg" | "parquet") = (number.parse::<u32>(), ending) else { continue };
        let part = parts.entry(number).or_insert(LogPart { number, segment: false, parquet: false });
        part.segment |= ending == "seg";
        part.parquet |= ending == "parquet";
    }
    Ok(parts.into_values().collect())
}

impl LogReader {
    /// Opens the log of the recording in `folder`. A log without any file is empty.
    ///
    /// # Errors
    /// Where the folder cannot be listed, or the digests' chain is broken.
    pub fn open(disk: &Arc<dyn Disk>, folder: &Path, run_id: RunId) -> Result<LogReader, LogError> {
        let parts = log_parts(disk.as_ref(), folder)?;
        let mut bytes = 0;
        for part in &parts {
            let path = part.path(folder);
            bytes += disk.size(&path).map_err(doing("read", &path))?.unwrap_or(0);
        }
        Ok(LogReader {
            disk: disk.clone(),
            folder: folder.to_owned(),
            run_id,
            digests: Digests::read(disk.as_ref(), folder, run_id)?,
            parts: parts.into_iter(),
            open: None,
            entries: Vec::new().into_iter(),
            last: None,
            failed: false,
            bytes,
            done: 0,
        })
    }

    /// How far through the log it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        let here = match &self.open {
            None => 0,
            Some(Open::Segment(s)) => s.offset,
            Some(Open::Parquet { read, total, bytes, .. }) => bytes * read / (*total).max(1),
        };
        if self.bytes == 0 { 1.0 } else { (self.done + here) as f64 / self.bytes as f64 }
    }

    fn next_entry(&mut self) -> Result<Option<LogEntry>, LogError> {
        loop {
            if let Some(entry) = self.entries.next() {
                return Ok(Some(entry));
            }
            let Some(open) = &mut self.open else {
                let Some(part) = self.parts.next() else { return Ok(None) };
                self.open = Some(self.start(part)?);
                continue;
            };
            let (entries, file) = open.read()?;
            let Some(entries) = entries else {
                self.done += open.bytes();
                self.open = None;
                continue;
            };
            for entry in &entries {
                if self.last.is_some_and(|l| entry.ordinal <= l) {
                    let what = format!("entry {} follows entry {}", entry.ordinal, self.last.unwrap_or(0));
                    return Err(LogError::Parquet { file, what });
                }
                self.last = Some(entry.ordinal);
            }
            self.entries = entries.into_iter();
        }
    }

    fn start(&self, part: LogPart) -> Result<Open, LogError> {
        if !part.parquet {
            return Ok(Open::Segment(SegmentReader::open(self.disk.as_ref(), &self.folder, self.run_id, part.number)?));
        }
        let file = part.path(&self.folder);
        self.check_digest(&file)?;
        Open::parquet(self.disk.as_ref(), file)
    }

    /// A closed file has no checksum inside; its digest is what tells whether it is as it was written.
    fn check_digest(&self, file: &Path) -> Result<(), LogError> {
        let relative = file.strip_prefix(&self.folder).unwrap_or(file).display().to_string();
        let Some(line) = self.digests.of(&relative) else { return Ok(()) };
        if sha256_of_file(self.disk.as_ref(), file)? == line.sha256 {
            return Ok(());
        }
        let what = "was changed after it was written: its SHA-256 is not the one in `digests`; \
                    bring it back from a copy of the recording"
            .to_owned();
        Err(LogError::Parquet { file: file.to_owned(), what })
    }
}

impl LogPart {
    /// The file that counts: a Parquet file has its name only once it is whole.
    fn path(&self, folder: &Path) -> PathBuf {
        let ending = if self.parquet { "parquet" } else { "seg" };
        folder.join(FOLDER).join(format!("{:06}.{ending}", self.number))
    }
}

/// Reads a closed file to its end; what is wrong with it, or nothing.
pub(crate) fn unreadable(disk: &dyn Disk, file: &Path) -> Result<Option<String>, LogError> {
    let read = || -> Result<(), LogError> {
        let mut open = Open::parquet(disk, file.to_owned())?;
        while open.read()?.0.is_some() {}
        Ok(())
    };
    match read() {
        Ok(()) => Ok(None),
        Err(LogError::Parquet { what, .. }) => Ok(Some(what)),
        Err(e) => Err(e),
    }
}

impl Open {
    fn parquet(disk: &dyn Disk, file: PathBuf) -> Result<Open, LogError> {
        let chunks = Chunks::open(disk, &file)?;
        let bytes = chunks.len();
        let wrong = |e: parquet::errors::ParquetError| LogError::Parquet { file: file.clone(), what: e.to_string() };
        let builder = ParquetRecordBatchReaderBuilder::try_new(chunks).map_err(wrong)?;
        let total = builder.metadata().file_metadata().num_rows() as u64;
        let rows = builder.with_batch_size(8192).build().map_err(wrong)?;
        Ok(Open::Parquet { file, rows, read: 0, total, bytes })
    }

    /// The next entries, or none at the end; and the file they are from.
    fn read(&mut self) -> Result<(Option<Vec<LogEntry>>, PathBuf), LogError> {
        match self {
            Open::Segment(segment) => {
                let mut entries = Vec::new();
                let more = segment.next_block(&mut entries)?;
                Ok((more.then_some(entries), segment.path.clone()))
            }
            Open::Parquet { file, rows, read, .. } => {
                let wrong = |what: String| LogError::Parquet { file: file.clone(), what };
                let Some(rows) = rows.next() else { return Ok((None, file.clone())) };
                let rows = rows.map_err(|e| wrong(e.to_string()))?;
                *read += rows.num_rows() as u64;
                let mut entries = Vec::with_capacity(rows.num_rows());
                parse(&rows, &mut entries).map_err(wrong)?;
                Ok((Some(entries), file.clone()))
            }
        }
    }

    fn bytes(&self) -> u64 {
        match self {
            Open::Segment(s) => s.end,
            Open::Parquet { bytes, .. } => *bytes,
        }
    }
}

impl Iterator for LogReader {
    type Item = Result<LogEntry, LogError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.failed {
            return None;
        }
        let next = self.next_entry().transpose();
        self.failed = matches!(next, Some(Err(_)));
        next
    }
}
