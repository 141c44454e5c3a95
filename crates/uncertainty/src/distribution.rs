//! Probability distributions: what is known about a quantity.
//!
//! * [`normal`], [`student_t`]: cumulative probabilities and quantiles, through `units::math`
//! * [`Distribution`]: the distributions of JCGM 101:2008, table 1

pub mod normal;
pub mod student_t;

use crate::domain::{Checks, DomainError};
use units::math;

/// What is known about an input, as in JCGM 101:2008, table 1 and clause 6.4.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// Best estimate and standard uncertainty.
    Normal {
        /// Expectation.
        mean: f64,
        /// Standard uncertainty; 0 for a constant.
        u: f64,
    },
    /// A mean of repeated readings: scaled and shifted t distribution. Its standard uncertainty is
    /// scale·√(ν/(ν − 2)), so it needs more than two degrees of freedom for one.
    StudentT {
        /// Expectation.
        mean: f64,
        /// s/√n.
        scale: f64,
        /// ν, 1 or above.
        dof: f64,
    },
    /// Anything between two limits is as likely.
    Rectangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Rectangular with each limit itself known only to ±d (curvilinear trapezoid).
    InexactRectangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
        /// Half width of what is known of a limit, 0 ≤ d ≤ (high − low)/2.
        d: f64,
    },
    /// The sum of two rectangular ones: flat over the share β of its width.
    Trapezoidal {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
        /// Top over base, 0 (triangular) to 1 (rectangular).
        beta: f64,
    },
    /// Symmetric triangle.
    Triangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Arc sine (U-shaped): a sine of unknown phase between two limits.
    ArcSine {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Only a mean is known, of something that cannot be negative.
    Exponential {
        /// Expectation, above 0.
        mean: f64,
    },
    /// Gamma: for counts, G(q + 1, 1).
    Gamma {
        /// Shape, above 0.
        shape: f64,
        /// Scale, above 0.
        scale: f64,
    },
}

use Distribution::{
    ArcSine, Exponential, Gamma, InexactRectangular, Normal, Rectangular, StudentT, Trapezoidal, Triangular,
};

const NAME: &str = "distribution";

impl Distribution {
    /// The distribution, if its parameters are in range.
    ///
    /// * Range: as said at each variant; limits with low < high whose difference is finite.
    /// * Outside: [`DomainError`].
    pub fn checked(self) -> Result<Self, DomainError> {
        let check = Checks(NAME);
        match self {
            Normal { mean, u } => {
                check.finite("mean", mean)?;
                check.uncertainty(u)?;
            }
            StudentT { mean, scale, dof } => {
                check.finite("mean", mean)?;
                check.positive("scale", scale)?;
                check.dof(dof)?;
            }
            Exponential { mean } => {
                check.positive("mean", mean)?;
            }
            Gamma { shape, scale } => {
                check.positive("shape", shape)?;
                check.positive("scale", scale)?;
            }
            Rectangular { low, high } | Triangular { low, high } | ArcSine { low, high } => {
                width(low, high)?;
            }
            Trapezoidal { low, high, beta } => {
                width(low, high)?;
                check.that("beta", beta, "0 to 1", |b| (0.0..=1.0).contains(&b))?;
            }
            InexactRectangular { low, high, d } => {
                let half = width(low, high)? / 2.0;
                check.that("d", d, "0 to half the width", |d| d >= 0.0 && d <= half)?;
            }
        }
        Ok(self)
    }

    /// Expectation.
    ///
    /// * Source: JCGM 101:2008, clause 6.4.
    /// * Outside: [`DomainError`] for parameters out of range.
    pub fn mean(self) -> Result<f64, DomainError> {
        let mean = match self.checked()? {
            Normal { mean, .. } | StudentT { mean, .. } | Exponential { mean } => mean,
            Gamma { shape, scale } => shape * scale,
            Rectangular { low, high }
            | Triangular { low, high }
            | ArcSine { low, high }
            | Trapezoidal { low, high, .. }
            | InexactRectangular { low, high, .. } => low + (high - low) / 2.0,
        };
        Checks(NAME).result(mean)
    }

