//! Humid air as a real gas, with water and ice beside it.
//!
//! * [`properties`](mod@properties): density, enthalpy, entropy, heat capacity, gas constant, speed of sound of the gas
//! * [`humidity`]: humidity ratio, relative humidity, dew and frost point, and back
//! * [`wet_bulb`](mod@wet_bulb): the thermodynamic wet-bulb temperature
//! * [`mixture`]: gas with equilibrium condensate; temperature from enthalpy or entropy, through the 0 °C plateau
//!
//! Air and vapour are ideal gases with temperature-dependent heat capacity ([`gas`](crate::gas)) plus the second virial
//! coefficients of the mixture, in the form explicit in volume, so that density, enthalpy, entropy and the enhancement
//! factor follow from one Gibbs function and none needs an iteration:
//!
//! ```text
//! v = R T/p + B(T, x)        h = h°(T) + (B − T dB/dT) p        s = s°(T) − R ln(p/p₀) − (dB/dT) p
//! ```
//! B of air: E.W. Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000); of air with water: A.H. Harvey, P.H. Huang,
//! Int. J. Thermophys. 28, 556 (2007); both computed from polynomials that follow the published formulas, derivatives
//! to the second included, to within 2e-10 of p B/(R T) at 2 MPa. B of water: R.W. Hyland, A. Wexler, ASHRAE Trans.
//! 89(2A), 500 (1983).
//!
//! Humidity ratio w: kg of water per kg of dry air. Enthalpy and entropy are per kg of **dry air**; density, heat
//! capacity and gas constant are of the moist air itself. Temperatures in K, pressures absolute in Pa.
//!
//! Range of all functions here: 150…1000 K, 100 Pa…2 MPa, w 0…10, as far as the series holds for the vapour that the
//! gas carries: `p T |d²(B − B_air)/dT²|/R` at most 0.3. Beyond is vapour far above saturation (the greatest w at
//! 8 bar: 0.015 at 200 K, 0.033 at 233 K, 0.072 at 273 K; at 1 bar 0.045, 0.106, 0.26), and air that is nearly steam:
//! saturated air goes up to 371 K at 1 bar, 384 K (w 1.8) at 2 bar, 414 K (w 0.56) at 8 bar, 436 K (w 0.33) at 20 bar.
//! How far the properties are off right at that edge is listed at [`uncertainty`]. Dry air is never refused.
//! Condensate may be there in any amount. Above 473.15 K, the end of the saturation curve, vapour
//! of more than 1.555 MPa is refused where condensate is asked for.
//!
//! Compared with CoolProp's `HumidAir` (ASHRAE RP-1485) over −40…+250 °C, 0.2…6 bar, w 0…0.03; what remains is stated
//! in [`uncertainty`].

pub mod humidity;
mod inverse;
pub mod mixture;
pub mod properties;
pub(crate) mod terms;
pub mod uncertainty;
pub(crate) mod virial;
pub mod wet_bulb;

pub use humidity::{
    dew_point, enhancement_factor, humidity_ratio_from_dew_point, humidity_ratio_from_relative_humidity,
    relative_humidity, saturation_humidity_ratio,
};
pub use mixture::{
    Mixture, equilibrium, mixture_enthalpy, mixture_entropy, temperature_from_enthalpy, temperature_from_entropy,
};
pub use properties::{
    Properties, density, enthalpy, entropy, gas_constant, heat_capacity, heat_capacity_ratio, properties,
    speed_of_sound,
};
pub use wet_bulb::{humidity_ratio_from_wet_bulb, wet_bulb};

use crate::domain::{DomainError, check, refused};
use crate::gas::MOLAR_GAS_CONSTANT;
use terms::{Terms, mole_fraction};
use units::Real;
use virial::Of;

pub(crate) const T_MIN: f64 = 150.0;
pub(crate) const T_MAX: f64 = 1000.0;
const P_MIN: f64 = 100.0;
const P_MAX: f64 = 2e6;
const W_MAX: f64 = 10.0;
const T_VALID: &str = "within 150…1000 K";
const P_VALID: &str = "within 100 Pa…2 MPa absolute (a gauge pressure taken for an absolute one?)";
const W_VALID: &str = "within 0…10 kg of water per kg of dry air";

