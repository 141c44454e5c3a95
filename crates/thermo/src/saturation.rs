//! Water and ice in equilibrium with their pure vapour: pressure, enthalpy, specific volume.
//!
//! * Source: R.W. Hyland, A. Wexler, "Formulations for the thermodynamic properties of the saturated phases of H2O from
//!   173.15 K to 473.15 K", ASHRAE Trans. 89(2A), 500–519 (1983), equations 2, 3, 5–11, 17, 18; figures as
//!   in the packages Psychro.jl and PsychroLib 2.5.0, the paper's own tables are met (see the tests).
//! * Ranges: over ice 173.15…273.16 K, over water 273.15…473.15 K.
//! * Beyond: ice is carried on to 150 K (there within 0.1 % of Murphy & Koop, Q. J. R. Meteorol. Soc. 131, 1539, 2005);
//!   water that has not frozen to 233.15 K (0.10 % above Murphy & Koop at 253 K, 0.25 % at 243 K, 0.73 % at 233 K).
//! * The curves meet at 273.16 K: below it, ice is stable. The fall of the melting point with pressure (0.007 K per
//!   bar) and with dissolved air (0.002 K) is left out.

use crate::domain::{DomainError, check};
use units::{Real, math};

/// Temperature at which water, ice and vapour meet, K.
pub const TRIPLE_POINT: f64 = 273.16;

/// Lowest temperature of the curve over ice, K.
pub(crate) const ICE_MIN: f64 = 150.0;
/// Lowest temperature of water that has not frozen, K.
pub(crate) const WATER_MIN: f64 = 233.15;
/// Highest temperature of the curve over water, K.
pub(crate) const WATER_MAX: f64 = 473.15;

/// What stands in equilibrium with the vapour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Liquid water.
    Water,
    /// Ice.
    Ice,
}

/// What condenses below 273.16 K.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Condensate {
    /// Ice below 273.16 K, water above: the equilibrium. Its dew point below 273.16 K is the frost point.
    Equilibrium,
    /// Water that has not frozen, down to 233.15 K: a mirror or a droplet that stayed liquid.
    Supercooled,
}

impl Condensate {
    /// What condenses at this temperature.
    pub fn phase(self, t: f64) -> Phase {
        if self == Condensate::Equilibrium && t < TRIPLE_POINT { Phase::Ice } else { Phase::Water }
    }

    /// The coldest condensate, K.
    pub(crate) fn coldest(self) -> f64 {
        if self == Condensate::Equilibrium { ICE_MIN } else { WATER_MIN }
    }
}

/// Pressure of saturated vapour.
///
/// ```text
/// over water: ln(p/Pa) = −5800.2206/T + 1.3914993 − 0.048640239 T + 4.1764768e−5 T² − 1.4452093e−8 T³ + 6.5459673 ln T
/// over ice:   ln(p/Pa) = −5674.5359/T + 6.3925247 − 0.009677843 T + 6.2215701e−7 T² + 2.0747825e−9 T³
///                        − 9.484024e−13 T⁴ + 4.1635019 ln T
/// ```
/// * Units: K in, Pa out.
/// * Range: over water 233.15…473.15 K (source: from 273.15 K), over ice 150…273.16 K (source: from 173.15 K).
/// * Outside: [`DomainError`].
/// * Source: Hyland & Wexler (1983), equations 17 and 18; stated there within 300 ppm of the best data, see the module.
///
/// ```
/// use thermo::saturation::{Phase, saturation_pressure};
/// assert!((saturation_pressure(298.15, Phase::Water)? - 3169.2).abs() < 0.1);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn saturation_pressure<R: Real>(t: R, phase: Phase) -> Result<R, DomainError> {
    in_range("saturation pressure", t.value(), phase)?;
    Ok(Curve::at(t, math::ln(t.value()), phase).ln_p.exp())
}

