//! Gas through a valve, a hole or a turbine nozzle: choked and subsonic, one formula for both.

use crate::domain::{DomainError, check, finite, positive};
use crate::smooth::decay_mean;
use units::Real;

/// Pressure ratio above which the flow function is a straight line to zero: its slope at equal pressures is infinite
/// otherwise, which no solver and no uncertainty survives. At 0.999 the line and the curve meet; between, the line is
/// below the curve by up to a quarter of ψ(0.999), which is 1.6 % of the choked flow. As ISO 6358 treats nearly
/// equal pressures (from memory).
pub const BLEND: f64 = 0.999;

/// The gas upstream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gas<R> {
    /// Total pressure, Pa absolute.
    pub pressure: R,
    /// Total temperature, K.
    pub temperature: R,
    /// Specific gas constant, J/(kg·K); 287.05 for dry air.
    pub gas_constant: R,
    /// Isentropic exponent, 1.4 for air.
    pub isentropic_exponent: R,
}

/// Mass flow through an effective area.
///
/// ```text
/// ṁ = C_d·A·p1/√(R·T1)·ψ(p2/p1, κ)
/// ```
/// * Units: m², Pa absolute, K; kg/s out. Effective area C_d·A: discharge coefficient times geometric area.
/// * Range: area from 0 m², p1, T1, R above zero, p2 from 0 Pa to p1, κ from 1.05 to 2.
/// * Outside: [`DomainError`]; p2 above p1 means that the other side is upstream.
/// * Source: isentropic flow of an ideal gas to the smallest section; B.S. Massey, Mechanics of Fluids (from memory).
///
/// ```
/// use thermo::valve_flow::{Gas, mass_flow};
/// let gas = Gas { pressure: 300e3, temperature: 293.0, gas_constant: 287.05, isentropic_exponent: 1.4 };
/// let choked = mass_flow(0.8e-6, gas, 100e3)?; // 1 mm², C_d = 0.8
/// assert!((choked - 0.5667e-3).abs() < 1e-7);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mass_flow<R: Real>(effective_area: R, upstream: Gas<R>, downstream_pressure: R) -> Result<R, DomainError> {
    const NAME: &str = "valve flow";
    let area = check(NAME, "effective area", effective_area, "0 m² or more", |a| a >= 0.0)?;
    finite(NAME, area * flux(NAME, upstream, downstream_pressure)?)
}

/// Effective area C_d·A from a mass flow, the inverse of [`mass_flow`]; of a leak: the hole that would leak as much.
///
/// ```text
/// C_d·A = ṁ·√(R·T1)/(p1·ψ(p2/p1, κ))
/// ```
/// * Units: kg/s, Pa absolute, K; m² out.
/// * Range: flow from 0 kg/s, p2 below p1, else as [`mass_flow`].
/// * Outside: [`DomainError`].
/// * Source: as [`mass_flow`].
pub fn effective_area<R: Real>(flow: R, upstream: Gas<R>, downstream_pressure: R) -> Result<R, DomainError> {
    const NAME: &str = "effective area";
    let flow = check(NAME, "mass flow", flow, "0 kg/s or more", |w| w >= 0.0)?;
    let flux = flux(NAME, upstream, downstream_pressure)?;
    let flux =
        positive(NAME, "flow per area", flux, "above 0: the downstream pressure must be below the upstream one")?;
    finite(NAME, flow / flux)
}

/// Flow function ψ of a pressure ratio.
///
/// ```text
/// r_c = (2/(κ + 1))^(κ/(κ − 1))                                 0.5283 for κ = 1.4
/// r ≤ r_c (choked)     ψ = √κ·(2/(κ + 1))^((κ + 1)/(2(κ − 1)))    0.6847
/// r_c < r ≤ 0.999      ψ = √(2κ/(κ − 1)·(r^(2/κ) − r^((κ + 1)/κ)))
/// 0.999 < r ≤ 1        ψ = ψ(0.999)·(1 − r)/0.001               the blend
/// ```
/// Continuous everywhere, its slope too but at 0.999.
///
/// * Units: ratios.
/// * Range: r from 0 to 1, κ from 1.05 to 2.
/// * Outside: [`DomainError`].
/// * Source: as [`mass_flow`].
pub fn flow_function<R: Real>(pressure_ratio: R, isentropic_exponent: R) -> Result<R, DomainError> {
    const NAME: &str = "flow function";
    const VALID: &str = "0 to 1: the downstream pressure is above the upstream one";
    let ratio = check(NAME, "pressure ratio p2/p1", pressure_ratio, VALID, |r| (0.0..=1.0).contains(&r))?;
    let critical = critical_pressure_ratio(isentropic_exponent)?;
    let kappa = isentropic_exponent;
    let psi = if ratio.value() <= critical.value() {
        let power = (kappa + 1.0) / ((kappa - 1.0) * 2.0);
        kappa.sqrt() * (R::of(2.0) / (kappa + 1.0)).pow(power)
    } else if ratio.value() <= BLEND {
        subsonic(ratio, kappa)
    } else {
        subsonic(R::of(BLEND), kappa) * (-ratio + 1.0) / (1.0 - BLEND)
    };
    finite(NAME, psi)
}

/// Critical pressure ratio, below which the flow is choked.
///
/// ```text
/// r_c = (2/(κ + 1))^(κ/(κ − 1))
/// ```
/// * Units: ratios. Range: κ from 1.05 to 2. Outside: [`DomainError`].
/// * Source: as [`mass_flow`].
pub fn critical_pressure_ratio<R: Real>(isentropic_exponent: R) -> Result<R, DomainError> {
    const NAME: &str = "critical pressure ratio";
    let valid = "1.05 to 2";
    let kappa = check(NAME, "isentropic exponent", isentropic_exponent, valid, |k| (1.05..=2.0).contains(&k))?;
    finite(NAME, (R::of(2.0) / (kappa + 1.0)).pow(kappa / (kappa - 1.0)))
}

/// 2κ/(κ − 1)·(r^(2/κ) − r^((κ+1)/κ)) = 2·r^(2/κ)·l·φ(l·(κ − 1)/κ), l = −ln r.
fn subsonic<R: Real>(ratio: R, kappa: R) -> R {
    let log = -ratio.ln();
    ((-(log * 2.0 / kappa)).exp() * 2.0 * log * decay_mean(log * (kappa - 1.0) / kappa)).sqrt()
}

/// Flow per effective area, kg/(s·m²).
fn flux<R: Real>(formula: &'static str, upstream: Gas<R>, downstream_pressure: R) -> Result<R, DomainError> {
    let p1 = positive(formula, "upstream pressure", upstream.pressure, "above 0 Pa absolute")?;
    let t1 = positive(formula, "upstream temperature", upstream.temperature, "above 0 K")?;
    let gas_constant = positive(formula, "gas constant", upstream.gas_constant, "above 0 J/(kg·K)")?;
    let p2 = check(formula, "downstream pressure", downstream_pressure, "0 Pa absolute or more", |p| p >= 0.0)?;
    Ok(p1 / (gas_constant * t1).sqrt() * flow_function(p2 / p1, upstream.isentropic_exponent)?)
}
