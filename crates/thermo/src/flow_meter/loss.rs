//! The pressure that does not come back behind the device.

use super::{Device, Meter, diameter_ratio};
use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Lost pressure, Pa. The standard gives a figure for orifice plates and nozzles, for Venturi devices a band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressureLoss<R> {
    /// Lower end of the band.
    pub low: R,
    /// Upper end; the same where the standard gives a figure.
    pub high: R,
}

/// Pressure lost for good across a device.
///
/// ```text
/// orifice, ISA 1932 and long-radius nozzle  Δϖ = (√(1 − β⁴·(1 − C²)) − C·β²)/(√(1 − β⁴·(1 − C²)) + C·β²)·Δp
/// Venturi nozzle, Venturi tube              Δϖ = 0.05…0.20·Δp, divergent section of at most 15°
/// ```
/// * Units: ratio, Pa; Pa out. From one pipe diameter upstream to six downstream.
/// * Range: C above 0 and at most 1.1, Δp from 0 Pa, the device's limits of diameters.
/// * Outside: [`DomainError`].
/// * Source: ISO 5167-2:2003, 5.4; ISO 5167-3:2003; ISO 5167-4:2003, 5.9 (from memory).
pub fn pressure_loss<R: Real>(
    meter: &Meter<R>,
    discharge_coefficient: R,
    pressure_difference: R,
) -> Result<PressureLoss<R>, DomainError> {
    const NAME: &str = "pressure loss";
    let beta = diameter_ratio(NAME, meter)?;
    let c = positive(NAME, "discharge coefficient", discharge_coefficient, "above 0 and at most 1.1")?;
    let c = check(NAME, "discharge coefficient", c, "above 0 and at most 1.1", |c| c <= 1.1)?;
    let difference = check(NAME, "pressure difference", pressure_difference, "0 Pa or more", |x| x >= 0.0)?;
    if let Device::VenturiNozzle | Device::VenturiTube(_) = meter.device {
        return Ok(PressureLoss { low: difference * 0.05, high: difference * 0.20 });
    }
    let root = (beta.powi(4) * (c * c - 1.0) + 1.0).sqrt();
    let jet = c * beta * beta;
    let loss = finite(NAME, (root - jet) / (root + jet) * difference)?;
    Ok(PressureLoss { low: loss, high: loss })
}
