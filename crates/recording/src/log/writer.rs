//! Writing a log: entries are encoded into memory, written as a block, synced, segment after segment.

use super::entry::{Previous, encode};
use super::format::{BLOCK_HEAD_BYTES, BlockHead, HEAD_BYTES, MAX_ENTRY, SegmentHead};
use super::{ClosedSegment, FOLDER, LogError, segment_name};
use crate::disk::{Disk, DiskError, DiskFile, doing, remove_if_there};
use crate::manifest::RunId;
use std::io;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{EntryBody, LogEntry};

/// A block in memory that has grown beyond this is ended and another one begun.
const BLOCK_BYTES: usize = 4 << 20;

/// How a log is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LogOptions {
    /// Identity of the run, in the head of every segment.
    pub run_id: RunId,
    /// A segment longer than this wants to be rolled.
    pub segment_bytes: u64,
}

impl LogOptions {
    /// Segments of 64 MiB.
    pub fn new(run_id: RunId) -> LogOptions {
        LogOptions { run_id, segment_bytes: 64 << 20 }
    }
}

/// Writes a log. Not recording after a failure, until [`LogWriter::resume`] succeeds.
pub struct LogWriter {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    options: LogOptions,
    /// The segment being written, or, after a failure, the one that failed.
    segment: Option<Segment>,
    recording: bool,
    /// The number of the next segment.
    next_number: u32,
    /// Every ordinal to come is at least this.
    next_ordinal: u64,
    /// What the last sync answered.
    durable: u64,
    waiting: Waiting,
    written: u64,
    /// Files of segments that could neither be started nor removed.
    leftovers: Vec<PathBuf>,
}

struct Segment {
    head: SegmentHead,
    path: PathBuf,
    file: Box<dyn DiskFile>,
    /// Bytes that are whole blocks.
    bytes: u64,
    entries: u64,
    ordinals: Range<u64>,
    /// All entries of this segment below are durable, or were reported to be in doubt.
    synced: u64,
}

/// Encoded entries that are not on the disk yet: blocks that are ended, then the one being filled.
#[derive(Default)]
struct Waiting {
    bytes: Vec<u8>,
    ordinals: Range<u64>,
    entries: u64,
    /// Where the block being filled begins, and what it holds.
    block: usize,
    block_entries: u32,
    block_first: u64,
    logged_at: i64,
}

impl LogWriter {
    /// Starts the log of the recording in `folder` with segment 1.
    ///
    /// # Errors
    /// Where the segment cannot be made.
    pub fn create(disk: Arc<dyn Disk>, folder: &Path, options: LogOptions) -> Result<LogWriter, LogError> {
        let folder = folder.join(FOLDER);
        disk.make_folder(&folder).map_err(doing("make", &folder))?;
        let above = folder.parent().unwrap_or(&folder);
        disk.sync_folder(above).map_err(doing("sync", above))?;
        let mut writer = LogWriter {
            disk,
            folder,
            options,
            segment: None,
            recording: false,
            next_number: 1,
            next_ordinal: 0,
            durable: 0,
            waiting: Waiting::default(),
            written: 0,
            leftovers: Vec::new(),
        };
        writer.resume()?;
        Ok(writer)
    }

    /// Puts an entry into memory; nothing goes to the disk before [`LogWriter::flush`]. Ordinals must rise.
    ///
    /// # Errors
    /// `NotRecording` after a failure; `Entry` where the entry cannot be recorded.
    pub fn append(&mut self, entry: &LogEntry) -> Result<(), LogError> {
        let ordinal = entry.ordinal;
        if !self.recording {
            return Err(LogError::NotRecording { ordinal });
        }
        if ordinal < self.next_ordinal {
            let what = format!("entry {} was recorded before it", self.next_ordinal - 1);
            return Err(LogError::Entry { ordinal, what });
        }
        let length = content_bytes(&entry.body);
        if length > MAX_ENTRY {
            let what = format!("{length} bytes are more than an entry can hold ({MAX_ENTRY})");
            return Err(LogError::Entry { ordinal, what });
        }
        self.waiting.push(self.segment.as_ref().map_or(0, |s| s.head.seed()), entry);
        self.next_ordinal = ordinal + 1;
        Ok(())
    }

