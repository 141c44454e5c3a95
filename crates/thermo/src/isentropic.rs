//! Changes at constant entropy, with heat capacity that varies and without condensation; and the textbook's relations
//! of constant heat capacity, for cycles that are stated so.

use crate::domain::{DomainError, check};
use crate::gas::{DRY_AIR, MOLAR_GAS_CONSTANT, VAPOUR};
use crate::humid_air::terms::{Terms, mole_fraction, moles};
use crate::humid_air::virial::Of;
use crate::humid_air::{T_MAX, T_MIN, check_pressure, check_series, check_temperature, finished, gas_terms};
use crate::root::rising_root;
use units::{Dual, Real, math};

/// Temperature after a change at constant entropy from (t1, p1) to p2.
///
/// ```text
/// T2: s(T2, p2, w) = s(T1, p1, w)
/// ```
/// * Units: K, Pa absolute, kg/kg in; K out.
/// * Range: 150…1000 K at both ends, 100 Pa…2 MPa, w 0…10; the virial series' limits at both ends, see
///   [`humid_air`](crate::humid_air); all water stays vapour (else
///   [`turbine`](crate::machine::turbine)). Derivatives by the implicit function theorem.
/// * Outside: [`DomainError`].
/// * Source: entropy as in [`humid_air::properties`](mod@crate::humid_air::properties), by Newton's method to 1e-9 K.
///
/// ```
/// let t2 = thermo::isentropic::temperature(300.0, 110e3, 550e3, 0.0)?;
/// assert!((t2 - 473.8).abs() < 0.05); // case AC-32, CoolProp; constant heat capacity gives 475.15 K
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature<R: Real>(t1: R, p1: R, p2: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "isentropic temperature";
    let s1 = gas_terms(NAME, t1, p1, w)?.entropy(p1, w);
    check_pressure(NAME, "outlet pressure", p2.value())?;
    let guess = t1.value() * math::exp(0.2857 * math::ln(p2.value() / p1.value()));
    let (p, x, target) = (Dual::constant(p2.value()), Dual::constant(w.value()), s1.value());
    let root = rising_root((T_MIN, T_MAX), guess, |t| Ok(Terms::at(t).entropy(p, x) - target))?;
    let Some(root) = root else {
        let valid = "such that the outlet is within 150…1000 K";
        return Err(DomainError { formula: NAME, argument: "outlet pressure", value: p2.value(), valid });
    };
    let outlet = Terms::at(R::of(root.x));
    check_series(NAME, &outlet, p2, w)?;
    finished(NAME, root.with(outlet.entropy(p2, w) - s1))
}

/// Pressure after a change at constant entropy from (t1, p1) to the temperature t2.
///
/// ```text
/// p2: s(T2, p2, w) = s(T1, p1, w)
/// ```
/// * Units: K, Pa absolute, kg/kg in; Pa out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air); both
///   ends.
/// * Outside: [`DomainError`].
/// * Source: as [`temperature`], by Newton's method on ln p.
///
/// ```
/// let p2 = thermo::isentropic::pressure(300.0, 110e3, 473.8, 0.0)?;
/// assert!((p2 / 550e3 - 1.0).abs() < 1e-3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn pressure<R: Real>(t1: R, p1: R, t2: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "isentropic pressure";
    let from = gas_terms(NAME, t1, p1, w)?;
    check_temperature(NAME, "outlet temperature", t2.value())?;
    // n R ln p + n p dB/dT is the entropy that the pressure takes away, at either end; the mixing is the same.
    let to = Terms::at(t2);
    let slope = |at: &Terms<R>| moles(w) * at.virials.mixture(Of::Slope, mole_fraction(w)) / at.t;
    let ideal = DRY_AIR.entropy(t2, to.ln_t) - DRY_AIR.entropy(t1, from.ln_t)
        + w * (VAPOUR.entropy(t2, to.ln_t) - VAPOUR.entropy(t1, from.ln_t));
    let (k, a) = (moles(w) * MOLAR_GAS_CONSTANT, slope(&to));
    let taken = ideal + p1 * slope(&from);
    // q = ln(p2/p1): k q + a p1 e^q = taken
    let mut q = taken.value() / k.value();
    for _ in 0..30 {
        let real = a.value() * p1.value() * math::exp(q);
        let step = (taken.value() - k.value() * q - real) / (k.value() + real);
        q += step;
        // what remains is the square, and the real-gas term is a hundredth
        if step.abs() <= 1e-7 {
            break;
        }
    }
    let p2 = p1.value() * math::exp(q);
    if !(100.0..=2e6).contains(&p2) {
        let valid = "such that the outlet pressure is within 100 Pa…2 MPa";
        return Err(DomainError { formula: NAME, argument: "outlet temperature", value: t2.value(), valid });
    }
    check_series(NAME, &to, R::of(p2), w)?;
    let residual = p1 * (a * math::exp(q)) + k * q - taken;
    let q = R::at_root(q, residual, k.value() + a.value() * p2);
    finished(NAME, p1 * q.exp())
}

