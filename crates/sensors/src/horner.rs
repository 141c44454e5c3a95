//! Polynomials c₀ + c₁·x + c₂·x² + … by Horner's rule.

use units::Real;

/// The value.
#[inline]
pub(crate) fn value<R: Real>(coefficients: &[f64], x: R) -> R {
    let mut terms = coefficients.iter().rev();
    let mut sum = R::of(terms.next().copied().unwrap_or(0.0));
    for c in terms {
        sum = sum * x + *c;
    }
    sum
}

/// The slope.
#[inline]
pub(crate) fn slope<R: Real>(coefficients: &[f64], x: R) -> R {
    let mut sum = R::of(0.0);
    for (i, c) in coefficients.iter().enumerate().skip(1).rev() {
        sum = sum * x + c * i as f64;
    }
    sum
}
