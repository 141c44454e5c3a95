//! The number a formula computes with: plain, or with its derivatives.
//!
//! A formula written once over [`Real`] serves three: `f64` for the value alone, [`Dual`](crate::Dual) for the value
//! with its sensitivities (and so its uncertainty), and the Monte Carlo test of both. The value of a dual number
//! has the bits of the plain computation, whatever the formula.
//!
//! ```
//! use units::{Dual, Real};
//!
//! /// Temperature effectiveness (T_in − T_out)/(T_in − T_cold).
//! fn effectiveness<R: Real>(hot_in: R, hot_out: R, cold_in: R) -> R {
//!     (hot_in - hot_out) / (hot_in - cold_in)
//! }
//! /// Isentropic temperature ratio for constant γ: a constant stands on the right of a number, or goes through `of`.
//! fn temperature_ratio<R: Real>(pressure_ratio: R, gamma: R) -> R {
//!     pressure_ratio.pow(R::of(1.0) - R::of(1.0) / gamma)
//! }
//!
//! let plain = effectiveness(450.0, 330.0, 300.0);
//! let [a, b, c] = Dual::variables([450.0, 330.0, 300.0]);
//! let dual = effectiveness(a, b, c);
//! assert_eq!(dual.value().to_bits(), plain.to_bits());
//! assert_eq!(dual.partials[1], -1.0 / 150.0); // ∂ε/∂T_out, 1/K
//! assert!((temperature_ratio(3.0, 1.4) - 1.3687).abs() < 1e-4);
//! ```
//! Inside such a function no method of the standard library's `f64` is reachable. On a number known to be `f64` the
//! standard library's own method of the same name would win: there, call [`math`] by name.
//!
//! A quantity found by iteration: find the root with plain numbers, then [`Real::at_root`] attaches the derivatives,
//! with one more evaluation of the residual instead of an iteration in dual numbers.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub, SubAssign};

use crate::math;

/// A number of a formula: arithmetic with its like and with constants, comparison by value, functions of
/// [`math`].
pub trait Real:
    Copy
    + Debug
    + PartialEq
    + PartialEq<f64>
    + PartialOrd
    + PartialOrd<f64>
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
{
    /// A constant: no derivatives.
    fn of(constant: f64) -> Self;

    /// The plain number, without derivatives.
    fn value(self) -> f64;

    /// A function g of this number, given g and g′ at its value: for functions not listed here. The slope is asked
    /// for only where derivatives are kept.
    fn chain(self, value: f64, slope: impl FnOnce() -> f64) -> Self;

    /// The root x of r(x; a) = 0, found beforehand with plain numbers, with its derivatives −(∂r/∂a)/(∂r/∂x):
    /// `root` is x, `residual` is r with x put in as a constant and the arguments a as they are, `slope` is ∂r/∂x.
    /// The value is exactly `root`.
    fn at_root(root: f64, residual: Self, slope: f64) -> Self {
        residual.chain(root, || -1.0 / slope)
    }

    /// True if the value and every derivative is a finite number.
    fn is_finite(self) -> bool;

    /// √x. At 0 the derivative is infinite, so [`is_finite`](Real::is_finite) is false there unless x is a constant.
    #[inline]
    fn sqrt(self) -> Self {
        let root = math::sqrt(self.value());
        self.chain(root, || 0.5 / root)
    }

    /// Cube root.
    #[inline]
    fn cbrt(self) -> Self {
        let root = math::cbrt(self.value());
        self.chain(root, || 1.0 / (3.0 * root * root))
    }

    /// eˣ.
    #[inline]
    fn exp(self) -> Self {
        let e = math::exp(self.value());
        self.chain(e, || e)
    }

    /// eˣ − 1.
    #[inline]
    fn exp_m1(self) -> Self {
        let e = math::exp_m1(self.value());
        self.chain(e, || e + 1.0)
    }

    /// Natural logarithm.
    #[inline]
    fn ln(self) -> Self {
        self.chain(math::ln(self.value()), || 1.0 / self.value())
    }

    /// ln(1 + x).
    #[inline]
    fn ln_1p(self) -> Self {
        self.chain(math::ln_1p(self.value()), || 1.0 / (1.0 + self.value()))
    }

    /// Logarithm to base 10.
    #[inline]
    fn log10(self) -> Self {
        self.chain(math::log10(self.value()), || std::f64::consts::LOG10_E / self.value())
    }

    /// x to a constant power. Costs two powers if derivatives are kept, one if not.
    #[inline]
    fn powf(self, exponent: f64) -> Self {
        let x = self.value();
        self.chain(math::powf(x, exponent), || power_slope(x, exponent))
    }

    /// x to a power that has derivatives itself; x > 0 unless the power is a constant.
    fn pow(self, exponent: Self) -> Self;

    /// x to a whole power.
    #[inline]
    fn powi(self, exponent: i32) -> Self {
        let x = self.value();
        self.chain(math::powi(x, exponent), || match exponent {
            0 => 0.0,
            n => f64::from(n) * math::powi(x, n.saturating_sub(1)),
        })
    }

    /// Sine, x in rad.
    #[inline]
    fn sin(self) -> Self {
        self.chain(math::sin(self.value()), || math::cos(self.value()))
    }

    /// Cosine, x in rad.
    #[inline]
    fn cos(self) -> Self {
        self.chain(math::cos(self.value()), || -math::sin(self.value()))
    }

    /// Tangent, x in rad.
    #[inline]
    fn tan(self) -> Self {
        let t = math::tan(self.value());
        self.chain(t, || 1.0 + t * t)
    }

    /// Arc tangent, rad.
    #[inline]
    fn atan(self) -> Self {
        self.chain(math::atan(self.value()), || 1.0 / (1.0 + self.value() * self.value()))
    }

    /// Hyperbolic tangent.
    #[inline]
    fn tanh(self) -> Self {
        let t = math::tanh(self.value());
        self.chain(t, || 1.0 - t * t)
    }

    /// |x|; at 0, a kink, the derivative is that of the right side.
    #[inline]
    fn abs(self) -> Self {
        if self < 0.0 { -self } else { self + 0.0 }
    }

    /// The smaller, with its derivatives; self where they are equal (a kink) or cannot be compared.
    #[inline]
    fn min(self, other: Self) -> Self {
        if other < self { other } else { self }
    }

    /// The greater, with its derivatives; self where they are equal (a kink) or cannot be compared.
    #[inline]
    fn max(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
}

impl Real for f64 {
    #[inline]
    fn of(constant: f64) -> f64 {
        constant
    }

    #[inline]
    fn value(self) -> f64 {
        self
    }

    #[inline]
    fn chain(self, value: f64, _slope: impl FnOnce() -> f64) -> f64 {
        value
    }

    #[inline]
    fn is_finite(self) -> bool {
        f64::is_finite(self)
    }

    #[inline]
    fn pow(self, exponent: f64) -> f64 {
        math::powf(self, exponent)
    }
}

/// d(xʸ)/dx = y·x^(y−1), and 0 for y = 0.
pub(crate) fn power_slope(x: f64, y: f64) -> f64 {
    if y == 0.0 { 0.0 } else { y * math::powf(x, y - 1.0) }
}