pub(crate) fn check_temperature(formula: &'static str, name: &'static str, t: f64) -> Result<(), DomainError> {
    check(formula, name, t, T_VALID, |t| (T_MIN..=T_MAX).contains(&t)).map(|_| ())
}

pub(crate) fn check_pressure(formula: &'static str, name: &'static str, p: f64) -> Result<(), DomainError> {
    check(formula, name, p, P_VALID, |p| (P_MIN..=P_MAX).contains(&p)).map(|_| ())
}

pub(crate) fn check_humidity(formula: &'static str, w: f64) -> Result<(), DomainError> {
    check(formula, "humidity ratio", w, W_VALID, |w| (0.0..=W_MAX).contains(&w)).map(|_| ())
}

/// All three arguments of a state.
#[inline(always)]
pub(crate) fn check_state(formula: &'static str, t: f64, p: f64, w: f64) -> Result<(), DomainError> {
    if (T_MIN..=T_MAX).contains(&t) && (P_MIN..=P_MAX).contains(&p) && (0.0..=W_MAX).contains(&w) {
        return Ok(());
    }
    refused_state(formula, t, p, w)
}

#[cold]
fn refused_state(formula: &'static str, t: f64, p: f64, w: f64) -> Result<(), DomainError> {
    check_temperature(formula, "temperature", t)?;
    check_pressure(formula, "pressure", p)?;
    check_humidity(formula, w)
}

/// What a gas whose water is all vapour is computed from, its state checked.
#[inline(always)]
pub(crate) fn gas_terms<R: Real>(formula: &'static str, t: R, p: R, w: R) -> Result<Terms<R>, DomainError> {
    check_state(formula, t.value(), p.value(), w.value())?;
    let terms = Terms::at(t);
    check_series(formula, &terms, p, w)?;
    Ok(terms)
}

/// Greatest share of the vapour in p T (d²B/dT²)/R.
const SERIES_LIMIT: f64 = 0.3;

/// That the gas is near enough to ideal for a series of one term: not so with vapour far above saturation.
#[inline(always)]
pub(crate) fn check_series<R: Real>(formula: &'static str, terms: &Terms<R>, p: R, w: R) -> Result<(), DomainError> {
    // All of it within the limit: see the test.
    if terms.t >= 233.15 && w <= 0.03 && p <= 8e5 {
        return Ok(());
    }
    check_far_series(formula, terms, p, w)
}

#[inline(never)]
fn check_far_series<R: Real>(formula: &'static str, terms: &Terms<R>, p: R, w: R) -> Result<(), DomainError> {
    const VALID: &str = "what the gas can carry: pT|d²(B-B_air)/dT²|/R at most 0.3 (far above saturation, or steam?)";
    let (w, virials) = (w.value(), terms.virials.plain());
    let vapour = virials.mixture(Of::Curve, mole_fraction(w)) - virials.mixture(Of::Curve, 0.0);
    let share = (vapour * p.value() / (terms.t.value() * MOLAR_GAS_CONSTANT)).abs();
    check(formula, "humidity ratio", w, VALID, |_| share <= SERIES_LIMIT).map(|_| ())
}

/// The result, where it and its derivatives are finite.
#[inline(always)]
pub(crate) fn finished<R: Real>(formula: &'static str, result: R) -> Result<R, DomainError> {
    if result.is_finite() {
        return Ok(result);
    }
    const VALID: &str = "a finite number with finite derivatives: an argument is far outside what air does";
    Err(refused(formula, "the result", result.value(), VALID))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ordinary humid air is accepted without a look at the series: rightly, at every corner and between.
    #[test]
    fn ordinary_air_is_within_the_series() {
        for i in 0..=200 {
            let t = 233.15 + (T_MAX - 233.15) * f64::from(i) / 200.0;
            for w in [0.0, 1e-4, 0.003, 0.01, 0.02, 0.03] {
                for p in [P_MIN, 1e5, 6e5, 8e5] {
                    assert!(check_far_series("test", &Terms::at(t), p, w).is_ok(), "{t} {p} {w}");
                }
            }
        }
        assert!(check_far_series("test", &Terms::at(200.0), P_MAX, 0.03).is_err());
    }
}
