//! Cooling capacity, its sensible and latent part, specific capacity, coefficients of performance.

use crate::domain::{DomainError, check, finite, positive};
use crate::humid_air::{enthalpy, equilibrium, mixture_enthalpy};
use crate::saturation::Condensate;
use crate::stream::{Air, Stream};
use units::Real;

/// What a supply can take up in a cabin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling<R> {
    /// Total, W.
    pub total: R,
    /// Warming of dry air and of the vapour supplied up to the cabin's temperature, W.
    pub sensible: R,
    /// The rest, W: droplets that evaporate, and the vapour that the supply takes up until it has the cabin's humidity.
    pub latent: R,
}

/// Cooling capacity of a supply, relative to a cabin's temperature and humidity.
///
/// ```text
/// Q = ṁ_a·(h(T_c, p_c, w_c) − h(T_d, p_d, w_d))               condensate included
/// Q_s = ṁ_a·(h_gas(T_c, p_c, w_v) − h_gas(T_d, p_d, w_v))     w_v = min(w_d, w_sat(T_d, p_d))
/// Q_l = Q − Q_s                                               ṁ_a = ṁ/(1 + w_d)
/// ```
/// * Units: the supply's flow and state with all its water, the cabin's state; W out; below 0 where the supply heats or
///   dampens.
/// * Range: flow 0 kg/s or more, as [`mixture`](crate::humid_air::mixture). Within a thermometer's uncertainty of 0 °C
///   with free water the share of ice is open and with it up to 334 kJ per kg of that water; at 273.16 K it is taken
///   for water.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy. The split is a definition of ours: others count all free water as sensible.
///
/// ```
/// use thermo::{capacity::cooling, saturation::Condensate, stream::{Air, Stream}};
/// let air = |t, w| Air { temperature: t, pressure: 101_325.0, humidity_ratio: w };
/// let supply = Stream { flow: 0.5, air: air(286.15, 0.006) };
/// let q = cooling(supply, air(300.15, 0.010), Condensate::Equilibrium)?;
/// assert!((q.sensible - 7069.0).abs() < 20.0 && (q.total - q.sensible - q.latent).abs() < 1e-9);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn cooling<R: Real>(supply: Stream<R>, cabin: Air<R>, condensate: Condensate) -> Result<Cooling<R>, DomainError> {
    const NAME: &str = "cooling capacity";
    let dry = supply.dry_air_flow()?;
    let Air { temperature, pressure, humidity_ratio } = supply.air;
    let total = finite(NAME, dry * (cabin.enthalpy(condensate)? - supply.air.enthalpy(condensate)?))?;
    let vapour = equilibrium(temperature, pressure, humidity_ratio, condensate)?.vapour;
    let warming = enthalpy(cabin.temperature, cabin.pressure, vapour)? - enthalpy(temperature, pressure, vapour)?;
    let sensible = finite(NAME, dry * warming)?;
    Ok(Cooling { total, sensible, latent: finite(NAME, total - sensible)? })
}

/// Specific capacity: capacity per flow of bleed air.
///
/// ```text
/// q = Q/ṁ_bleed
/// ```
/// * Units: W, kg/s of moist air; J/kg out.
/// * Range: any finite capacity, flow above 0 kg/s.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn specific<R: Real>(capacity: R, bleed_flow: R) -> Result<R, DomainError> {
    const NAME: &str = "specific capacity";
    let capacity = check(NAME, "capacity", capacity, "a finite number in W", |_| true)?;
    finite(NAME, capacity / positive(NAME, "bleed flow", bleed_flow, "above 0 kg/s")?)
}

/// Coefficient of performance on a power: the basis belongs to the name of the result (shaft power, net power, electric
/// power).
///
/// ```text
/// COP = Q/P
/// ```
/// * Units: W, W (or J/kg, J/kg); ratio out.
/// * Range: any finite capacity, power above 0.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn performance<R: Real>(capacity: R, power: R) -> Result<R, DomainError> {
    const NAME: &str = "coefficient of performance";
    let capacity = check(NAME, "capacity", capacity, "a finite number in W", |_| true)?;
    finite(NAME, capacity / positive(NAME, "power", power, "above 0 W")?)
}

/// Power that the bleed air brings above ambient: what the coefficient of performance on bleed enthalpy is formed with.
///
/// ```text
/// P = ṁ/(1 + w)·(h(T_bleed, p_bleed, w) − h(T_amb, p_amb, w))
/// ```
/// The power of the ideal compressor that would make it, lossless pipes; not the fuel.
///
/// * Units: the bleed's flow and state, K and Pa absolute outside; W out.
/// * Range: flow 0 kg/s or more, as [`mixture`](crate::humid_air::mixture). Air of one humidity.
/// * Outside: [`DomainError`].
/// * Source: first law.
pub fn bleed_power<R: Real>(
    bleed: Stream<R>,
    ambient_temperature: R,
    ambient_pressure: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    let dry = bleed.dry_air_flow()?;
    let outside = mixture_enthalpy(ambient_temperature, ambient_pressure, bleed.air.humidity_ratio, condensate)?;
    finite("bleed power", dry * (bleed.air.enthalpy(condensate)? - outside))
}
