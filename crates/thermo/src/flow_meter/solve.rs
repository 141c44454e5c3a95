//! Flow from pressure difference and back.

use super::expansibility::formula as expansibility_formula;
use super::{Meter, Uncertainty, Upstream, coefficient, diameter_ratio, expansibility, limits, uncertainty};
use crate::domain::{DomainError, check, finite, positive};
use std::f64::consts::PI;
use units::{Dual, Real};

/// A flow with what it was computed from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowReading<R> {
    /// Mass flow, kg/s.
    pub mass_flow: R,
    /// Reynolds number by the pipe diameter.
    pub reynolds: R,
    /// Discharge coefficient C.
    pub discharge_coefficient: R,
    /// Expansibility factor ε; 1 for a liquid.
    pub expansibility: R,
    /// The standard's uncertainty of C and ε, to be added to that of the arguments; `None` outside its limits of use,
    /// where it states none.
    pub uncertainty: Option<Uncertainty>,
}

/// Mass flow through a device from its pressure difference.
///
/// ```text
/// q_m = C/√(1 − β⁴) · ε · π/4·d² · √(2·Δp·ρ1)     C = C(Re_D)   Re_D = 4·q_m/(π·D·μ)
/// ```
/// Iterated on Re_D until both sides agree to four units of the last place.
///
/// * Units: m, Pa, kg/m³, Pa·s; kg/s out. Pressure, density, viscosity at the upstream tapping.
/// * Range: Δp above 0 Pa; the limits of [`discharge_coefficient`](super::discharge_coefficient) and
///   [`expansibility`](super::expansibility).
/// * Outside: [`DomainError`] naming the limit.
/// * Source: ISO 5167-1:2003, 5.1, and annex A for the iteration (from memory).
///
/// ```
/// use thermo::flow_meter::{Device, Limits, Meter, Tapping, Upstream, mass_flow};
/// let device = Device::Orifice(Tapping::Flange);
/// let meter = Meter { device, pipe_diameter: 0.1, throat_diameter: 0.06, limits: Limits::Enforced };
/// let air = Upstream { pressure: 2e5, density: 2.378, viscosity: 1.82e-5, isentropic_exponent: Some(1.4) };
/// let reading = mass_flow(&meter, &air, 10e3)?;
/// assert!(reading.expansibility < 1.0 && (reading.mass_flow - 0.3961).abs() < 1e-3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mass_flow<R: Real>(
    meter: &Meter<R>,
    upstream: &Upstream<R>,
    pressure_difference: R,
) -> Result<FlowReading<R>, DomainError> {
    const NAME: &str = "flow from pressure difference";
    let beta = diameter_ratio(NAME, meter)?;
    check_upstream(NAME, upstream)?;
    let difference = positive(NAME, "pressure difference", pressure_difference, "above 0 Pa")?;
    let expansibility = match upstream.isentropic_exponent {
        Some(kappa) => expansibility(meter, upstream.pressure, difference, kappa)?,
        None => R::of(1.0),
    };
    let without_c = expansibility * velocity_factor(meter, beta) * (difference * 2.0 * upstream.density).sqrt();
    let per_c = reynolds_number(meter, upstream, without_c);
    let reynolds = converge(NAME, meter, beta, per_c)?;
    limits::reynolds(NAME, meter, reynolds.value())?;
    let discharge_coefficient = finite(NAME, reynolds / per_c)?;
    Ok(FlowReading {
        mass_flow: finite(NAME, without_c * discharge_coefficient)?,
        reynolds,
        discharge_coefficient,
        expansibility,
        uncertainty: uncertainty::of(meter, reynolds.value(), upstream, difference.value()),
    })
}

/// Pressure difference of a device at a mass flow, the inverse of [`mass_flow`].
///
/// ```text
/// Δp = (q_m·√(1 − β⁴)/(C·ε·π/4·d²))² / (2·ρ1)     ε = ε(Δp), iterated
/// ```
/// * Units: as [`mass_flow`].
/// * Range: q_m above 0 kg/s; the limits of [`mass_flow`].
/// * Outside: [`DomainError`] naming the limit, also where no pressure difference within them gives the flow.
/// * Source: as [`mass_flow`].
pub fn pressure_difference<R: Real>(meter: &Meter<R>, upstream: &Upstream<R>, mass_flow: R) -> Result<R, DomainError> {
    const NAME: &str = "pressure difference from flow";
    const TOO_GREAT: &str = "a flow that needs less than the upstream pressure as pressure difference";
    let beta = diameter_ratio(NAME, meter)?;
    check_upstream(NAME, upstream)?;
    let flow = positive(NAME, "mass flow", mass_flow, "above 0 kg/s")?;
    let reynolds = reynolds_number(meter, upstream, flow);
    let c = coefficient::discharge_coefficient(meter, reynolds)?;
    let velocity_pressure = flow / (c * velocity_factor(meter, beta));
    let liquid = finite(NAME, velocity_pressure * velocity_pressure / (upstream.density * 2.0))?;
    let Some(kappa) = upstream.isentropic_exponent else {
        return Ok(liquid);
    };
    let kappa = check(NAME, "isentropic exponent", kappa, "1 or more", |k| k >= 1.0)?;
    let Some(difference) = converge_difference(meter, upstream.pressure, liquid, beta, kappa) else {
        return Err(DomainError { formula: NAME, argument: "mass flow", value: flow.value(), valid: TOO_GREAT });
    };
    let ratio = 1.0 - (difference / upstream.pressure).value();
    limits::pressure_ratio(NAME, meter.limits, ratio)?;
    finite(NAME, difference)
}

