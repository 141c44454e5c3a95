//! Properties of humid air as a gas: all water is taken for vapour, also where it would condense, as far above
//! saturation as the range of [`humid_air`](crate::humid_air) reaches.

use super::terms::{Terms, mole_fraction, moles};
use super::virial::Of;
use super::{check_humidity, finished, gas_terms};
use crate::domain::DomainError;
use crate::gas::{DRY_AIR_GAS_CONSTANT, EPSILON, MOLAR_GAS_CONSTANT};
use units::Real;

/// Everything at one state, for the price of little more than one of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties<R> {
    /// kg/m³, moist air.
    pub density: R,
    /// J per kg of dry air.
    pub enthalpy: R,
    /// J/K per kg of dry air.
    pub entropy: R,
    /// At constant pressure, J/(kg K), moist air.
    pub heat_capacity: R,
    /// Ratio of the heat capacities at constant pressure and constant volume.
    pub heat_capacity_ratio: R,
    /// m/s.
    pub speed_of_sound: R,
}

/// All properties at one state; formulas at the functions below.
///
/// * Units, range, what happens outside, source: as at the functions below.
///
/// ```
/// let air = thermo::humid_air::properties::properties(313.15, 250_000.0, 0.004)?;
/// assert!((air.density - 2.776_00).abs() < 0.001 && (air.enthalpy - 50_234.0).abs() < 50.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn properties<R: Real>(t: R, p: R, w: R) -> Result<Properties<R>, DomainError> {
    const NAME: &str = "properties of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    let (density, heat_capacity, heat_capacity_ratio, speed_of_sound) = mechanical(&terms, p, w);
    Ok(Properties {
        density: finished(NAME, density)?,
        enthalpy: finished(NAME, terms.enthalpy(p, w))?,
        entropy: finished(NAME, terms.entropy(p, w))?,
        heat_capacity: finished(NAME, heat_capacity)?,
        heat_capacity_ratio: finished(NAME, heat_capacity_ratio)?,
        speed_of_sound: finished(NAME, speed_of_sound)?,
    })
}

/// Density of humid air.
///
/// ```text
/// ρ = (1 + w)/(n (R T/p + B)),  n = 1/M_a + w/M_w,  B = x_a² B_aa + 2 x_a x_w B_aw + x_w² B_ww
/// ```
/// * Units: K, Pa absolute, kg/kg in; kg/m³ out (mass of the moist air).
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air).
/// * Outside: [`DomainError`].
/// * Source: virial equation; coefficients as listed at [`humid_air`](crate::humid_air).
///
/// ```
/// assert!((thermo::humid_air::properties::density(273.15, 101_325.0, 0.0)? - 1.2931).abs() < 1e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn density<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "density of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, (w + 1.0) / terms.volume(p, w))
}

/// Enthalpy of humid air.
///
/// ```text
/// h = h°_a(T) + w h°_w(T) + n p (B − T dB/dT)
/// ```
/// * Units: K, Pa absolute, kg/kg in; J per kg of **dry air** out; zero for dry air at 0 °C and 101 325 Pa and for
///   liquid water at 0.01 °C.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air); all
///   water is vapour (else [`mixture`](super::mixture)).
/// * Outside: [`DomainError`].
/// * Source: NASA/TP-2002-211556 for h°; virial coefficients as listed at [`humid_air`](crate::humid_air).
///
/// ```
/// assert!((thermo::humid_air::properties::enthalpy(298.15, 101_325.0, 0.0)? - 25_148.0).abs() < 10.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn enthalpy<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "enthalpy of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, terms.enthalpy(p, w))
}

/// Entropy of humid air, mixing included.
///
/// ```text
/// s = s°_a − R_a ln(x_a p/p₀) + w (s°_w − R_w ln(x_w p/p₀)) − n p dB/dT
/// ```
/// * Units: K, Pa absolute, kg/kg in; J/K per kg of **dry air** out; zero for dry air at 0 °C and 101 325 Pa and for
///   liquid water at 0.01 °C.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air).
///   At w = 0 the slope by w is that at a trace of water (it is infinite).
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`].
///
/// ```
/// let s = thermo::humid_air::properties::entropy(473.15, 101_325.0, 0.0)?;
/// assert!((s - 559.7).abs() < 3.9 && s > 555.0); // printed 0.5597 kJ/(kg K) for 1 bar, Hyland & Wexler (1983)
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn entropy<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "entropy of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, terms.entropy(p, w))
}

