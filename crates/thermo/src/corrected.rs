//! Flow and speed referred to a standard inlet state, so that runs on different days compare.

use crate::domain::{DomainError, check, finite, positive};
use units::{AbsolutePressure, AngularSpeed, MassFlow, Temperature, math};

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
///   change of the gas constant with humidity (0.6 % of R for 10 g/kg) is not in this form.
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
    const NAME: &str = "corrected flow";
    let flow = check(NAME, "mass flow", flow.si(), "a finite number in kg/s", |_| true)?;
    let theta = theta(NAME, temperature)?;
    let delta = positive(NAME, "pressure", pressure.si(), "above 0 Pa absolute")? / REFERENCE_PRESSURE.si();
    finite(NAME, flow * math::sqrt(theta) / delta).map(MassFlow::from_si)
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
    const NAME: &str = "corrected speed";
    let speed = check(NAME, "speed", speed.si(), "a finite number in rad/s", |_| true)?;
    finite(NAME, speed / math::sqrt(theta(NAME, temperature)?)).map(AngularSpeed::from_si)
}

/// T / 288.15 K.
fn theta(formula: &'static str, temperature: Temperature) -> Result<f64, DomainError> {
    Ok(positive(formula, "temperature", temperature.si(), "above 0 K")? / REFERENCE_TEMPERATURE.si())
}
