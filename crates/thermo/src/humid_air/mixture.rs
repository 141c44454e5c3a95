//! Humid air with its condensate: gas, water and ice at one temperature and pressure.

use super::humidity::check_vapour;
use super::inverse::from;
use super::terms::{Terms, mole_fraction};
use super::{check_series, check_state, finished};
use crate::domain::DomainError;
use crate::saturation::{Condensate, Phase, TRIPLE_POINT, WATER_MAX};
use units::{Real, math};

/// What one kg of dry air carries, and at which temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixture<R> {
    /// K.
    pub temperature: R,
    /// kg of vapour per kg of dry air.
    pub vapour: R,
    /// kg of liquid water per kg of dry air.
    pub water: R,
    /// kg of ice per kg of dry air.
    pub ice: R,
}

impl<R: Real> Mixture<R> {
    /// True where water and ice stand side by side: the temperature does not tell how much of each.
    pub fn is_on_plateau(&self) -> bool {
        self.water > 0.0 && self.ice > 0.0
    }

    /// On the plateau: the share of the way from all water to all ice.
    pub(crate) fn ice_share(&self, formula: &'static str, p: R, w: R) -> Result<R, DomainError> {
        let over_ice = wet(formula, &Terms::at(self.temperature), p, w, Phase::Ice)?;
        finished(formula, self.ice / over_ice.ice)
    }
}

/// How the water is distributed at a temperature.
///
/// * Units: K, Pa absolute, kg of all water per kg of dry air in.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; above 473.15 K vapour up to 1.555 MPa. At 273.16 K exactly the
///   condensate is water.
/// * Outside: [`DomainError`]; supercooled water below 233.15 K too.
/// * Source: saturation as in [`humidity`](super::humidity); the condensate's volume is neglected.
///
/// ```
/// use thermo::{humid_air::mixture::equilibrium, saturation::Condensate};
/// let m = equilibrium(264.5, 110e3, 0.012, Condensate::Supercooled)?;
/// assert!((m.water - 0.0102).abs() < 1e-4 && m.ice == 0.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn equilibrium<R: Real>(t: R, p: R, w: R, condensate: Condensate) -> Result<Mixture<R>, DomainError> {
    const NAME: &str = "equilibrium of humid air and condensate";
    check_state(NAME, t.value(), p.value(), w.value())?;
    let terms = Terms::at(t);
    match branch(NAME, &terms, p, w, condensate)? {
        None => Ok(gas(t, w)),
        Some(phase) => wet(NAME, &terms, p, w, phase),
    }
}

/// Enthalpy of humid air with equilibrium condensate.
///
/// ```text
/// h = h_gas(T, p, w_v) + (w − w_v) h_c(T, p),  w_v = min(w, w_s),  h_c = h_c,sat(T) + v_c (p − p_sat)
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; J per kg of dry air out.
/// * Range, outside: as [`equilibrium`].
/// * Source: gas as in [`properties`](mod@super::properties), condensate as in [`saturation`](crate::saturation).
///
/// ```
/// use thermo::{humid_air::mixture::mixture_enthalpy, saturation::Condensate};
/// let fog = mixture_enthalpy(298.15, 101_325.0, 0.030, Condensate::Equilibrium)?;
/// assert!((fog - 76_504.0 - (0.030 - 0.020_173) * 104_800.0).abs() < 100.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mixture_enthalpy<R: Real>(t: R, p: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    at_temperature("enthalpy of humid air and condensate", Function::Enthalpy, t, p, w, condensate)
}

/// Entropy of humid air with equilibrium condensate.
///
/// ```text
/// s = s_gas(T, p, w_v) + (w − w_v) s_c(T),  s_c such that h_c − T s_c is the Gibbs function of the saturated vapour
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; J/K per kg of dry air out.
/// * Range, outside: as [`equilibrium`].
/// * Source: as [`mixture_enthalpy`]; the entropy of water so found is within 0.3 J/(kg K) of IAPWS-95 up to 100 °C,
///   that of ice within 1.3 J/(kg K) of IAPWS R10-06.
///
/// ```
/// use thermo::{humid_air::mixture::mixture_entropy, saturation::Condensate};
/// let s = |w| mixture_entropy(298.15, 101_325.0, w, Condensate::Equilibrium);
/// assert!(((s(0.04)? - s(0.03)?) / 0.01 - 367.2).abs() < 0.1); // water at 25 °C
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn mixture_entropy<R: Real>(t: R, p: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    at_temperature("entropy of humid air and condensate", Function::Entropy, t, p, w, condensate)
}

