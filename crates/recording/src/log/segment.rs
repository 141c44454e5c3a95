//! Reading a segment block by block, and finding its valid prefix.

use super::format::{BLOCK_HEAD_BYTES, BlockHead, Fault, HEAD_BYTES, SegmentHead};
use super::{ClosedSegment, FOLDER, LogError, segment_name};
use crate::disk::{Disk, DiskRead, doing, read_exact_at};
use crate::manifest::RunId;
use std::path::{Path, PathBuf};
use stream::LogEntry;

/// A segment being read.
pub(crate) struct SegmentReader {
    pub(crate) path: PathBuf,
    file: Box<dyn DiskRead>,
    seed: u32,
    /// Where the next block begins.
    pub(crate) offset: u64,
    /// Where to stop: the size of the file, or less.
    pub(crate) end: u64,
    last: Option<u64>,
    payload: Vec<u8>,
}

impl SegmentReader {
    /// Opens segment `number` of the log in the recording `folder` and checks its head.
    pub(crate) fn open(disk: &dyn Disk, folder: &Path, run_id: RunId, number: u32) -> Result<SegmentReader, LogError> {
        let path = folder.join(FOLDER).join(segment_name(number));
        let file = disk.open(&path).map_err(doing("open", &path))?;
        let end = file.size().map_err(doing("read", &path))?;
        let mut head = [0; HEAD_BYTES];
        let head = &mut head[..(HEAD_BYTES as u64).min(end) as usize];
        read_exact_at(file.as_ref(), 0, head).map_err(doing("read", &path))?;
        let foreign = |h: &SegmentHead| h.run_id != run_id || h.number != number;
        let head = match SegmentHead::decode(head) {
            Ok(h) if foreign(&h) => Err(Fault::Foreign { run_id: h.run_id, number: h.number }),
            r => r,
        };
        match head {
            Ok(head) => {
                let (seed, offset) = (head.seed(), HEAD_BYTES as u64);
                Ok(SegmentReader { path, file, seed, offset, end, last: None, payload: Vec::new() })
            }
            Err(fault) => Err(LogError::Segment { file: path, offset: 0, fault }),
        }
    }

    /// Appends the entries of the next block to `into`; `false` at the end. After an error `offset` is still
    /// where the block begins.
    pub(crate) fn next_block(&mut self, into: &mut Vec<LogEntry>) -> Result<bool, LogError> {
        if self.offset >= self.end {
            return Ok(false);
        }
        let before = into.len();
        match self.read_block(into)? {
            Ok(length) => {
                self.offset += length;
                self.last = into.last().map(|e| e.ordinal).or(self.last);
                Ok(true)
            }
            Err(fault) => {
                into.truncate(before);
                Err(LogError::Segment { file: self.path.clone(), offset: self.offset, fault })
            }
        }
    }

    fn read_block(&mut self, into: &mut Vec<LogEntry>) -> Result<Result<u64, Fault>, LogError> {
        let room = self.end - self.offset;
        if room < BLOCK_HEAD_BYTES as u64 {
            return Ok(Err(Fault::Torn("block")));
        }
        let mut head = [0; BLOCK_HEAD_BYTES];
        read_exact_at(self.file.as_ref(), self.offset, &mut head).map_err(doing("read", &self.path))?;
        let head = match BlockHead::decode(&head) {
            Ok(h) => h,
            Err(fault) => return Ok(Err(fault)),
        };
        let length = BLOCK_HEAD_BYTES as u64 + u64::from(head.length);
        if room < length {
            return Ok(Err(Fault::Torn("block")));
        }
        self.payload.resize(head.length as usize, 0);
        read_exact_at(self.file.as_ref(), self.offset + BLOCK_HEAD_BYTES as u64, &mut self.payload)
            .map_err(doing("read", &self.path))?;
        if let Err(fault) = head.open(self.seed, &self.payload, into) {
            return Ok(Err(fault));
        }
        if let Some(last) = self.last.filter(|last| head.first <= *last) {
            return Ok(Err(Fault::Order { last, next: head.first }));
        }
        Ok(Ok(length))
    }
}

/// The longest valid prefix of a segment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prefix {
    /// What is whole.
    pub whole: ClosedSegment,
    /// Blocks in it.
    pub blocks: u64,
    /// Bytes after it.
    pub cut_bytes: u64,
    /// Why they are of no use; `None` where there are none.
    pub reason: Option<Fault>,
}

/// Finds the longest valid prefix of a segment and hands its entries over, block by block.
///
/// # Errors
/// Where the file cannot be read, or what stands there is no damage but the work of a newer program or of
/// another run.
pub fn entries_from_segment(
    disk: &dyn Disk,
    folder: &Path,
    run_id: RunId,
    number: u32,
    mut each: impl FnMut(&[LogEntry]),
) -> Result<Prefix, LogError> {
    let mut whole = ClosedSegment { run_id, number, ordinals: 0..0, entries: 0, bytes: 0 };
    let mut blocks = 0;
    let mut segment = match SegmentReader::open(disk, folder, run_id, number) {
        Err(LogError::Segment { file, fault, .. }) if fault.is_damage() => {
            let cut_bytes = disk.size(&file).map_err(doing("read", &file))?.unwrap_or(0);
            return Ok(Prefix { whole, blocks, cut_bytes, reason: Some(fault) });
        }
        r => r?,
    };
    let mut entries = Vec::new();
    let reason = loop {
        entries.clear();
        match segment.next_block(&mut entries) {
            Ok(true) => blocks += 1,
            Ok(false) => break None,
            Err(LogError::Segment { fault, .. }) if fault.is_damage() => break Some(fault),
            Err(e) => return Err(e),
        }
        if let (Some(first), Some(last)) = (entries.first(), entries.last()) {
            let start = if whole.entries == 0 { first.ordinal } else { whole.ordinals.start };
            whole.ordinals = start..last.ordinal + 1;
        }
        whole.entries += entries.len() as u64;
        each(&entries);
    };
    whole.bytes = segment.offset;
    Ok(Prefix { whole, blocks, cut_bytes: segment.end - segment.offset, reason })
}
