//! Tolerance classes of IEC 60751.

use crate::formula::{Argument, FormulaError};

/// What the platinum is made as: the ranges of the classes differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Construction {
    /// A wound wire.
    WireWound,
    /// A film.
    Film,
}

/// A class of complete thermometers, narrowest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlatinumClass {
    /// 0.1 K + 0.0017·|t|.
    AA,
    /// 0.15 K + 0.002·|t|.
    A,
    /// 0.3 K + 0.005·|t|.
    B,
    /// 0.6 K + 0.01·|t|.
    C,
}

/// A class of bare resistors, by its figure: W 0.1 and F 0.1 have the limits of class AA, 0.15 those of A, 0.3 those
/// of B, 0.6 those of C; the ranges are their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ResistorClass {
    /// W 0.1 (wire-wound) or F 0.1 (film).
    P1,
    /// W 0.15 or F 0.15.
    P15,
    /// W 0.3 or F 0.3.
    P3,
    /// W 0.6 or F 0.6.
    P6,
}

use Construction::{Film, WireWound};

impl PlatinumClass {
    /// The limit of error of a thermometer at a temperature in °C: half the width of the tolerance band, K. It is no
    /// standard uncertainty.
    ///
    /// Formula: as at each class. Range: [`range_c`](Self::range_c).
    /// Source: IEC 60751:2008 (2022 unchanged), table of thermometer classes, from memory, agreeing with the PyPI
    /// package rtd-sensor 0.8.0.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] for a temperature outside the class's range and for NaN.
    pub fn tolerance_k(self, construction: Construction, temperature_c: f64) -> Result<f64, FormulaError> {
        limit(self, self.range_c(construction), temperature_c)
    }

    /// The lowest and highest temperature of the class, °C.
    pub fn range_c(self, construction: Construction) -> (f64, f64) {
        match (self, construction) {
            (PlatinumClass::AA, WireWound) => (-50.0, 250.0),
            (PlatinumClass::AA, Film) => (0.0, 150.0),
            (PlatinumClass::A, WireWound) => (-100.0, 450.0),
            (PlatinumClass::A, Film) => (-30.0, 300.0),
            (PlatinumClass::B | PlatinumClass::C, WireWound) => (-196.0, 600.0),
            (PlatinumClass::B, Film) => (-50.0, 500.0),
            (PlatinumClass::C, Film) => (-50.0, 600.0),
        }
    }
}

impl ResistorClass {
    /// As [`PlatinumClass::tolerance_k`], for a bare resistor: same limits, ranges of [`range_c`](Self::range_c).
    ///
    /// # Errors
    /// As there.
    pub fn tolerance_k(self, construction: Construction, temperature_c: f64) -> Result<f64, FormulaError> {
        let same = match self {
            ResistorClass::P1 => PlatinumClass::AA,
            ResistorClass::P15 => PlatinumClass::A,
            ResistorClass::P3 => PlatinumClass::B,
            ResistorClass::P6 => PlatinumClass::C,
        };
        limit(same, self.range_c(construction), temperature_c)
    }

    /// The lowest and highest temperature of the class, °C.
    pub fn range_c(self, construction: Construction) -> (f64, f64) {
        match (self, construction) {
            (ResistorClass::P1, WireWound) => (-100.0, 350.0),
            (ResistorClass::P1, Film) => (0.0, 150.0),
            (ResistorClass::P15, WireWound) => (-100.0, 450.0),
            (ResistorClass::P15, Film) => (-30.0, 300.0),
            (ResistorClass::P3 | ResistorClass::P6, WireWound) => (-196.0, 660.0),
            (ResistorClass::P3, Film) => (-50.0, 500.0),
            (ResistorClass::P6, Film) => (-50.0, 600.0),
        }
    }
}

fn limit(class: PlatinumClass, range: (f64, f64), t: f64) -> Result<f64, FormulaError> {
    let (formula, constant, share) = match class {
        PlatinumClass::AA => ("tolerance of platinum class AA, 0.1", 0.1, 0.0017),
        PlatinumClass::A => ("tolerance of platinum class A, 0.15", 0.15, 0.002),
        PlatinumClass::B => ("tolerance of platinum class B, 0.3", 0.3, 0.005),
        PlatinumClass::C => ("tolerance of platinum class C, 0.6", 0.6, 0.01),
    };
    let t = Argument { formula, argument: "the temperature of the class", unit: "degC" }.within(t, range)?;
    Ok(constant + share * t.abs())
}
