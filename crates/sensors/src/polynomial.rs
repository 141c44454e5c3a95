//! A polynomial over a declared range.

use crate::fault::{SensorError, finite};
use crate::formula::{Argument, FormulaError};
use crate::{horner, root};
use units::Real;

/// `value = c₀ + c₁·raw + c₂·raw² + …` for signals from one end of a declared range to the other; nothing beyond.
#[derive(Clone, Debug, PartialEq)]
pub struct Polynomial {
    coefficients: Vec<f64>,
    from: f64,
    to: f64,
    /// The values at signals `from` and `to`.
    ends: (f64, f64),
    /// The signals between at which it turns; none where it can be read backwards.
    turns: Vec<f64>,
}

/// More would be noise: the powers of a measured signal lose their digits long before.
const MOST_COEFFICIENTS: usize = 31;
/// How much the derivatives' coefficients may be larger than the polynomial's: more than 30!.
const HEADROOM: f64 = 1e33;

const SIGNAL: Argument = Argument { formula: "polynomial", argument: "the signal", unit: "" };
const VALUE: Argument = Argument { formula: "polynomial", argument: "the value", unit: "" };

impl Polynomial {
    /// From the coefficients, that of the power 0 first, and the range of signals.
    ///
    /// # Errors
    /// [`SensorError`] where a number is not finite, the range is empty, all signals give one value, or the terms
    /// grow beyond all numbers in the range.
    pub fn new(coefficients: &[f64], from: f64, to: f64) -> Result<Polynomial, SensorError> {
        if coefficients.len() > MOST_COEFFICIENTS {
            return Err(SensorError::Degree { coefficients: coefficients.len(), most: MOST_COEFFICIENTS });
        }
        for c in coefficients {
            finite("a coefficient", *c)?;
        }
        finite("the low end of the range", from)?;
        finite("the high end of the range", to)?;
        if from >= to {
            return Err(SensorError::EmptyRange { from, to });
        }
        if coefficients.iter().skip(1).all(|c| *c == 0.0) {
            return Err(SensorError::Constant);
        }
        let sizes: Vec<f64> = coefficients.iter().map(|c| c.abs() * HEADROOM).collect();
        finite("the size of the terms at the range's end", horner::value(&sizes, from.abs().max(to.abs()).max(1.0)))?;
        let coefficients = coefficients.to_vec();
        let turns = sign_changes(&derivative(&coefficients), from, to);
        let ends = (horner::value(&coefficients, from), horner::value(&coefficients, to));
        if turns.is_empty() && ends.0 == ends.1 {
            return Err(SensorError::Constant);
        }
        Ok(Polynomial { coefficients, from, to, ends, turns })
    }

    /// The signals at which it turns from rising to falling or back, rising; empty where it can be read backwards.
    pub fn turns(&self) -> &[f64] {
        &self.turns
    }

    /// The value of a signal.
    ///
    /// ```text
    /// value = c₀ + raw·(c₁ + raw·(c₂ + …))
    /// ```
    /// * Units: as the coefficients were given. * Range: the declared one, both ends included.
    /// * Outside: [`FormulaError::Outside`] beyond the range and for NaN: a fitted polynomial means nothing there.
    /// * Source: Horner's rule; the coefficients are the user's.
    #[inline]
    pub fn value<R: Real>(&self, raw: R) -> Result<R, FormulaError> {
        let x = SIGNAL.within(raw, (self.from, self.to))?;
        Ok(horner::value(&self.coefficients, x))
    }

    /// The signal of a value, the inverse of [`value`](Self::value), by Newton's method to the last digits.
    ///
    /// * Units: as the coefficients were given. * Range: values reached within the declared range of signals, where the
    ///   polynomial only rises or only falls.
    /// * Outside: [`FormulaError::Turns`] where it does both; [`FormulaError::Outside`] for a value it does not reach
    ///   and for NaN; [`FormulaError::NotFinite`] for a number with derivatives at a place where the polynomial is
    ///   level.
    /// * Source: as [`value`](Self::value).
    pub fn raw<R: Real>(&self, value: R) -> Result<R, FormulaError> {
        if let Some(at) = self.turns.first() {
            return Err(FormulaError::Turns { formula: "polynomial", at: *at });
        }
        let (a, b) = self.ends;
        let value = VALUE.within(value, (a.min(b), a.max(b)))?;
        let target = value.value();
        let f = |x: f64| (horner::value(&self.coefficients, x) - target, horner::slope(&self.coefficients, x));
        let rising = |x: f64| if a < b { f(x) } else { (-f(x).0, -f(x).1) };
        let x = root::rising(rising, self.from, self.to);
        let (y, slope) = f(x);
        VALUE.finite(target, R::at_root(x, -(value - target) + y, slope))
    }
}

fn derivative(coefficients: &[f64]) -> Vec<f64> {
    coefficients.iter().enumerate().skip(1).map(|(i, c)| c * i as f64).collect()
}

/// Where a polynomial changes its sign between two numbers. Between the turns of a polynomial there is one root at
/// most, and the turns are the sign changes of its derivative: down to the straight line.
fn sign_changes(c: &[f64], from: f64, to: f64) -> Vec<f64> {
    if c.iter().skip(1).all(|x| *x == 0.0) {
        return Vec::new();
    }
    let mut marks = vec![from];
    marks.extend(sign_changes(&derivative(c), from, to));
    marks.push(to);
    let mut found: Vec<f64> = Vec::new();
    for w in marks.windows(2) {
        let (low, high) = (horner::value(c, w[0]), horner::value(c, w[1]));
        if (low < 0.0 && high > 0.0) || (low > 0.0 && high < 0.0) {
            let sign = if low < 0.0 { 1.0 } else { -1.0 };
            found.push(root::rising(|x| (sign * horner::value(c, x), sign * horner::slope(c, x)), w[0], w[1]));
        }
    }
    found
}
