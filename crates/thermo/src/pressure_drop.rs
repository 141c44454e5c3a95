//! Pressure drop of an exchanger or a duct, referred to a standard density so that runs compare.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Reference density, kg/m³: sea level of ISO 2533.
pub const REFERENCE_DENSITY: f64 = 1.225;

/// Pressure drop corrected to the reference density.
///
/// ```text
/// σ·Δp     σ = ρ_m/1.225 kg/m³     ρ_m = (ρ_in + ρ_out)/2
/// ```
/// To be looked at against the actual mass flow: for a given geometry it depends on mass flow alone (and weakly on
/// the Reynolds number). Never against corrected flow.
///
/// * Units: Pa, kg/m³, kg/m³; Pa out.
/// * Range: densities above 0 kg/m³, any finite pressure difference (a negative one flows backwards).
/// * Outside: [`DomainError`].
/// * Source: common practice for exchangers, with the mean of inlet and outlet density as in Kays & London, Compact
///   Heat Exchangers (from memory).
///
/// ```
/// let corrected = thermo::pressure_drop::corrected_pressure_drop(5000.0, 2.0, 2.9)?;
/// assert!((corrected - 10_000.0).abs() < 1e-9);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn corrected_pressure_drop<R: Real>(
    pressure_difference: R,
    inlet_density: R,
    outlet_density: R,
) -> Result<R, DomainError> {
    const NAME: &str = "corrected pressure drop";
    let difference = check(NAME, "pressure difference", pressure_difference, "a finite number in Pa", |_| true)?;
    let inlet = positive(NAME, "inlet density", inlet_density, "above 0 kg/m³")?;
    let outlet = positive(NAME, "outlet density", outlet_density, "above 0 kg/m³")?;
    finite(NAME, difference * (inlet / (2.0 * REFERENCE_DENSITY) + outlet / (2.0 * REFERENCE_DENSITY)))
}

/// Pressure drop and mass flow both corrected to standard inlet pressure and temperature.
///
/// ```text
/// Δp/δ     δ = p_in/101 325 Pa
/// ```
/// To be looked at against corrected flow W·√θ/δ ([`corrected`](crate::corrected)), never against actual flow.
///
/// * Units: Pa, Pa absolute; Pa out.
/// * Range: inlet pressure above 0 Pa.
/// * Outside: [`DomainError`].
/// * Source: common practice for turbomachines and ducts, no source.
pub fn referred_pressure_drop<R: Real>(pressure_difference: R, inlet_pressure: R) -> Result<R, DomainError> {
    const NAME: &str = "referred pressure drop";
    let difference = check(NAME, "pressure difference", pressure_difference, "a finite number in Pa", |_| true)?;
    let inlet = positive(NAME, "inlet pressure", inlet_pressure, "above 0 Pa absolute")?;
    finite(NAME, difference / (inlet / crate::corrected::REFERENCE_PRESSURE.si()))
}
