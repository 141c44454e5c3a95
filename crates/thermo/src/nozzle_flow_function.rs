//! The flow function of a turbine's nozzles: constant while they are choked, so that it shows their area. Up by
//! erosion, down by deposits.

use crate::domain::{DomainError, check, finite, positive};
use crate::gas::DRY_AIR_GAS_CONSTANT;
use crate::humid_air::{gas_constant, heat_capacity_ratio};
use crate::valve_flow::flow_function as choked_or_not;
use units::Real;

/// Flow function of dry air.
///
/// ```text
/// Γ = ṁ·√T/p
/// ```
/// * Units: kg/s, K, Pa absolute; kg·√K/(s·Pa) out. Total temperature and pressure before the nozzles, core flow.
/// * Range: flow 0 kg/s or more, T above 0 K, p above 0 Pa.
/// * Outside: [`DomainError`].
/// * Source: common practice for turbomachines, no source.
///
/// ```
/// let g = thermo::nozzle_flow_function::flow_function(0.5, 311.32, 335.82e3)?;
/// assert!((g - 2.6271e-5).abs() < 1e-8);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn flow_function<R: Real>(flow: R, temperature: R, pressure: R) -> Result<R, DomainError> {
    const NAME: &str = "nozzle flow function";
    let flow = check(NAME, "mass flow", flow, "0 kg/s or more", |x| x >= 0.0)?;
    let temperature = positive(NAME, "temperature", temperature, "above 0 K")?;
    let pressure = positive(NAME, "pressure", pressure, "above 0 Pa absolute")?;
    finite(NAME, flow * temperature.sqrt() / pressure)
}

/// Flow function of humid air, referred to dry air of γ = 1.4, so that humid and dry days compare.
///
/// ```text
/// Γ = ṁ·√T/p·√(R(w)/R_a)·ψ(1.4)/ψ(γ(T, p, w))     ψ(γ) = √γ·(2/(γ + 1))^((γ + 1)/(2(γ − 1)))
/// ```
/// * Units: kg/s of moist air, K, Pa absolute, kg/kg; kg·√K/(s·Pa) out. At w = 0.02 the two factors are +0.6 % and
///   below 0.1 %.
/// * Range: as [`flow_function`] and [`humid_air`](crate::humid_air); all water is vapour before the nozzles.
/// * Outside: [`DomainError`].
/// * Source: choked flow of an ideal gas, as [`valve_flow`](crate::valve_flow).
pub fn humid_flow_function<R: Real>(flow: R, temperature: R, pressure: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "nozzle flow function of humid air";
    let plain = flow_function(flow, temperature, pressure)?;
    let gas = (gas_constant(w)? / DRY_AIR_GAS_CONSTANT).sqrt();
    let choked = choked_or_not(R::of(0.0), heat_capacity_ratio(temperature, pressure, w)?)?;
    finite(NAME, plain * gas * choked_or_not(R::of(0.0), R::of(1.4))? / choked)
}
