//! A unit: how to get from it to SI and back.

use crate::Quantity;

/// One row of the unit table. In SI a reading x in this unit is `(x + offset) · factor`; the offset is not zero for
/// temperature scales alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As people write it.
    pub symbol: &'static str,
    /// Other ways of writing it that are understood.
    pub aliases: &'static [&'static str],
    /// Its code in the Unified Code for Units of Measure. A row with a [`reference`](Self::reference) has the code
    /// of the bare unit: UCUM does not say what a pressure is measured against.
    pub ucum: &'static str,
    /// What it measures.
    pub quantity: Quantity,
    /// SI units to one of this unit.
    pub factor: f64,
    /// What is added before the factor: from this scale's zero to absolute zero, in this unit.
    pub offset: f64,
    /// What the unit says a pressure is measured against; `None` where it says nothing.
    pub reference: Option<PressureReference>,
    /// Where factor and offset come from.
    pub source: &'static str,
}

/// What a pressure is measured against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PressureReference {
    /// Vacuum.
    Absolute,
    /// The surrounding air.
    Gauge,
    /// Another pressure.
    Difference,
}

impl PressureReference {
    /// The word in files and messages.
    pub fn word(self) -> &'static str {
        match self {
            Self::Absolute => "absolute",
            Self::Gauge => "gauge",
            Self::Difference => "difference",
        }
    }
}

impl Unit {
    /// Whether a channel of this quantity may be given in this unit. Temperatures and pressures share their units
    /// with the differences of them; a unit that names its reference fits accordingly (`psig` is no difference,
    /// `psid` is nothing else).
    pub fn fits(&self, quantity: Quantity) -> bool {
        match (quantity, self.reference) {
            (Quantity::Pressure, Some(r)) => r != PressureReference::Difference,
            (Quantity::PressureDifference, Some(r)) => r == PressureReference::Difference,
            (Quantity::PressureDifference, None) => self.quantity == Quantity::Pressure,
            (Quantity::TemperatureDifference, _) => self.quantity == Quantity::Temperature,
            (q, _) => self.quantity == q,
        }
    }

    /// A reading in this unit, in SI: `(x + offset) · factor`. Any number; what is not finite stays so.
    #[inline]
    pub fn to_si(&self, x: f64) -> f64 {
        (x + self.offset) * self.factor
    }

    /// Back from SI: `si / factor − offset`.
    #[inline]
    pub fn from_si(&self, si: f64) -> f64 {
        si / self.factor - self.offset
    }

    /// A difference of two readings in this unit, in SI: the offset falls out. 20 degF of difference are 11.1 K.
    #[inline]
    pub fn difference_to_si(&self, x: f64) -> f64 {
        x * self.factor
    }

    /// A difference back from SI.
    #[inline]
    pub fn difference_from_si(&self, si: f64) -> f64 {
        si / self.factor
    }
}
