//! Second virial coefficients of air, water and their pair: what is left of real-gas behaviour below some 2 MPa.
//!
//! * Air: the part linear in density of the equation of state of E.W. Lemmon, R.T. Jacobsen, S.G. Penoncello, D.G.
//!   Friend, J. Phys. Chem. Ref. Data 29, 331 (2000); 60…2000 K.
//! * Air with water: A.H. Harvey, P.H. Huang, Int. J. Thermophys. 28, 556 (2007), as in the IAPWS Guideline on a
//!   Virial Equation for the Fugacity of H2O in Humid Air (2015); 130…2000 K.
//! * Water: R.W. Hyland, A. Wexler, ASHRAE Trans. 89(2A), 500 (1983), B′ of saturated vapour; 173…473 K. At 523 K it is
//!   1.7 % above the coefficient of IAPWS-95, at 323 K 0.4 %.
//!
//! The figures of air are from memory and give CoolProp 8.0.0's coefficient to all its digits; those of the pair are as
//! in the package iapws 1.5.5, those of water as in the package Psychro.jl.

use units::{Real, math};

/// B in m³/mol, with T·dB/dT and T²·d²B/dT².
#[derive(Clone, Copy)]
pub(crate) struct Virial<R> {
    pub(crate) b: R,
    pub(crate) t_slope: R,
    pub(crate) t2_curve: R,
}

impl<R: Real> Virial<R> {
    /// B − T·dB/dT: what the enthalpy of one mole gains per Pa.
    #[inline]
    pub(crate) fn enthalpy(&self) -> R {
        self.b - self.t_slope
    }

    #[inline]
    fn weighted(self, weight: R) -> Self {
        Self { b: self.b * weight, t_slope: self.t_slope * weight, t2_curve: self.t2_curve * weight }
    }

    #[inline]
    fn plus(self, other: Self) -> Self {
        Self { b: self.b + other.b, t_slope: self.t_slope + other.t_slope, t2_curve: self.t2_curve + other.t2_curve }
    }
}

/// The three coefficients at one temperature.
#[derive(Clone, Copy)]
pub(crate) struct Virials<R> {
    pub(crate) air: Virial<R>,
    pub(crate) cross: Virial<R>,
    pub(crate) water: Virial<R>,
}

impl<R: Real> Virials<R> {
    #[inline]
    pub(crate) fn at(t: R, ln_t: f64) -> Self {
        Self { air: air(t, ln_t), cross: cross(t, ln_t), water: water(t) }
    }

    /// Of the mixture with the mole fraction x of water.
    #[inline]
    pub(crate) fn mixture(&self, x: R) -> Virial<R> {
        let dry = R::of(1.0) - x;
        self.air.weighted(dry * dry).plus(self.cross.weighted(x * dry * 2.0)).plus(self.water.weighted(x * x))
    }

    /// B_aa − 2 B_aw + B_ww.
    #[inline]
    pub(crate) fn excess(&self) -> R {
        self.air.b - self.cross.b * 2.0 + self.water.b
    }
}

impl<R: Real> Virial<R> {
    /// From B and its derivatives times powers of T, at the plain temperature.
    #[inline]
    fn chained(t: R, [b, t1, t2, t3]: [f64; 4]) -> Self {
        let u = 1.0 / t.value();
        Self {
            b: t.chain(b, || t1 * u),
            t_slope: t.chain(t1, || (t1 + t2) * u),
            t2_curve: t.chain(t2, || (2.0 * t2 + t3) * u),
        }
    }
}

/// A constant and terms n·(T/T*)^e.
#[inline]
fn powers<const K: usize>(ln_ratio: f64, constant: f64, terms: [(f64, f64); K]) -> [f64; 4] {
    let mut sum = [constant, 0.0, 0.0, 0.0];
    for (n, e) in terms {
        let term = n * math::exp(ln_ratio * e);
        sum[0] += term;
        sum[1] += term * e;
        sum[2] += term * (e * (e - 1.0));
        sum[3] += term * (e * (e - 1.0) * (e - 2.0));
    }
    sum
}

#[inline]
pub(crate) fn air<R: Real>(t: R, ln_t: f64) -> Virial<R> {
    const LN_REFERENCE: f64 = 4.887_572_344_192_089_5; // of 132.6312 K
    const V: f64 = 1.0 / 10_447.7; // m³/mol
    let terms = [
        (0.713_116_392_079 * V, -0.33),
        (-1.618_241_920_67 * V, -1.01),
        (-0.101_365_037_912 * V, -1.6),
        (-0.146_629_609_713 * V, -3.6),
        (0.014_828_789_197_8 * V, -3.5),
    ];
    Virial::chained(t, powers(ln_t - LN_REFERENCE, 0.118_160_747_229 * V, terms))
}

#[inline]
fn cross<R: Real>(t: R, ln_t: f64) -> Virial<R> {
    const LN_REFERENCE: f64 = 2.0 * std::f64::consts::LN_10; // of 100 K
    let terms = [(66.5687e-6, -0.237), (-238.834e-6, -1.048), (-176.755e-6, -3.183)];
    Virial::chained(t, powers(ln_t - LN_REFERENCE, 0.0, terms))
}

/// B_ww = R·T·B′, B′ = 0.70·10⁻⁸ − 0.147184·10⁻⁸ e^(1734.29/T) per Pa.
#[inline]
pub(crate) fn water<R: Real>(t: R) -> Virial<R> {
    const MOLAR: f64 = 8.314_41; // the source's gas constant
    const A: f64 = 0.70e-8 * MOLAR;
    const B: f64 = 0.147_184e-8 * MOLAR;
    const C: f64 = 1734.29;
    let x = t.value();
    let u = C / x;
    let e = B * math::exp(u);
    let linear = x * (A - e);
    let curve = -C * u * e;
    Virial::chained(t, [linear, linear + C * e, curve, -curve * (u + 3.0)])
}