/// Temperature at which the vapour is saturated: the inverse of [`saturation_pressure`].
///
/// * Units: Pa in, K out.
/// * Range: the pressures of that function: over water 19 Pa…1.55 MPa, over ice 1 µPa…611.66 Pa.
/// * Outside: [`DomainError`].
/// * Source: as there; Newton's method on ln p, started from Magnus' formula.
///
/// ```
/// use thermo::saturation::{Phase, saturation_temperature};
/// assert!((saturation_temperature(101_325.0, Phase::Water)? - 373.12).abs() < 0.02);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn saturation_temperature<R: Real>(p: R, phase: Phase) -> Result<R, DomainError> {
    const NAME: &str = "saturation temperature";
    const VALID: &str = "above 0 Pa and on the saturation curve: over water 19 Pa…1.55 MPa, over ice 1 µPa…611 Pa";
    let pressure = check(NAME, "vapour pressure", p.value(), VALID, |x| x > 0.0)?;
    let ln_p = math::ln(pressure);
    let root = crate::root::rising_root(bounds(phase), magnus(pressure, phase), |t| {
        Ok(Curve::at(t, math::ln(t.value()), phase).ln_p - ln_p)
    })?;
    match root {
        Some(root) => {
            let t = R::of(root.x);
            Ok(root.with(Curve::at(t, math::ln(t.value()), phase).ln_p - p.ln()))
        }
        None => Err(DomainError { formula: NAME, argument: "vapour pressure", value: pressure, valid: VALID }),
    }
}

/// Enthalpy of saturated water or ice, above that of water at 273.16 K.
///
/// * Units: K in, J/kg out.
/// * Range: water 233.15…473.15 K (source: from 273.15 K; carried on below, its heat capacity rises to 5.5 kJ/(kg K)
///   at 233 K, as measured ones do), ice 150…273.16 K (source: from 173.15 K).
/// * Outside: [`DomainError`].
/// * Source: Hyland & Wexler (1983), equations 3 and 6–11.
///
/// ```
/// use thermo::saturation::{Phase, condensed_enthalpy};
/// assert!((condensed_enthalpy(323.15, Phase::Water)? - 209_330.0).abs() < 5.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn condensed_enthalpy<R: Real>(t: R, phase: Phase) -> Result<R, DomainError> {
    in_range("enthalpy of condensed water", t.value(), phase)?;
    let curve = Curve::at(t, math::ln(t.value()), phase);
    Ok(curve.enthalpy(t, curve.ln_p.exp()))
}

pub(crate) fn bounds(phase: Phase) -> (f64, f64) {
    match phase {
        Phase::Water => (WATER_MIN, WATER_MAX),
        Phase::Ice => (ICE_MIN, TRIPLE_POINT),
    }
}

#[inline(always)]
pub(crate) fn in_range(formula: &'static str, t: f64, phase: Phase) -> Result<(), DomainError> {
    let valid = match phase {
        Phase::Water => "within 233.15…473.15 K (over water)",
        Phase::Ice => "within 150…273.16 K (over ice)",
    };
    let (low, high) = bounds(phase);
    check(formula, "temperature", t, valid, |t| t >= low && t <= high).map(|_| ())
}

/// First guess of the saturation temperature: Magnus' formula, its constants from memory; no result depends on it.
pub(crate) fn magnus(p: f64, phase: Phase) -> f64 {
    let (a, b) = match phase {
        Phase::Water => (17.625, 243.04),
        Phase::Ice => (22.46, 272.62),
    };
    let l = math::ln(p / 611.2);
    273.15 + b * l / (a - l)
}

/// The saturation curve at one temperature.
#[derive(Clone, Copy)]
pub(crate) struct Curve<R> {
    pub(crate) ln_p: R,
    /// d ln p/dT.
    slope: R,
    /// m³/kg.
    pub(crate) volume: R,
    pub(crate) phase: Phase,
}

