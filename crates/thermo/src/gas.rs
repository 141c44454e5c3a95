//! Ideal-gas properties of dry air and of water vapour: heat capacity, enthalpy and entropy from one set of
//! coefficients, so that they belong together.
//!
//! ```text
//! cp/R = a1 T⁻² + a2 T⁻¹ + a3 + a4 T + a5 T² + a6 T³ + a7 T⁴
//! h/RT = −a1 T⁻² + a2 T⁻¹ ln T + a3 + a4 T/2 + a5 T²/3 + a6 T³/4 + a7 T⁴/5 + b1 T⁻¹
//! s/R  = −a1 T⁻²/2 − a2 T⁻¹ + a3 ln T + a4 T + a5 T²/2 + a6 T³/3 + a7 T⁴/4 + b2
//! ```
//! * Source: B.J. McBride, M.J. Zehe, S. Gordon, "NASA Glenn Coefficients for Calculating Thermodynamic Properties of
//!   Individual Species", NASA/TP-2002-211556: N2 \[tpis78\], O2 \[tpis89\], Ar, CO2 \[g 9/99\], H2O \[g 8/89\]. The
//!   figures were taken from the data files of two packages that agree: `airNASA9.yaml` of Cantera 3.2.0 (N2, O2) and
//!   `thermo.inp`, as shipped with the program CEA (all five).
//! * Dry air: N2, O2, Ar and CO2 in the proportions of ISO 2533:1975 (by volume 0.780 84, 0.209 476, 0.009 34,
//!   0.000 314; from memory), brought to a sum of 1, with that standard's gas constant.
//! * Range of the source: 200…1000 K. Used from 150 K: there the heat capacity of air is 0.13 % above that of the
//!   equation of state of Lemmon et al. (2000), at 173 K 0.02 %; between 200 K and 600 K they agree within 0.02 %.
//! * Zero of enthalpy and entropy: dry air (real) at 273.15 K and 101 325 Pa; saturated liquid water at 273.16 K.

use units::Real;

/// Molar gas constant, J/(mol K), exact since the SI of 2019.
pub const MOLAR_GAS_CONSTANT: f64 = 8.314_462_618;

/// Gas constant of dry air, J/(kg K): ISO 2533:1975.
pub const DRY_AIR_GAS_CONSTANT: f64 = 287.052_87;

/// Gas constant of water vapour, J/(kg K), from its molar mass of 18.015 268 g/mol (IAPWS R6-95).
pub const VAPOUR_GAS_CONSTANT: f64 = MOLAR_GAS_CONSTANT / MOLAR_MASS_WATER;

/// Molar mass of water, kg/mol.
pub(crate) const MOLAR_MASS_WATER: f64 = 18.015_268e-3;

/// Molar mass of dry air, kg/mol, that belongs to the two constants above.
pub(crate) const MOLAR_MASS_AIR: f64 = MOLAR_GAS_CONSTANT / DRY_AIR_GAS_CONSTANT;

/// Mass of water over mass of dry air in a mixture of one mole each.
pub(crate) const EPSILON: f64 = MOLAR_MASS_WATER / MOLAR_MASS_AIR;

/// Pressure of the entropy's zero, Pa.
pub(crate) const REFERENCE_PRESSURE: f64 = 101_325.0;

const N2: [f64; 9] = [
    2.210_371_497e4,
    -3.818_461_82e2,
    6.082_738_36,
    -8.530_914_41e-3,
    1.384_646_189e-5,
    -9.625_793_62e-9,
    2.519_705_809e-12,
    7.108_460_86e2,
    -1.076_003_744e1,
];
const O2: [f64; 9] = [
    -3.425_563_42e4,
    4.847_000_97e2,
    1.119_010_961,
    4.293_889_24e-3,
    -6.836_300_52e-7,
    -2.023_372_7e-9,
    1.039_040_018e-12,
    -3.391_454_87e3,
    1.849_699_47e1,
];
const AR: [f64; 9] = [0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0, -7.453_75e2, 4.379_674_91];
const CO2: [f64; 9] = [
    4.943_650_54e4,
    -6.264_116_01e2,
    5.301_725_24,
    2.503_813_816e-3,
    -2.127_308_728e-7,
    -7.689_988_78e-10,
    2.849_677_801e-13,
    -4.528_198_46e4,
    -7.048_279_44,
];
const H2O: [f64; 9] = [
    -3.947_960_83e4,
    5.755_731_02e2,
    9.317_826_53e-1,
    7.222_712_86e-3,
    -7.342_557_37e-6,
    4.955_043_49e-9,
    -1.336_933_246e-12,
    -3.303_974_31e4,
    1.724_205_775e1,
];

