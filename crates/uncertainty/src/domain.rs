//! The error of every function here.

use thiserror::Error;

/// An argument outside a function's range, or a result that no number holds.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("{function}: {argument}{} is {value}, must be {valid}", place(*.index))]
pub struct DomainError {
    /// The function, as a person calls it.
    pub function: &'static str,
    /// The argument.
    pub argument: &'static str,
    /// Which one, counted from 0, where there are several.
    pub index: Option<usize>,
    /// Its value.
    pub value: f64,
    /// What is valid.
    pub valid: &'static str,
}

fn place(index: Option<usize>) -> String {
    index.map(|i| format!(" number {} (from 0)", i)).unwrap_or_default()
}

impl DomainError {
    pub(crate) fn new(function: &'static str, argument: &'static str, value: f64, valid: &'static str) -> Self {
        Self { function, argument, index: None, value, valid }
    }

    pub(crate) fn at(self, index: usize) -> Self {
        Self { index: Some(index), ..self }
    }
}

/// The checks of one function's arguments.
#[derive(Clone, Copy)]
pub(crate) struct Checks(pub(crate) &'static str);

impl Checks {
    /// The value, where it is finite and the condition holds for it.
    #[inline]
    pub(crate) fn that(
        self,
        argument: &'static str,
        value: f64,
        valid: &'static str,
        holds: impl Fn(f64) -> bool,
    ) -> Result<f64, DomainError> {
        if value.is_finite() && holds(value) { Ok(value) } else { Err(self.refuse(argument, value, valid)) }
    }

    pub(crate) fn refuse(self, argument: &'static str, value: f64, valid: &'static str) -> DomainError {
        DomainError::new(self.0, argument, value, valid)
    }

    #[inline]
    pub(crate) fn finite(self, argument: &'static str, value: f64) -> Result<f64, DomainError> {
        self.that(argument, value, "a finite number", |_| true)
    }

    #[inline]
    pub(crate) fn positive(self, argument: &'static str, value: f64) -> Result<f64, DomainError> {
        self.that(argument, value, "a finite number above 0", |x| x > 0.0)
    }

    #[inline]
    pub(crate) fn not_negative(self, argument: &'static str, value: f64) -> Result<f64, DomainError> {
        self.that(argument, value, "a finite number, 0 or above", |x| x >= 0.0)
    }

    /// A standard uncertainty (0 or above).
    #[inline]
    pub(crate) fn uncertainty(self, value: f64) -> Result<f64, DomainError> {
        self.not_negative("standard uncertainty", value)
    }

    /// A probability strictly between 0 and 1.
    #[inline]
    pub(crate) fn probability(self, value: f64) -> Result<f64, DomainError> {
        self.that("probability", value, "above 0 and below 1", |p| p > 0.0 && p < 1.0)
    }

    /// Degrees of freedom: 1 or above, infinite for an uncertainty known exactly.
    #[inline]
    pub(crate) fn dof(self, value: f64) -> Result<f64, DomainError> {
        if value >= 1.0 {
            Ok(value)
        } else {
            Err(self.refuse("degrees of freedom", value, "1 or above (infinite allowed)"))
        }
    }

    /// The result, where it is finite.
    #[inline]
    pub(crate) fn result(self, value: f64) -> Result<f64, DomainError> {
        self.that("the result", value, "a finite number: an argument is out of all proportion", |_| true)
    }

    /// At least `least` values.
    pub(crate) fn count(
        self,
        argument: &'static str,
        got: usize,
        holds: bool,
        valid: &'static str,
    ) -> Result<(), DomainError> {
        if holds { Ok(()) } else { Err(self.refuse(argument, got as f64, valid)) }
    }

    /// Every value of a list is finite.
    pub(crate) fn all_finite(self, argument: &'static str, values: &[f64]) -> Result<(), DomainError> {
        match values.iter().position(|v| !v.is_finite()) {
            Some(i) => Err(self.refuse(argument, values[i], "a finite number").at(i)),
            None => Ok(()),
        }
    }
}