/// Temperature ratio of an isentropic change with constant heat capacity, or of a polytropic one with its exponent.
///
/// ```text
/// T2/T1 = (p2/p1)^((n − 1)/n)
/// ```
/// * Units: dimensionless.
/// * Range: pressure ratio above 0, exponent above 1; computed as e^(ln π (n − 1)/n), good to a few units of the last
///   place for ratios up to 100; n = γ for an isentropic change. For air between −40 °C and 60 °C
///   γ = 1.4 is good to 0.1 %, at 200 °C the outlet of a compression by 5 comes out 1.35 K high: see [`temperature`].
/// * Outside: [`DomainError`].
/// * Source: definition; the textbook's relation.
///
/// ```
/// assert!((thermo::isentropic::temperature_ratio(4.0, 1.4)? - 1.485_99).abs() < 1e-5);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn temperature_ratio<R: Real>(pressure_ratio: R, exponent: R) -> Result<R, DomainError> {
    const NAME: &str = "temperature ratio with constant exponent";
    check(NAME, "pressure ratio", pressure_ratio.value(), "above 0", |x| x > 0.0)?;
    check(NAME, "exponent", exponent.value(), "above 1 (air: 1.4)", |x| x > 1.0)?;
    finished(NAME, (pressure_ratio.ln() * ((exponent - 1.0) / exponent)).exp())
}

/// Isentropic efficiency of a compression from temperatures alone, with constant heat capacity.
///
/// ```text
/// η = (T1 (p2/p1)^((γ−1)/γ) − T1)/(T2 − T1)
/// ```
/// * Units: K, Pa absolute in; dimensionless out.
/// * Range: p2 above p1, T2 above T1. 0.9 points high at 200 °C: [`compressor`](crate::machine::compressor) is better.
/// * Outside: [`DomainError`].
/// * Source: the textbook's relation.
///
/// ```
/// let eta = thermo::isentropic::compression_efficiency(293.0, 363.0, 2.0, 1.4)?;
/// assert!((eta - 0.916_73).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn compression_efficiency<R: Real>(t1: R, t2: R, pressure_ratio: R, gamma: R) -> Result<R, DomainError> {
    const NAME: &str = "compression efficiency with constant heat capacity";
    let (t1, t2) = (rising(NAME, "inlet temperature", t1, 0.0)?, rising(NAME, "outlet temperature", t2, t1.value())?);
    let ratio = temperature_ratio(rising(NAME, "pressure ratio", pressure_ratio, 1.0)?, gamma)?;
    finished(NAME, t1 * (ratio - 1.0) / (t2 - t1))
}

/// Isentropic efficiency of an expansion from temperatures alone, with constant heat capacity.
///
/// ```text
/// η = (T1 − T2)/(T1 − T1 (p1/p2)^(−(γ−1)/γ))
/// ```
/// * Units: K, Pa absolute in (expansion ratio p1/p2); dimensionless out.
/// * Range: expansion ratio above 1; dry air: with condensation it gives 0.55 for a machine of 0.80.
/// * Outside: [`DomainError`].
/// * Source: the textbook's relation.
///
/// ```
/// let eta = thermo::isentropic::expansion_efficiency(308.0, 273.0, 2.0, 1.4)?;
/// assert!((eta - 0.632_49).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn expansion_efficiency<R: Real>(t1: R, t2: R, expansion_ratio: R, gamma: R) -> Result<R, DomainError> {
    const NAME: &str = "expansion efficiency with constant heat capacity";
    let (t1, t2) = (rising(NAME, "inlet temperature", t1, 0.0)?, rising(NAME, "outlet temperature", t2, 0.0)?);
    let ratio = temperature_ratio(rising(NAME, "expansion ratio", expansion_ratio, 1.0)?, gamma)?;
    finished(NAME, (t1 - t2) / (t1 - t1 / ratio))
}

/// The number, where it is above a bound.
fn rising<R: Real>(formula: &'static str, argument: &'static str, x: R, bound: f64) -> Result<R, DomainError> {
    let valid = "above 0, a pressure ratio above 1, the outlet of a compression warmer than its inlet";
    check(formula, argument, x.value(), valid, |x| x > bound).map(|_| x)
}
