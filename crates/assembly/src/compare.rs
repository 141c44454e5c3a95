//! Recomputed against stored results, to the last bit.

use crate::error::Error;
use recording::{TableError, TablesReader};
use stream::{Batch, Event, Sample, Snapshot};

/// Differences told one by one.
const TOLD: usize = 10;

/// What a comparison found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compared {
    /// Samples that are the same.
    pub samples: u64,
    /// Snapshots that are the same.
    pub snapshots: u64,
    /// Events that are the same.
    pub events: u64,
    /// Rows that differ, or that only one side has.
    pub different: u64,
    /// The first of them in words.
    pub told: Vec<String>,
}

/// Compares batches with what tables hold, in step.
pub struct Comparison<'a> {
    samples: Box<dyn Iterator<Item = Result<Sample, TableError>> + 'a>,
    snapshots: Box<dyn Iterator<Item = Result<Snapshot, TableError>> + 'a>,
    events: Box<dyn Iterator<Item = Result<Event, TableError>> + 'a>,
    found: Compared,
}

impl<'a> Comparison<'a> {
    /// Against these tables.
    ///
    /// # Errors
    /// Where the tables cannot be listed.
    pub fn with(tables: &'a TablesReader) -> Result<Comparison<'a>, Error> {
        Ok(Comparison {
            samples: Box::new(tables.samples()?),
            snapshots: Box::new(tables.snapshots()?),
            events: Box::new(tables.events()?),
            found: Compared::default(),
        })
    }

    /// Takes what was computed anew.
    ///
    /// # Errors
    /// Where a table cannot be read.
    pub fn take(&mut self, batch: &Batch) -> Result<(), Error> {
        for new in &batch.samples {
            let old = self.samples.next().transpose()?;
            let same =
                old.is_some_and(|o| o.time == new.time && o.channel == new.channel && o.reading.same_bits(new.reading));
            self.found.samples += u64::from(same);
            self.differ(same, || format!("sample: stored {old:?}, recomputed {new:?}"));
        }
        for new in &batch.snapshots {
            let old = self.snapshots.next().transpose()?;
            let same = old.as_ref().is_some_and(|o| same_snapshot(o, new));
            self.found.snapshots += u64::from(same);
            self.differ(same, || snapshot_difference(old.as_ref(), new));
        }
        for new in &batch.events {
            let old = self.events.next().transpose()?;
            let same = old.as_ref().is_some_and(|o| same_event(o, new));
            self.found.events += u64::from(same);
            self.differ(same, || format!("event: stored {old:?}, recomputed {new:?}"));
        }
        Ok(())
    }

    fn differ(&mut self, same: bool, text: impl FnOnce() -> String) {
        if same {
            return;
        }
        self.found.different += 1;
        if self.found.told.len() < TOLD {
            self.found.told.push(text());
        }
    }

    /// What was found, rows that only the tables have included.
    ///
    /// # Errors
    /// Where a table cannot be read.
    pub fn end(mut self) -> Result<Compared, Error> {
        let (mut samples, mut snapshots, mut events) = (0u64, 0u64, 0u64);
        for s in self.samples.by_ref() {
            s?;
            samples += 1;
        }
        for s in self.snapshots.by_ref() {
            s?;
            snapshots += 1;
        }
        for e in self.events.by_ref() {
            e?;
            events += 1;
        }
        for (what, n) in [("samples", samples), ("snapshots", snapshots), ("events", events)] {
            if n > 0 {
                self.found.different += n;
                self.found.told.push(format!("{n} {what} are stored and were not recomputed"));
            }
        }
        Ok(self.found)
    }
}

fn same_snapshot(a: &Snapshot, b: &Snapshot) -> bool {
    a.time == b.time
        && a.limits == b.limits
        && a.readings.len() == b.readings.len()
        && a.readings.iter().zip(&b.readings).all(|(x, y)| x.same_bits(*y))
        && bits(a).eq(bits(b))
}

fn bits(s: &Snapshot) -> impl Iterator<Item = Option<u64>> {
    s.uncertainties.iter().map(|u| u.map(f64::to_bits))
}

fn snapshot_difference(old: Option<&Snapshot>, new: &Snapshot) -> String {
    let Some(old) = old else { return format!("snapshot {}: recomputed, not stored", new.time) };
    let column = old.readings.iter().zip(&new.readings).position(|(x, y)| !x.same_bits(*y));
    match column {
        Some(i) => format!(
            "snapshot {} column {i}: stored {:?}, recomputed {} {:?}",
            old.time, old.readings[i], new.time, new.readings[i]
        ),
        None if !bits(old).eq(bits(new)) => format!(
            "snapshot {} uncertainties: stored {:?}, recomputed {:?}",
            old.time, old.uncertainties, new.uncertainties
        ),
        None => format!("snapshot: stored {} {:?}, recomputed {} {:?}", old.time, old.limits, new.time, new.limits),
    }
}

fn same_event(a: &Event, b: &Event) -> bool {
    a.value.map(f64::to_bits) == b.value.map(f64::to_bits)
        && Event { value: None, ..a.clone() } == Event { value: None, ..b.clone() }
}