    /// Standard uncertainty: the standard deviation.
    ///
    /// ```text
    /// half width a:  rectangular a/√3   triangular a/√6   arc sine a/√2   trapezoidal a·√((1 + β²)/6)
    /// inexact limits √(a²/3 + d²/9)     t: scale·√(ν/(ν − 2))   exponential: mean   gamma: scale·√shape
    /// ```
    /// * Source: JCGM 101:2008, clause 6.4.
    /// * Outside: [`DomainError`] for parameters out of range, and for t with ν ≤ 2.
    pub fn u(self) -> Result<f64, DomainError> {
        let half = |low: f64, high: f64| (high - low) / 2.0;
        let u = match self.checked()? {
            Normal { u, .. } => u,
            StudentT { scale, dof, .. } if dof.is_infinite() => scale,
            StudentT { scale, dof, .. } if dof > 2.0 => scale * math::sqrt(dof / (dof - 2.0)),
            StudentT { dof, .. } => {
                return Err(Checks(NAME).refuse("degrees of freedom", dof, "above 2 to have a standard deviation"));
            }
            Exponential { mean } => mean,
            Gamma { shape, scale } => scale * math::sqrt(shape),
            Rectangular { low, high } => half(low, high) / math::sqrt(3.0),
            Triangular { low, high } => half(low, high) / math::sqrt(6.0),
            ArcSine { low, high } => half(low, high) / math::sqrt(2.0),
            Trapezoidal { low, high, beta } => half(low, high) * math::sqrt((1.0 + beta * beta) / 6.0),
            InexactRectangular { low, high, d } => {
                // √(a²/3 + d²/9) with the greater of both taken out, so that no square overflows.
                let a = half(low, high);
                a * math::sqrt(1.0 / 3.0 + (d / a) * (d / a) / 9.0)
            }
        };
        Checks(NAME).result(u)
    }

    /// Probability density at x, 1/unit of x. Infinite nowhere: the arc sine's poles and the gamma's (shape below 1)
    /// are refused.
    ///
    /// * Source: JCGM 101:2008, clause 6.4.
    /// * Outside: [`DomainError`] for parameters out of range, x not finite, x at a pole, a constant (u = 0).
    pub fn density(self, x: f64) -> Result<f64, DomainError> {
        let check = Checks(NAME);
        check.finite("x", x)?;
        let density = match self.checked()? {
            Normal { mean, u } => normal::density((x - mean) / check.positive("standard uncertainty", u)?) / u,
            StudentT { mean, scale, dof } => student_t::density((x - mean) / scale, dof) / scale,
            Exponential { mean } if x >= 0.0 => math::exp(-x / mean) / mean,
            Gamma { shape, scale } if x > 0.0 => {
                let z = x / scale;
                math::exp((shape - 1.0) * math::ln(z) - z - math::ln_gamma(shape)) / scale
            }
            Exponential { .. } | Gamma { .. } => 0.0,
            Rectangular { low, high } => trapezoid(low, high, 1.0, x),
            Triangular { low, high } => trapezoid(low, high, 0.0, x),
            Trapezoidal { low, high, beta } => trapezoid(low, high, beta, x),
            InexactRectangular { low, high, d } => inexact(low, high, d, x),
            ArcSine { low, high } if x >= low && x <= high => {
                1.0 / (std::f64::consts::PI * math::sqrt(x - low) * math::sqrt(high - x))
            }
            ArcSine { .. } => 0.0,
        };
        check.result(density)
    }

    /// Where the density has a corner or an end, for integration over pieces. Empty for smooth ones.
    pub(crate) fn corners(self) -> [Option<f64>; 4] {
        match self {
            Normal { .. } | StudentT { .. } => [None; 4],
            Exponential { .. } | Gamma { .. } => [Some(0.0), None, None, None],
            Rectangular { low, high } | ArcSine { low, high } => [Some(low), Some(high), None, None],
            Triangular { low, high } => [Some(low), Some(low + (high - low) / 2.0), Some(high), None],
            Trapezoidal { low, high, beta } => {
                let slope = (high - low) * (1.0 - beta) / 2.0;
                [Some(low), Some(low + slope), Some(high - slope), Some(high)]
            }
            InexactRectangular { low, high, d } => [Some(low - d), Some(low + d), Some(high - d), Some(high + d)],
        }
    }
}

/// high − low, where both are finite and in order.
fn width(low: f64, high: f64) -> Result<f64, DomainError> {
    let check = Checks(NAME);
    check.finite("lower limit", low)?;
    check.that("upper limit", high, "above the lower limit", |h| h > low)?;
    check.result(high - low)
}

fn trapezoid(low: f64, high: f64, beta: f64, x: f64) -> f64 {
    if x < low || x > high {
        return 0.0;
    }
    let top = 2.0 / ((high - low) * (1.0 + beta));
    let slope = (high - low) * (1.0 - beta) / 2.0;
    let from_end = (x - low).min(high - x);
    if from_end < slope { top * from_end / slope } else { top }
}

/// JCGM 101:2008, equation (4): ln((w + d)/…)/(4d) near a limit, flat between.
fn inexact(low: f64, high: f64, d: f64, x: f64) -> f64 {
    if d == 0.0 {
        return trapezoid(low, high, 1.0, x);
    }
    let (middle, half) = (low + (high - low) / 2.0, (high - low) / 2.0);
    let from_middle = (x - middle).abs();
    if from_middle >= half + d {
        0.0
    } else if from_middle > half - d {
        math::ln((half + d) / from_middle) / (4.0 * d)
    } else if half - d > 0.0 {
        math::ln((half + d) / (half - d)) / (4.0 * d)
    } else {
        // d = a: the density rises without bound towards the middle.
        math::ln((half + d) / from_middle) / (4.0 * d)
    }
}

#[cfg(test)]
mod tests;
