//! Flow from a pressure difference: orifice plates, nozzles and Venturi tubes of ISO 5167:2003.
//!
//! * [`mass_flow`], [`pressure_difference`]: the two directions, iterated to convergence
//! * [`discharge_coefficient`], [`expansibility`]: the standard's equations, its limits of use enforced
//! * [`uncertainty`]: the standard's own uncertainties of both
//! * [`pressure_loss`]: what stays lost behind the device
//!
//! The standard asks for a pipe running full, subsonic single-phase flow without pulsation or swirl, and straight
//! lengths before and behind the device; no function can see these.

mod coefficient;
mod expansibility;
mod limits;
mod loss;
mod solve;
mod uncertainty;

pub use coefficient::discharge_coefficient;
pub use expansibility::{expansibility, orifice_expansibility_1991};
pub use loss::{PressureLoss, pressure_loss};
pub use solve::{FlowReading, mass_flow, pressure_difference};
pub use uncertainty::{Uncertainty, uncertainty};

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// A device in a pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter<R> {
    /// Which device.
    pub device: Device,
    /// Inner diameter of the pipe upstream, D, m, at working temperature.
    pub pipe_diameter: R,
    /// Diameter of bore or throat, d, m, at working temperature.
    pub throat_diameter: R,
    /// Whether the standard's limits of use hold.
    pub limits: Limits,
}

/// The devices of ISO 5167-2, -3 and -4.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Device {
    /// Square-edged orifice plate, ISO 5167-2.
    Orifice(Tapping),
    /// ISA 1932 nozzle, ISO 5167-3.
    Isa1932Nozzle,
    /// Long-radius nozzle (high or low ratio), ISO 5167-3.
    LongRadiusNozzle,
    /// Venturi nozzle, ISO 5167-3.
    VenturiNozzle,
    /// Classical Venturi tube, ISO 5167-4, by the making of its convergent section.
    VenturiTube(Convergent),
}

/// Where the pressures at an orifice plate are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tapping {
    /// In the corners between pipe and plate.
    Corner,
    /// One pipe diameter upstream, half of one downstream.
    DAndHalfD,
    /// 25.4 mm from the faces of the plate.
    Flange,
}

/// How the convergent section of a Venturi tube is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Convergent {
    /// As cast.
    AsCast,
    /// Machined.
    Machined,
    /// Rough-welded sheet iron.
    RoughWelded,
}

/// What happens outside the standard's limits of use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Limits {
    /// A [`DomainError`] that names the limit.
    #[default]
    Enforced,
    /// The equations are used beyond them. There the result is no measurement by the standard and has no
    /// [`Uncertainty`] from it.
    Extrapolated,
}

/// The fluid at the upstream tapping.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Upstream<R> {
    /// Static pressure, Pa absolute.
    pub pressure: R,
    /// Density, kg/m³.
    pub density: R,
    /// Dynamic viscosity, Pa·s.
    pub viscosity: R,
    /// Isentropic exponent κ; `None` for a liquid.
    pub isentropic_exponent: Option<R>,
}

/// A diameter at working temperature.
///
/// ```text
/// d = d_ref·(1 + α·(T − T_ref))
/// ```
/// * Units: m, 1/K, K, K; m out.
/// * Range: diameter above 0 m, temperatures above 0 K, result above 0 m.
/// * Outside: [`DomainError`].
/// * Source: linear expansion; asked for by ISO 5167-1:2003, 5.1 (from memory).
pub fn diameter_at<R: Real>(diameter: R, expansion: R, temperature: R, reference: R) -> Result<R, DomainError> {
    const NAME: &str = "diameter at working temperature";
    let diameter = positive(NAME, "diameter", diameter, "above 0 m")?;
    let expansion = check(NAME, "coefficient of expansion", expansion, "a finite number in 1/K", |_| true)?;
    let temperature = positive(NAME, "temperature", temperature, "above 0 K")?;
    let reference = positive(NAME, "reference temperature", reference, "above 0 K")?;
    let result = finite(NAME, diameter * (expansion * (temperature - reference) + 1.0))?;
    positive(NAME, "the result", result, "above 0 m")
}

/// β = d/D, both diameters checked.
fn diameter_ratio<R: Real>(formula: &'static str, meter: &Meter<R>) -> Result<R, DomainError> {
    let pipe = positive(formula, "pipe diameter D", meter.pipe_diameter, "above 0 m")?;
    let throat = positive(formula, "throat diameter d", meter.throat_diameter, "above 0 m")?;
    let ratio = check(formula, "diameter ratio d/D", throat / pipe, "above 0 and below 1", |b| b > 0.0 && b < 1.0)?;
    limits::geometry(formula, meter)?;
    Ok(ratio)
}
