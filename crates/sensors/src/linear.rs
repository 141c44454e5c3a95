//! A straight line.

use crate::fault::{Fault, SensorError, finite};
use units::Real;

/// `value = factor · raw + offset`, for every finite signal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear {
    factor: f64,
    offset: f64,
}

impl Linear {
    /// The signal is the value.
    pub const IDENTITY: Linear = Linear { factor: 1.0, offset: 0.0 };

    /// From the value of one raw unit and the value at raw 0.
    ///
    /// # Errors
    /// [`SensorError`] where a parameter is not finite or the factor is 0.
    pub fn new(factor: f64, offset: f64) -> Result<Linear, SensorError> {
        let (factor, offset) = (finite("the factor", factor)?, finite("the offset", offset)?);
        if factor == 0.0 {
            return Err(SensorError::ZeroFactor);
        }
        Ok(Linear { factor, offset })
    }

    /// The line through two points (signal, value). It goes on beyond them: two points of a line define the line.
    ///
    /// # Errors
    /// [`SensorError`] where a number is not finite or the points agree in signal or in value.
    pub fn through(a: (f64, f64), b: (f64, f64)) -> Result<Linear, SensorError> {
        for (raw, value) in [a, b] {
            finite("the signal of a point", raw)?;
            finite("the value of a point", value)?;
        }
        if a.0 == b.0 {
            return Err(SensorError::SamePoint { what: "signal", value: a.0 });
        }
        if a.1 == b.1 {
            return Err(SensorError::SamePoint { what: "value", value: a.1 });
        }
        let factor = (b.1 - a.1) / (b.0 - a.0);
        Linear::new(factor, a.1 - factor * a.0)
    }

    /// The value of a signal.
    ///
    /// ```text
    /// value = factor·raw + offset
    /// ```
    /// * Units: as the line was given. * Range: every signal of which the value is finite; where a sensor's range ends
    ///   the line does not know (the channel's plausible range does).
    /// * Outside: [`Fault::NotFinite`]. * Source: definition of a straight line.
    #[inline]
    pub fn value<R: Real>(&self, raw: R) -> Result<R, Fault> {
        let value = raw * self.factor + self.offset;
        if value.is_finite() { Ok(value) } else { Err(Fault::NotFinite { value: raw.value() }) }
    }

    /// The signal of a value, the inverse of [`value`](Self::value).
    ///
    /// ```text
    /// raw = (value − offset)/factor
    /// ```
    /// * Units, range, outside, source: as [`value`](Self::value).
    #[inline]
    pub fn raw<R: Real>(&self, value: R) -> Result<R, Fault> {
        let raw = (value - self.offset) / self.factor;
        if raw.is_finite() { Ok(raw) } else { Err(Fault::NotFinite { value: value.value() }) }
    }
}
