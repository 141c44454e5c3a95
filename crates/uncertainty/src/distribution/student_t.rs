//! Student's t distribution: what a mean of few readings follows.

use super::normal;
use crate::domain::{Checks, DomainError};
use units::math;

/// Above this many degrees of freedom a normal distribution of a transformed argument takes over: there the continued
/// fraction would lose digits, and the transformation is good to 1e-12 of the tail (to t = 12; checked against
/// arbitrary-precision arithmetic).
const NEARLY_NORMAL: f64 = 1e3;

/// Density at t for ν ≥ 1 degrees of freedom (infinite: normal).
///
/// ```text
/// f(t) = Γ((ν+1)/2)/(√(νπ)·Γ(ν/2)) · (1 + t²/ν)^(−(ν+1)/2)
/// ```
pub(crate) fn density(t: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return normal::density(t);
    }
    let log = ln_gamma_ratio(dof / 2.0) - 0.5 * math::ln(dof * std::f64::consts::PI);
    math::exp(log - 0.5 * (dof + 1.0) * ln_1p_square(t, dof))
}

/// ln(1 + t²/ν) without overflow.
fn ln_1p_square(t: f64, dof: f64) -> f64 {
    let r = t.abs() / math::sqrt(dof);
    if r > 1e8 { 2.0 * math::ln(r) } else { math::ln_1p(r * r) }
}

/// Probability of a value above t ≥ 0.
fn tail(t: f64, dof: f64) -> f64 {
    if dof > NEARLY_NORMAL {
        return normal::cumulative(-normal_of_same_tail(t, dof));
    }
    // ½·I_x(ν/2, ½) with x = ν/(ν + t²).
    let r = t / math::sqrt(dof);
    let log_x = -ln_1p_square(t, dof);
    let log_y = if r > 0.0 { 2.0 * math::ln(r) + log_x } else { f64::NEG_INFINITY };
    0.5 * incomplete_beta_half(dof / 2.0, log_x, log_y)
}

/// The normal deviate with the same tail, by G. W. Hill, Algorithm 395, Comm. ACM 13 (1970) 617 (coefficients from
/// memory, checked as said above).
fn normal_of_same_tail(t: f64, dof: f64) -> f64 {
    let a = dof - 0.5;
    let w = a * ln_1p_square(t, dof);
    if dof.is_infinite() || w > 1500.0 {
        // Beyond, both tails are 0.
        return t;
    }
    let b = 48.0 * a * a;
    let series = (((-0.4 * w - 3.3) * w - 24.0) * w - 85.5) / (0.8 * w * w + 100.0 + b);
    ((series + w + 3.0) / b + 1.0) * math::sqrt(w)
}

/// Probability of a value below t.
///
/// ```text
/// P(T ≤ t) = 1 − ½·I_x(ν/2, ½)    x = ν/(ν + t²), t ≥ 0, I the regularised incomplete beta function
/// ```
/// * Units: dimensionless.
/// * Range: any t but NaN; ν 1 or above, infinite for the normal distribution. * Outside: [`DomainError`].
/// * Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.7.1 and 26.5.8 (continued fraction).
pub fn probability_below(t: f64, dof: f64) -> Result<f64, DomainError> {
    let check = Checks("t distribution");
    let dof = check.dof(dof)?;
    if t.is_nan() {
        return Err(check.refuse("t", t, "a number"));
    }
    Ok(cumulative(t, dof))
}

/// As [`probability_below`], arguments known to be good.
pub(crate) fn cumulative(t: f64, dof: f64) -> f64 {
    if t < 0.0 { tail(-t, dof) } else { 1.0 - tail(t, dof) }
}

/// The t below which the probability is p.
///
/// * Units: dimensionless.
/// * Range: 0 < p < 1; ν 1 or above, infinite for the normal distribution.
/// * Outside: [`DomainError`]; also where the quantile itself is no finite number.
/// * Source: root of [`probability_below`] by Newton's method, on logarithms in the tail.
///
/// ```
/// let t = uncertainty::distribution::student_t::quantile(0.975, 4.0)?;
/// assert!((t - 2.776_445_105_197_793).abs() < 1e-13);
/// # Ok::<(), uncertainty::DomainError>(())
/// ```
pub fn quantile(p: f64, dof: f64) -> Result<f64, DomainError> {
    let check = Checks("t quantile");
    let p = check.probability(p)?;
    let dof = check.dof(dof)?;
    if dof.is_infinite() || p == 0.5 {
        return normal::quantile(p);
    }
    let q = p.min(1.0 - p);
    // The normal quantile is nearer to zero, and the tail is convex: plain steps rise towards the root. Far out the
    // tail falls as a power of t, a straight line on logarithms.
    let mut t = normal::quantile(q)?.abs();
    for _ in 0..200 {
        let (above, slope) = (tail(t, dof), density(t, dof));
        let next = if q > 0.25 {
            t + (above - q) / slope
        } else {
            t * math::exp((math::ln(above) - math::ln(q)) * above / (t * slope))
        };
        let done = (next - t).abs() <= 4.0 * f64::EPSILON * next.abs();
        t = next;
        if done || !t.is_finite() {
            break;
        }
    }
    check.result(if p < 0.5 { -t } else { t })
}

/// ln Γ(a + ½) − ln Γ(a), without the cancellation of two great numbers.
fn ln_gamma_ratio(a: f64) -> f64 {
    if a < 50.0 {
        return math::ln_gamma(a + 0.5) - math::ln_gamma(a);
    }
    let w = 1.0 / (a * a);
    0.5 * math::ln(a) - (1.0 / 8.0 - w * (1.0 / 192.0 - w / 640.0)) / a
}

/// I_x(a, ½), x and y = 1 − x given by their logarithms.
fn incomplete_beta_half(a: f64, log_x: f64, log_y: f64) -> f64 {
    let x = math::exp(log_x);
    if x >= 1.0 || log_y == f64::NEG_INFINITY {
        return 1.0;
    }
    // 1/B(a, ½) = Γ(a + ½)/(Γ(a)·√π)
    let front = math::exp(ln_gamma_ratio(a) + a * log_x + 0.5 * log_y) / math::sqrt(std::f64::consts::PI);
    if x < (a + 1.0) / (a + 2.5) {
        front * continued_fraction(a, 0.5, x) / a
    } else {
        1.0 - front * continued_fraction(0.5, a, math::exp(log_y)) / 0.5
    }
}

/// The continued fraction of the incomplete beta function by Lentz's method.
fn continued_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away_from_zero = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for i in 1..20_000 {
        let m = f64::from(i);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut factor = 1.0;
        for term in [even, odd] {
            d = 1.0 / away_from_zero(1.0 + term * d);
            c = away_from_zero(1.0 + term / c);
            factor = c * d;
            fraction *= factor;
        }
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    fraction
}