/// Enthalpy and entropy together, at little more than the price of one.
pub(crate) fn enthalpy_and_entropy<R: Real>(
    formula: &'static str,
    t: R,
    p: R,
    w: R,
    condensate: Condensate,
) -> Result<(R, R), DomainError> {
    check_state(formula, t.value(), p.value(), w.value())?;
    let terms = Terms::at(t);
    let of = |function: Function, phase| match phase {
        None => Ok(function.of_gas(&terms, p, w)),
        Some(phase) => function.of_wet(formula, &terms, p, w, phase),
    };
    let phase = branch(formula, &terms, p, w, condensate)?;
    Ok((finished(formula, of(Function::Enthalpy, phase)?)?, finished(formula, of(Function::Entropy, phase)?)?))
}

/// Enthalpy of a measured state: on the plateau, where a thermometer does not tell water from ice, the one nearest to
/// what is expected, between all ice and all water.
pub(crate) fn enthalpy_nearest<R: Real>(t: R, p: R, w: R, c: Condensate, expected: R) -> Result<R, DomainError> {
    const NAME: &str = "enthalpy of humid air, water and ice";
    let thawed = mixture_enthalpy(t, p, w, c)?;
    let terms = Terms::at(t);
    if t.value() != TRIPLE_POINT || c != Condensate::Equilibrium || branch(NAME, &terms, p, w, c)?.is_none() {
        return Ok(thawed);
    }
    let frozen = finished(NAME, Function::Enthalpy.of_wet(NAME, &terms, p, w, Phase::Ice)?)?;
    let (least, most) = (frozen.value(), thawed.value());
    Ok(match expected.value() {
        h if h <= least => frozen,
        h if h >= most => thawed,
        _ => expected,
    })
}

/// Temperature, vapour, water and ice from the enthalpy: the inverse of [`mixture_enthalpy`].
///
/// Through 273.16 K, where water freezes at one temperature, the shares of water and ice are found instead.
///
/// * Units: J per kg of dry air, Pa absolute, kg of all water per kg of dry air in.
/// * Range: enthalpies of 150…1000 K, 100 Pa…2 MPa, w 0…10; supercooled water from 233.15 K. Derivatives by the
///   implicit function theorem; they break at the dew point and at both ends of the plateau.
/// * Outside: [`DomainError`].
/// * Source: as [`mixture_enthalpy`], by Newton's method to 1e-9 K.
///
/// ```
/// use thermo::{humid_air::mixture::temperature_from_enthalpy, saturation::Condensate};
/// let m = temperature_from_enthalpy(7_500.0, 110e3, 0.012, Condensate::Equilibrium)?;
/// assert!(m.temperature == 273.16 && m.is_on_plateau());
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature_from_enthalpy<R: Real>(h: R, p: R, w: R, condensate: Condensate) -> Result<Mixture<R>, DomainError> {
    from("temperature from enthalpy", "enthalpy", Function::Enthalpy, h, p, w, condensate)
}

/// Temperature, vapour, water and ice from the entropy: the inverse of [`mixture_entropy`].
///
/// * Units: J/K per kg of dry air, Pa absolute, kg of all water per kg of dry air in.
/// * Range, outside, source: as [`temperature_from_enthalpy`].
///
/// ```
/// use thermo::{humid_air::mixture::{mixture_entropy, temperature_from_entropy}, saturation::Condensate};
/// let s = mixture_entropy(313.15, 350e3, 0.012, Condensate::Equilibrium)?;
/// let m = temperature_from_entropy(s, 110e3, 0.012, Condensate::Equilibrium)?;
/// assert!(m.temperature < 264.0 && m.ice > 0.010 && m.water == 0.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature_from_entropy<R: Real>(s: R, p: R, w: R, condensate: Condensate) -> Result<Mixture<R>, DomainError> {
    from("temperature from entropy", "entropy", Function::Entropy, s, p, w, condensate)
}

