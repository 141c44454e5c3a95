//! How a channel's raw number becomes a value.

use crate::fault::SensorError;
use crate::{CurrentLoop, Fault, FormulaError, Linear, Platinum, Polynomial, Ratiometric, Table, Thermocouple};
use units::Real;

/// One conversion. The raw number is what the instrument reading says; the value is in the channel's unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Conversion {
    /// A factor and an offset, or two points.
    Linear(Linear),
    /// Points with straight lines or a monotone curve between.
    Table(Table),
    /// 4–20 mA; the raw number is in mA.
    CurrentLoop(CurrentLoop),
    /// A polynomial over a declared range.
    Polynomial(Polynomial),
    /// A platinum resistor; the raw number is in Ω, the value in °C.
    Platinum(Platinum),
    /// A thermocouple whose reference junction is held at a known temperature; mV and °C.
    FixedJunction(FixedJunction),
}

impl Conversion {
    /// The raw number is the value already.
    pub const IDENTITY: Conversion = Conversion::Linear(Linear::IDENTITY);

    /// The value of a raw number. Formula, units, range and source are those of the conversion's own function:
    /// [`Linear::value`], [`Table::value`], [`CurrentLoop::value`], [`Polynomial::value`], [`Platinum::temperature_c`],
    /// [`Thermocouple::junction_c`].
    ///
    /// * Outside: [`Fault`] where the raw number stands for no value.
    #[inline]
    pub fn value<R: Real>(&self, raw: R) -> Result<R, Fault> {
        match self {
            Conversion::Linear(c) => c.value(raw),
            Conversion::Table(c) => c.value(raw),
            Conversion::CurrentLoop(c) => c.value(raw),
            Conversion::Polynomial(c) => Ok(c.value(raw)?),
            Conversion::Platinum(c) => c.temperature_c(raw).map_err(|e| resistor_fault(c, raw.value(), e)),
            Conversion::FixedJunction(c) => Ok(c.thermocouple.junction_c(raw, R::of(c.reference_c))?),
        }
    }

    /// The raw number of a value: what a simulated instrument sends. The inverse of [`value`](Self::value), by the
    /// conversion's own function as there.
    ///
    /// * Outside: [`Fault`] where no raw number stands for the value.
    #[inline]
    pub fn raw<R: Real>(&self, value: R) -> Result<R, Fault> {
        match self {
            Conversion::Linear(c) => c.raw(value),
            Conversion::Table(c) => c.raw(value),
            Conversion::CurrentLoop(c) => c.raw(value),
            Conversion::Polynomial(c) => Ok(c.raw(value)?),
            Conversion::Platinum(c) => Ok(c.resistance_ohm(value)?),
            Conversion::FixedJunction(c) => Ok(c.thermocouple.measured_mv(value, R::of(c.reference_c))?),
        }
    }
}

/// A thermocouple whose reference junction is held at a known temperature: an ice point, an oven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FixedJunction {
    thermocouple: Thermocouple,
    reference_c: f64,
}

impl FixedJunction {
    /// With the reference junction's temperature in °C.
    ///
    /// # Errors
    /// [`SensorError::ReferenceJunction`] where it lies outside the thermocouple's range.
    pub fn new(thermocouple: Thermocouple, reference_c: f64) -> Result<FixedJunction, SensorError> {
        thermocouple.measured_mv(0.0, reference_c).map_err(SensorError::ReferenceJunction)?;
        Ok(FixedJunction { thermocouple, reference_c })
    }
}

/// A conversion that takes two readings.
#[derive(Clone, Debug, PartialEq)]
pub enum PairConversion {
    /// The emf in mV, and the reference junction's temperature in °C; the value is in °C.
    Thermocouple(Thermocouple),
    /// The two readings of a position sensor; the value is 0…1.
    Ratiometric(Ratiometric),
}

impl PairConversion {
    /// The value of two readings taken together.
    ///
    /// # Errors
    /// [`FormulaError`] where they stand for no value.
    #[inline]
    pub fn value<R: Real>(&self, first: R, second: R) -> Result<R, FormulaError> {
        match self {
            PairConversion::Thermocouple(t) => t.junction_c(first, second),
            PairConversion::Ratiometric(r) => r.position(first, second),
        }
    }

    /// The first reading of a value, where the second is given: what a simulated instrument sends.
    ///
    /// # Errors
    /// [`FormulaError`] where no first reading stands for the value beside that second one.
    pub fn first(&self, value: f64, second: f64) -> Result<f64, FormulaError> {
        match self {
            PairConversion::Thermocouple(t) => t.measured_mv(value, second),
            PairConversion::Ratiometric(r) => r.first(value, second),
        }
    }

    /// What the second reading is, for messages.
    pub fn second(&self) -> &'static str {
        match self {
            PairConversion::Thermocouple(_) => "the reference junction's temperature in degC",
            PairConversion::Ratiometric(r) => match r.spec().ratio {
                crate::Ratio::DifferenceOverSum => "the other winding's voltage",
                crate::Ratio::PartOfWhole => "the supply voltage",
            },
        }
    }
}

/// A resistance beyond the range has a cause in the wiring.
#[cold]
fn resistor_fault(platinum: &Platinum, ohm: f64, error: FormulaError) -> Fault {
    match platinum.range_ohm() {
        (_, limit) if ohm.is_finite() && ohm > limit => Fault::ResistorOpen { ohm, limit },
        (limit, _) if ohm.is_finite() && ohm < limit => Fault::ResistorShort { ohm, limit },
        _ => error.into(),
    }
}
