//! The one door to transcendental functions.
//!
//! The standard library leaves the last bits of `exp`, `ln` and `powf` to the platform. Results here are promised
//! to the bit on any 64-bit machine, so these go to one pinned implementation in plain arithmetic (the crate
//! `libm`, version fixed exactly in the workspace). `sqrt` is the exception: IEEE 754 asks for the correctly
//! rounded result, so every conforming machine gives the same bits and the processor's own instruction may be used.
//! The four basic operations are exact in the same sense, and Rust never fuses a product and a sum by itself.

/// √x; NaN for x < 0.
#[inline]
pub fn sqrt(x: f64) -> f64 {
    x.sqrt()
}

/// eˣ.
#[inline]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm; −∞ at 0, NaN for x < 0.
#[inline]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// x to the power y, y any real number; NaN for x < 0 with y not whole.
#[inline]
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bits are the promise: an exchange of the implementation must show here. This `exp(1)` is one unit in the
    /// last place above the correctly rounded e, which some platforms' own `exp` gives: the reason for this module.
    #[test]
    fn bits_are_pinned() {
        assert_eq!(exp(1.0).to_bits(), std::f64::consts::E.to_bits() + 1);
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
}
