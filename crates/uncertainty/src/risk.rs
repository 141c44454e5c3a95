//! Wrong decisions to be expected: JCGM 106:2012, clause 9.
//!
//! The items to be tested have a distribution of their own (the prior); each is measured with a normal error of
//! standard deviation u_m and accepted if the reading lies within the acceptance limits.

use crate::conformance::Limits;
use crate::distribution::{Distribution, normal};
use crate::domain::{Checks, DomainError};
use crate::propagate::Input;
use units::math;

const CHECK: Checks = Checks("decision risk");

/// Shares of all items tested; they add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlobalRisk {
    /// Within tolerance and accepted.
    pub true_accept: f64,
    /// Outside tolerance, yet accepted: the consumer's risk R_C.
    pub false_accept: f64,
    /// Within tolerance, yet rejected: the producer's risk R_P.
    pub false_reject: f64,
    /// Outside tolerance and rejected.
    pub true_reject: f64,
}

impl GlobalRisk {
    /// Share of items outside tolerance among those accepted; `None` if none is accepted.
    pub fn false_among_accepted(self) -> Option<f64> {
        let accepted = self.true_accept + self.false_accept;
        (accepted > 0.0).then(|| self.false_accept / accepted)
    }

    /// Share of items within tolerance among those rejected; `None` if none is rejected.
    pub fn good_among_rejected(self) -> Option<f64> {
        let rejected = self.true_reject + self.false_reject;
        (rejected > 0.0).then(|| self.false_reject / rejected)
    }
}

/// Global risks of a whole population.
///
/// ```text
/// R_C = ∫_{η ∉ T} g₀(η)·P(A|η) dη    R_P = ∫_{η ∈ T} g₀(η)·(1 − P(A|η)) dη
/// P(A|η) = Φ((A_U − η)/u_m) − Φ((A_L − η)/u_m)
/// ```
/// * Units: all alike. * Range: prior with a finite density and standard deviation (no arc sine, no gamma of shape
///   below 1), u_m 0 or above. * Outside: [`DomainError`]. * Precision: about 1e-9 for a normal prior; what a prior
///   has more than 12 of its standard deviations below or 40 above its mean is left out (t with few degrees of
///   freedom: refused where that is more than 1e-6).
/// * Source: JCGM 106:2012, 9.5.2 and 9.5.3; integral by Gauss–Legendre pieces.
pub fn global_risk(
    tolerance: Limits,
    acceptance: Limits,
    prior: Distribution,
    measurement_u: f64,
) -> Result<GlobalRisk, DomainError> {
    let u = CHECK.uncertainty(measurement_u)?;
    let (mean, spread) = (prior.mean()?, CHECK.positive("standard deviation of the prior", prior.u()?)?);
    let edges = edges(tolerance, acceptance, prior, (mean, spread), u);
    let mut risk = GlobalRisk { true_accept: 0.0, false_accept: 0.0, false_reject: 0.0, true_reject: 0.0 };
    for piece in edges.windows(2) {
        let good = tolerance.contain(piece[0] + (piece[1] - piece[0]) / 2.0);
        for (eta, weight) in gauss_legendre(piece[0], piece[1]) {
            let share = weight * prior.density(eta)?;
            let accepted = acceptance_probability(acceptance, eta, u);
            let (yes, no) = (share * accepted, share * (1.0 - accepted));
            let (to_yes, to_no) = match good {
                true => (&mut risk.true_accept, &mut risk.false_reject),
                false => (&mut risk.false_accept, &mut risk.true_reject),
            };
            *to_yes += yes;
            *to_no += no;
        }
    }
    let total = risk.true_accept + risk.false_accept + risk.false_reject + risk.true_reject;
    CHECK.that("probability found in the prior", total, "1 to within 1e-6", |t| (t - 1.0).abs() < 1e-6)?;
    Ok(risk)
}

/// What is known of one item after its measurement, with a normal prior.
///
/// ```text
/// 1/u² = 1/u₀² + 1/u_m²        y = u²·(y₀/u₀² + η_m/u_m²)
/// ```
/// Put it into [`conformance_probability`](crate::conformance::conformance_probability): its complement is the
/// specific consumer's risk of an accepted item, itself the specific producer's risk of a rejected one.
/// * Units: all alike. * Range: both standard deviations above 0. * Outside: [`DomainError`].
/// * Source: JCGM 106:2012, 6.2 (A.4.4), 9.3.
pub fn after_measurement(prior: Input, measured: Input) -> Result<Input, DomainError> {
    let (y0, u0) = (CHECK.finite("prior mean", prior.value)?, CHECK.positive("prior standard deviation", prior.u)?);
    let (ym, um) =
        (CHECK.finite("measured value", measured.value)?, CHECK.positive("measurement uncertainty", measured.u)?);
    // Weights without squares that overflow.
    let ratio = um / u0;
    let weight_of_prior = 1.0 - 1.0 / (1.0 + ratio * ratio);
    let value = CHECK.result(ym + (y0 - ym) * weight_of_prior)?;
    let u = CHECK.result(if ratio < 1.0 {
        um / math::sqrt(1.0 + ratio * ratio)
    } else {
        u0 / math::sqrt(1.0 + 1.0 / ratio / ratio)
    })?;
    Ok(Input::new(value, u))
}

/// P(reading within the acceptance limits | true value).
fn acceptance_probability(acceptance: Limits, eta: f64, u: f64) -> f64 {
    if u == 0.0 {
        return if acceptance.contain(eta) { 1.0 } else { 0.0 };
    }
    let above = acceptance.upper().map_or(0.0, |a| normal::cumulative((eta - a) / u));
    let below = acceptance.lower().map_or(0.0, |a| normal::cumulative((a - eta) / u));
    (1.0 - above - below).max(0.0)
}

/// Where the integrand changes its form, and steps over which it is smooth.
fn edges(tolerance: Limits, acceptance: Limits, prior: Distribution, (mean, spread): (f64, f64), u: f64) -> Vec<f64> {
    let (from, to) = (mean - 12.0 * spread, mean + 40.0 * spread);
    let mut edges: Vec<f64> = (0..=208).map(|i| from + f64::from(i) * 0.25 * spread).collect();
    edges.extend(prior.corners().into_iter().flatten());
    edges.extend([tolerance.lower(), tolerance.upper()].into_iter().flatten());
    for limit in [acceptance.lower(), acceptance.upper()].into_iter().flatten() {
        edges.extend((-32..=32).map(|i| limit + f64::from(i) * 0.25 * u));
    }
    edges.retain(|e| e.is_finite() && *e >= from && *e <= to);
    edges.sort_by(f64::total_cmp);
    edges.dedup();
    edges
}

/// Points and weights of the five-point rule on an interval.
fn gauss_legendre(from: f64, to: f64) -> [(f64, f64); 5] {
    let (middle, half) = (from + (to - from) / 2.0, (to - from) / 2.0);
    let root = math::sqrt(10.0 / 7.0);
    let (inner, outer) = (math::sqrt(5.0 - 2.0 * root) / 3.0, math::sqrt(5.0 + 2.0 * root) / 3.0);
    let seventy = 13.0 * math::sqrt(70.0);
    let (near, far) = ((322.0 + seventy) / 900.0, (322.0 - seventy) / 900.0);
    [(-outer, far), (-inner, near), (0.0, 128.0 / 225.0), (inner, near), (outer, far)]
        .map(|(x, w)| (middle + half * x, half * w))
}

#[cfg(test)]
mod tests;
