//! A table of points.

mod cubic;

use crate::fault::{Fault, SensorError, finite};
use crate::root;
use cubic::Cubic;
use units::Real;

/// Points (signal, value) with straight lines, or a monotone cubic curve, between them. Beyond the ends there is no
/// value.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Signals, rising.
    raw: Vec<f64>,
    /// The value at each.
    values: Vec<f64>,
    /// Which way the values go with rising signal; 0 = both ways.
    slope: i8,
    /// The curve's slope at each point; none where the lines are straight.
    slopes: Option<Vec<f64>>,
}

impl Table {
    /// From points (signal, value) whose signals rise, or fall, strictly from point to point; straight lines between.
    ///
    /// # Errors
    /// [`SensorError`] where there are less than two, one is not finite, or a signal is out of order.
    pub fn new(points: &[(f64, f64)]) -> Result<Table, SensorError> {
        if points.len() < 2 {
            return Err(SensorError::TooFewPoints { points: points.len() });
        }
        for (raw, value) in points {
            finite("the signal of a point", *raw)?;
            finite("the value of a point", *value)?;
        }
        let falling = points[1].0 < points[0].0;
        for (i, w) in points.windows(2).enumerate() {
            let (before, signal) = (w[0].0, w[1].0);
            if signal == before || (signal < before) != falling {
                return Err(SensorError::NotMonotone { point: i + 2, signal, before });
            }
        }
        let (mut raw, mut values): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        if falling {
            raw.reverse();
            values.reverse();
        }
        let slope = if values.windows(2).all(|w| w[0] < w[1]) {
            1
        } else if values.windows(2).all(|w| w[0] > w[1]) {
            -1
        } else {
            0
        };
        Ok(Table { raw, values, slope, slopes: None })
    }

    /// As [`new`](Self::new), with a smooth curve between the points that has no turn of its own: cubic pieces with
    /// the slopes of Fritsch and Carlson, Monotone piecewise cubic interpolation, SIAM J. Numer. Anal. 17 (1980) 238.
    ///
    /// # Errors
    /// As [`new`](Self::new), and where a slope between two points is no finite number.
    pub fn monotone_cubic(points: &[(f64, f64)]) -> Result<Table, SensorError> {
        let table = Table::new(points)?;
        let slopes = cubic::slopes(&table.raw, &table.values);
        for s in &slopes {
            finite("the slope between two points", *s)?;
        }
        Ok(Table { slopes: Some(slopes), ..table })
    }

    /// The value of a signal, on the line or curve between the points around it; exactly the point's value at a point.
    ///
    /// ```text
    /// line:  value = (1 − s)·v₀ + s·v₁        s = (raw − r₀)/(r₁ − r₀)
    /// curve: value = v₀·(1 + 2s)(1 − s)² + v₁·s²(3 − 2s) + (r₁ − r₀)·s(1 − s)·(d₀·(1 − s) − d₁·s)
    /// ```
    /// d₀ and d₁ are the curve's slopes at the two points.
    /// * Units: as the points were given. * Range: from the first point's signal to the last one's.
    /// * Outside: [`Fault::OutsideTable`] beyond the ends, [`Fault::NotFinite`] for NaN and infinity.
    /// * Source: linear interpolation; cubic Hermite interpolation with the slopes of Fritsch and Carlson (1980).
    pub fn value<R: Real>(&self, raw: R) -> Result<R, Fault> {
        let upper = segment(raw.value(), self.raw.len(), |i| self.raw[i])?;
        match &self.slopes {
            None => interpolate(raw, upper, &self.raw, &self.values),
            Some(slopes) => checked(raw, self.cubic(upper, slopes).value(raw)),
        }
    }

    /// The signal of a value, the inverse of [`value`](Self::value); a curve's by iteration to the last digits.
    ///
    /// * Units: as the points were given. * Range: values between those of the ends, where the values only rise or only
    ///   fall.
    /// * Outside: [`Fault::NotInvertible`] where they do both; else as [`value`](Self::value). With a curve, and a
    ///   number with derivatives, also [`Fault::NotFinite`] where the curve is level.
    /// * Source: as [`value`](Self::value).
    pub fn raw<R: Real>(&self, value: R) -> Result<R, Fault> {
        let n = self.values.len();
        let target = value.value();
        let upper = match self.slope {
            1 => segment(target, n, |i| self.values[i])?,
            -1 => n - segment(target, n, |i| self.values[n - 1 - i])?,
            _ => return Err(Fault::NotInvertible),
        };
        let Some(slopes) = &self.slopes else { return interpolate(value, upper, &self.values, &self.raw) };
        let (piece, sign) = (self.cubic(upper, slopes), f64::from(self.slope));
        let f = |x: f64| (sign * (piece.value(x) - target), sign * piece.slope(x));
        let x = root::rising(f, self.raw[upper - 1], self.raw[upper]);
        checked(value, R::at_root(x, -(value - piece.value(x)), piece.slope(x)))
    }

    fn cubic(&self, upper: usize, slopes: &[f64]) -> Cubic {
        let end = |i: usize| (self.raw[i], self.values[i], slopes[i]);
        Cubic { low: end(upper - 1), high: end(upper) }
    }
}

/// The upper end (1…n−1) of the stretch of rising numbers `at(0)…at(n−1)` that x lies in.
fn segment(x: f64, n: usize, at: impl Fn(usize) -> f64) -> Result<usize, Fault> {
    let (from, to) = (at(0), at(n - 1));
    if !x.is_finite() {
        return Err(Fault::NotFinite { value: x });
    }
    if x < from || x > to {
        return Err(Fault::OutsideTable { value: x, from, to });
    }
    let (mut low, mut high) = (0, n - 1);
    while high - low > 1 {
        let middle = (low + high) / 2;
        if at(middle) <= x { low = middle } else { high = middle }
    }
    Ok(high)
}

/// The straight line over the stretch that ends at `upper`.
fn interpolate<R: Real>(x: R, upper: usize, xs: &[f64], ys: &[f64]) -> Result<R, Fault> {
    let (x0, x1, y0, y1) = (xs[upper - 1], xs[upper], ys[upper - 1], ys[upper]);
    let share = (x - x0) / (x1 - x0);
    checked(x, (R::of(1.0) - share) * y0 + share * y1)
}

/// The result, where it is a finite number.
fn checked<R: Real>(x: R, y: R) -> Result<R, Fault> {
    if y.is_finite() { Ok(y) } else { Err(Fault::NotFinite { value: x.value() }) }
}
