//! The error of every function here.

use thiserror::Error;

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

/// The value, where it is finite and the condition holds for it.
#[inline]
pub(crate) fn check(
    formula: &'static str,
    argument: &'static str,
    value: f64,
    valid: &'static str,
    holds: impl Fn(f64) -> bool,
) -> Result<f64, DomainError> {
    if value.is_finite() && holds(value) { Ok(value) } else { Err(DomainError { formula, argument, value, valid }) }
}

/// The value, where it is finite and above zero: absolute temperatures and pressures.
#[inline]
pub(crate) fn positive(
    formula: &'static str,
    argument: &'static str,
    value: f64,
    valid: &'static str,
) -> Result<f64, DomainError> {
    check(formula, argument, value, valid, |x| x > 0.0)
}

/// The result, where it is finite.
#[inline]
pub(crate) fn finite(formula: &'static str, value: f64) -> Result<f64, DomainError> {
    check(formula, "the result", value, "a finite number: an argument is far outside what air does", |_| true)
}
