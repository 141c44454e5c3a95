//! A conductance carried to reference flows, so that runs compare.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

const FLOW: &str = "above 0 kg/s";

/// Flows on both sides of an exchanger, kg/s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flows<R> {
    /// Hot side.
    pub hot: R,
    /// Cold side.
    pub cold: R,
}

/// Conductance at reference flows, by a power law.
///
/// ```text
/// UA_ref = UA·(ṁ_h,ref/ṁ_h)^x·(ṁ_c,ref/ṁ_c)^y     x, y = 0.3…0.6 (common practice, no source)
/// ```
/// * Units: W/K, kg/s, exponents learned on a healthy unit; W/K out. Good to 3…5 % (common practice, no source).
/// * Range: UA and flows above 0, exponents 0…1, x + y up to 1 (each film goes at most with the flow itself).
/// * Outside: [`DomainError`].
/// * Source: common practice, no source.
///
/// ```
/// use thermo::exchanger::scaling::{Flows, at_reference_flows};
/// let ua = at_reference_flows(800.0, Flows { hot: 0.4, cold: 1.0 }, Flows { hot: 0.5, cold: 1.2 }, 0.4, 0.4)?;
/// assert!((ua - 940.8).abs() < 0.1);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn at_reference_flows<R: Real>(
    conductance: R,
    flows: Flows<R>,
    reference: Flows<R>,
    hot_exponent: R,
    cold_exponent: R,
) -> Result<R, DomainError> {
    const NAME: &str = "conductance at reference flows";
    const EXPONENT: &str = "within 0…1";
    let ua = positive(NAME, "conductance UA", conductance, "above 0 W/K")?;
    let hot = positive(NAME, "hot reference flow", reference.hot, FLOW)? / positive(NAME, "hot flow", flows.hot, FLOW)?;
    let cold =
        positive(NAME, "cold reference flow", reference.cold, FLOW)? / positive(NAME, "cold flow", flows.cold, FLOW)?;
    let x = check(NAME, "hot exponent", hot_exponent, EXPONENT, |x| (0.0..=1.0).contains(&x))?;
    let y = check(NAME, "cold exponent", cold_exponent, EXPONENT, |y| (0.0..=1.0).contains(&y))?;
    check(NAME, "sum of the exponents", x + y, "up to 1", |s| s <= 1.0)?;
    let hot = positive(NAME, "ratio of the hot flows", hot, "above 0")?;
    let cold = positive(NAME, "ratio of the cold flows", cold, "above 0")?;
    finite(NAME, ua * hot.pow(x) * cold.pow(y))
}

/// Resistances of an exchanger, learned on a healthy unit (Wilson plot).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resistances<R> {
    /// a, of the hot side: (K/W)·(kg/s)^0.8.
    pub hot: R,
    /// b, of the cold side: (K/W)·(kg/s)^0.8.
    pub cold: R,
    /// Wall and fouling, K/W.
    pub wall: R,
}

/// Conductance from both flows.
///
/// ```text
/// 1/UA = a·ṁ_h^−0.8 + b·ṁ_c^−0.8 + R_w
/// ```
/// * Units: as in [`Resistances`] and [`Flows`]; W/K out.
/// * Range: a, b and flows above 0, R_w 0 K/W or more. The exponent is that of turbulent flow in tubes.
/// * Outside: [`DomainError`].
/// * Source: E.E. Wilson, Trans. ASME 37, 47 (1915) (from memory).
///
/// ```
/// use thermo::exchanger::scaling::{Flows, Resistances, from_flows};
/// let ua = from_flows(Resistances { hot: 5e-4, cold: 5e-4, wall: 0.0 }, Flows { hot: 1.0, cold: 1.0 })?;
/// assert!((ua - 1000.0).abs() < 1e-9);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn from_flows<R: Real>(resistances: Resistances<R>, flows: Flows<R>) -> Result<R, DomainError> {
    const NAME: &str = "conductance from flows";
    let a = positive(NAME, "resistance of the hot side", resistances.hot, "above 0")?;
    let b = positive(NAME, "resistance of the cold side", resistances.cold, "above 0")?;
    let wall = check(NAME, "resistance of the wall", resistances.wall, "0 K/W or more", |r| r >= 0.0)?;
    let hot = positive(NAME, "hot flow", flows.hot, FLOW)?;
    let cold = positive(NAME, "cold flow", flows.cold, FLOW)?;
    let resistance = finite(NAME, a * hot.powf(-0.8) + b * cold.powf(-0.8) + wall)?;
    finite(NAME, R::of(1.0) / positive(NAME, "resistance in all", resistance, "above 0 K/W")?)
}
