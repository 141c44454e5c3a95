//! What can be wrong with a signal, and with the description of a sensor.

use crate::FormulaError;
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
    /// A resistance that no thermometer of this kind has: a broken wire.
    #[error("{ohm} ohm is above the {limit} ohm of the hot end of the range: a wire is broken")]
    ResistorOpen {
        /// The resistance, Ω.
        ohm: f64,
        /// The resistance at the hot end, Ω.
        limit: f64,
    },
    /// A resistance that no thermometer of this kind has: a short circuit.
    #[error("{ohm} ohm is below the {limit} ohm of the cold end of the range: short circuit")]
    ResistorShort {
        /// The resistance, Ω.
        ohm: f64,
        /// The resistance at the cold end, Ω.
        limit: f64,
    },
    /// The sum, or the supply, of a ratiometric sensor is not what an unbroken one has.
    #[error("the sum or supply is {value}, must be from {from} to {to}: a wire is broken or the excitation is off")]
    Sum {
        /// The sum or supply, in the unit of the readings.
        value: f64,
        /// The low end of the window.
        from: f64,
        /// The high end of the window.
        to: f64,
    },
    /// Beyond the ends of a table or of a formula's range.
    #[error("{value} is outside the table or formula, which goes from {from} to {to}")]
    OutsideTable {
        /// The number that was looked up.
        value: f64,
        /// The low end.
        from: f64,
        /// The high end.
        to: f64,
    },
    /// A table or formula that rises and falls: no single signal stands for a value.
    #[error("the table or formula cannot be read that way: it both rises and falls")]
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
    /// A resistance at 0 °C that is none.
    #[error("the resistance at 0 degC is {r0_ohm} ohm; give one above 0, 100 for Pt100")]
    Resistance {
        /// The resistance, Ω.
        r0_ohm: f64,
    },
    /// Coefficients with which the resistance would not rise from end to end.
    #[error(
        "with A = {a}/K, B = {b}/K2, C = {c}/K4 the resistance is not above 0 and rising from -200 to 850 degC; \
         IEC 60751 has 3.9083e-3, -5.775e-7, -4.183e-12"
    )]
    Coefficients {
        /// A, 1/K.
        a: f64,
        /// B, 1/K².
        b: f64,
        /// C, 1/K⁴.
        c: f64,
    },
    /// A range without content.
    #[error("the range goes from {from} to {to}; give the lower end first")]
    EmptyRange {
        /// The end named first.
        from: f64,
        /// The end named second.
        to: f64,
    },
    /// A polynomial that says nothing about the signal.
    #[error("the polynomial gives the same value for every signal in its range; give it a term with the signal")]
    Constant,
    /// A polynomial of too high a degree.
    #[error("a polynomial of {coefficients} coefficients; at most {most} are taken")]
    Degree {
        /// How many there are.
        coefficients: usize,
        /// How many there may be.
        most: usize,
    },
    /// The two points of a ratiometric sensor do not go the way that was declared.
    #[error(
        "the ratio is {closed} closed and {open} open, so it {goes} towards open, against what is declared; \
         exchange the two readings or the two ratios"
    )]
    Polarity {
        /// The ratio at position 0.
        closed: f64,
        /// The ratio at position 1.
        open: f64,
        /// Rises or falls.
        goes: &'static str,
    },
    /// A parameter below 0 that must not be.
    #[error("{parameter} is {value}; give 0 or more")]
    Negative {
        /// Which.
        parameter: &'static str,
        /// Its value.
        value: f64,
    },
    /// A window in which a sum or supply can be 0.
    #[error("the window of the sum goes from {from} to {to}; both must be above 0, the lower first")]
    Window {
        /// The low end.
        from: f64,
        /// The high end.
        to: f64,
    },
    /// A reference junction outside the thermocouple's range.
    #[error("{0}")]
    ReferenceJunction(FormulaError),
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
