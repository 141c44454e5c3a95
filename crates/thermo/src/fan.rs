//! Fans: power, efficiency, and a measured point reduced to another speed and density.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// A measured point of a fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point<R> {
    /// Volume flow at the inlet, m³/s.
    pub volume_flow: R,
    /// Rise of total pressure, Pa.
    pub pressure_rise: R,
    /// Shaft power, W.
    pub power: R,
    /// Speed, rad/s.
    pub speed: R,
    /// Density at the inlet, kg/m³.
    pub density: R,
}

/// A point at another speed and density by the fan laws: what a performance curve is drawn for.
///
/// ```text
/// Q ~ N     Δp ~ ρ·N²     P ~ ρ·N³
/// ```
/// * Units: as in [`Point`]; rad/s and kg/m³ of the reference.
/// * Range: speeds and densities above 0; flow, rise and power 0 or more. The same fan and the same system; change of
///   Reynolds and Mach number neglected: for speeds within some 20 % (common practice, no source).
/// * Outside: [`DomainError`].
/// * Source: similarity of incompressible flow; B.S. Massey, Mechanics of Fluids (from memory).
///
/// ```
/// use thermo::fan::{Point, reduced};
/// let point = Point { volume_flow: 1.2, pressure_rise: 3000.0, power: 5000.0, speed: 4000.0, density: 1.0 };
/// let at = reduced(point, 2000.0, 1.2)?;
/// assert!((at.volume_flow - 0.6).abs() < 1e-12 && (at.pressure_rise - 900.0).abs() < 1e-9);
/// assert!((at.power - 750.0).abs() < 1e-9);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn reduced<R: Real>(point: Point<R>, speed: R, density: R) -> Result<Point<R>, DomainError> {
    const NAME: &str = "fan laws";
    let flow = check(NAME, "volume flow", point.volume_flow, "0 m³/s or more", |x| x >= 0.0)?;
    let rise = check(NAME, "pressure rise", point.pressure_rise, "0 Pa or more", |x| x >= 0.0)?;
    let power = check(NAME, "power", point.power, "0 W or more", |x| x >= 0.0)?;
    let to = positive(NAME, "reference speed", speed, "above 0 rad/s")?;
    let from = positive(NAME, "speed", point.speed, "above 0 rad/s")?;
    let new = positive(NAME, "reference density", density, "above 0 kg/m³")?;
    let old = positive(NAME, "density", point.density, "above 0 kg/m³")?;
    let (n, rho) = (to / from, new / old);
    Ok(Point {
        volume_flow: finite(NAME, flow * n)?,
        pressure_rise: finite(NAME, rise * rho * n * n)?,
        power: finite(NAME, power * rho * n * n * n)?,
        speed: to,
        density: new,
    })
}

/// Efficiency of a fan.
///
/// ```text
/// η = Q·Δp/P
/// ```
/// * Units: m³/s, Pa, W; ratio out, as measured: above 1 says that a reading is wrong.
/// * Range: flow and rise 0 or more, power above 0 W. Incompressible: 1 % high at a rise of 3 % of the inlet pressure;
///   from temperatures [`compressor::efficiency`](crate::machine::compressor::efficiency).
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn efficiency<R: Real>(volume_flow: R, pressure_rise: R, power: R) -> Result<R, DomainError> {
    const NAME: &str = "fan efficiency";
    let flow = check(NAME, "volume flow", volume_flow, "0 m³/s or more", |x| x >= 0.0)?;
    let rise = check(NAME, "pressure rise", pressure_rise, "0 Pa or more", |x| x >= 0.0)?;
    finite(NAME, flow * rise / positive(NAME, "power", power, "above 0 W")?)
}

/// Shaft power of a fan from its pressure rise.
///
/// ```text
/// P = ṁ·Δp/(ρ·η)
/// ```
/// * Units: kg/s, Pa, kg/m³ at the inlet, ratio; W out.
/// * Range: flow and rise 0 or more, density above 0 kg/m³, efficiency above 0 up to 1. Incompressible, as
///   [`efficiency`].
/// * Outside: [`DomainError`].
/// * Source: definition of the efficiency.
pub fn power<R: Real>(flow: R, pressure_rise: R, density: R, efficiency: R) -> Result<R, DomainError> {
    const NAME: &str = "fan power";
    let flow = check(NAME, "mass flow", flow, "0 kg/s or more", |x| x >= 0.0)?;
    let rise = check(NAME, "pressure rise", pressure_rise, "0 Pa or more", |x| x >= 0.0)?;
    let density = positive(NAME, "density", density, "above 0 kg/m³")?;
    let efficiency = check(NAME, "efficiency", efficiency, "above 0 up to 1", |x| x > 0.0 && x <= 1.0)?;
    finite(NAME, flow * rise / (density * efficiency))
}
