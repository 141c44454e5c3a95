//! The thermodynamic wet-bulb temperature: that of adiabatic saturation.

use super::inverse::wet_guess;
use super::mixture::Function;
use super::terms::Terms;
use super::{T_MAX, T_MIN, check_pressure, check_temperature, finished, gas_terms};
use crate::domain::DomainError;
use crate::root::{Root, rising_root};
use crate::saturation::{Condensate, Phase, TRIPLE_POINT, WATER_MAX, bounds, saturation_temperature};
use units::{Dual, Real};

/// Temperature at which water, or below 0 °C ice, evaporates into the air and saturates it at constant enthalpy.
///
/// ```text
/// T_wb: h(T, p, w) + (w_s − w) h_c(T_wb, p) = h(T_wb, p, w_s),  w_s = w_s(T_wb, p)
/// ```
/// * Units: K, Pa absolute, kg/kg in; K out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w from 0 up to saturation. `Equilibrium` takes water wherever a wet bulb above
///   273.16 K exists, else ice: it jumps there by up to 0.7 K at 1 bar and 1.4 K at 0.2 bar
///   (dry air), as a wick that freezes does. `Supercooled`: water to
///   233.15 K.
/// * Outside: [`DomainError`].
/// * Source: ASHRAE Handbook Fundamentals, chapter 1, thermodynamic wet-bulb temperature; by Newton's method to 1e-9 K.
///   A psychrometer in a stream of 3…5 m/s reads within some 0.1 K of it (common practice, no source).
///
/// ```
/// use thermo::{humid_air::wet_bulb::wet_bulb, saturation::Condensate};
/// assert!((wet_bulb(313.15, 101_325.0, 0.006_452, Condensate::Equilibrium)? - 293.15).abs() < 0.02);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn wet_bulb<R: Real>(t: R, p: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "wet-bulb temperature";
    let h = gas_terms(NAME, t, p, w)?.enthalpy(p, w);
    let found = find(NAME, t.value(), h.value(), p.value(), w.value(), condensate)?;
    let Some((root, phase)) = found else {
        let valid = "at most that of saturated air, and such that the wet bulb is not below 150 K (water: 233.15 K)";
        return Err(DomainError { formula: NAME, argument: "humidity ratio", value: w.value(), valid });
    };
    let at = Terms::at(R::of(root.x));
    finished(NAME, root.with(Function::Enthalpy.of_wet(NAME, &at, p, w, phase)? - h))
}

/// Humidity ratio from dry-bulb and thermodynamic wet-bulb temperature: the inverse of [`wet_bulb`].
///
/// * Units: K, Pa absolute in; kg/kg out.
/// * Range: dry bulb 150…1000 K, wet bulb up to the dry bulb and not so low that the humidity would be below 0; below
///   273.16 K the wick is ice with `Equilibrium`, water with `Supercooled`.
/// * Outside: [`DomainError`].
/// * Source: as [`wet_bulb`].
///
/// ```
/// use thermo::{humid_air::wet_bulb::humidity_ratio_from_wet_bulb, saturation::Condensate};
/// let w = humidity_ratio_from_wet_bulb(313.15, 293.15, 101_325.0, Condensate::Equilibrium)?;
/// assert!((w - 0.0065).abs() < 1e-4); // ASHRAE Handbook Fundamentals, chapter 1, example 1
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn humidity_ratio_from_wet_bulb<R: Real>(
    t: R,
    wet_bulb: R,
    p: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "humidity ratio from wet bulb";
    const VALID: &str = "at most the dry bulb, and not so low that the air would hold less than no water";
    check_temperature(NAME, "dry-bulb temperature", t.value())?;
    check_pressure(NAME, "pressure", p.value())?;
    let refused =
        DomainError { formula: NAME, argument: "wet-bulb temperature", value: wet_bulb.value(), valid: VALID };
    if wet_bulb > t || wet_bulb.value().is_nan() {
        return Err(refused);
    }
    let phase = condensate.phase(wet_bulb.value());
    let wick = Terms::at(wet_bulb);
    let Some(saturated) = wick.saturated(NAME, p, phase)? else { return Err(refused) };
    let ws = saturated.humidity_ratio();
    let (h_saturated, h_wick) = (wick.enthalpy(p, ws), wick.condensed_enthalpy(p, &saturated));
    let terms = Terms::at(t);
    // Nearly linear in w, and rising: the vapour brings more enthalpy than the wick gives.
    let (p1, t1) = (Dual::constant(p.value()), Terms::at(Dual::constant(t.value())));
    let (h1, c1, s1) = (h_saturated.value(), h_wick.value(), ws.value());
    let residual = |w: Dual<1>| Ok(t1.enthalpy(p1, w) + (Dual::constant(s1) - w) * c1 - h1);
    let root = rising_root((-1e-12, s1.max(1e-9) * 1.000_001), s1 * 0.9, residual)?;
    let Some(root) = root else { return Err(refused) };
    let w = R::of(root.x);
    let w = root.with(terms.enthalpy(p, w) + (ws - w) * h_wick - h_saturated);
    finished(NAME, w.max(R::of(0.0)))
}

/// The root and the phase of the wick; `None` if there is none in the range.
fn find(
    formula: &'static str,
    t: f64,
    h: f64,
    p: f64,
    w: f64,
    condensate: Condensate,
) -> Result<Option<(Root, Phase)>, DomainError> {
    // A hair above the dry bulb, so that rounding does not lose saturated air.
    let warmest = (t + 1e-3).min(below_boiling(p)?).min(T_MAX);
    let wick = |x: f64, phase| Function::Enthalpy.of_wet(formula, &Terms::at(x), p, w, phase);
    let phase = match condensate {
        Condensate::Supercooled => Phase::Water,
        Condensate::Equilibrium if warmest > TRIPLE_POINT && wick(TRIPLE_POINT, Phase::Water)? <= h => Phase::Water,
        Condensate::Equilibrium => Phase::Ice,
    };
    let (mut low, high) = bounds(phase);
    if condensate == Condensate::Equilibrium && phase == Phase::Water {
        low = TRIPLE_POINT;
    }
    let range = (low.max(T_MIN), high.min(warmest));
    if range.0 >= range.1 {
        return Ok(None);
    }
    let (p1, w1) = (Dual::constant(p), Dual::constant(w));
    let guess = wet_guess(Function::Enthalpy, h, p, w, phase, range.1);
    let root =
        rising_root(range, guess, |x| Ok(Function::Enthalpy.of_wet(formula, &Terms::at(x), p1, w1, phase)? - h))?;
    Ok(root.map(|root| (root, phase)))
}

/// A temperature a little below boiling at this pressure, where the vapour is 90 % of the gas.
fn below_boiling(p: f64) -> Result<f64, DomainError> {
    let vapour = 0.9 * p;
    if vapour >= 1.55e6 {
        return Ok(WATER_MAX);
    }
    let phase = if vapour >= 612.0 { Phase::Water } else { Phase::Ice };
    if phase == Phase::Ice && vapour >= 611.0 { Ok(TRIPLE_POINT) } else { saturation_temperature(vapour, phase) }
}