    /// Bytes waiting in memory.
    pub fn waiting(&self) -> usize {
        self.waiting.bytes.len()
    }

    /// Bytes written to the disk so far, all segments.
    pub fn written(&self) -> u64 {
        self.written
    }

    /// Whether entries are being recorded: false between a failure and the `resume` that succeeds.
    pub fn is_recording(&self) -> bool {
        self.recording
    }

    /// Writes what waits. On a failure the segment is cut back to the blocks that were whole before.
    ///
    /// # Errors
    /// `NotWritten`.
    pub fn flush(&mut self) -> Result<(), LogError> {
        let Some(segment) = self.segment.as_mut().filter(|_| self.recording && self.waiting.entries > 0) else {
            return Ok(());
        };
        self.waiting.end_block(segment.head.seed());
        match segment.file.write_all(&self.waiting.bytes) {
            Ok(()) => {
                segment.take(&self.waiting);
                self.written += self.waiting.bytes.len() as u64;
                self.waiting.clear();
                Ok(())
            }
            Err(e) => {
                self.recording = false;
                // Where this fails too, `ClosedSegment::bytes` still tells what is whole.
                let _ = segment.file.truncate(segment.bytes);
                let lost = self.waiting.ordinals.clone();
                self.waiting.clear();
                Err(LogError::NotWritten { lost, source: doing("write", &segment.path)(e) })
            }
        }
    }

    /// Flushes and syncs. Every entry with an ordinal below the answer that was taken and not reported lost or
    /// doubtful is then durable.
    ///
    /// # Errors
    /// `NotWritten`, `NotSynced`.
    pub fn sync(&mut self) -> Result<u64, LogError> {
        self.flush()?;
        if let Some(segment) = self.segment.as_mut().filter(|_| self.recording) {
            self.recording = false;
            segment.sync()?;
            self.recording = true;
            self.durable = self.next_ordinal;
        }
        Ok(self.durable)
    }

    /// Whether the segment is long enough.
    pub fn needs_roll(&self) -> bool {
        self.segment.as_ref().is_some_and(|s| s.bytes >= self.options.segment_bytes)
    }

    /// Syncs, closes the segment and starts the next. `None` only while not recording.
    ///
    /// # Errors
    /// As [`LogWriter::sync`]; or `Disk` where the next could not be started: nothing is lost by that, and
    /// [`LogWriter::resume`] returns the closed one.
    pub fn roll(&mut self) -> Result<Option<ClosedSegment>, LogError> {
        if !self.recording {
            return Ok(None);
        }
        self.sync()?;
        self.recording = false;
        self.resume()
    }

    /// After a failure: tries to start a new segment. Returns the one before, which wants to be converted.
    ///
    /// # Errors
    /// `Disk` where the disk still refuses; `NotSynced` where the segment before is in doubt, which is said once.
    /// May be tried again at any time.
    pub fn resume(&mut self) -> Result<Option<ClosedSegment>, LogError> {
        if self.recording {
            return Ok(None);
        }
        // Blocks that were whole before a write failed may not be durable yet.
        self.segment.as_mut().map_or(Ok(()), Segment::sync)?;
        let next = self.start_segment()?;
        self.recording = true;
        self.written += HEAD_BYTES as u64;
        self.remove_leftovers();
        Ok(self.segment.replace(next).map(Segment::closed))
    }

    /// Syncs and closes. The segment is returned even on an error, closed at its last whole block.
    pub fn close(mut self) -> (Option<ClosedSegment>, Result<(), LogError>) {
        let result = self.sync().map(drop);
        self.remove_leftovers();
        (self.segment.take().map(Segment::closed), result)
    }

