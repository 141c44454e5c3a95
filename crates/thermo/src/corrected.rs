//! Flow and speed referred to a standard inlet state, so that runs on different days compare.

use crate::domain::{DomainError, check, finite, positive};
use crate::gas::DRY_AIR_GAS_CONSTANT;
use crate::humid_air::gas_constant;
use units::{AbsolutePressure, AngularSpeed, MassFlow, Real, Temperature};

/// The reference temperature, 288.15 K: sea level of ISO 2533.
pub const REFERENCE_TEMPERATURE: Temperature = Temperature::from_si(288.15);

/// The reference pressure, 101 325 Pa: sea level of ISO 2533.
pub const REFERENCE_PRESSURE: AbsolutePressure = AbsolutePressure::from_si(101_325.0);

/// Corrected mass flow.
///
/// ```text
/// W_c = W·√θ / δ     θ = T / 288.15 K     δ = p / 101 325 Pa
/// ```
/// * Units: kg/s, K, Pa absolute in; kg/s out. Total temperature and pressure at the place of the flow. Dry air: the
///   change of the gas constant with humidity (0.6 % of R for 10 g/kg) is in [`humid_flow`].
/// * Range: T above 0 K, p above 0 Pa, any finite flow (a negative one flows backwards).
/// * Outside: [`DomainError`].
/// * Source: common practice for turbomachines; reference state of ISO 2533.
///
/// ```
/// use units::{AbsolutePressure, MassFlow, Temperature};
/// let w = thermo::corrected::corrected_flow(
///     MassFlow::from_si(0.5),
///     Temperature::from_si(288.15),
///     AbsolutePressure::from_si(202_650.0),
/// )?;
/// assert_eq!(w.si(), 0.25);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn corrected_flow(
    flow: MassFlow,
    temperature: Temperature,
    pressure: AbsolutePressure,
) -> Result<MassFlow, DomainError> {
    humid_flow(flow.si(), temperature.si(), pressure.si(), 0.0).map(MassFlow::from_si)
}

/// Corrected mass flow of humid air: [`corrected_flow`] with θ = T·R/(288.15 K·R_a), R of the humidity ratio.
///
/// * Units: kg/s, K, Pa absolute, kg/kg in; kg/s out.
/// * Range: as [`corrected_flow`], w 0…10. The change of the heat capacity ratio with humidity is not in this form.
/// * Outside: [`DomainError`].
/// * Source: similarity of the Mach number; as [`corrected_flow`].
pub fn humid_flow<R: Real>(flow: R, temperature: R, pressure: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "corrected flow";
    let flow = check(NAME, "mass flow", flow, "a finite number in kg/s", |_| true)?;
    let theta = theta(NAME, temperature, w)?;
    let delta = positive(NAME, "pressure", pressure, "above 0 Pa absolute")? / REFERENCE_PRESSURE.si();
    finite(NAME, flow * theta.sqrt() / delta)
}

/// Corrected speed.
///
/// ```text
/// N_c = N / √θ     θ = T / 288.15 K
/// ```
/// * Units: rad/s, K in; rad/s out. Total temperature at the inlet of the machine. Dry air.
/// * Range: T above 0 K, any finite speed.
/// * Outside: [`DomainError`].
/// * Source: common practice for turbomachines; reference state of ISO 2533.
///
/// ```
/// use units::{AngularSpeed, Temperature};
/// let n = thermo::corrected::corrected_speed(AngularSpeed::from_si(4000.0), Temperature::from_si(4.0 * 288.15))?;
/// assert_eq!(n.si(), 2000.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn corrected_speed(speed: AngularSpeed, temperature: Temperature) -> Result<AngularSpeed, DomainError> {
    humid_speed(speed.si(), temperature.si(), 0.0).map(AngularSpeed::from_si)
}

/// Corrected speed in humid air: [`corrected_speed`] with θ as in [`humid_flow`].
///
/// * Units: rad/s, K, kg/kg in; rad/s out.
/// * Range: as [`corrected_speed`], w 0…10.
/// * Outside: [`DomainError`].
/// * Source: as [`humid_flow`].
pub fn humid_speed<R: Real>(speed: R, temperature: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "corrected speed";
    let speed = check(NAME, "speed", speed, "a finite number in rad/s", |_| true)?;
    finite(NAME, speed / theta(NAME, temperature, w)?.sqrt())
}

/// T / 288.15 K, times the gas constant over that of dry air.
fn theta<R: Real>(formula: &'static str, temperature: R, w: R) -> Result<R, DomainError> {
    let theta = positive(formula, "temperature", temperature, "above 0 K")? / REFERENCE_TEMPERATURE.si();
    Ok(theta * (gas_constant(w)? / DRY_AIR_GAS_CONSTANT))
}
