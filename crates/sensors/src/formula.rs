//! The error of the formulas of sensors.

use crate::Fault;
use thiserror::Error;
use units::Real;

/// An argument for which a sensor's formula has no value.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum FormulaError {
    /// Outside the range the formula is given for, or not a number.
    #[error("{formula}: {argument} is {value}{unit}, must be from {from} to {to}{unit}", unit = after(unit))]
    Outside {
        /// The formula, as a person calls it.
        formula: &'static str,
        /// Which argument.
        argument: &'static str,
        /// Its value.
        value: f64,
        /// The low end of the range.
        from: f64,
        /// The high end of the range.
        to: f64,
        /// The unit of these three; empty for none.
        unit: &'static str,
    },
    /// Two temperatures give this emf.
    #[error(
        "{formula}: an emf of {emf_mv} mV is given by two temperatures below {unique_above_c} degC; this type cannot \
         measure there, use another"
    )]
    TwoTemperatures {
        /// The formula.
        formula: &'static str,
        /// The emf referred to 0 °C, mV.
        emf_mv: f64,
        /// Above this temperature an emf belongs to one temperature alone, °C.
        unique_above_c: f64,
    },
    /// The formula rises and falls in its range, so one value stands for several signals.
    #[error("{formula}: it turns at signal {at}, so it cannot be read backwards; declare a range that ends there")]
    Turns {
        /// The formula.
        formula: &'static str,
        /// The first signal at which it turns.
        at: f64,
    },
    /// The standard gives no such class for this sensor.
    #[error("{formula}: the standard has no class {class} for it; its classes are {classes}")]
    NoClass {
        /// The sensor.
        formula: &'static str,
        /// The class asked for.
        class: &'static str,
        /// The classes there are.
        classes: &'static str,
    },
    /// The sum, or the supply, of a ratiometric sensor is not what an unbroken one has.
    #[error("{formula}: {argument} is {value}, must be from {from} to {to}: a wire is broken or the excitation is off")]
    SumCheck {
        /// The sensor.
        formula: &'static str,
        /// What was checked.
        argument: &'static str,
        /// Its value, in the unit of the readings.
        value: f64,
        /// The low end of the window.
        from: f64,
        /// The high end of the window.
        to: f64,
    },
    /// The result, or its derivative, is no finite number.
    #[error("{formula}: no finite result, or no finite slope, at {value}")]
    NotFinite {
        /// The formula.
        formula: &'static str,
        /// The argument.
        value: f64,
    },
}

/// A unit after its number.
fn after(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}

/// For a channel that knows the faults of signals alone.
impl From<FormulaError> for Fault {
    fn from(e: FormulaError) -> Fault {
        match e {
            FormulaError::Outside { value, from, to, .. } if value.is_finite() => {
                Fault::OutsideTable { value, from, to }
            }
            FormulaError::SumCheck { value, from, to, .. } if value.is_finite() => Fault::Sum { value, from, to },
            FormulaError::TwoTemperatures { .. } | FormulaError::Turns { .. } => Fault::NotInvertible,
            FormulaError::NoClass { .. } => Fault::NotFinite { value: f64::NAN },
            FormulaError::Outside { value, .. }
            | FormulaError::SumCheck { value, .. }
            | FormulaError::NotFinite { value, .. } => Fault::NotFinite { value },
        }
    }
}

/// An argument's name, unit and range.
#[derive(Clone, Copy)]
pub(crate) struct Argument {
    pub(crate) formula: &'static str,
    pub(crate) argument: &'static str,
    pub(crate) unit: &'static str,
}

impl Argument {
    /// The number, where it lies in the range; NaN does not.
    #[inline]
    pub(crate) fn within<R: Real>(self, number: R, (from, to): (f64, f64)) -> Result<R, FormulaError> {
        if number >= from && number <= to { Ok(number) } else { Err(self.outside(number.value(), from, to)) }
    }

    #[cold]
    pub(crate) fn outside(self, value: f64, from: f64, to: f64) -> FormulaError {
        let Argument { formula, argument, unit } = self;
        FormulaError::Outside { formula, argument, value, from, to, unit }
    }

    /// The result, where it and the derivatives it carries are finite.
    #[inline]
    pub(crate) fn finite<R: Real>(self, at: f64, result: R) -> Result<R, FormulaError> {
        if result.is_finite() { Ok(result) } else { Err(FormulaError::NotFinite { formula: self.formula, value: at }) }
    }
}
