//! The one door to transcendental functions.
//!
//! The standard library leaves the last bits of `exp`, `ln` and `powf` to the platform. Results here are promised to
//! the bit on any 64-bit machine, so these go to one pinned implementation in plain arithmetic (the crate `libm`,
//! version fixed exactly in the workspace; `exp` and `ln`, the most used, are our own in the same arithmetic). `sqrt`
//! is the exception: IEEE 754 asks for the correctly rounded result, so every conforming machine gives the same bits
//! and the processor's own instruction may be used. The four basic operations are exact in the same sense, and Rust
//! never fuses a product and a sum by itself.
//!
//! These are the raw functions: they answer NaN where they have no value. Whoever calls them with a number from
//! outside checks its range first.

mod exp;

/// √x; NaN for x < 0.
#[inline]
pub fn sqrt(x: f64) -> f64 {
    x.sqrt()
}

/// Cube root, of negative numbers too.
#[inline]
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// eˣ, within 1.1 units in the last place.
#[inline]
pub fn exp(x: f64) -> f64 {
    exp::exp(x)
}

/// eˣ − 1, exact to the last places for small x.
#[inline]
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}

/// Natural logarithm; −∞ at 0, NaN for x < 0.
#[inline]
pub fn ln(x: f64) -> f64 {
    exp::ln(x)
}

/// ln(1 + x), exact to the last places for small x; −∞ at −1, NaN below.
#[inline]
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// Logarithm to base 10; −∞ at 0, NaN for x < 0.
#[inline]
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// x to the power y, y any real number; NaN for x < 0 with y not whole.
#[inline]
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// x to a whole power by repeated squaring; 1 for n = 0, the reciprocal of the positive power for n < 0.
#[inline]
pub fn powi(x: f64, n: i32) -> f64 {
    let mut rest = n.unsigned_abs();
    let mut square = x;
    let mut product = 1.0;
    while rest > 0 {
        if rest & 1 == 1 {
            product *= square;
        }
        rest >>= 1;
        if rest > 0 {
            square *= square;
        }
    }
    if n < 0 { 1.0 / product } else { product }
}

/// Sine, x in rad.
#[inline]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine, x in rad.
#[inline]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Tangent, x in rad.
#[inline]
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Angle whose tangent is x, in −π/2…π/2 rad.
#[inline]
pub fn atan(x: f64) -> f64 {
    libm::atan(x)
}

/// Angle of the point (x, y) from the x axis, in −π…π rad.
#[inline]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Hyperbolic tangent.
#[inline]
pub fn tanh(x: f64) -> f64 {
    libm::tanh(x)
}

/// Complementary error function, 1 − erf(x): keeps its digits far out, where erf is 1.
#[inline]
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}

/// Natural logarithm of the gamma function's absolute value; +∞ at 0 and the negative whole numbers.
#[inline]
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bits are the promise: an exchange of the implementation must show here. This `exp(0.375)` is one unit in the
    /// last place above the correctly rounded one, which some platforms' own `exp` gives: the reason for this module.
    #[test]
    fn bits_are_pinned() {
        assert_eq!(exp(1.0), std::f64::consts::E);
        assert_eq!(exp(0.375).to_bits(), 0x3ff7_47a5_13db_ef6b);
        assert_eq!(ln(2.0), std::f64::consts::LN_2);
        assert_eq!(sqrt(2.0), std::f64::consts::SQRT_2);
        assert_eq!(powf(2.0, 0.5), std::f64::consts::SQRT_2);
    }

    #[test]
    fn powf_agrees_with_exp_of_ln() {
        for i in 1..200 {
            let x = f64::from(i) * 0.37;
            let y = powf(x, 0.2857);
            assert!((y - exp(0.2857 * ln(x))).abs() <= 4e-16 * y.abs() * 4.0, "{x}");
        }
    }

    #[test]
    fn whole_powers() {
        assert_eq!(powi(3.0, 0), 1.0);
        assert_eq!(powi(-3.0, 5), -243.0);
        assert_eq!(powi(2.0, -3), 0.125);
        assert_eq!(powi(1.0, i32::MIN), 1.0);
        assert_eq!(powi(0.0, -1), f64::INFINITY);
    }

    #[test]
    fn known_values_of_the_others() {
        assert_eq!(log10(1000.0), 3.0);
        assert_eq!(cbrt(-27.0), -3.0);
        assert!((erfc(1.0) - 0.157_299_207_050_285_13).abs() < 1e-16);
        assert!((ln_gamma(5.0) - 24f64.ln()).abs() < 1e-14);
    }
}
