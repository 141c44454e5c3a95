//! A table of points.

use crate::fault::{Fault, SensorError, finite};

/// Points (signal, value) with straight lines between them. Beyond the ends there is no value.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Signals, rising.
    raw: Vec<f64>,
    /// The value at each.
    values: Vec<f64>,
    /// Which way the values go with rising signal; 0 = both ways.
    slope: i8,
}

impl Table {
    /// From points (signal, value) whose signals rise, or fall, strictly from point to point.
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
        Ok(Table { raw, values, slope })
    }

    /// The value of a signal, on the straight line between the points around it; exactly the point's value at a point.
    ///
    /// # Errors
    /// [`Fault::OutsideTable`] beyond the ends, [`Fault::NotFinite`] for NaN and infinity.
    pub fn value(&self, raw: f64) -> Result<f64, Fault> {
        let upper = segment(raw, self.raw.len(), |i| self.raw[i])?;
        interpolate(raw, upper, &self.raw, &self.values)
    }

    /// The signal of a value, where the values only rise or only fall.
    ///
    /// # Errors
    /// [`Fault::NotInvertible`] where they do both; else as [`value`](Self::value).
    pub fn raw(&self, value: f64) -> Result<f64, Fault> {
        let n = self.values.len();
        let upper = match self.slope {
            1 => segment(value, n, |i| self.values[i])?,
            -1 => n - segment(value, n, |i| self.values[n - 1 - i])?,
            _ => return Err(Fault::NotInvertible),
        };
        interpolate(value, upper, &self.values, &self.raw)
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
fn interpolate(x: f64, upper: usize, xs: &[f64], ys: &[f64]) -> Result<f64, Fault> {
    let (x0, x1, y0, y1) = (xs[upper - 1], xs[upper], ys[upper - 1], ys[upper]);
    let share = (x - x0) / (x1 - x0);
    let y = y0 * (1.0 - share) + y1 * share;
    if y.is_finite() { Ok(y) } else { Err(Fault::NotFinite { value: x }) }
}
