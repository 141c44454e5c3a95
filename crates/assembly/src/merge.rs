//! Captures merged by (event time, source, sequence): the same order whatever the order and names of the files. Where
//! two files of a source hold records of one moment, the records' bytes decide, and last what the files hold in all.

use crate::clock::ClockFix;
use crate::error::Error;
use crate::load::SourceSpec;
use plugin_api::{Capture, CaptureError};
use recording::RealDisk;
use recording::manifest::NotUsed;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use stream::{EntryBody, EventTime, SourceId};

/// Bad lines told one by one; later ones are counted only.
const TOLD: usize = 20;

/// A merge of captures.
pub struct Merge {
    inputs: Vec<Input>,
    /// The head of each input; the inputs of a source stand in an order that their content gives.
    heap: BinaryHeap<Reverse<(EventTime, u16, usize)>>,
    /// The next sequence number of each source: its files count from 0 each, the source counts through.
    sequences: Vec<u64>,
    bad: BadLines,
}

/// Lines that could not be read.
#[derive(Default)]
struct BadLines {
    count: u64,
    told: Vec<String>,
}

impl BadLines {
    /// The next entry of a capture; bad lines before it are counted, the first ones told.
    fn read(&mut self, capture: &mut dyn Capture) -> Result<Option<EntryBody>, Error> {
        loop {
            match capture.next_entry() {
                Ok(entry) => return Ok(entry),
                Err(e @ CaptureError::Line { .. }) => {
                    self.count += 1;
                    if self.told.len() < TOLD {
                        self.told.push(e.to_string());
                    }
                }
                Err(e) => return Err(e.into()),
            }
        }
    }
}

/// One file of a source.
struct Input {
    id: SourceId,
    name: String,
    /// Digest of the file, where the source has several.
    sha256: String,
    capture: Box<dyn Capture>,
    clock: Option<ClockFix>,
    head: Option<EntryBody>,
}

/// What a replay did not use.
#[derive(Clone, Debug, Default)]
pub struct Unused {
    /// Lines that could not be read.
    pub bad_lines: u64,
    /// The first of them, each with its place.
    pub told: Vec<String>,
    /// Lines that were read and not used, by source and reason.
    pub other: Vec<(String, u64)>,
}

impl Unused {
    /// The counts that a manifest keeps.
    pub fn for_manifest(&self) -> Vec<NotUsed> {
        let bad = ("lines that could not be read".to_owned(), self.bad_lines);
        let all = std::iter::once(&bad).chain(&self.other).filter(|(_, n)| *n > 0);
        all.map(|(what, count)| NotUsed { what: what.clone(), count: *count }).collect()
    }
}

impl Merge {
    /// Opens the captures of a run.
    ///
    /// # Errors
    /// A capture that cannot be opened.
    pub fn open(sources: &[SourceSpec]) -> Result<Merge, Error> {
        let sequences = vec![0; sources.len()];
        let mut merge = Merge { inputs: Vec::new(), heap: BinaryHeap::new(), sequences, bad: BadLines::default() };
        for s in sources {
            let SourceSpec::Capture { plugin, setup, clock } = s else { continue };
            let first = merge.inputs.len();
            for (file, capture) in setup.files.iter().zip((plugin.open)(setup)?) {
                let sha256 = match setup.files.len() {
                    1 => String::new(),
                    _ => recording::digests::sha256_of_file(&RealDisk, file).map_err(recording::FolderError::from)?,
                };
                let (id, name, clock) = (setup.id, setup.name.clone(), clock.clone());
                merge.inputs.push(Input { id, name, sha256, capture, clock, head: None });
            }
            merge.inputs[first..].sort_by(|a, b| a.sha256.cmp(&b.sha256));
        }
        for i in 0..merge.inputs.len() {
            merge.advance(i)?;
        }
        Ok(merge)
    }

    /// The next entry of all, or `None` at the end of all: mostly a record, or what else a capture knows of its source.
    ///
    /// # Errors
    /// A file that cannot be read any further; bad lines are counted instead.
    pub fn next_entry(&mut self) -> Result<Option<EntryBody>, Error> {
        let Some((source, i)) = self.next_input() else { return Ok(None) };
        let Some(mut entry) = self.inputs[i].head.take() else { return Ok(None) };
        if let EntryBody::Record(record) = &mut entry
            && let Some(next) = self.sequences.get_mut(usize::from(source))
        {
            record.sequence = *next;
            *next += 1;
        }
        self.advance(i)?;
        Ok(Some(entry))
    }

    /// The input whose head is next, taken off the heap: of several of one moment and source the one with the least
    /// bytes, then the one earlier in its file.
    fn next_input(&mut self) -> Option<(u16, usize)> {
        let Reverse((time, source, mut least)) = self.heap.pop()?;
        let mut others = Vec::new();
        while let Some(Reverse((_, _, i))) = self.heap.peek().filter(|h| (h.0.0, h.0.1) == (time, source)) {
            let bytes = |i: usize| match &self.inputs[i].head {
                Some(EntryBody::Record(r)) => Some((r.payload.as_slice(), r.sequence)),
                _ => None,
            };
            others.push(if bytes(*i) < bytes(least) { std::mem::replace(&mut least, *i) } else { *i });
            self.heap.pop();
        }
        self.heap.extend(others.into_iter().map(|i| Reverse((time, source, i))));
        Some((source, least))
    }

    /// Reads the next head of an input.
    fn advance(&mut self, i: usize) -> Result<(), Error> {
        let input = &mut self.inputs[i];
        let mut head = self.bad.read(&mut *input.capture)?;
        if let (Some(clock), Some(entry)) = (&input.clock, &mut head) {
            clock.correct(entry);
        }
        self.heap.extend(head.as_ref().map(|h| Reverse((event_time(h), input.id.0, i))));
        input.head = head;
        Ok(())
    }

    /// How far through the captures it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        let sum: f64 = self.inputs.iter().map(|i| i.capture.progress()).sum();
        if self.inputs.is_empty() { 1.0 } else { sum / self.inputs.len() as f64 }
    }

    /// What was not used, after the end.
    pub fn unused(&self) -> Unused {
        let mut other: Vec<(String, u64)> = Vec::new();
        for input in &self.inputs {
            for (why, n) in input.capture.unused() {
                let why = format!("{}: {why}", input.name);
                match other.iter_mut().find(|(w, _)| *w == why) {
                    Some((_, all)) => *all += n,
                    None => other.push((why, n)),
                }
            }
        }
        Unused { bad_lines: self.bad.count, told: self.bad.told.clone(), other }
    }
}

/// When what an entry tells of happened.
pub fn event_time(entry: &EntryBody) -> EventTime {
    match entry {
        EntryBody::Record(r) => r.event_time,
        EntryBody::Link(l) => l.event_time,
        EntryBody::Gap(g) => g.to,
        EntryBody::Anchor(a) => a.event_time,
        EntryBody::Operator(a) => a.pressed_at,
        EntryBody::Tick | EntryBody::End => EventTime(i64::MAX),
    }
}
