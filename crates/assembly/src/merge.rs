//! Captures merged by (event time, source, sequence): the same order whatever the order of the files.

use crate::error::Error;
use crate::load::SourceSpec;
use plugin_api::{Capture, CaptureError};
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use stream::{EventTime, RawRecord};

/// Bad lines told one by one; later ones are counted only.
const TOLD: usize = 20;

/// A merge of captures.
pub struct Merge {
    inputs: Vec<Input>,
    heap: BinaryHeap<Reverse<(EventTime, u16, u64)>>,
    bad: u64,
    told: Vec<String>,
}

struct Input {
    name: String,
    capture: Box<dyn Capture>,
    head: Option<RawRecord>,
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

impl Merge {
    /// Opens the captures of a run.
    ///
    /// # Errors
    /// A capture that cannot be opened.
    pub fn open(sources: &[SourceSpec]) -> Result<Merge, Error> {
        let mut merge = Merge { inputs: Vec::new(), heap: BinaryHeap::new(), bad: 0, told: Vec::new() };
        for s in sources {
            let SourceSpec::Capture { plugin, setup } = s else { continue };
            if setup.files.is_empty() {
                continue;
            }
            let capture = (plugin.open)(setup)?;
            merge.inputs.push(Input { name: setup.name.clone(), capture, head: None });
        }
        for i in 0..merge.inputs.len() {
            merge.advance(i)?;
        }
        Ok(merge)
    }

    /// The next record of all, or `None` at the end of all.
    ///
    /// # Errors
    /// A file that cannot be read any further; bad lines are counted instead.
    pub fn next_record(&mut self) -> Result<Option<RawRecord>, Error> {
        // One capture needs no heap.
        let i = match self.heap.pop() {
            None => return Ok(None),
            Some(Reverse((_, source, _))) => self.by_source(source),
        };
        let Some(i) = i else { return Ok(None) };
        let record = self.inputs[i].head.take();
        self.advance(i)?;
        Ok(record)
    }

    fn by_source(&self, source: u16) -> Option<usize> {
        self.inputs.iter().position(|i| i.head.as_ref().is_some_and(|h| h.source.0 == source))
    }

    /// Reads the next head of an input.
    fn advance(&mut self, i: usize) -> Result<(), Error> {
        loop {
            match self.inputs[i].capture.next_record() {
                Ok(Some(r)) => {
                    self.heap.push(Reverse((r.event_time, r.source.0, r.sequence)));
                    self.inputs[i].head = Some(r);
                    return Ok(());
                }
                Ok(None) => return Ok(()),
                Err(e @ CaptureError::Line { .. }) => {
                    self.bad += 1;
                    if self.told.len() < TOLD {
                        self.told.push(e.to_string());
                    }
                }
                Err(e) => return Err(e.into()),
            }
        }
    }

    /// How far through the slowest capture it is.
    pub fn progress(&self) -> f64 {
        self.inputs.iter().map(|i| i.capture.progress()).fold(1.0, f64::min)
    }

    /// What was not used, after the end.
    pub fn unused(&self) -> Unused {
        let of = |i: &Input| {
            let name = i.name.clone();
            i.capture.unused().into_iter().map(move |(why, n)| (format!("{name}: {why}"), n)).collect::<Vec<_>>()
        };
        Unused { bad_lines: self.bad, told: self.told.clone(), other: self.inputs.iter().flat_map(of).collect() }
    }
}
