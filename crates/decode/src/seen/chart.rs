//! The way of one field over time.

use super::changes::Change;
use super::field::Field;
use super::word::Word;
use stream::{EventTime, Span};

/// Least and greatest; of nothing, infinitely far the wrong way round.
pub(crate) fn ends(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)))
}

/// What a field was, change by change.
pub(crate) struct Chart<'a> {
    changes: &'a [Change],
    values: Vec<Option<f64>>,
    moved: Vec<bool>,
}

/// What a field did in a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Way {
    /// What it was at the window's beginning and at its end.
    pub(crate) before: f64,
    pub(crate) after: f64,
    /// From its least to its greatest value.
    pub(crate) travel: f64,
    /// When it moved first.
    pub(crate) began: Option<EventTime>,
}

impl<'a> Chart<'a> {
    pub(crate) fn new(word: &'a Word, field: &Field) -> Chart<'a> {
        let changes = word.changes();
        Chart {
            changes,
            values: changes.iter().map(|c| field.value(&c.bytes)).collect(),
            moved: changes.iter().map(|c| field.moved(c)).collect(),
        }
    }

    /// Whether it moved at all.
    pub(crate) fn has_moved(&self) -> bool {
        self.moved.contains(&true)
    }

    /// When it moved.
    pub(crate) fn moves(&self) -> impl Iterator<Item = EventTime> {
        self.changes.iter().zip(&self.moved).filter(|(_, moved)| **moved).map(|(c, _)| c.at)
    }

    /// Its way from one moment to another; `None` before it came first, and where it has no value there.
    pub(crate) fn way(&self, from: EventTime, to: EventTime) -> Option<Way> {
        let first = self.changes.partition_point(|c| c.at <= from);
        let end = self.changes.partition_point(|c| c.at <= to);
        let before = self.values[first.checked_sub(1)?]?;
        let (mut least, mut most, mut after, mut began) = (before, before, before, None);
        for i in first..end {
            if let Some(x) = self.values[i] {
                (least, most, after) = (least.min(x), most.max(x), x);
            }
            if self.moved[i] && began.is_none() {
                began = Some(self.changes[i].at);
            }
        }
        // What moved and came back within one kept change went by one at least.
        let travel = (most - least).max(if began.is_some() { f64::MIN_POSITIVE } else { 0.0 });
        Some(Way { before, after, travel, began })
    }
}

/// For each moment the change that holds then; `None` before the word came first and after it stayed away.
pub(crate) fn holding(word: &Word, moments: impl Iterator<Item = EventTime>) -> Vec<Option<usize>> {
    let patience =
        word.median_gap().map_or(Span::from_secs(1), |g| Span(g.0.saturating_mul(3)).max(Span::from_secs(1)));
    let (changes, end) = (word.changes(), word.last() + patience);
    let mut next = 0;
    moments
        .map(|t| {
            while changes.get(next).is_some_and(|c| c.at <= t) {
                next += 1;
            }
            if t > end { None } else { next.checked_sub(1) }
        })
        .collect()
}
