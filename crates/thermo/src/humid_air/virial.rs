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
//!
//! The first two are sums of real powers of T. Here each is a polynomial in ln(T/400 K) over T², fitted to the
//! source's formula over 150…1000 K (tests/peers/virial_fit.py), because powers are dear. At 2 MPa it moves p B/(R T)
//! by 6e-15 at most, p (dB/dT)/R by 2e-12, p T (d²B/dT²)/R by 2e-10; the tests hold it against the formulas.

use units::{Real, math};

#[cfg(test)]
mod tests;

/// What is asked of B, m³/mol.
#[derive(Clone, Copy)]
pub(crate) enum Of {
    /// B itself.
    B,
    /// T·dB/dT.
    Slope,
    /// T²·d²B/dT².
    Curve,
    /// B − T·dB/dT: what the enthalpy of one mole gains per Pa.
    Enthalpy,
}

/// The three coefficients at one temperature.
#[derive(Clone, Copy)]
pub(crate) struct Virials<R> {
    t: R,
    /// ln(T/400 K).
    y: f64,
    /// 1734.29 K/T and B of e^(1734.29 K/T) over T, of water.
    water: (f64, f64),
}

impl<R: Real> Virials<R> {
    #[inline(always)]
    pub(crate) fn at(t: R, ln_t: f64) -> Self {
        Self { t, y: ln_t - LN_CENTRE, water: water_terms(t.value()) }
    }

    /// Of the mixture with the mole fraction x of water.
    #[inline(always)]
    pub(crate) fn mixture(&self, of: Of, x: R) -> R {
        let dry = R::of(1.0) - x;
        let (air, cross) = (AIR.at(of, self.t, self.y), CROSS.at(of, self.t, self.y));
        air * (dry * dry) + cross * (x * dry * 2.0) + self.water(of) * (x * x)
    }

    /// B_aa − 2 B_aw.
    #[inline(always)]
    pub(crate) fn dry_excess(&self) -> R {
        DRY_EXCESS.at(Of::B, self.t, self.y)
    }

    /// Of pure water vapour: B_ww = R·T·B′, B′ = 0.70·10⁻⁸ − 0.147184·10⁻⁸ e^(1734.29/T) per Pa.
    #[inline(always)]
    pub(crate) fn water(&self, of: Of) -> R {
        let (x, (u, e)) = (self.t.value(), self.water);
        let (b, slope) = (x * (A - e), x * (A - e) + C * e);
        let curve = -C * u * e;
        match of {
            Of::B => self.t.chain(b, || slope / x),
            Of::Slope => self.t.chain(slope, || (slope + curve) / x),
            Of::Curve => self.t.chain(curve, || -curve * (u + 1.0) / x),
            Of::Enthalpy => self.t.chain(-C * e, || -curve / x),
        }
    }

    /// The same without derivatives.
    #[inline(always)]
    pub(crate) fn plain(&self) -> Virials<f64> {
        Virials { t: self.t.value(), y: self.y, water: self.water }
    }
}

/// Of dry air.
#[inline(always)]
pub(crate) fn air<R: Real>(of: Of, t: R, ln_t: f64) -> R {
    AIR.at(of, t, ln_t - LN_CENTRE)
}

const A: f64 = 0.70e-8 * 8.314_41; // the source's gas constant
const C: f64 = 1734.29;

#[inline(always)]
fn water_terms(t: f64) -> (f64, f64) {
    let u = C / t;
    (u, 0.147_184e-8 * 8.314_41 * math::exp(u))
}

const TERMS: usize = 16;
type Series = [f64; TERMS];

/// For each of [`Of`]: its polynomial, and that of T times its derivative; T⁻² is left out.
struct Family([[Series; 2]; 4]);

impl Family {
    const fn new(b: Series) -> Self {
        let slope = rise(&b);
        let twice = rise(&slope);
        let (curve, enthalpy) = (sum(&twice, &slope, -1.0), sum(&b, &slope, -1.0));
        Self([[b, slope], [slope, twice], [curve, rise(&curve)], [enthalpy, rise(&enthalpy)]])
    }

    #[inline(always)]
    fn at<R: Real>(&self, of: Of, t: R, y: f64) -> R {
        let [value, rise] = &self.0[of as usize];
        let u = 1.0 / t.value();
        t.chain(value_at(value, y) * (u * u), || value_at(rise, y) * (u * u) * u)
    }
}

/// T·d/dT of T⁻²·P(ln T), again over T⁻².
const fn rise(of: &Series) -> Series {
    let mut rise = [0.0; TERMS];
    let mut i = 0;
    while i < TERMS {
        let slope = if i + 1 < TERMS { of[i + 1] * (i + 1) as f64 } else { 0.0 };
        rise[i] = slope - 2.0 * of[i];
        i += 1;
    }
    rise
}

const fn sum(a: &Series, b: &Series, share: f64) -> Series {
    let mut sum = *a;
    let mut i = 0;
    while i < TERMS {
        sum[i] += b[i] * share;
        i += 1;
    }
    sum
}

/// Even and odd powers side by side: the processor works at both.
#[inline(always)]
fn value_at(c: &Series, y: f64) -> f64 {
    let z = y * y;
    let mut sum = [c[TERMS - 2], c[TERMS - 1]];
    for [even, odd] in c[..TERMS - 2].as_chunks::<2>().0.iter().rev() {
        sum = [sum[0] * z + even, sum[1] * z + odd];
    }
    sum[1] * y + sum[0]
}

const LN_CENTRE: f64 = 5.991_464_547_107_982; // of 400 K

static AIR: Family = Family::new(AIR_FITTED);
static CROSS: Family = Family::new(CROSS_FITTED);
static DRY_EXCESS: Family = Family::new(sum(&AIR_FITTED, &CROSS_FITTED, -2.0));

/// B·T², m³ K²/mol, over powers of ln(T/400 K).
const AIR_FITTED: Series = [
    0.966_325_080_980_490_6,
    8.197_324_323_257_897,
    10.145_817_735_047_965,
    7.010_895_732_117_228,
    3.328_994_963_479_035_5,
    1.242_716_339_412_359_5,
    0.377_882_910_511_407_2,
    0.099_192_915_852_092_1,
    0.022_644_512_347_879_3,
    0.004_652_420_400_009_459,
    0.000_860_170_923_273_748,
    0.000_146_377_457_265_837,
    2.285_272_898_058_66e-05,
    3.346_792_586_009_821_6e-06,
    4.786_374_125_129_87e-07,
    5.735_085_351_487_820_6e-08,
];

const CROSS_FITTED: Series = [
    -1.612_873_767_586_315_2,
    5.415_611_088_486_729,
    7.626_906_893_466_025,
    5.812_650_940_364_849,
    2.752_847_514_255_198_5,
    1.036_759_028_464_919_7,
    0.309_256_619_078_670_6,
    0.079_508_535_932_340_47,
    0.017_567_868_319_086_268,
    0.003_465_509_945_446_409_4,
    0.000_611_000_482_831_270_1,
    9.816_667_930_781_233e-05,
    1.440_249_954_912_726_9e-05,
    1.960_621_109_855_125_2e-06,
    2.576_752_874_685_076_5e-07,
    2.851_833_216_993_522_8e-08,
];
