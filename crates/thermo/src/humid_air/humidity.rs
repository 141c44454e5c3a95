//! Humidity in its many forms, through the mole fraction of vapour.

use super::terms::{Saturated, Terms, humidity_ratio, mole_fraction};
use super::{check_humidity, check_pressure, finished};
use crate::domain::{DomainError, check};
use crate::root::rising_root;
use crate::saturation::{Condensate, Phase, TRIPLE_POINT, bounds, magnus};
use units::{Dual, Real, math};

/// The factor by which air under pressure raises the vapour pressure over water or ice.
///
/// ```text
/// f = x_w p/p_sat
/// R T ln f = (v_c − B_ww)(p − p_sat) + x_a² p (B_aa − 2 B_aw + B_ww),  x_a = 1 − f p_sat/p
/// ```
/// * Units: K, Pa absolute in; dimensionless out: 1.004 at 1 bar, 1.018…1.027 at 6 bar.
/// * Range: over water 233.15…473.15 K, over ice 150…273.16 K; 100 Pa…2 MPa, above the saturation pressure.
/// * Outside: [`DomainError`].
/// * Source: Hyland & Wexler, ASHRAE Trans. 89(2A), 520 (1983), equation 18, cut after the second virial coefficients
///   (the third add 0.007 % at 233 K and 6 bar), air dissolved in the water left out (0.012 % at 0 °C and 6 bar);
///   coefficients as listed at [`humid_air`](crate::humid_air).
///
/// ```
/// use thermo::{humid_air::humidity::enhancement_factor, saturation::Condensate};
/// assert!((enhancement_factor(363.15, 500e3, Condensate::Equilibrium)? - 1.018).abs() < 1e-3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn enhancement_factor<R: Real>(t: R, p: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "enhancement factor";
    let saturated = saturated(NAME, t, p, condensate)?;
    finished(NAME, saturated.x * p / saturated.pure)
}

/// Humidity ratio of saturated air; also the humidity ratio at a dew point, with that temperature as argument.
///
/// ```text
/// w_s = ε x_s/(1 − x_s),  x_s = f p_sat/p
/// ```
/// * Units: K, Pa absolute in; kg of vapour per kg of dry air out.
/// * Range: as [`enhancement_factor`].
/// * Outside: [`DomainError`]; where the water boils at this pressure, there is no saturated air.
/// * Source: as [`enhancement_factor`].
///
/// ```
/// use thermo::{humid_air::humidity::saturation_humidity_ratio, saturation::Condensate};
/// let w = saturation_humidity_ratio(298.15, 101_325.0, Condensate::Equilibrium)?;
/// assert!((w / 0.020_173 - 1.0).abs() < 0.001); // ASHRAE Handbook Fundamentals, chapter 1, table 2
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn saturation_humidity_ratio<R: Real>(t: R, p: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "saturation humidity ratio";
    finished(NAME, saturated(NAME, t, p, condensate)?.humidity_ratio())
}

/// Humidity ratio from the dew point: [`saturation_humidity_ratio`] at that temperature and the pressure at the mirror.
///
/// * Units: K, Pa absolute in; kg/kg out.
/// * Range, outside, source: as [`enhancement_factor`]. Below 273.16 K `Equilibrium` takes the temperature for a frost
///   point; a mirror that shows liquid below freezing is `Supercooled` (21 % more water at −20 °C).
///
/// ```
/// use thermo::{humid_air::humidity::humidity_ratio_from_dew_point, saturation::Condensate};
/// let w = humidity_ratio_from_dew_point(275.0, 3e5, Condensate::Equilibrium)?;
/// assert!(w > 0.0014 && w < 0.0015);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn humidity_ratio_from_dew_point<R: Real>(dew_point: R, p: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "humidity ratio from dew point";
    finished(NAME, saturated(NAME, dew_point, p, condensate)?.humidity_ratio())
}

/// Relative humidity.
///
/// ```text
/// φ = x_w/x_s(T, p)
/// ```
/// * Units: K, Pa absolute, kg/kg in; 0…1 out, above 1 where the air is supersaturated.
/// * Range: as [`enhancement_factor`], w 0…10. Below 273.16 K the reference is ice with `Equilibrium`; hygrometers
///   calibrated to meteorological practice refer to water: `Supercooled` (common practice, no source).
/// * Outside: [`DomainError`].
/// * Source: ASHRAE Handbook Fundamentals, chapter 1: ratio of mole fractions at the same temperature and pressure.
///
/// ```
/// use thermo::{humid_air::humidity::relative_humidity, saturation::Condensate};
/// let rh = relative_humidity(313.15, 101_325.0, 0.006_452_5, Condensate::Equilibrium)?;
/// assert!((rh - 0.1402).abs() < 0.001);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn relative_humidity<R: Real>(t: R, p: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "relative humidity";
    check_humidity(NAME, w.value())?;
    finished(NAME, mole_fraction(w) / saturated(NAME, t, p, condensate)?.x)
}