fn check_upstream<R: Real>(formula: &'static str, upstream: &Upstream<R>) -> Result<(), DomainError> {
    positive(formula, "upstream pressure", upstream.pressure, "above 0 Pa absolute")?;
    positive(formula, "upstream density", upstream.density, "above 0 kg/m³")?;
    positive(formula, "viscosity", upstream.viscosity, "above 0 Pa·s").map(drop)
}

/// π/4·d²/√(1 − β⁴), m².
fn velocity_factor<R: Real>(meter: &Meter<R>, beta: R) -> R {
    let throat = meter.throat_diameter;
    throat * throat * (PI / 4.0) / (-beta.powi(4) + 1.0).sqrt()
}

fn reynolds_number<R: Real>(meter: &Meter<R>, upstream: &Upstream<R>, flow: R) -> R {
    flow * (4.0 / PI) / (meter.pipe_diameter * upstream.viscosity)
}

/// Re = k·C(Re) by the secant method: C changes little with Re, so that it ends after four or five steps.
fn converge<R: Real>(name: &'static str, meter: &Meter<R>, beta: R, per_c: R) -> Result<R, DomainError> {
    const STEPS: u32 = 100;
    const VALID: &str = "where the discharge coefficient can be iterated: flow far below the range of the device";
    let k = positive(name, "Reynolds number Re_D", per_c, "above 0")?.value();
    let (pipe, plain_beta) = (meter.pipe_diameter.value(), beta.value());
    let excess = |reynolds: f64| k * coefficient::formula(meter.device, pipe, plain_beta, reynolds) - reynolds;
    let (mut before, mut excess_before) = (k, excess(k));
    let mut reynolds = k + excess_before;
    for _ in 0..STEPS {
        if !(reynolds > 0.0 && reynolds.is_finite()) {
            break;
        }
        let excess_here = excess(reynolds);
        if excess_here.abs() <= 4.0 * f64::EPSILON * reynolds {
            return Ok(with_derivatives(meter, beta, per_c, reynolds));
        }
        let next = reynolds - excess_here * (reynolds - before) / (excess_here - excess_before);
        (before, excess_before, reynolds) = (reynolds, excess_here, next);
    }
    Err(DomainError { formula: name, argument: "Reynolds number Re_D", value: reynolds, valid: VALID })
}

fn with_derivatives<R: Real>(meter: &Meter<R>, beta: R, per_c: R, reynolds: f64) -> R {
    let constant = Dual::<1>::constant;
    let (pipe, plain_beta) = (constant(meter.pipe_diameter.value()), constant(beta.value()));
    let c = coefficient::formula(meter.device, pipe, plain_beta, Dual::variable(reynolds, 0));
    let slope = per_c.value() * c.partials[0] - 1.0;
    let residual =
        per_c * coefficient::formula(meter.device, meter.pipe_diameter, beta, R::of(reynolds)) - R::of(reynolds);
    R::at_root(reynolds, residual, slope)
}

/// Δp = Δp_liquid/ε(Δp)² by Newton's method from below; `None` where it leaves the range below the upstream pressure.
fn converge_difference<R: Real>(meter: &Meter<R>, pressure: R, liquid: R, beta: R, kappa: R) -> Option<R> {
    const STEPS: u32 = 200;
    let plain = |x: R| Dual::<1>::constant(x.value());
    let mut x = liquid.value();
    for _ in 0..STEPS {
        if !x.is_finite() || x >= pressure.value() {
            break;
        }
        let drop = Dual::variable(x, 0) / pressure.value();
        let e = expansibility_formula(meter.device, plain(beta), drop, plain(kappa));
        let here = plain(liquid) / (e * e);
        let (excess, slope) = (here.value - x, here.partials[0] - 1.0);
        if excess.abs() <= 4.0 * f64::EPSILON * x {
            let e = expansibility_formula(meter.device, beta, R::of(x) / pressure, kappa);
            return Some(R::at_root(x, liquid / (e * e) - R::of(x), slope));
        }
        x -= excess / slope;
    }
    None
}
