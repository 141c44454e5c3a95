//! Discharge coefficients.

use super::{Convergent, Device, Meter, Tapping, diameter_ratio, limits};
use crate::domain::{DomainError, finite, positive};
use units::Real;

/// Discharge coefficient C of a device at a Reynolds number.
///
/// ```text
/// orifice  C = 0.5961 + 0.0261·β² − 0.216·β⁸ + 0.000521·(10⁶β/Re)^0.7 + (0.0188 + 0.0063·A)·β^3.5·(10⁶/Re)^0.3
///              + (0.043 + 0.080·e^(−10·L1) − 0.123·e^(−7·L1))·(1 − 0.11·A)·β⁴/(1 − β⁴)
///              − 0.031·(M − 0.8·M^1.1)·β^1.3          and for D < 71.12 mm + 0.011·(0.75 − β)·(2.8 − D/25.4 mm)
///          A = (19000·β/Re)^0.8   M = 2·L2/(1 − β)   L1, L2: corner 0, 0; D and D/2 1, 0.47; flange 25.4 mm/D both
/// ISA 1932 C = 0.9900 − 0.2262·β^4.1 − (0.00175·β² − 0.0033·β^4.15)·(10⁶/Re)^1.15
/// long-radius nozzle C = 0.9965 − 0.00653·√(10⁶β/Re)          Venturi nozzle C = 0.9858 − 0.196·β^4.5
/// Venturi tube C = 0.984 as cast, 0.995 machined, 0.985 rough-welded
/// ```
/// * Units: diameters in m; Re = 4·q_m/(π·D·μ), by the pipe diameter.
/// * Range: the standard's limits of diameters, β = d/D and Re, where [`Limits`](super::Limits) are enforced;
///   otherwise 0 < β < 1, Re above 0.
/// * Outside: [`DomainError`] naming the limit.
/// * Source: ISO 5167-2:2003, 5.3.2.1 (equation of Reader-Harris and Gallagher), ISO 5167-3:2003, ISO 5167-4:2003,
///   coefficients as documented in the library fluids and from memory.
///
/// ```
/// use thermo::flow_meter::{Device, Limits, Meter, Tapping, discharge_coefficient};
/// let meter = Meter {
///     device: Device::Orifice(Tapping::Corner),
///     pipe_diameter: 0.07391,
///     throat_diameter: 0.0222,
///     limits: Limits::Enforced,
/// };
/// let c = discharge_coefficient(&meter, 115_331.0)?;
/// assert!((c - 0.6000).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn discharge_coefficient<R: Real>(meter: &Meter<R>, reynolds: R) -> Result<R, DomainError> {
    const NAME: &str = "discharge coefficient";
    let beta = diameter_ratio(NAME, meter)?;
    let reynolds = positive(NAME, "Reynolds number Re_D", reynolds, "above 0")?;
    limits::reynolds(NAME, meter, reynolds.value())?;
    finite(NAME, formula(meter.device, meter.pipe_diameter, beta, reynolds))
}

/// The equation alone.
pub(super) fn formula<R: Real>(device: Device, pipe: R, beta: R, reynolds: R) -> R {
    match device {
        Device::Orifice(tapping) => orifice(tapping, pipe, beta, reynolds),
        Device::Isa1932Nozzle => {
            let by_reynolds = beta * beta * 0.00175 - beta.powf(4.15) * 0.0033;
            -(beta.powf(4.1) * 0.2262) + 0.99 - by_reynolds * (R::of(1e6) / reynolds).powf(1.15)
        }
        Device::LongRadiusNozzle => -((beta * 1e6 / reynolds).sqrt() * 0.00653) + 0.9965,
        Device::VenturiNozzle => -(beta.powf(4.5) * 0.196) + 0.9858,
        Device::VenturiTube(Convergent::AsCast) => R::of(0.984),
        Device::VenturiTube(Convergent::Machined) => R::of(0.995),
        Device::VenturiTube(Convergent::RoughWelded) => R::of(0.985),
    }
}

const INCH: f64 = 0.0254;

fn orifice<R: Real>(tapping: Tapping, pipe: R, beta: R, reynolds: R) -> R {
    let (l1, l2) = match tapping {
        Tapping::Corner => (R::of(0.0), R::of(0.0)),
        Tapping::DAndHalfD => (R::of(1.0), R::of(0.47)),
        Tapping::Flange => (R::of(INCH) / pipe, R::of(INCH) / pipe),
    };
    let beta2 = beta * beta;
    let beta4 = beta2 * beta2;
    let a = (beta * 19_000.0 / reynolds).powf(0.8);
    let m = l2 * 2.0 / (-beta + 1.0);

    let corner = beta2 * 0.0261 + 0.5961 - beta4 * beta4 * 0.216
        + (beta * 1e6 / reynolds).powf(0.7) * 0.000521
        + (a * 0.0063 + 0.0188) * beta.powf(3.5) * (R::of(1e6) / reynolds).powf(0.3);
    let upstream =
        ((l1 * -10.0).exp() * 0.080 - (l1 * -7.0).exp() * 0.123 + 0.043) * (-(a * 0.11) + 1.0) * beta4 / (-beta4 + 1.0);
    let downstream = (m - m.powf(1.1) * 0.8) * beta.powf(1.3) * 0.031;
    corner + upstream - downstream + small_pipe(pipe, beta)
}

fn small_pipe<R: Real>(pipe: R, beta: R) -> R {
    if pipe < 2.8 * INCH { (-beta + 0.75) * (-(pipe / INCH) + 2.8) * 0.011 } else { R::of(0.0) }
}
