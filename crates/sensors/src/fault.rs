//! What can be wrong with a signal, and with the description of a sensor.

use thiserror::Error;

/// A signal that stands for no value, or a value that no signal stands for.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum Fault {
    /// A broken wire.
    #[error("loop current {current} mA is below {limit} mA: wire open or transmitter without supply")]
    Open {
        /// The loop current, mA.
        current: f64,
        /// Below it the loop counts as open, mA.
        limit: f64,
    },
    /// A short circuit.
    #[error("loop current {current} mA is above {limit} mA: short circuit, or the transmitter reports its own failure")]
    Short {
        /// The loop current, mA.
        current: f64,
        /// Above it the loop counts as shorted, mA.
        limit: f64,
    },
    /// Beyond the ends of a table.
    #[error("{value} is outside the table, which goes from {from} to {to}")]
    OutsideTable {
        /// The number that was looked up.
        value: f64,
        /// The table's low end.
        from: f64,
        /// The table's high end.
        to: f64,
    },
    /// A value at which the table rises and falls: no single signal stands for it.
    #[error("the table cannot be read backwards: its values both rise and fall")]
    NotInvertible,
    /// Not a finite number, before or after the conversion.
    #[error("{value} is not a finite number, or becomes none by the conversion")]
    NotFinite {
        /// What came in.
        value: f64,
    },
}

/// A description of a sensor that cannot be used.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SensorError {
    /// A parameter is NaN or infinite.
    #[error("{parameter} is {value}; give a finite number")]
    NotFinite {
        /// Which.
        parameter: &'static str,
        /// Its value.
        value: f64,
    },
    /// Every signal would give the same value.
    #[error("a factor of 0 gives the same value for every signal; give the value of one more raw unit")]
    ZeroFactor,
    /// Two points that do not make a line.
    #[error("both points have {what} {value}; give two points that differ in signal and in value")]
    SamePoint {
        /// Signal or value.
        what: &'static str,
        /// The number both have.
        value: f64,
    },
    /// Not enough points.
    #[error("a table needs at least two points, this one has {points}; add the points of the calibration")]
    TooFewPoints {
        /// How many there are.
        points: usize,
    },
    /// Signals out of order.
    #[error(
        "point {point} has signal {signal} after {before}; signals must rise from point to point or fall from point \
         to point, each once"
    )]
    NotMonotone {
        /// The point, counted from 1.
        point: usize,
        /// Its signal.
        signal: f64,
        /// The signal of the point before.
        before: f64,
    },
    /// The fault currents do not enclose the measuring range.
    #[error(
        "fault currents {open_below} and {short_above} mA do not enclose the measuring range of 4 to 20 mA; \
         the usual ones are 3.6 and 21 mA"
    )]
    FaultCurrents {
        /// Below it the loop counts as open, mA.
        open_below: f64,
        /// Above it the loop counts as shorted, mA.
        short_above: f64,
    },
}

/// The parameter, where it is finite.
pub(crate) fn finite(parameter: &'static str, value: f64) -> Result<f64, SensorError> {
    if value.is_finite() { Ok(value) } else { Err(SensorError::NotFinite { parameter, value }) }
}
