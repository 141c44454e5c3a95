//! Ratios and factors of the trade around limits.

use super::Limits;
use crate::domain::{Checks, DomainError};
use units::math;

/// Test uncertainty ratio: `None` for a one-sided limit, which has no span.
///
/// ```text
/// TUR = (T_U − T_L)/(2·U)        U expanded uncertainty, k = 2
/// ```
/// * Units: U as the limits. * Range: U above 0. * Outside: [`DomainError`].
/// * Source: common practice of calibration (ANSI/NCSL Z540.3, from memory).
pub fn test_uncertainty_ratio(limits: Limits, expanded: f64) -> Result<Option<f64>, DomainError> {
    let check = Checks("test uncertainty ratio");
    let expanded = check.positive("expanded uncertainty", expanded)?;
    limits.span().map(|span| check.result(span / expanded / 2.0)).transpose()
}

/// Measurement capability index: `None` for a one-sided limit.
///
/// ```text
/// C_m = (T_U − T_L)/(4·u)
/// ```
/// * Units: limits, values and standard uncertainty in one unit; ratio out.
/// * Range: u above 0. * Outside: [`DomainError`]. * Source: JCGM 106:2012, 7.6.3.
pub fn capability_index(limits: Limits, u: f64) -> Result<Option<f64>, DomainError> {
    let check = Checks("capability index");
    let u = check.positive("standard uncertainty", u)?;
    limits.span().map(|span| check.result(span / u / 4.0)).transpose()
}

/// E_n of a comparison: within ±1 two results agree.
///
/// ```text
/// E_n = (x − x_ref)/√(U² + U_ref²)
/// ```
/// * Units: all alike; expanded uncertainties with k = 2. * Range: both U 0 or above, not both 0. * Outside:
///   [`DomainError`].
/// * Source: ISO/IEC 17043 (from memory).
pub fn normalised_error(value: f64, expanded: f64, reference: f64, expanded_ref: f64) -> Result<f64, DomainError> {
    let check = Checks("normalised error");
    let value = check.finite("value", value)?;
    let reference = check.finite("reference value", reference)?;
    let a = check.not_negative("expanded uncertainty", expanded)?;
    let b = check.not_negative("expanded uncertainty of the reference", expanded_ref)?;
    // The greater taken out: no square overflows or vanishes.
    let (great, small) = (a.max(b), a.min(b));
    let great = check.positive("greater of both expanded uncertainties", great)?;
    check.result((value - reference) / great / math::sqrt(1.0 + (small / great) * (small / great)))
}

/// Acceptance limit over tolerance limit, for limits symmetric about a nominal value: full guard band.
///
/// ```text
/// A/T = 1 − 1/TUR        w = U
/// ```
/// * Units: ratios in and out.
/// * Range: TUR 1 or above. * Outside: [`DomainError`]. * Source: ISO 14253-1 of 1998 (w = U), from memory.
pub fn guard_factor_full(tur: f64) -> Result<f64, DomainError> {
    ratio(tur).map(|tur| 1.0 - 1.0 / tur)
}

/// Acceptance limit over tolerance limit: root-sum-of-squares guard band.
///
/// ```text
/// A/T = √(1 − 1/TUR²)
/// ```
/// * Units: ratios in and out.
/// * Range: TUR 1 or above. * Outside: [`DomainError`]. * Source: NCSLI RP-10 (from memory).
pub fn guard_factor_root_sum(tur: f64) -> Result<f64, DomainError> {
    // (1 − r)(1 + r) keeps its digits near TUR 1.
    ratio(tur).map(|tur| math::sqrt((1.0 - 1.0 / tur) * (1.0 + 1.0 / tur)))
}

/// Acceptance limit over tolerance limit: guard band that keeps false acceptance at or below 2 % whatever the process.
///
/// ```text
/// A/T = 1 − M/TUR        M = 1.04 − exp(0.38·ln TUR − 0.54)
/// ```
/// * Units: ratios in and out.
/// * Range: TUR 1 or above. The factor rises above 1 (no guard band needed) from TUR 4.6 on: 1 is returned there.
/// * Outside: [`DomainError`].
/// * Source: M. Dobbert, "A Guard-Band Strategy for Managing False-Accept Risk", NCSLI 2008 (M from memory).
pub fn guard_factor_managed_risk(tur: f64) -> Result<f64, DomainError> {
    let tur = ratio(tur)?;
    let m = 1.04 - math::exp(0.38 * math::ln(tur) - 0.54);
    Ok((1.0 - m / tur).min(1.0))
}

fn ratio(tur: f64) -> Result<f64, DomainError> {
    Checks("guard band factor").that("test uncertainty ratio", tur, "1 or above", |t| t >= 1.0)
}
