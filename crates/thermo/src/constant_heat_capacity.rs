//! Machines in air of constant heat capacity: the textbook's relations, for cycles that are stated so. For measured
//! machines [`machine`](crate::machine) is better: from 300 K by 5 the outlet comes out 1.35 K high here.

use crate::domain::{DomainError, check, finite, positive};
use crate::isentropic::temperature_ratio;
use units::Real;

const RATIO: &str = "1 or more";

/// Outlet temperature of a compression from its efficiency.
///
/// ```text
/// T2 = T1 + T1·(π^((γ−1)/γ) − 1)/η     π = p2/p1
/// ```
/// * Units: K, ratios; K out.
/// * Range: T1 above 0 K, π from 1, η above 0 up to 1, γ above 1; with η = 1 and γ = n the polytropic outlet.
/// * Outside: [`DomainError`].
/// * Source: definition of the isentropic efficiency with constant heat capacity; the textbook's relation.
///
/// ```
/// let t2 = thermo::constant_heat_capacity::compression_outlet(275.0, 4.0, 0.8, 1.4)?;
/// assert!((t2 - 442.07).abs() < 0.01);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn compression_outlet<R: Real>(t1: R, pressure_ratio: R, efficiency: R, gamma: R) -> Result<R, DomainError> {
    const NAME: &str = "outlet of a compression with constant heat capacity";
    let (t1, efficiency) = inlet_and_efficiency(NAME, t1, efficiency)?;
    let ratio = temperature_ratio(check(NAME, "pressure ratio", pressure_ratio, RATIO, |x| x >= 1.0)?, gamma)?;
    finite(NAME, t1 + t1 * (ratio - 1.0) / efficiency)
}

/// Outlet temperature of an expansion from its efficiency.
///
/// ```text
/// T2 = T1 − η·T1·(1 − π^(−(γ−1)/γ))     π = p1/p2
/// ```
/// * Units: K, ratios; K out.
/// * Range: T1 above 0 K, π from 1, η above 0 up to 1, γ above 1. Dry air: nothing condenses.
/// * Outside: [`DomainError`].
/// * Source: as [`compression_outlet`].
///
/// ```
/// let t2 = thermo::constant_heat_capacity::expansion_outlet(310.0, 3.9 / 1.08, 0.85, 1.4)?;
/// assert!((t2 - 229.0806).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn expansion_outlet<R: Real>(t1: R, expansion_ratio: R, efficiency: R, gamma: R) -> Result<R, DomainError> {
    const NAME: &str = "outlet of an expansion with constant heat capacity";
    let (t1, efficiency) = inlet_and_efficiency(NAME, t1, efficiency)?;
    let ratio = temperature_ratio(check(NAME, "expansion ratio", expansion_ratio, RATIO, |x| x >= 1.0)?, gamma)?;
    finite(NAME, t1 - efficiency * t1 * (R::of(1.0) - R::of(1.0) / ratio))
}

/// Pressure ratio of an isentropic change from its temperature ratio: the inverse of
/// [`temperature_ratio`].
///
/// ```text
/// p2/p1 = (T2/T1)^(γ/(γ−1))
/// ```
/// * Units: ratios.
/// * Range: temperature ratio above 0, γ above 1.
/// * Outside: [`DomainError`].
/// * Source: as [`compression_outlet`].
pub fn pressure_ratio<R: Real>(temperature_ratio: R, gamma: R) -> Result<R, DomainError> {
    const NAME: &str = "pressure ratio with constant heat capacity";
    let ratio = positive(NAME, "temperature ratio", temperature_ratio, "above 0")?;
    let gamma = check(NAME, "heat capacity ratio", gamma, "above 1 (air: 1.4)", |x| x > 1.0)?;
    finite(NAME, ratio.pow(gamma / (gamma - 1.0)))
}

/// Change of enthalpy between two temperatures.
///
/// ```text
/// Δh = cp·(T_to − T_from)
/// ```
/// * Units: J/(kg K), K, K; J/kg out; above 0 where the air is warmed.
/// * Range: cp and both temperatures above 0.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn enthalpy_change<R: Real>(heat_capacity: R, from: R, to: R) -> Result<R, DomainError> {
    const NAME: &str = "enthalpy change with constant heat capacity";
    let heat_capacity = positive(NAME, "heat capacity", heat_capacity, "above 0 J/(kg K)")?;
    let from = positive(NAME, "first temperature", from, "above 0 K")?;
    let to = positive(NAME, "second temperature", to, "above 0 K")?;
    finite(NAME, heat_capacity * (to - from))
}

fn inlet_and_efficiency<R: Real>(formula: &'static str, t1: R, efficiency: R) -> Result<(R, R), DomainError> {
    let t1 = positive(formula, "inlet temperature", t1, "above 0 K")?;
    Ok((t1, check(formula, "efficiency", efficiency, "above 0 up to 1", |x| x > 0.0 && x <= 1.0)?))
}