    fn start_segment(&mut self) -> Result<Segment, DiskError> {
        let head = SegmentHead { run_id: self.options.run_id, number: self.next_number };
        let path = self.folder.join(segment_name(head.number));
        let start = || -> io::Result<Box<dyn DiskFile>> {
            let mut file = self.disk.create(&path)?;
            file.write_all(&head.encode())?;
            file.sync()?;
            self.disk.sync_folder(&self.folder)?;
            Ok(file)
        };
        match start() {
            Ok(file) => {
                self.next_number += 1;
                let (bytes, next) = (HEAD_BYTES as u64, self.next_ordinal);
                Ok(Segment { head, path, file, bytes, entries: 0, ordinals: next..next, synced: next })
            }
            Err(e) => {
                let error = doing("start segment", &path)(e);
                if remove_if_there(self.disk.as_ref(), &path).is_err() {
                    self.next_number += 1;
                    self.leftovers.push(path);
                }
                Err(error)
            }
        }
    }

    /// Nothing was ever recorded in them.
    fn remove_leftovers(&mut self) {
        self.leftovers.retain(|path| remove_if_there(self.disk.as_ref(), path).is_err());
    }
}

impl Segment {
    fn take(&mut self, waiting: &Waiting) {
        if self.entries == 0 {
            self.ordinals.start = waiting.ordinals.start;
        }
        self.ordinals.end = waiting.ordinals.end;
        self.entries += waiting.entries;
        self.bytes += waiting.bytes.len() as u64;
    }

    /// Syncs what is not synced yet. A sync that failed is not tried again: the system may have forgotten what it
    /// could not write, and would then report success.
    fn sync(&mut self) -> Result<(), LogError> {
        let from = std::mem::replace(&mut self.synced, self.ordinals.end);
        if from >= self.ordinals.end {
            return Ok(());
        }
        let doubtful = from.max(self.ordinals.start)..self.ordinals.end;
        self.file.sync().map_err(|e| LogError::NotSynced { doubtful, source: doing("sync", &self.path)(e) })
    }

    fn closed(self) -> ClosedSegment {
        let SegmentHead { run_id, number } = self.head;
        ClosedSegment { run_id, number, ordinals: self.ordinals, entries: self.entries, bytes: self.bytes }
    }
}

impl Waiting {
    fn push(&mut self, seed: u32, entry: &LogEntry) {
        if self.bytes.len() - self.block > BLOCK_BYTES {
            self.end_block(seed);
        }
        if self.entries == 0 {
            self.ordinals = entry.ordinal..entry.ordinal;
        }
        if self.block_entries == 0 {
            self.bytes.extend_from_slice(&[0; BLOCK_HEAD_BYTES]);
            (self.block_first, self.logged_at) = (entry.ordinal, 0);
        }
        let last = if self.block_entries == 0 { entry.ordinal } else { self.ordinals.end - 1 };
        let mut previous = Previous { ordinal: last, logged_at: self.logged_at };
        encode(entry, &mut previous, &mut self.bytes);
        self.logged_at = previous.logged_at;
        self.ordinals.end = entry.ordinal + 1;
        self.entries += 1;
        self.block_entries += 1;
    }

    fn end_block(&mut self, seed: u32) {
        if self.block_entries > 0 {
            let (head, payload) = self.bytes[self.block..].split_at_mut(BLOCK_HEAD_BYTES);
            head.copy_from_slice(&BlockHead::of(seed, self.block_entries, self.block_first, payload).encode());
        }
        self.block = self.bytes.len();
        self.block_entries = 0;
    }

    fn clear(&mut self) {
        let mut bytes = std::mem::take(&mut self.bytes);
        bytes.clear();
        *self = Waiting { bytes, ..Waiting::default() };
    }
}

/// The part of an entry's size that has no bound of its own.
fn content_bytes(body: &EntryBody) -> usize {
    match body {
        EntryBody::Record(r) => r.payload.len(),
        EntryBody::Link(l) => l.detail.len(),
        EntryBody::Operator(o) => o.author.len() + o.content.stored().1.len(),
        _ => 0,
    }
}
