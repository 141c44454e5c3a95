//! The 4–20 mA current loop.

use crate::fault::{Fault, SensorError};
use crate::linear::Linear;
use units::Real;

/// A loop in which 4 mA stand for the low end of the measuring range and 20 mA for its high end. The line goes on
/// between the fault currents and the ends, where a transmitter shows a slight overrange; at and beyond the fault
/// currents there is no value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurrentLoop {
    line: Linear,
    open_below: f64,
    short_above: f64,
}

/// The fault currents of [`CurrentLoop::new`], mA: below the first the loop is open, above the second shorted.
/// NAMUR NE 43 (from memory): measuring values 3.8…20.5 mA, failure at 3.6 mA and below or 21 mA and above.
pub const FAULT_CURRENTS: (f64, f64) = (3.6, 21.0);

impl CurrentLoop {
    /// From the values at 4 and at 20 mA, with the usual [`FAULT_CURRENTS`].
    ///
    /// # Errors
    /// [`SensorError`] where a value is not finite or both are equal.
    pub fn new(at_4_ma: f64, at_20_ma: f64) -> Result<CurrentLoop, SensorError> {
        Self::with_fault_currents(at_4_ma, at_20_ma, FAULT_CURRENTS.0, FAULT_CURRENTS.1)
    }

    /// As [`new`](Self::new), with other fault currents in mA.
    ///
    /// # Errors
    /// As [`new`](Self::new), and where the fault currents do not enclose 4 to 20 mA.
    pub fn with_fault_currents(
        at_4_ma: f64,
        at_20_ma: f64,
        open_below: f64,
        short_above: f64,
    ) -> Result<CurrentLoop, SensorError> {
        let line = Linear::through((4.0, at_4_ma), (20.0, at_20_ma))?;
        if !(open_below.is_finite() && short_above.is_finite() && open_below < 4.0 && short_above > 20.0) {
            return Err(SensorError::FaultCurrents { open_below, short_above });
        }
        Ok(CurrentLoop { line, open_below, short_above })
    }

    /// The value at a loop current.
    ///
    /// ```text
    /// value = v_4 + (v_20 − v_4)·(I − 4 mA)/16 mA
    /// ```
    /// * Units: mA in; out as the ends were given. * Range: above the lower fault current and below the upper; slight
    ///   overrange beyond 4 and 20 mA included.
    /// * Outside: [`Fault::Open`] at and below the lower fault current, [`Fault::Short`] at and above the upper,
    ///   [`Fault::NotFinite`].
    /// * Source: live zero of IEC 60381-1, fault currents of NAMUR NE 43 (both from memory).
    #[inline]
    pub fn value<R: Real>(&self, current: R) -> Result<R, Fault> {
        let plain = current.value();
        if !plain.is_finite() {
            Err(Fault::NotFinite { value: plain })
        } else if plain <= self.open_below {
            Err(Fault::Open { current: plain, limit: self.open_below })
        } else if plain >= self.short_above {
            Err(Fault::Short { current: plain, limit: self.short_above })
        } else {
            self.line.value(current)
        }
    }

    /// The loop current of a value, the inverse of [`value`](Self::value).
    ///
    /// * Units: as the ends were given; mA out. * Range: values whose current lies between the fault currents.
    /// * Outside: as [`value`](Self::value): a current that would be read as a fault is refused.
    /// * Source: as [`value`](Self::value).
    #[inline]
    pub fn raw<R: Real>(&self, value: R) -> Result<R, Fault> {
        let current = self.line.raw(value)?;
        self.value(current).map(|_| current)
    }
}