/// Heat capacity of humid air at constant pressure.
///
/// ```text
/// cp = (cp°_a + w cp°_w − n p T d²B/dT²)/(1 + w)
/// ```
/// * Units: K, Pa absolute, kg/kg in; J/(kg K) of moist air out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air).
/// * Outside: [`DomainError`].
/// * Source: as [`enthalpy`].
///
/// ```
/// assert!((thermo::humid_air::properties::heat_capacity(400.0, 101_325.0, 0.0)? - 1014.1).abs() < 0.5);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn heat_capacity<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "heat capacity of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, terms.heat_capacity(p, w) / (w + 1.0))
}

/// Ratio of the heat capacities of humid air.
///
/// ```text
/// γ = cp/cv,  cp − cv = R (1 + p (dB/dT)/R)²
/// ```
/// * Units: K, Pa absolute, kg/kg in; dimensionless out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air).
///   It is not the exponent of a large expansion: that comes from entropy.
/// * Outside: [`DomainError`].
/// * Source: general thermodynamics on the virial equation; as [`enthalpy`].
///
/// ```
/// assert!((thermo::humid_air::properties::heat_capacity_ratio(288.15, 300e3, 0.0)? - 1.405_945).abs() < 0.001);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn heat_capacity_ratio<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "heat capacity ratio of humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, mechanical(&terms, p, w).2)
}

/// Speed of sound in humid air at rest, no condensation within the wave.
///
/// ```text
/// a² = γ R T Z²/M,  Z = p v/(R T)
/// ```
/// * Units: K, Pa absolute, kg/kg in; m/s out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10; the virial series' limits, see [`humid_air`](crate::humid_air);
///   low frequency: no relaxation.
/// * Outside: [`DomainError`].
/// * Source: a² = −v² γ (∂p/∂v)_T on the virial equation; as [`enthalpy`].
///
/// ```
/// assert!((thermo::humid_air::properties::speed_of_sound(288.15, 101_325.0, 0.0)? - 340.41).abs() < 0.05);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn speed_of_sound<R: Real>(t: R, p: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "speed of sound in humid air";
    let terms = gas_terms(NAME, t, p, w)?;
    finished(NAME, mechanical(&terms, p, w).3)
}

/// Gas constant of humid air.
///
/// ```text
/// R = R_a (1 + w/ε)/(1 + w),  ε = M_w/M_a = 0.621 97
/// ```
/// * Units: kg/kg in; J/(kg K) of moist air out.
/// * Range: w 0…10.
/// * Outside: [`DomainError`].
/// * Source: mixture of ideal gases; constants at [`gas`](crate::gas).
///
/// ```
/// assert!((thermo::humid_air::properties::gas_constant(0.02)? - 290.475).abs() < 0.01);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn gas_constant<R: Real>(w: R) -> Result<R, DomainError> {
    const NAME: &str = "gas constant of humid air";
    check_humidity(NAME, w.value())?;
    finished(NAME, (w / EPSILON + 1.0) * DRY_AIR_GAS_CONSTANT / (w + 1.0))
}

/// Density, heat capacity, its ratio, speed of sound.
#[inline]
fn mechanical<R: Real>(terms: &Terms<R>, p: R, w: R) -> (R, R, R, R) {
    let (n, mass) = (moles(w), w + 1.0);
    let x = mole_fraction(w);
    let (b, slope) = (terms.virials.mixture(Of::B, x), terms.virials.mixture(Of::Slope, x));
    let rt = terms.t * MOLAR_GAS_CONSTANT;
    let volume = n * (rt / p + b);
    let cp = terms.heat_capacity(p, w);
    let swell = p * slope / rt + 1.0;
    let gamma = cp / (cp - n * swell * swell * MOLAR_GAS_CONSTANT);
    let z = p * b / rt + 1.0;
    let sound = (gamma * rt * n / mass).sqrt() * z;
    (mass / volume, cp / mass, gamma, sound)
}
