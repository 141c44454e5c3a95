//! What both ways of reading need: samples that are samples.

use super::{Sample, StrokeError};

/// Times rise, numbers are finite, values are shares, and there are enough.
pub(super) fn samples(channel: &'static str, samples: &[Sample], needed: usize) -> Result<(), StrokeError> {
    let mut before = f64::NEG_INFINITY;
    for (index, &Sample { time, value }) in samples.iter().enumerate() {
        if !time.is_finite() || time.abs() > 1e12 || !(-0.5..=1.5).contains(&value) {
            return Err(StrokeError::Value { channel, index, time, value });
        }
        if time <= before {
            return Err(StrokeError::Time { channel, index, time });
        }
        before = time;
    }
    enough(channel, samples.len(), needed)
}

pub(super) fn enough(what: &'static str, found: usize, needed: usize) -> Result<(), StrokeError> {
    if found < needed { Err(StrokeError::TooFew { what, found, needed }) } else { Ok(()) }
}

pub(super) fn criterion(
    name: &'static str,
    value: f64,
    valid: &'static str,
    holds: impl Fn(f64) -> bool,
) -> Result<(), StrokeError> {
    if holds(value) { Ok(()) } else { Err(StrokeError::Criterion { name, value, valid }) }
}

pub(super) fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    values.sum::<f64>() / count
}

/// Smallest and largest.
pub(super) fn extremes(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
}