impl<R: Real> Curve<R> {
    #[inline(always)]
    pub(crate) fn at(t: R, ln_t: f64, phase: Phase) -> Self {
        let (x, u) = (t.value(), 1.0 / t.value());
        match phase {
            Phase::Water => {
                let [a, b, c, d, e, l] = [
                    -0.580_022_06e4,
                    0.139_149_93e1,
                    -0.486_402_39e-1,
                    0.417_647_68e-4,
                    -0.144_520_93e-7,
                    0.654_596_73e1,
                ];
                let ln_p = a * u + (((e * x + d) * x + c) * x + b) + l * ln_t;
                let slope = (l - a * u) * u + ((3.0 * e * x + 2.0 * d) * x + c);
                let curve = (2.0 * a * u - l) * u * u + (6.0 * e * x + 2.0 * d);
                Self { ln_p: t.chain(ln_p, || slope), slope: t.chain(slope, || curve), volume: water_volume(t), phase }
            }
            Phase::Ice => {
                let [a, b, c, d, e, f, l] = [
                    -0.567_453_59e4,
                    0.639_252_47e1,
                    -0.967_784_3e-2,
                    0.622_157_01e-6,
                    0.207_478_25e-8,
                    -0.948_402_4e-12,
                    0.416_350_19e1,
                ];
                let ln_p = a * u + ((((f * x + e) * x + d) * x + c) * x + b) + l * ln_t;
                let slope = (l - a * u) * u + (((4.0 * f * x + 3.0 * e) * x + 2.0 * d) * x + c);
                let curve = (2.0 * a * u - l) * u * u + ((12.0 * f * x + 6.0 * e) * x + 2.0 * d);
                let volume = (0.371_611e-9 * x - 0.249_936e-7) * x + 0.107_000_3e-2;
                let volume = t.chain(volume, || 2.0 * 0.371_611e-9 * x - 0.249_936e-7);
                Self { ln_p: t.chain(ln_p, || slope), slope: t.chain(slope, || curve), volume, phase }
            }
        }
    }

    /// J/kg, of the condensed phase under its own vapour pressure p.
    #[inline]
    pub(crate) fn enthalpy(&self, t: R, p: R) -> R {
        let x = t.value();
        match self.phase {
            Phase::Ice => {
                let [a, b, c] = [0.108_343_7e-2, 0.291_058_3e1, 0.274_292e3];
                let value = ((a * x + b) * x + c) * x - 0.647_595e6;
                t.chain(value, || (3.0 * a * x + 2.0 * b) * x + c) + p * 0.107e-2
            }
            // T·v·dp/dT less its value at 273.16 K
            Phase::Water => water_alpha(t) + t * self.volume * p * self.slope - BETA_ZERO,
        }
    }
}

/// T·v·dp/dT of water at 273.16 K, J/kg.
const BETA_ZERO: f64 = 12.139_157_755_9;

#[inline(always)]
fn water_volume<R: Real>(t: R) -> R {
    let x = t.value();
    let [a, b, c, d, e, f] = [
        -0.212_037_87e-9,
        0.373_497_936e-6,
        -0.291_449_235_1e-3,
        0.106_828_765_7,
        -0.140_758_895e1,
        -0.240_336_020_1e4,
    ];
    let dense = ((((a * x + b) * x + c) * x + d) * x + e) * x + f;
    let dense_slope = (((5.0 * a * x + 4.0 * b) * x + 3.0 * c) * x + 2.0 * d) * x + e;
    let volume = (0.161_978_5e-1 * x - 0.342_444_272_8e1) / dense;
    t.chain(volume, || (0.161_978_5e-1 - volume * dense_slope) / dense)
}

#[inline]
fn water_alpha<R: Real>(t: R) -> R {
    let x = t.value();
    if x < 373.125 {
        const PER_KELVIN: f64 = -0.036 * std::f64::consts::LN_10;
        let tail = -0.563_473e3 * math::exp((x - 273.16) * PER_KELVIN);
        let [a, b, c, d] = [-0.100_523_0e-6, 0.145_113_3e-3, -0.813_486_5e-1, 0.419_304_63e4];
        let value = (((a * x + b) * x + c) * x + d) * x - 0.114_113_80e7 + tail;
        return t.chain(value, || ((4.0 * a * x + 3.0 * b) * x + 2.0 * c) * x + d + tail * PER_KELVIN);
    }
    let [a, b, c, d] = [-0.711_138_223_4e-7, 0.105_555_302e-3, -0.690_889_416_3e-1, 0.419_432_567_7e4];
    let value = (((a * x + b) * x + c) * x + d) * x - 0.114_183_712_1e7;
    let low = t.chain(value, || ((4.0 * a * x + 3.0 * b) * x + 2.0 * c) * x + d);
    if x > 403.128 { low - (t - 403.128).powf(3.1) * 0.6059e-3 } else { low }
}

/// Magnus' formula: pressure in Pa and d ln p/dT, as rough as [`magnus`].
pub(crate) fn magnus_pressure(t: f64, phase: Phase) -> (f64, f64) {
    let (a, b) = match phase {
        Phase::Water => (17.625, 243.04),
        Phase::Ice => (22.46, 272.62),
    };
    let c = t - 273.15;
    (611.2 * math::exp(a * c / (b + c)), a * b / ((b + c) * (b + c)))
}
