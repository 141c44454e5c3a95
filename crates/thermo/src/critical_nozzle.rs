//! Critical-flow nozzles of ISO 9300: mass flow from the state upstream alone, once the throat is sonic.

use crate::domain::{DomainError, check, finite, positive};
use crate::valve_flow::flow_function;
use std::f64::consts::PI;
use units::{Dual, Real, math};

/// The nozzles of ISO 9300:2005.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Throat {
    /// Toroidal throat, normally machined.
    Toroidal,
    /// Toroidal throat, accurately machined.
    ToroidalAccurate,
    /// Cylindrical throat.
    Cylindrical,
}

/// What flows, at the stagnation state upstream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stagnation<R> {
    /// Pressure, Pa absolute.
    pub pressure: R,
    /// Temperature, K.
    pub temperature: R,
    /// Specific gas constant, J/(kg·K), of moist air where it is moist.
    pub gas_constant: R,
    /// Dynamic viscosity, Pa·s.
    pub viscosity: R,
    /// Critical flow function C*, see [`critical_flow_function`].
    pub critical_flow_function: R,
}

/// A flow with what it was computed from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CriticalReading<R> {
    /// Mass flow, kg/s.
    pub mass_flow: R,
    /// Reynolds number by the throat diameter and the viscosity upstream.
    pub reynolds: R,
    /// Discharge coefficient C.
    pub discharge_coefficient: R,
    /// The standard's relative expanded uncertainty of C (95 %, coverage factor 2), a ratio.
    pub discharge_uncertainty: f64,
}

/// Mass flow through a critical-flow nozzle.
///
/// ```text
/// q_m = π/4·d²·C·C*·p0/√(R·T0)     C = a − b·Re^−n     Re = 4·q_m/(π·d·μ0), iterated
/// toroidal, normally machined    a 0.9959  b 2.720   n 0.5   2.1e4 ≤ Re ≤ 3.2e7   U(C) 0.3 %
/// toroidal, accurately machined  a 0.9985  b 3.412   n 0.5   2.1e4 ≤ Re ≤ 1.4e6   U(C) 0.2 %
/// cylindrical                    a 0.9976  b 0.1388  n 0.2   3.5e5 ≤ Re ≤ 1.1e7   U(C) 0.3 %
/// ```
/// That the throat is sonic is the caller's to know: the pressure behind must be below the critical ratio, or, with a
/// diffuser, below the back pressure at which this nozzle unchokes.
///
/// * Units: m; kg/s out. Stagnation values: with a throat of at most a quarter of the pipe's diameter the measured
///   static pressure is them to within 0.1 %.
/// * Range: everything above zero, Re as above.
/// * Outside: [`DomainError`] naming the limit.
/// * Source: ISO 9300:2005, coefficients, ranges and uncertainties from memory.
///
/// ```
/// use thermo::critical_nozzle::{Stagnation, Throat, critical_flow_function, mass_flow};
/// let upstream = Stagnation {
///     pressure: 500e3,
///     temperature: 293.15,
///     gas_constant: 287.05,
///     viscosity: 1.83e-5,
///     critical_flow_function: critical_flow_function(500e3, 293.15)?,
/// };
/// let reading = mass_flow(Throat::Toroidal, 0.01, upstream)?;
/// assert!((reading.mass_flow - 0.0922).abs() < 1e-3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mass_flow<R: Real>(
    throat: Throat,
    diameter: R,
    upstream: Stagnation<R>,
) -> Result<CriticalReading<R>, DomainError> {
    const NAME: &str = "critical nozzle flow";
    let d = positive(NAME, "throat diameter", diameter, "above 0 m")?;
    let p0 = positive(NAME, "stagnation pressure", upstream.pressure, "above 0 Pa absolute")?;
    let t0 = positive(NAME, "stagnation temperature", upstream.temperature, "above 0 K")?;
    let gas_constant = positive(NAME, "gas constant", upstream.gas_constant, "above 0 J/(kg·K)")?;
    let viscosity = positive(NAME, "viscosity", upstream.viscosity, "above 0 Pa·s")?;
    let c_star = positive(NAME, "critical flow function", upstream.critical_flow_function, "above 0")?;

    let without_c = d * d * (PI / 4.0) * c_star * p0 / (gas_constant * t0).sqrt();
    let per_c = finite(NAME, without_c * (4.0 / PI) / (d * viscosity))?;
    let curve = curve(throat);
    let reynolds = curve.converge(NAME, per_c)?;
    let c = curve.coefficient(reynolds);
    Ok(CriticalReading {
        mass_flow: finite(NAME, without_c * c)?,
        reynolds,
        discharge_coefficient: finite(NAME, c)?,
        discharge_uncertainty: curve.uncertainty,
    })
}

