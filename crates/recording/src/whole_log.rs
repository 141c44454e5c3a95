//! A recording's log with every hole in it told, for salvage, replay and whoever reads a recording again.
//!
//! Where ordinals are missing and no entry says why (a file of the log was lost or damaged), an entry is put in that
//! says it: a gap of the cause "not recorded", with the first missing ordinal. The core starts afresh after it. What
//! salvage computes over a hole and what a later replay computes are therefore the same to the bit.

use crate::{Disk, IntegrityError, LogError, LogReader, Manifest};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{EntryBody, EventTime, Gap, GapCause, LogEntry};

/// A log that cannot be read to its end.
#[derive(Debug, thiserror::Error)]
pub enum WholeLogError {
    /// A file of it cannot be read.
    #[error(transparent)]
    Log(#[from] LogError),
    /// It has a hole that nothing tells of.
    #[error(transparent)]
    Integrity(#[from] IntegrityError),
}

/// The entries of a log in order, holes explained.
pub struct WholeLog {
    log: LogReader,
    folder: PathBuf,
    /// The holes that may be there; none: any.
    known: Option<Vec<Range<u64>>>,
    /// The ordinal after the last entry, and when that was.
    next: u64,
    came: EventTime,
    /// The entry after a hole that was just told.
    ahead: Option<LogEntry>,
    entries: u64,
    missing: Vec<Range<u64>>,
}

impl WholeLog {
    /// The log of a recording, whatever holes it has.
    ///
    /// # Errors
    /// Where it cannot be listed.
    pub fn open(disk: &Arc<dyn Disk>, folder: &Path, manifest: &Manifest) -> Result<WholeLog, WholeLogError> {
        let log = LogReader::open(disk, folder, manifest.run_id)?;
        let (folder, came) = (folder.to_owned(), manifest.started);
        Ok(WholeLog { log, folder, known: None, next: 0, came, ahead: None, entries: 0, missing: Vec::new() })
    }

    /// The same; holes that the manifest does not tell of are errors.
    ///
    /// # Errors
    /// Where it cannot be listed.
    pub fn as_told(disk: &Arc<dyn Disk>, folder: &Path, manifest: &Manifest) -> Result<WholeLog, WholeLogError> {
        let known = manifest.end.as_ref().map_or_else(Vec::new, |e| e.missing.clone());
        Ok(WholeLog { known: Some(known), ..WholeLog::open(disk, folder, manifest)? })
    }

    /// The next entry.
    ///
    /// # Errors
    /// Where the log cannot be read, or has a hole that nobody told of.
    pub fn next_entry(&mut self) -> Result<Option<LogEntry>, WholeLogError> {
        let entry = match self.ahead.take() {
            Some(e) => Some(e),
            None => self.log.next().transpose()?,
        };
        let Some(entry) = entry else { return Ok(None) };
        if let Some(gap) = self.hole_before(&entry)? {
            self.ahead = Some(entry);
            return Ok(Some(gap));
        }
        (self.next, self.came) = (entry.ordinal.saturating_add(1), entry.logged_at);
        self.entries += 1;
        Ok(Some(entry))
    }

    fn hole_before(&mut self, entry: &LogEntry) -> Result<Option<LogEntry>, WholeLogError> {
        let told = match &entry.body {
            EntryBody::Gap(g) if g.cause == GapCause::NotRecorded => g.lost,
            _ => 0,
        };
        let missing = self.next..entry.ordinal.saturating_sub(told);
        if missing.is_empty() {
            return Ok(None);
        }
        if self.known.as_ref().is_some_and(|k| !k.contains(&missing)) {
            return Err(IntegrityError::Hole { folder: self.folder.clone(), missing }.into());
        }
        let (from, to) = (self.came, entry.logged_at);
        let lost = missing.end - missing.start;
        let gap = Gap { source: None, lost, from, to, cause: GapCause::NotRecorded };
        let gap = LogEntry { ordinal: missing.start, logged_at: to, body: EntryBody::Gap(gap) };
        self.next = missing.end;
        self.missing.push(missing);
        Ok(Some(gap))
    }

    /// How far through the log it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        self.log.progress()
    }

    /// Entries so far, those put in not counted.
    pub fn entries(&self) -> u64 {
        self.entries
    }

    /// Holes so far that no entry explains.
    pub fn missing(&self) -> &[Range<u64>] {
        &self.missing
    }
}
