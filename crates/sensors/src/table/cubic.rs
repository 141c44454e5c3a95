//! Monotone cubic pieces: Fritsch and Carlson (1980).

use units::{Real, math};

/// The cubic with given value and slope at two places.
pub(super) struct Cubic {
    /// Place, value, slope.
    pub(super) low: (f64, f64, f64),
    pub(super) high: (f64, f64, f64),
}

impl Cubic {
    /// The value: the Hermite form, in the share s of the way from low to high.
    pub(super) fn value<R: Real>(&self, x: R) -> R {
        let ((x0, y0, m0), (x1, y1, m1)) = (self.low, self.high);
        let width = x1 - x0;
        let s = (x - x0) / width;
        let r = R::of(1.0) - s;
        r * r * (s * 2.0 + 1.0) * y0 + s * s * (r * 2.0 + 1.0) * y1 + r * s * (r * m0 - s * m1) * width
    }

    /// The slope.
    pub(super) fn slope(&self, x: f64) -> f64 {
        let ((x0, y0, m0), (x1, y1, m1)) = (self.low, self.high);
        let s = (x - x0) / (x1 - x0);
        let r = 1.0 - s;
        6.0 * r * s * (y1 - y0) / (x1 - x0) + m0 * r * (1.0 - 3.0 * s) + m1 * s * (1.0 - 3.0 * r)
    }
}

/// The slopes at the points with which no piece turns between its ends: the mean of the two lines that meet, none
/// where these go different ways, and both of a piece's slopes drawn in where they are too steep for its line.
pub(super) fn slopes(xs: &[f64], ys: &[f64]) -> Vec<f64> {
    let line = |i: usize| (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]);
    let last = xs.len() - 1;
    let mut slopes: Vec<f64> = (0..=last)
        .map(|i| match i {
            0 => line(0),
            i if i == last => line(last - 1),
            i if line(i - 1) * line(i) <= 0.0 => 0.0,
            i => 0.5 * (line(i - 1) + line(i)),
        })
        .collect();
    for i in 0..last {
        let line = line(i);
        if line == 0.0 {
            slopes[i] = 0.0;
            slopes[i + 1] = 0.0;
            continue;
        }
        let (a, b) = (slopes[i] / line, slopes[i + 1] / line);
        let steep = a * a + b * b;
        if steep > 9.0 {
            let drawn_in = 3.0 / math::sqrt(steep) * line;
            slopes[i] = drawn_in * a;
            slopes[i + 1] = drawn_in * b;
        }
    }
    slopes
}
