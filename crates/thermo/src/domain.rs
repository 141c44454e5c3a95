//! The error of every function here.

use thiserror::Error;
use units::Real;

/// An argument outside a formula's range, or a result that no number holds.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("{formula}: {argument} is {value}, must be {valid}")]
pub struct DomainError {
    /// The formula, as a person calls it.
    pub formula: &'static str,
    /// The argument, or the combination of arguments, that is outside.
    pub argument: &'static str,
    /// Its value in SI.
    pub value: f64,
    /// What is valid, with unit and the way out where there is one.
    pub valid: &'static str,
}

/// Out of line: what is in range shall not pay for it.
#[cold]
#[inline(never)]
pub(crate) fn refused(formula: &'static str, argument: &'static str, value: f64, valid: &'static str) -> DomainError {
    DomainError { formula, argument, value, valid }
}

/// The number, where its value is finite and the condition holds for it.
#[inline(always)]
pub(crate) fn check<R: Real>(
    formula: &'static str,
    argument: &'static str,
    number: R,
    valid: &'static str,
    holds: impl Fn(f64) -> bool,
) -> Result<R, DomainError> {
    let value = number.value();
    // finite, in a form that stays in the floating-point unit
    if holds(value) && value * 0.0 == 0.0 { Ok(number) } else { Err(refused(formula, argument, value, valid)) }
}

/// The number, where it is finite and above zero: absolute temperatures and pressures.
#[inline(always)]
pub(crate) fn positive<R: Real>(
    formula: &'static str,
    argument: &'static str,
    number: R,
    valid: &'static str,
) -> Result<R, DomainError> {
    check(formula, argument, number, valid, |x| x > 0.0)
}

/// The result, where it and every derivative it carries are finite.
#[inline(always)]
pub(crate) fn finite<R: Real>(formula: &'static str, result: R) -> Result<R, DomainError> {
    const VALID: &str = "a finite number: an argument is far outside what air does";
    const SLOPE: &str = "where the slope is finite: the result has a kink or a vertical slope there";
    if Real::is_finite(result) {
        return Ok(result);
    }
    let result = check(formula, "the result", result, VALID, |_| true)?;
    Err(refused(formula, "the place on the curve", result.value(), SLOPE))
}
