//! The standard's uncertainties of its own coefficients.

use super::{Convergent, Device, Meter, Upstream, diameter_ratio, limits};
use crate::domain::DomainError;
use units::{Real, math};

/// Relative expanded uncertainties (95 %, coverage factor 2) of the standard's coefficients, as ratios.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Of the discharge coefficient C.
    pub discharge_coefficient: f64,
    /// Of the expansibility factor ε; 0 for a liquid.
    pub expansibility: f64,
}

/// Relative expanded uncertainties of C and ε; `None` outside the standard's limits of use: its figures rest on the
/// experiments inside them, for what lies beyond it states none (reached with
/// [`Limits::Extrapolated`](super::Limits::Extrapolated) alone). An uncertainty must then come from a calibration.
///
/// ```text
/// orifice          C: (0.7 − β) % for β < 0.2, 0.5 % to 0.6, (1.667·β − 0.5) % above;
///                     D < 71.12 mm: + 0.9·(0.75 − β)·(2.8 − D/25.4 mm) %;  β > 0.5 and Re_D < 10 000: + 0.5 %
///                  ε: 3.5·Δp/(κ·p1) %
/// ISA 1932 nozzle  C: 0.8 % to β = 0.6, (2·β − 0.4) % above      ε: 2·Δp/p1 %
/// long-radius      C: 2 %                                        ε: 2·Δp/p1 %
/// Venturi nozzle   C: (1.2 + 1.5·β⁴) %                           ε: (4 + 100·β⁸)·Δp/p1 %
/// Venturi tube     C: 0.7 % as cast, 1 % machined, 1.5 % welded  ε: (4 + 100·β⁸)·Δp/p1 %
/// ```
/// * Units: m, Pa; ratios out.
/// * Range: as [`mass_flow`](super::mass_flow).
/// * Outside: [`DomainError`].
/// * Source: ISO 5167-2:2003, 5.3.3; ISO 5167-3:2003; ISO 5167-4:2003, 5.7 (from memory).
pub fn uncertainty<R: Real>(
    meter: &Meter<R>,
    reynolds: R,
    upstream: &Upstream<R>,
    pressure_difference: R,
) -> Result<Option<Uncertainty>, DomainError> {
    const NAME: &str = "uncertainty of the coefficients";
    diameter_ratio(NAME, meter)?;
    super::discharge_coefficient(meter, reynolds)?;
    if let Some(kappa) = upstream.isentropic_exponent {
        super::expansibility(meter, upstream.pressure, pressure_difference, kappa)?;
    }
    Ok(of(meter, reynolds.value(), upstream, pressure_difference.value()))
}

pub(super) fn of<R: Real>(
    meter: &Meter<R>,
    reynolds: f64,
    upstream: &Upstream<R>,
    difference: f64,
) -> Option<Uncertainty> {
    let ratio = upstream.isentropic_exponent.map(|_| 1.0 - difference / upstream.pressure.value());
    if !limits::hold(meter, reynolds, ratio) {
        return None;
    }
    let pipe = meter.pipe_diameter.value();
    let beta = meter.throat_diameter.value() / pipe;
    let expansibility = upstream.isentropic_exponent.map_or(0.0, |kappa| {
        let drop = difference / upstream.pressure.value();
        match meter.device {
            Device::Orifice(_) => 3.5 * drop / kappa.value(),
            Device::Isa1932Nozzle | Device::LongRadiusNozzle => 2.0 * drop,
            Device::VenturiNozzle | Device::VenturiTube(_) => (4.0 + 100.0 * math::powi(beta, 8)) * drop,
        }
    });
    let percent = discharge_percent(meter.device, pipe, beta, reynolds);
    Some(Uncertainty { discharge_coefficient: percent / 100.0, expansibility: expansibility / 100.0 })
}

fn discharge_percent(device: Device, pipe: f64, beta: f64, reynolds: f64) -> f64 {
    match device {
        Device::Orifice(_) => {
            let by_ratio = match beta {
                b if b < 0.2 => 0.7 - b,
                b if b <= 0.6 => 0.5,
                b => 1.667 * b - 0.5,
            };
            let inches = pipe / 0.0254;
            let small_pipe = if inches < 2.8 { 0.9 * (0.75 - beta) * (2.8 - inches) } else { 0.0 };
            let slow = if beta > 0.5 && reynolds < 1e4 { 0.5 } else { 0.0 };
            by_ratio + small_pipe + slow
        }
        Device::Isa1932Nozzle if beta <= 0.6 => 0.8,
        Device::Isa1932Nozzle => 2.0 * beta - 0.4,
        Device::LongRadiusNozzle => 2.0,
        Device::VenturiNozzle => 1.2 + 1.5 * math::powi(beta, 4),
        Device::VenturiTube(Convergent::AsCast) => 0.7,
        Device::VenturiTube(Convergent::Machined) => 1.0,
        Device::VenturiTube(Convergent::RoughWelded) => 1.5,
    }
}