/// Humidity ratio from the relative humidity: the inverse of [`relative_humidity`].
///
/// * Units: K, Pa absolute, 0…1 in; kg/kg out.
/// * Range: as [`enhancement_factor`]; relative humidity 0…1.05 (instruments near saturation read a little above 1).
/// * Outside: [`DomainError`].
/// * Source: as [`relative_humidity`].
///
/// ```
/// use thermo::{humid_air::humidity::humidity_ratio_from_relative_humidity, saturation::Condensate};
/// let w = humidity_ratio_from_relative_humidity(303.15, 101_325.0, 0.5, Condensate::Equilibrium)?;
/// assert!((w - 0.0134).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn humidity_ratio_from_relative_humidity<R: Real>(
    t: R,
    p: R,
    relative_humidity: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "humidity ratio from relative humidity";
    const VALID: &str = "within 0…1.05 (a percentage taken for a ratio?)";
    check(NAME, "relative humidity", relative_humidity.value(), VALID, |x| (0.0..=1.05).contains(&x))?;
    let x = relative_humidity * saturated(NAME, t, p, condensate)?.x;
    let valid = "below 1: the water boils at this pressure";
    check(NAME, "mole fraction of vapour", x.value(), valid, |x| x < 1.0)?;
    finished(NAME, humidity_ratio(x))
}

/// Dew point, below 273.16 K the frost point unless supercooled water is asked for.
///
/// ```text
/// T_d: f(T_d, p) p_sat(T_d) = x_w p
/// ```
/// * Units: Pa absolute, kg/kg in; K out.
/// * Range: 100 Pa…2 MPa, w above 0 up to 10; dew points over water 233.15…473.15 K, over ice 150…273.16 K.
///   Derivatives by the implicit function theorem. At 273.16 K and 6 bar it jumps by 5 mK upward: ice under pressure
///   melts a little below that temperature.
/// * Outside: [`DomainError`].
/// * Source: inverse of [`saturation_humidity_ratio`], by Newton's method to 1e-9 K.
///
/// ```
/// use thermo::{humid_air::humidity::dew_point, saturation::Condensate};
/// let t = dew_point(500_000.0, 0.004, Condensate::Equilibrium)?;
/// assert!((t - 298.021).abs() < 0.01);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn dew_point<R: Real>(p: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "dew point";
    const VALID: &str = "such that a dew point exists: over water 233.15…473.15 K, over ice from 150 K; not dry air";
    check_pressure(NAME, "pressure", p.value())?;
    check_humidity(NAME, w.value())?;
    let refused = DomainError { formula: NAME, argument: "humidity ratio", value: w.value(), valid: VALID };
    let (pressure, x) = (p.value(), mole_fraction(w.value()));
    let e = x * pressure;
    // Below: nothing at all, and what would underflow.
    if e < 1e-9 {
        return Err(refused);
    }
    let phase = phase_at_dew_point(pressure, x, condensate);
    let range = match (phase, condensate) {
        (Phase::Water, Condensate::Equilibrium) => (TRIPLE_POINT, bounds(Phase::Water).1),
        _ => bounds(phase),
    };
    let ln_e = math::ln(e);
    let (p1, x1) = (Dual::constant(pressure), Dual::constant(x));
    let guess = magnus(e, phase);
    let root = rising_root(range, guess, |t| Ok(Terms::at(t).ln_vapour_pressure(p1, x1, phase) - ln_e))?;
    let Some(root) = root else { return Err(refused) };
    let x = mole_fraction(w);
    let at = Terms::at(R::of(root.x));
    finished(NAME, root.with(at.ln_vapour_pressure(p, x, phase) - (x * p).ln()))
}

/// Which phase the dew is, without knowing its temperature.
fn phase_at_dew_point(p: f64, x: f64, condensate: Condensate) -> Phase {
    let e = x * p;
    if condensate == Condensate::Supercooled || e > 900.0 {
        return Phase::Water; // f is below 1.3 in the whole range
    }
    if e < 611.0 {
        return Phase::Ice; // f is above 1
    }
    let terms = Terms::at(TRIPLE_POINT);
    if math::ln(e) >= terms.ln_vapour_pressure(p, x, Phase::Water) { Phase::Water } else { Phase::Ice }
}

/// The saturated gas, or why there is none.
#[inline(always)]
fn saturated<R: Real>(formula: &'static str, t: R, p: R, condensate: Condensate) -> Result<Saturated<R>, DomainError> {
    check_pressure(formula, "pressure", p.value())?;
    let phase = condensate.phase(t.value());
    Terms::at(t).saturated(formula, p, phase)?.ok_or(DomainError {
        formula,
        argument: "temperature",
        value: t.value(),
        valid: "below the boiling point at this pressure",
    })
}

/// Above the end of the saturation curve: that the vapour is surely none that condenses.
pub(crate) fn check_vapour(formula: &'static str, p: f64, w: f64) -> Result<(), DomainError> {
    const VALID: &str = "such that the vapour has at most 1.555 MPa, saturation at 473.15 K, where the curve ends";
    const MOST: f64 = 1.555e6;
    check(formula, "humidity ratio", w, VALID, |w| mole_fraction(w) * p <= MOST).map(|_| ())
}

/// True if air with this much water, all of it vapour, has more than it can hold.
pub(crate) fn is_supersaturated(formula: &'static str, t: f64, p: f64, w: f64) -> Result<bool, DomainError> {
    if t > bounds(Phase::Water).1 {
        return check_vapour(formula, p, w).map(|()| false);
    }
    let saturated = Terms::at(t).saturated(formula, p, Condensate::Equilibrium.phase(t))?;
    Ok(saturated.is_some_and(|s| mole_fraction(w) > s.x))
}
