//! The flow that goes through the machine, and the balance of its shaft.
//!
//! The powers themselves: [`turbine::power`](crate::machine::turbine::power),
//! [`compressor::power`](crate::machine::compressor::power) (also of a fan, from its temperature rise), and
//! [`fan::power`](crate::fan::power) from a fan's pressure rise. All take the moist flow and divide it by 1 + w.

use crate::domain::{DomainError, check, finite};
use units::Real;

/// Flow of dry air in a flow of moist air.
///
/// ```text
/// ṁ_a = ṁ/(1 + w)
/// ```
/// * Units: kg/s of moist air, all its water included, kg of water per kg of dry air; kg/s of dry air out.
/// * Range: flow 0 kg/s or more, w 0…10.
/// * Outside: [`DomainError`].
/// * Source: definition of the humidity ratio.
pub fn dry_air_flow<R: Real>(flow: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "flow of dry air";
    let flow = check(NAME, "mass flow", flow, "0 kg/s or more", |x| x >= 0.0)?;
    crate::humid_air::check_humidity(NAME, w.value())?;
    finite(NAME, flow / (w + 1.0))
}

/// Flow through the air cycle machine: that of the pack less what goes around it.
///
/// ```text
/// ṁ_core = ṁ_pack − ṁ_bypass − ṁ_anti-ice
/// ```
/// * Units: kg/s; each of moist air.
/// * Range: each 0 kg/s or more, the flows around the machine together not above the pack's. A bypass taken for shut
///   without a measurement is 0 here, and the caller says so beside the result.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn core_flow<R: Real>(pack: R, bypass: R, anti_ice: R) -> Result<R, DomainError> {
    const NAME: &str = "core flow";
    const FLOW: &str = "0 kg/s or more";
    let pack = check(NAME, "pack flow", pack, FLOW, |x| x >= 0.0)?;
    let bypass = check(NAME, "bypass flow", bypass, FLOW, |x| x >= 0.0)?;
    let anti_ice = check(NAME, "anti-ice flow", anti_ice, FLOW, |x| x >= 0.0)?;
    let core = pack - bypass - anti_ice;
    check(NAME, "core flow", core, "0 kg/s or more: more goes around the machine than enters the pack", |x| x >= 0.0)?;
    finite(NAME, core)
}

/// Powers at one shaft, each as a positive number; 0 for what is not on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Powers<R> {
    /// All turbines together, given off to the shaft, W.
    pub turbines: R,
    /// Taken up by the compressor, W.
    pub compressor: R,
    /// Taken up by the fan, W.
    pub fan: R,
    /// Given to the shaft by a motor, W.
    pub motor: R,
}

/// What is left over at a shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance<R> {
    /// Given off less taken up, W: bearing loss, windage, heat lost, and all errors of measurement.
    pub residual: R,
    /// The residual as a share of the turbines' power.
    pub share: R,
    /// (compressor + fan − motor)/turbines, which is 1 − share.
    pub mechanical_efficiency: R,
}

/// Balance of a shaft at steady speed.
///
/// ```text
/// ΔP = P_t + P_m − P_c − P_f     r = ΔP/P_t     η_m = 1 − r
/// ```
/// A share of 0.02…0.08 is loss; with probes of 0.5 K its expanded uncertainty is as large (common practice, no
/// source). So it is to be weighed, and no threshold.
///
/// * Units: W; W and ratios out.
/// * Range: turbines above 0 W, the others 0 W or more; steady speed, since the rotor's inertia takes up power too
///   ([`coast_down::torque`](crate::coast_down::torque)). Any sign of the result.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy.
///
/// ```
/// use thermo::shaft::{Powers, balance};
/// let b = balance(Powers { turbines: 35e3, compressor: 29e3, fan: 5e3, motor: 0.0 })?;
/// assert!((b.residual - 1e3).abs() < 1e-9 && (b.share - 1.0 / 35.0).abs() < 1e-12);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn balance<R: Real>(powers: Powers<R>) -> Result<Balance<R>, DomainError> {
    const NAME: &str = "shaft power balance";
    const POWER: &str = "0 W or more (each power is a positive number, whichever way it goes)";
    let turbines = check(NAME, "turbine power", powers.turbines, "above 0 W", |x| x > 0.0)?;
    let compressor = check(NAME, "compressor power", powers.compressor, POWER, |x| x >= 0.0)?;
    let fan = check(NAME, "fan power", powers.fan, POWER, |x| x >= 0.0)?;
    let motor = check(NAME, "motor power", powers.motor, POWER, |x| x >= 0.0)?;
    let taken_up = compressor + fan - motor;
    let residual = finite(NAME, turbines - taken_up)?;
    let share = finite(NAME, residual / turbines)?;
    Ok(Balance { residual, share, mechanical_efficiency: finite(NAME, taken_up / turbines)? })
}
