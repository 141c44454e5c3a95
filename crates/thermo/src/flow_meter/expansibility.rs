//! Expansibility factors: the gas's density falls on the way to the throat.

use super::{Device, Limits, Meter, diameter_ratio, limits};
use crate::domain::{DomainError, check, finite, positive};
use crate::smooth::{decay_mean, log_mean};
use units::Real;

/// Expansibility factor ε of a device for a gas, edition of 2003.
///
/// ```text
/// τ = p2/p1 = 1 − Δp/p1
/// orifice             ε = 1 − (0.351 + 0.256·β⁴ + 0.93·β⁸)·(1 − τ^(1/κ))
/// nozzles and tubes   ε = √( κ·τ^(2/κ)/(κ − 1) · (1 − β⁴)/(1 − β⁴·τ^(2/κ)) · (1 − τ^((κ−1)/κ))/(1 − τ) )
/// ```
/// The edition of 1991 had another equation for the orifice plate ([`orifice_expansibility_1991`]): 0.04 % away at
/// Δp/p1 = 1 %, 0.4 % at 10 %.
///
/// * Units: Pa absolute, Pa, ratio.
/// * Range: p1 above 0 Pa, Δp from 0, κ from 1, τ at least 0.75 where [`Limits`] are enforced, else above 0.
/// * Outside: [`DomainError`] naming the limit.
/// * Source: ISO 5167-2:2003, 5.3.2.2; ISO 5167-3:2003, 5.1.6.3; ISO 5167-4:2003, 5.6. Test value of the last.
///
/// ```
/// use thermo::flow_meter::{Convergent, Device, Limits, Meter, expansibility};
/// let device = Device::VenturiTube(Convergent::AsCast);
/// let meter = Meter { device, pipe_diameter: 0.1, throat_diameter: 0.06, limits: Limits::Enforced };
/// assert!((expansibility(&meter, 6e6, 50e3, 1.3)? - 0.994_236).abs() < 1e-6);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn expansibility<R: Real>(
    meter: &Meter<R>,
    pressure: R,
    pressure_difference: R,
    isentropic_exponent: R,
) -> Result<R, DomainError> {
    const NAME: &str = "expansibility factor";
    let beta = diameter_ratio(NAME, meter)?;
    let (drop, kappa) = arguments(NAME, meter.limits, pressure, pressure_difference, isentropic_exponent)?;
    finite(NAME, formula(meter.device, beta, drop, kappa))
}

/// Expansibility factor of an orifice plate as the editions of 1991 and 1998 had it; for reading old results only.
///
/// ```text
/// ε = 1 − (0.41 + 0.35·β⁴)·Δp/(κ·p1)
/// ```
/// * Units: ratio, Pa absolute, Pa, ratio.
/// * Range: β above 0 and below 1, p1 above 0 Pa, Δp from 0, κ from 1, p2/p1 at least 0.75.
/// * Outside: [`DomainError`].
/// * Source: ISO 5167-1:1991, as documented in the library fluids.
pub fn orifice_expansibility_1991<R: Real>(
    diameter_ratio: R,
    pressure: R,
    pressure_difference: R,
    isentropic_exponent: R,
) -> Result<R, DomainError> {
    const NAME: &str = "expansibility factor of 1991";
    let beta = check(NAME, "diameter ratio d/D", diameter_ratio, "above 0 and below 1", |b| b > 0.0 && b < 1.0)?;
    let (drop, kappa) = arguments(NAME, Limits::Enforced, pressure, pressure_difference, isentropic_exponent)?;
    finite(NAME, -((beta.powi(4) * 0.35 + 0.41) * drop / kappa) + 1.0)
}

/// Δp/p1 and κ, checked.
fn arguments<R: Real>(
    name: &'static str,
    limits: Limits,
    pressure: R,
    pressure_difference: R,
    isentropic_exponent: R,
) -> Result<(R, R), DomainError> {
    let pressure = positive(name, "upstream pressure", pressure, "above 0 Pa absolute")?;
    let difference = check(name, "pressure difference", pressure_difference, "0 Pa or more", |x| x >= 0.0)?;
    let kappa = check(name, "isentropic exponent", isentropic_exponent, "1 or more", |k| k >= 1.0)?;
    let drop = difference / pressure;
    limits::pressure_ratio(name, limits, 1.0 - drop.value())?;
    Ok((drop, kappa))
}

/// The equations alone; `drop` is Δp/p1.
pub(super) fn formula<R: Real>(device: Device, beta: R, drop: R, kappa: R) -> R {
    let beta4 = beta.powi(4);
    let log = (-drop).ln_1p();
    if let Device::Orifice(_) = device {
        return (beta4 * beta4 * 0.93 + beta4 * 0.256 + 0.351) * (log / kappa).exp_m1() + 1.0;
    }
    // κ/(κ − 1)·(1 − τ^((κ−1)/κ))/(1 − τ) without 0/0 at τ = 1 and at κ = 1.
    let isentropic = decay_mean(-(log * (kappa - 1.0) / kappa)) * log_mean(-drop);
    let density_squared = (log * 2.0 / kappa).exp();
    (density_squared * isentropic * (-beta4 + 1.0) / (-(beta4 * density_squared) + 1.0)).sqrt()
}
