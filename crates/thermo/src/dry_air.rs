//! Dry air: the functions of [`humid_air`](crate::humid_air) at w = 0, at the price of air alone.

use crate::domain::DomainError;
use crate::gas::{DRY_AIR, DRY_AIR_GAS_CONSTANT, MOLAR_MASS_AIR, REFERENCE_PRESSURE};
use crate::humid_air::virial::{Of, air};
use crate::humid_air::{T_MAX, T_MIN, check_pressure, check_temperature, finished};
use crate::root::rising_root;
use units::{Dual, Real, math};

/// Enthalpy of dry air.
///
/// ```text
/// h = h°(T) + (B − T dB/dT) p/M
/// ```
/// * Units: K, Pa absolute in; J/kg out; zero at 0 °C and 101 325 Pa.
/// * Range: 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: NASA/TP-2002-211556 in the proportions of ISO 2533; B of Lemmon et al. (2000).
///
/// ```
/// assert!((thermo::dry_air::enthalpy(373.15, 100e3)? - 100_790.0).abs() < 50.0); // Hyland & Wexler (1983), table 3
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn enthalpy<R: Real>(t: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "enthalpy of dry air";
    check(NAME, t.value(), p.value())?;
    finished(NAME, enthalpy_of(t, p))
}

/// Entropy of dry air.
///
/// ```text
/// s = s°(T) − R ln(p/p₀) − (dB/dT) p/M
/// ```
/// * Units: K, Pa absolute in; J/(kg K) out; zero at 0 °C and 101 325 Pa.
/// * Range: 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`].
///
/// ```
/// assert!((thermo::dry_air::entropy(373.15, 100e3)? - 318.2).abs() < 0.5); // Hyland & Wexler (1983), table 3
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn entropy<R: Real>(t: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "entropy of dry air";
    check(NAME, t.value(), p.value())?;
    finished(NAME, entropy_of(t, p))
}

/// Heat capacity of dry air at constant pressure.
///
/// ```text
/// cp = cp°(T) − T (d²B/dT²) p/M
/// ```
/// * Units: K, Pa absolute in; J/(kg K) out.
/// * Range: 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`].
///
/// ```
/// assert!((thermo::dry_air::heat_capacity(300.0, 101_325.0)? - 1006.4).abs() < 0.5);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn heat_capacity<R: Real>(t: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "heat capacity of dry air";
    check(NAME, t.value(), p.value())?;
    finished(NAME, DRY_AIR.heat_capacity(t) - p * air(Of::Curve, t, math::ln(t.value())) / t / MOLAR_MASS_AIR)
}

/// Density of dry air.
///
/// ```text
/// ρ = M/(R T/p + B)
/// ```
/// * Units: K, Pa absolute in; kg/m³ out.
/// * Range: 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`].
///
/// ```
/// assert!((thermo::dry_air::density(298.15, 101_325.0)? - 1.0 / 0.8443).abs() < 1e-3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn density<R: Real>(t: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "density of dry air";
    check(NAME, t.value(), p.value())?;
    finished(NAME, R::of(1.0) / (t * DRY_AIR_GAS_CONSTANT / p + air(Of::B, t, math::ln(t.value())) / MOLAR_MASS_AIR))
}

/// Temperature of dry air from its enthalpy: the inverse of [`enthalpy`].
///
/// * Units: J/kg, Pa absolute in; K out.
/// * Range: enthalpies of 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`], by Newton's method to 1e-9 K.
///
/// ```
/// let h = thermo::dry_air::enthalpy(350.0, 2e5)?;
/// assert!((thermo::dry_air::temperature_from_enthalpy(h, 2e5)? - 350.0).abs() < 1e-9);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature_from_enthalpy<R: Real>(h: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "temperature of dry air from enthalpy";
    check_pressure(NAME, "pressure", p.value())?;
    let guess = 273.15 + h.value() / 1008.0;
    invert(NAME, "enthalpy", (h, p), guess, enthalpy_of, enthalpy_of)
}

/// Temperature of dry air from its entropy: the inverse of [`entropy`].
///
/// * Units: J/(kg K), Pa absolute in; K out.
/// * Range: entropies of 150…1000 K, 100 Pa…2 MPa.
/// * Outside: [`DomainError`].
/// * Source: as [`entropy`], by Newton's method to 1e-9 K.
///
/// ```
/// let s = thermo::dry_air::entropy(300.0, 110e3)?;
/// assert!((thermo::dry_air::temperature_from_entropy(s, 550e3)? - 473.8).abs() < 0.05); // case AC-32, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature_from_entropy<R: Real>(s: R, p: R) -> Result<R, DomainError> {
    const NAME: &str = "temperature of dry air from entropy";
    check_pressure(NAME, "pressure", p.value())?;
    let ln_p = math::ln(p.value() / REFERENCE_PRESSURE);
    let exponent = (s.value() + DRY_AIR_GAS_CONSTANT * ln_p) / 1010.0;
    let guess = 273.15 * math::exp(exponent.clamp(-1.0, 2.0));
    invert(NAME, "entropy", (s, p), guess, entropy_of, entropy_of)
}

fn check(formula: &'static str, t: f64, p: f64) -> Result<(), DomainError> {
    check_temperature(formula, "temperature", t)?;
    check_pressure(formula, "pressure", p)
}

#[inline]
pub(crate) fn enthalpy_of<R: Real>(t: R, p: R) -> R {
    let ln_t = math::ln(t.value());
    DRY_AIR.enthalpy(t, ln_t) + air(Of::Enthalpy, t, ln_t) * p / MOLAR_MASS_AIR
}

#[inline]
pub(crate) fn entropy_of<R: Real>(t: R, p: R) -> R {
    let ln_t = math::ln(t.value());
    let pressure = (p / REFERENCE_PRESSURE).ln() * DRY_AIR_GAS_CONSTANT;
    DRY_AIR.entropy(t, ln_t) - pressure - air(Of::Slope, t, ln_t) * p / t / MOLAR_MASS_AIR
}

/// The same function twice: in the number of the search and in that of the caller.
fn invert<R: Real>(
    formula: &'static str,
    argument: &'static str,
    (target, p): (R, R),
    guess: f64,
    of: impl Fn(R, R) -> R,
    of_dual: impl Fn(Dual<1>, Dual<1>) -> Dual<1>,
) -> Result<R, DomainError> {
    let value = target.value();
    let valid = "that of a temperature within 150…1000 K at this pressure";
    let refused = DomainError { formula, argument, value, valid };
    if !value.is_finite() {
        return Err(refused);
    }
    let p1 = Dual::constant(p.value());
    let root = rising_root((T_MIN, T_MAX), guess, |t| Ok(of_dual(t, p1) - value))?.ok_or(refused)?;
    finished(formula, root.with(of(R::of(root.x), p) - target))
}