/// Critical flow function C* of dry air as a real gas.
///
/// ```text
/// C* = Σ_{i=0..4} c_i·t^i + π·Σ_{j=0..4} d_j·t^−j + π²·Σ_{k=1..3} e_k·t^−k     t = T0/100 K   π = p0/1 MPa
/// ```
/// 0.684 73 for an ideal gas of γ = 1.4. A fit of our own to the maximum of the mass flux on isentropes of the
/// equation of state; largest difference on the fitted points 3e−6.
///
/// * Units: Pa absolute, K; ratio out.
/// * Range: 0.02 to 1 MPa, 220 to 550 K.
/// * Outside: [`DomainError`].
/// * Source: E.W. Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331, as CoolProp 8.0.0 has it; definition of
///   ISO 9300.
pub fn critical_flow_function<R: Real>(pressure: R, temperature: R) -> Result<R, DomainError> {
    const NAME: &str = "critical flow function of air";
    const BY_T: [f64; 5] = [6.860053347e-1, -1.552764416e-3, 8.365512500e-4, -1.836442517e-4, 1.120635032e-5];
    const BY_P: [f64; 5] = [1.706894802e-4, -1.134379903e-2, 5.628953578e-2, -1.189212371e-2, 3.586401657e-2];
    const BY_P2: [f64; 4] = [0.0, 6.546695141e-4, -5.633385483e-3, 1.079181968e-2];
    let p = check(NAME, "pressure", pressure, "20 000 to 1 000 000 Pa absolute", |p| (2e4..=1e6).contains(&p))? / 1e6;
    let t = check(NAME, "temperature", temperature, "220 to 550 K", |t| (220.0..=550.0).contains(&t))? / 100.0;
    let inverse = R::of(1.0) / t;
    finite(NAME, polynomial(&BY_T, t) + p * (polynomial(&BY_P, inverse) + p * polynomial(&BY_P2, inverse)))
}

/// Critical flow function C* of humid air.
///
/// ```text
/// C* = C*_dry(p0, T0)·f(κ)/f(1.4)     f: choked flow function of the ideal gas
/// κ = c_p/(c_p − R), scaled to 1.4 at W = 0   c_p = (1006 + 1870·W)/(1 + W)   R = (287.05 + 461.52·W)/(1 + W)
/// ```
/// The gas constant of the moist air belongs into [`Stagnation`] besides. No condensation in the nozzle: the throat is
/// 48 K colder than the inlet, and though droplets hardly form within the throat's passage, humid air near saturation
/// is outside what is known well.
///
/// * Units: Pa absolute, K, kg/kg of dry air; ratio out.
/// * Range: as [`critical_flow_function`], W from 0 to 0.05.
/// * Outside: [`DomainError`].
/// * Source: ideal mixture, own formula: −0.067 % for 20 g/kg, besides +0.6 % in √R. Within 0.01 % of the same with
///   heat capacities that vary with temperature (CoolProp's), 30 to 150 °C, up to 40 g/kg.
pub fn humid_critical_flow_function<R: Real>(pressure: R, temperature: R, humidity_ratio: R) -> Result<R, DomainError> {
    const NAME: &str = "critical flow function of humid air";
    let dry = critical_flow_function(pressure, temperature)?;
    let w = check(NAME, "humidity ratio", humidity_ratio, "0 to 0.05", |w| (0.0..=0.05).contains(&w))?;
    let heat = w * 1870.0 + 1006.0;
    let kappa = heat / (heat - (w * 461.52 + 287.05));
    let scaled = kappa * (1.4 * (1006.0 - 287.05) / 1006.0);
    let choked = R::of(0.0);
    finite(NAME, dry * flow_function(choked, scaled)? / flow_function(choked, R::of(1.4))?)
}

/// C = a − b·Re^−n.
struct Curve {
    a: f64,
    b: f64,
    n: f64,
    range: (f64, f64),
    text: &'static str,
    uncertainty: f64,
}

#[rustfmt::skip]
fn curve(throat: Throat) -> Curve {
    match throat {
        Throat::Toroidal => Curve {
            a: 0.9959, b: 2.720, n: 0.5, range: (2.1e4, 3.2e7), uncertainty: 0.003,
            text: "2.1e4 to 3.2e7 (ISO 9300:2005, toroidal throat, normally machined)" },
        Throat::ToroidalAccurate => Curve {
            a: 0.9985, b: 3.412, n: 0.5, range: (2.1e4, 1.4e6), uncertainty: 0.002,
            text: "2.1e4 to 1.4e6 (ISO 9300:2005, toroidal throat, accurately machined)" },
        Throat::Cylindrical => Curve {
            a: 0.9976, b: 0.1388, n: 0.2, range: (3.5e5, 1.1e7), uncertainty: 0.003,
            text: "3.5e5 to 1.1e7 (ISO 9300:2005, cylindrical throat)" },
    }
}

impl Curve {
    fn coefficient<R: Real>(&self, reynolds: R) -> R {
        -(reynolds.powf(-self.n) * self.b) + self.a
    }

    /// Re = k·C(Re), within the range.
    fn converge<R: Real>(&self, name: &'static str, per_c: R) -> Result<R, DomainError> {
        const STEPS: u32 = 100;
        let k = per_c.value();
        // Too far down for an iteration: C would become negative.
        let least = self.range.0;
        check(name, "Reynolds number of the throat", k, self.text, |k| k * self.coefficient(least) >= least)?;
        let mut reynolds = k;
        for _ in 0..STEPS {
            let next = k * (self.a - self.b * math::powf(reynolds, -self.n));
            let done = (next - reynolds).abs() <= 4.0 * f64::EPSILON * next;
            reynolds = next;
            if done {
                break;
            }
        }
        check(name, "Reynolds number of the throat", reynolds, self.text, |x| {
            x >= self.range.0 * (1.0 - 1e-12) && x <= self.range.1 * (1.0 + 1e-12)
        })?;
        let slope = k * self.coefficient(Dual::<1>::variable(reynolds, 0)).partials[0] - 1.0;
        let residual = per_c * self.coefficient(R::of(reynolds)) - R::of(reynolds);
        Ok(R::at_root(reynolds, residual, slope))
    }
}

fn polynomial<R: Real>(coefficients: &[f64], x: R) -> R {
    coefficients.iter().rev().fold(R::of(0.0), |sum, c| sum * x + *c)
}