/// The state function a temperature is sought for.
#[derive(Clone, Copy)]
pub(crate) enum Function {
    Enthalpy,
    Entropy,
}

impl Function {
    #[inline]
    pub(crate) fn of_gas<R: Real>(self, terms: &Terms<R>, p: R, w: R) -> R {
        match self {
            Function::Enthalpy => terms.enthalpy(p, w),
            Function::Entropy => terms.entropy(p, w),
        }
    }

    /// Of saturated gas with the rest of the water condensed; the rest may be below zero.
    pub(crate) fn of_wet<R: Real>(
        self,
        formula: &'static str,
        terms: &Terms<R>,
        p: R,
        w: R,
        phase: Phase,
    ) -> Result<R, DomainError> {
        let Some(saturated) = terms.saturated(formula, p, phase)? else { return Err(boils(formula, terms.t.value())) };
        let vapour = saturated.humidity_ratio();
        let condensed = match self {
            Function::Enthalpy => terms.condensed_enthalpy(p, &saturated),
            Function::Entropy => terms.condensed_entropy(&saturated),
        };
        Ok(self.of_gas(terms, p, vapour) + (w - vapour) * condensed)
    }

    /// Of the gas where nothing condenses, roughly inverted.
    pub(crate) fn guess(self, target: f64, p: f64, w: f64) -> f64 {
        let cp = 1006.0 + 1860.0 * w;
        match self {
            Function::Enthalpy => 273.15 + (target - 2.501e6 * w) / cp,
            Function::Entropy => {
                let ln_p = math::ln(p / 101_325.0);
                let ln_x = math::ln(mole_fraction(w).max(1e-30));
                let s = target + 287.05 * ln_p - w * (6797.0 - 461.5 * (ln_p + ln_x));
                273.15 * math::exp((s / cp).clamp(-1.0, 2.0))
            }
        }
    }
}

fn boils(formula: &'static str, t: f64) -> DomainError {
    let valid = "below the boiling point of water at this pressure";
    DomainError { formula, argument: "temperature", value: t, valid }
}

pub(crate) fn gas<R: Real>(temperature: R, vapour: R) -> Mixture<R> {
    Mixture { temperature, vapour, water: R::of(0.0), ice: R::of(0.0) }
}

pub(crate) fn wet<R: Real>(
    formula: &'static str,
    terms: &Terms<R>,
    p: R,
    w: R,
    phase: Phase,
) -> Result<Mixture<R>, DomainError> {
    let Some(saturated) = terms.saturated(formula, p, phase)? else { return Err(boils(formula, terms.t.value())) };
    let vapour = finished(formula, saturated.humidity_ratio())?;
    let (zero, rest) = (R::of(0.0), w - vapour);
    let (water, ice) = if phase == Phase::Water { (rest, zero) } else { (zero, rest) };
    Ok(Mixture { temperature: terms.t, vapour, water, ice })
}

/// The condensed phase at this temperature; `None` if all water is vapour.
pub(crate) fn branch<R: Real>(
    formula: &'static str,
    terms: &Terms<R>,
    p: R,
    w: R,
    condensate: Condensate,
) -> Result<Option<Phase>, DomainError> {
    let t = terms.t.value();
    let phase = condensate.phase(t);
    let saturated = if w == 0.0 {
        None
    } else if t > WATER_MAX {
        check_vapour(formula, p.value(), w.value())?;
        None
    } else {
        terms.saturated(formula, p, phase)?.filter(|s| mole_fraction(w) > s.x)
    };
    check_series(formula, terms, p, saturated.as_ref().map_or(w, |s| s.humidity_ratio()))?;
    Ok(saturated.map(|_| phase))
}

fn at_temperature<R: Real>(
    formula: &'static str,
    function: Function,
    t: R,
    p: R,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    check_state(formula, t.value(), p.value(), w.value())?;
    let terms = Terms::at(t);
    let value = match branch(formula, &terms, p, w, condensate)? {
        None => function.of_gas(&terms, p, w),
        Some(phase) => function.of_wet(formula, &terms, p, w, phase)?,
    };
    finished(formula, value)
}
