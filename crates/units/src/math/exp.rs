//! eˣ and ln x inlined into their callers: the two that formulas wait for. Basic operations alone, so the bits are the
//! same everywhere.

/// 2^52·1.5: a number added to it is rounded to a whole one, which then stands in the lowest bits.
const ROUNDS: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts, as in FDLIBM (Sun Microsystems 1993): the first times any exponent of two is exact.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// x = k ln 2/32 + r; eʳ − 1 by its Taylor series to r⁶, which leaves out 4e-18, times 2^(k/32).
#[inline]
pub(super) fn exp(x: f64) -> f64 {
    // Not NaN either.
    if !(-708.0..=708.0).contains(&x) {
        return libm::exp(x);
    }
    let shifted = x * (32.0 * std::f64::consts::LOG2_E) + ROUNDS;
    let (k, bits) = (shifted - ROUNDS, shifted.to_bits());
    let r = (x - k * (LN_2_HIGH / 32.0)) - k * (LN_2_LOW / 32.0);
    let z = r * r;
    let tail = (1.0 / 24.0 + r * (1.0 / 120.0)) + z * (1.0 / 720.0);
    let less_one = r + z * ((0.5 + r * (1.0 / 6.0)) + z * tail);
    let root = ROOTS[(bits & 31) as usize];
    f64::from_bits((root + root * less_one).to_bits().wrapping_add((bits >> 5) << 52))
}

/// ln x as FDLIBM has it, to the bit what `libm::log` gives.
#[inline]
pub(super) fn ln(x: f64) -> f64 {
    // Normal numbers.
    if !(f64::MIN_POSITIVE..=f64::MAX).contains(&x) {
        return libm::log(x);
    }
    // x = 2ᵏ m, m within √½…√2
    const ONE_OVER_ROOT: u64 = (0x3ff0_0000 - 0x3fe6_a09e) << 32;
    let bits = x.to_bits().wrapping_add(ONE_OVER_ROOT);
    let k = ((bits >> 52) as i32 - 0x3ff) as f64;
    let m = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) + (0x3fe6_a09e << 32));
    let f = m - 1.0;
    let half = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let [l1, l2, l3, l4, l5, l6, l7] = LN_SERIES;
    let r = z * (l1 + w * (l3 + w * (l5 + w * l7))) + w * (l2 + w * (l4 + w * l6));
    s * (half + r) + k * LN_2_LOW - half + f + k * LN_2_HIGH
}

/// ln((1 + s)/(1 − s))/s − 2 over the powers of s².
const LN_SERIES: [f64; 7] = [
    6.666_666_666_666_735e-1,
    3.999_999_999_940_942e-1,
    2.857_142_874_366_239e-1,
    2.222_219_843_214_978_4e-1,
    1.818_357_216_161_805e-1,
    1.531_383_769_920_937_3e-1,
    1.479_819_860_511_658_6e-1,
];

/// 2^(j/32).
static ROOTS: [f64; 32] = [
    1.0,
    1.021_897_148_654_116_6,
    1.044_273_782_427_413_8,
    1.067_140_400_676_823_7,
    1.090_507_732_665_257_7,
    1.114_386_742_595_892_4,
    1.138_788_634_756_691_6,
    1.163_724_858_777_577_5,
    1.189_207_115_002_721,
    1.215_247_359_980_469,
    1.241_857_812_073_484,
    1.269_050_957_191_733_2,
    1.296_839_554_651_009_6,
    1.325_236_643_159_741_3,
    1.354_255_546_936_892_7,
    1.383_909_881_963_832,
    std::f64::consts::SQRT_2,
    1.445_180_806_977_046_7,
    1.476_826_145_939_499_3,
    1.509_164_427_593_422_8,
    1.542_210_825_407_940_7,
    1.575_980_845_107_886_5,
    1.610_490_331_949_254_3,
    1.645_755_478_153_965,
    1.681_792_830_507_429,
    1.718_619_298_122_478,
    1.756_252_160_373_299_5,
    1.794_709_075_003_107_2,
    1.834_008_086_409_342_4,
    1.874_167_634_110_3,
    1.915_206_561_397_147_4,
    1.957_144_124_175_400_2,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers of every size.
    fn numbers() -> impl Iterator<Item = f64> {
        let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
        (0..200_000).map(move |i| {
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            let share = (seed >> 11) as f64 / (1u64 << 53) as f64 - 0.5;
            share * [1400.0, 20.0, 1.0, 1e-3, 1e-12][i % 5]
        })
    }

    fn units_apart(a: f64, b: f64) -> u64 {
        a.to_bits().abs_diff(b.to_bits())
    }

    /// `libm` is within one unit in the last place itself.
    #[test]
    fn exp_is_libm_s_to_one_unit() {
        let mut apart = [0; 3];
        for x in numbers() {
            apart[units_apart(exp(x), libm::exp(x)).min(2) as usize] += 1;
        }
        assert!(apart[2] == 0 && apart[1] < 40_000, "{apart:?}");
        for x in [710.0, -746.0, 709.7, -745.0, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, 708.0, -708.0, f64::NAN] {
            assert!(exp(x).to_bits() == libm::exp(x).to_bits() || units_apart(exp(x), libm::exp(x)) <= 1, "{x}");
        }
        assert_eq!(exp(0.0), 1.0);
    }

    #[test]
    fn ln_has_the_bits_of_libm() {
        for x in numbers() {
            for x in [libm::exp(x), 1.0 + x, f64::from_bits(x.to_bits() & (u64::MAX >> 1))] {
                assert!(ln(x).to_bits() == libm::log(x).to_bits() || (x < 0.0 && ln(x).is_nan()), "{x}");
            }
        }
        assert!(ln(0.0) == f64::NEG_INFINITY && ln(-1.0).is_nan() && ln(f64::NAN).is_nan());
        assert!(ln(f64::INFINITY) == f64::INFINITY && ln(1.0) == 0.0);
        assert_eq!(ln(f64::from_bits(1)), libm::log(f64::from_bits(1)));
    }
}
