//! The standard normal distribution.

use crate::domain::{Checks, DomainError};
use units::math;

/// φ(z) = exp(−z²/2)/√(2π).
pub(crate) fn density(z: f64) -> f64 {
    math::exp(-0.5 * z * z) / math::sqrt(2.0 * std::f64::consts::PI)
}

/// Φ(z) = ½·erfc(−z/√2): the probability of a value below z. 0 at −∞, 1 at +∞; NaN only for NaN.
pub(crate) fn cumulative(z: f64) -> f64 {
    0.5 * math::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Probability of a value below z.
///
/// ```text
/// Φ(z) = ½·erfc(−z/√2)
/// ```
/// * Units: dimensionless.
/// * Range: any z but NaN. * Outside: [`DomainError`]. * Source: definition.
pub fn probability_below(z: f64) -> Result<f64, DomainError> {
    if z.is_nan() { Err(Checks("normal distribution").refuse("z", z, "a number")) } else { Ok(cumulative(z)) }
}

/// The z below which the probability is p.
///
/// ```text
/// Φ(z) = p, by Halley's method from Hastings' approximation
/// ```
/// * Units: dimensionless.
/// * Range: 0 < p < 1. * Outside: [`DomainError`].
/// * Source: start from Abramowitz & Stegun, Handbook of Mathematical Functions, 26.2.23 (coefficients from memory; a
///   wrong one would cost steps, not digits); root of the definition.
///
/// ```
/// let z = uncertainty::distribution::normal::quantile(0.975)?;
/// assert!((z - 1.959_963_984_540_054).abs() < 1e-14);
/// # Ok::<(), uncertainty::DomainError>(())
/// ```
pub fn quantile(p: f64) -> Result<f64, DomainError> {
    let p = Checks("normal quantile").probability(p)?;
    let tail = p.min(1.0 - p);
    let t = math::sqrt(-2.0 * math::ln(tail));
    let mut z =
        (2.515_517 + t * (0.802_853 + t * 0.010_328)) / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))) - t;
    for _ in 0..8 {
        // Relative to the density, so that it keeps its digits far out.
        let error = (cumulative(z) - tail) / density(z);
        let step = error / (1.0 + 0.5 * z * error);
        z -= step;
        if step.abs() <= 4.0 * f64::EPSILON * z.abs() {
            break;
        }
    }
    Checks("normal quantile").result(if p < 0.5 { z } else { -z })
}
