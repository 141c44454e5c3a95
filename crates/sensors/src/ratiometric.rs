//! Ratiometric position sensors: LVDT, RVDT and potentiometer. Two readings, whose ratio says where; their size does
//! not count, but tells a broken wire.

use crate::fault::{SensorError, finite};
use crate::formula::{Argument, FormulaError};
use units::Real;

/// How two readings make a ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ratio {
    /// (V_a − V_b)/(V_a + V_b), −1…1: the two secondaries of an LVDT or RVDT, rectified. Their sum is checked.
    DifferenceOverSum,
    /// V_a/V_b, 0…1: a potentiometer's wiper over its supply. The supply is checked.
    PartOfWhole,
}

/// Which way the ratio goes when the valve opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// The ratio is greater when open: the first reading grows.
    RisesToOpen,
    /// The ratio is smaller when open.
    FallsToOpen,
}

/// What a [`Ratiometric`] is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatiometricSpec {
    /// How the readings make a ratio.
    pub ratio: Ratio,
    /// Which way it goes; held against the two points, so that exchanged wires are noticed.
    pub polarity: Polarity,
    /// The ratio at position 0, closed.
    pub closed: f64,
    /// The ratio at position 1, open.
    pub open: f64,
    /// What the sum (or the supply) is when nothing is broken, from and to, in the unit of the readings.
    pub window: (f64, f64),
    /// How far beyond closed and open a position is still one, as a share of the travel. 0.05 where nothing is known
    /// (common practice, no source).
    pub overtravel: f64,
}

/// Two readings to a position, 0 = closed to 1 = open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratiometric {
    spec: RatiometricSpec,
}

const NAME: &str = "ratiometric position";

impl Ratiometric {
    /// Checks a description.
    ///
    /// # Errors
    /// [`SensorError`] where a number is not finite, both ratios are equal or go against the declared polarity, the
    /// window does not lie above 0, or the overtravel is below 0.
    pub fn new(spec: RatiometricSpec) -> Result<Ratiometric, SensorError> {
        let (closed, open) = (finite("the ratio closed", spec.closed)?, finite("the ratio open", spec.open)?);
        let from = finite("the low end of the window", spec.window.0)?;
        let to = finite("the high end of the window", spec.window.1)?;
        if finite("the overtravel", spec.overtravel)? < 0.0 {
            return Err(SensorError::Negative { parameter: "the overtravel", value: spec.overtravel });
        }
        if closed == open {
            return Err(SensorError::SamePoint { what: "ratio", value: closed });
        }
        if (open > closed) != (spec.polarity == Polarity::RisesToOpen) {
            let goes = if open > closed { "rises" } else { "falls" };
            return Err(SensorError::Polarity { closed, open, goes });
        }
        finite("the span of the ratio", 1.0 / (open - closed))?;
        if from <= 0.0 || to < from {
            return Err(SensorError::Window { from, to });
        }
        Ok(Ratiometric { spec })
    }

    /// What it was made of.
    pub fn spec(&self) -> &RatiometricSpec {
        &self.spec
    }

    /// The ratio of two readings, as [`Ratio`] says; both in one unit.
    ///
    /// Range: the sum V_a + V_b (the supply V_b) in the window. Source: the usual evaluation of such sensors, in every
    /// textbook of measurement; from memory.
    ///
    /// # Errors
    /// [`FormulaError::SumCheck`] where the sum or supply is outside the window or NaN.
    #[inline]
    pub fn ratio<R: Real>(&self, a: R, b: R) -> Result<R, FormulaError> {
        let (over, under, argument) = match self.spec.ratio {
            Ratio::DifferenceOverSum => (a - b, a + b, "the sum of the readings"),
            Ratio::PartOfWhole => (a, b, "the supply"),
        };
        let (from, to) = self.spec.window;
        if !(under >= from && under <= to) {
            return Err(FormulaError::SumCheck { formula: NAME, argument, value: under.value(), from, to });
        }
        Ok(over / under)
    }

    /// The position of two readings: 0 closed, 1 open, on the line through the two points of the ratio.
    ///
    /// Formula: (ratio − closed)/(open − closed). Range: −overtravel to 1 + overtravel, never clipped.
    ///
    /// # Errors
    /// [`FormulaError::SumCheck`] as [`ratio`](Self::ratio); [`FormulaError::Outside`] for a position outside the
    /// range: a shorted winding, exchanged wires, a wrong span.
    #[inline]
    pub fn position<R: Real>(&self, a: R, b: R) -> Result<R, FormulaError> {
        let RatiometricSpec { closed, open, .. } = self.spec;
        self.within((self.ratio(a, b)? - closed) / (open - closed))
    }

    /// The two readings at a position whose sum (or supply) is given: what a simulated instrument sends.
    ///
    /// # Errors
    /// [`FormulaError::Outside`] and [`FormulaError::SumCheck`]: readings that would be refused are not made.
    pub fn readings(&self, position: f64, sum: f64) -> Result<(f64, f64), FormulaError> {
        let RatiometricSpec { closed, open, ratio, .. } = self.spec;
        let r = closed + (open - closed) * self.within(position)?;
        let (a, b) = match ratio {
            Ratio::DifferenceOverSum => (0.5 * sum * (1.0 + r), 0.5 * sum * (1.0 - r)),
            Ratio::PartOfWhole => (sum * r, sum),
        };
        self.ratio(a, b).map(|_| (a, b))
    }

    /// The first reading at a position whose second reading is given: b·(1 + r)/(1 − r), or r·b for a part of a whole.
    ///
    /// # Errors
    /// As [`readings`](Self::readings).
    pub fn first(&self, position: f64, second: f64) -> Result<f64, FormulaError> {
        let RatiometricSpec { closed, open, ratio, .. } = self.spec;
        let r = closed + (open - closed) * self.within(position)?;
        let first = match ratio {
            Ratio::DifferenceOverSum => second * (1.0 + r) / (1.0 - r),
            Ratio::PartOfWhole => r * second,
        };
        self.ratio(first, second).map(|_| first)
    }

    #[inline]
    fn within<R: Real>(&self, position: R) -> Result<R, FormulaError> {
        let (from, to) = (-self.spec.overtravel, 1.0 + self.spec.overtravel);
        Argument { formula: NAME, argument: "the position", unit: "" }.within(position, (from, to))
    }
}