/// Dry air. The last two arguments put the zero of [`Terms`](crate::humid_air)' enthalpy and entropy, real-gas term
/// included, to 273.15 K and 101 325 Pa.
pub(crate) const DRY_AIR: IdealGas =
    IdealGas::mixture(&[(0.780_84, N2), (0.209_476, O2), (0.009_34, AR), (0.000_314, CO2)], DRY_AIR_GAS_CONSTANT)
        .shifted(29_649.031_567, -6_612.717_902_343);

/// Water vapour: saturated vapour at 273.16 K has the enthalpy 2 500 920 J/kg (IAPWS R6-95: 2500.9 kJ/kg) and the
/// entropy 2 500 920 J/kg / 273.16 K.
pub(crate) const VAPOUR: IdealGas =
    IdealGas::mixture(&[(1.0, H2O)], VAPOUR_GAS_CONSTANT).shifted(15_971_169.926_049, -3_520.151_015_935);

/// An ideal gas: coefficients a1…a7 and integration constants times its gas constant.
pub(crate) struct IdealGas {
    a: [f64; 7],
    h0: f64,
    s0: f64,
}

impl IdealGas {
    const fn mixture(parts: &[(f64, [f64; 9])], gas_constant: f64) -> Self {
        let mut sum = [0.0; 9];
        let mut total = 0.0;
        let mut i = 0;
        while i < parts.len() {
            let mut k = 0;
            while k < 9 {
                sum[k] += parts[i].0 * parts[i].1[k];
                k += 1;
            }
            total += parts[i].0;
            i += 1;
        }
        let mut a = [0.0; 7];
        let mut k = 0;
        while k < 7 {
            a[k] = sum[k] / total * gas_constant;
            k += 1;
        }
        Self { a, h0: sum[7] / total * gas_constant, s0: sum[8] / total * gas_constant }
    }

    const fn shifted(self, enthalpy: f64, entropy: f64) -> Self {
        Self { a: self.a, h0: self.h0 + enthalpy, s0: self.s0 + entropy }
    }

    /// J/(kg K).
    #[inline]
    pub(crate) fn heat_capacity<R: Real>(&self, t: R) -> R {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let x = t.value();
        let u = 1.0 / x;
        let slope = (-2.0 * a1 * u - a2) * u * u + (((4.0 * a7 * x + 3.0 * a6) * x + 2.0 * a5) * x + a4);
        t.chain((a1 * u + a2) * u + ((((a7 * x + a6) * x + a5) * x + a4) * x + a3), || slope)
    }

    /// J/kg.
    #[inline]
    pub(crate) fn enthalpy<R: Real>(&self, t: R, ln_t: f64) -> R {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let x = t.value();
        let series = ((((a7 / 5.0 * x + a6 / 4.0) * x + a5 / 3.0) * x + a4 / 2.0) * x + a3) * x;
        t.chain(a2 * ln_t - a1 / x + series + self.h0, || self.heat_capacity(x))
    }

    /// J/(kg K), at the reference pressure.
    #[inline]
    pub(crate) fn entropy<R: Real>(&self, t: R, ln_t: f64) -> R {
        let [a1, a2, a3, a4, a5, a6, a7] = self.a;
        let x = t.value();
        let u = 1.0 / x;
        let series = (((a7 / 4.0 * x + a6 / 3.0) * x + a5 / 2.0) * x + a4) * x;
        t.chain(a3 * ln_t + (-a1 / 2.0 * u - a2) * u + series + self.s0, || self.heat_capacity(x) * u)
    }
}
