//! Leakage of a closed volume from the fall of its pressure.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Leakage mass flow from the rates of pressure and temperature.
///
/// ```text
/// ṁ = −V/R·d(p/T)/dt = −V/(R·T)·(dp/dt − p/T·dT/dt)
/// ```
/// 1 K of cooling during a test is 10 % of a typical result: the temperature's rate belongs into it.
///
/// * Units: m³, J/(kg·K), Pa absolute, K, Pa/s, K/s; kg/s out, positive out of the volume.
/// * Range: volume, gas constant, p and T above zero, any finite rates.
/// * Outside: [`DomainError`].
/// * Source: ideal gas and conservation of mass.
///
/// ```
/// // 0.5 m³ at 25 °C, 10 kPa lost in 60 s
/// let leak = thermo::leak_down::leak_rate(0.5, 287.05, 250e3, 298.15, -10e3 / 60.0, 0.0)?;
/// assert!((leak - 0.9737e-3).abs() < 1e-7);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn leak_rate<R: Real>(
    volume: R,
    gas_constant: R,
    pressure: R,
    temperature: R,
    pressure_rate: R,
    temperature_rate: R,
) -> Result<R, DomainError> {
    const NAME: &str = "leak rate";
    let mass_per_state = per_state(NAME, volume, gas_constant)?;
    let p = positive(NAME, "pressure", pressure, "above 0 Pa absolute")?;
    let t = positive(NAME, "temperature", temperature, "above 0 K")?;
    let dp = check(NAME, "pressure rate", pressure_rate, "a finite number in Pa/s", |_| true)?;
    let dt = check(NAME, "temperature rate", temperature_rate, "a finite number in K/s", |_| true)?;
    finite(NAME, -(mass_per_state * (dp - p / t * dt) / t))
}

/// A state of the gas in the volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State<R> {
    /// Pressure, Pa absolute.
    pub pressure: R,
    /// Temperature, K.
    pub temperature: R,
}

/// Mean leakage mass flow between two states.
///
/// ```text
/// ṁ = V/R·(p_1/T_1 − p_2/T_2)/Δt
/// ```
/// * Units: m³, J/(kg·K), Pa absolute, K, s; kg/s out, positive out of the volume.
/// * Range: everything above zero.
/// * Outside: [`DomainError`].
/// * Source: as [`leak_rate`].
pub fn mean_leak_rate<R: Real>(
    volume: R,
    gas_constant: R,
    start: State<R>,
    end: State<R>,
    seconds: R,
) -> Result<R, DomainError> {
    const NAME: &str = "mean leak rate";
    let mass_per_state = per_state(NAME, volume, gas_constant)?;
    let p1 = positive(NAME, "pressure at the start", start.pressure, "above 0 Pa absolute")?;
    let t1 = positive(NAME, "temperature at the start", start.temperature, "above 0 K")?;
    let p2 = positive(NAME, "pressure at the end", end.pressure, "above 0 Pa absolute")?;
    let t2 = positive(NAME, "temperature at the end", end.temperature, "above 0 K")?;
    let seconds = positive(NAME, "duration", seconds, "above 0 s")?;
    finite(NAME, mass_per_state * (p1 / t1 - p2 / t2) / seconds)
}

/// V/R, checked.
fn per_state<R: Real>(formula: &'static str, volume: R, gas_constant: R) -> Result<R, DomainError> {
    let volume = positive(formula, "volume", volume, "above 0 m³")?;
    Ok(volume / positive(formula, "gas constant", gas_constant, "above 0 J/(kg·K)")?)
}
