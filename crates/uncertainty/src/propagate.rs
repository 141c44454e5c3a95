//! Through a formula to first order: JCGM 100:2008 (GUM), clause 5.
//!
//! ```
//! use uncertainty::{Correlation, Input, propagate::propagate};
//! use units::Real;
//!
//! // Temperature effectiveness from three probes, 0.5 K each, on one scanner that adds a common 0.2 K: the common
//! // part cancels, because only differences count.
//! fn effectiveness<R: Real>(t: &[R]) -> R {
//!     (t[0] - t[1]) / (t[0] - t[2])
//! }
//! let probe = |value| Input { value, u: (0.5f64.powi(2) + 0.2f64.powi(2)).sqrt(), dof: f64::INFINITY };
//! let inputs = [probe(450.0), probe(330.0), probe(300.0)];
//! let shared = [Some(uncertainty::Shared { group: 0, u: 0.2 }); 3];
//! let result = propagate::<3>(&inputs, Correlation::Groups(&shared), effectiveness)?;
//! assert!((result.combined.value - 0.8).abs() < 1e-15);
//! assert!((result.combined.u - 0.0043).abs() < 5e-5);
//! # Ok::<(), uncertainty::DomainError>(())
//! ```
//! A computation that runs ten times a second keeps its own [`Dual`]s and calls [`combine`] with their
//! partials: nothing is allocated there.

mod combine;
mod second_order;

pub(crate) use combine::check_matrix;
pub use combine::{Contribution, combine, covariance, top_contributions};
pub use second_order::{Judged, MOST_CURVATURE, MOST_SHIFT, SecondOrder, Verdict, curvature, judge, second_order};

use crate::coverage::Coverage;
use crate::domain::{Checks, DomainError};
use units::{Dual, Real};

/// An input of a formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty, 0 for a constant.
    pub u: f64,
    /// Degrees of freedom of `u`: 1 or above, infinite for one known exactly (limits, certificates).
    pub dof: f64,
}

impl Input {
    /// An input whose standard uncertainty is known exactly.
    pub const fn new(value: f64, u: f64) -> Self {
        Self { value, u, dof: f64::INFINITY }
    }

    /// A constant.
    pub const fn exact(value: f64) -> Self {
        Self::new(value, 0.0)
    }
}

/// How the errors of the inputs hang together.
#[derive(Clone, Copy, Debug)]
pub enum Correlation<'a> {
    /// Not at all.
    Independent,
    /// By common causes, one entry an input: the part of its uncertainty that it has in common with the others of
    /// the same group (one scanner, one reference junction, one barometer).
    Groups(&'a [Option<Shared>]),
    /// By a full matrix of correlation coefficients, row by row: symmetric, 1 on the diagonal.
    Matrix(&'a [f64]),
}

/// The part of an input's standard uncertainty that has a cause in common with others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shared {
    /// The cause.
    pub group: u16,
    /// Standard uncertainty from it, at most the input's own. Negative where the cause moves this input the other way.
    pub u: f64,
}

/// A result with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combined {
    /// Best estimate.
    pub value: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Effective degrees of freedom, not truncated.
    pub dof: f64,
}

impl Combined {
    /// Expanded uncertainty for a coverage probability, with t of the effective degrees of freedom as they are.
    /// See [`Coverage::of`].
    pub fn expanded(self, probability: f64) -> Result<Coverage, DomainError> {
        Coverage::of(self.value, self.u, probability, self.dof)
    }
}

impl From<Combined> for Input {
    /// The result as an input of the next formula or of a decision; not where both share inputs.
    fn from(c: Combined) -> Self {
        Self { value: c.value, u: c.u, dof: c.dof }
    }
}

/// A result with the sensitivities it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagated {
    /// Value, standard uncertainty, degrees of freedom.
    pub combined: Combined,
    /// Sensitivities ∂f/∂x, one an input.
    pub gradient: Vec<f64>,
}

/// A formula's value and standard uncertainty.
///
/// ```text
/// u_c² = ΣΣ c_i·c_j·u(x_i, x_j)        c_i = ∂f/∂x_i        ν_eff = u_c⁴/Σ(u_i⁴(y)/ν_i)
/// ```
/// The sensitivities are exact: the formula runs on dual numbers, N inputs at a time.
/// * Units: of the formula. * Range: finite values, u 0 or above, degrees of freedom 1 or above; correlations as at
///   [`Correlation`].
/// * Outside: [`DomainError`]; also where the formula or a sensitivity is no finite number.
/// * First order: near a kink or where the formula curves within ±u it misleads; [`judge`] tells.
/// * Source: JCGM 100:2008 (GUM), 5.1.2, 5.2.2, G.4.1.
pub fn propagate<const N: usize>(
    inputs: &[Input],
    correlation: Correlation,
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<Propagated, DomainError> {
    let values: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let (value, gradient) = gradient(&values, model)?;
    let combined = combine(value, &gradient, inputs, correlation)?;
    Ok(Propagated { combined, gradient })
}

/// A formula's value and its sensitivities, N inputs at a time.
///
/// * Units: of the formula; sensitivities per unit of their input.
/// * Range: finite values. * Outside: [`DomainError`]; also where the formula or a sensitivity is no finite number.
/// * Source: forward-mode differentiation.
pub fn gradient<const N: usize>(
    values: &[f64],
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<(f64, Vec<f64>), DomainError> {
    let check = Checks("formula");
    check.all_finite("input", values)?;
    let mut point: Vec<Dual<N>> = values.iter().map(|v| Dual::constant(*v)).collect();
    let mut gradient = Vec::with_capacity(values.len());
    let mut value = None;
    for first in (0..values.len()).step_by(N.max(1)) {
        let last = (first + N.max(1)).min(values.len());
        for i in first..last {
            point[i] = Dual::variable(values[i], i - first);
        }
        let result = model(&point);
        value = Some(result.value());
        for i in first..last {
            let slope = result.partials.get(i - first).copied().unwrap_or(f64::NAN);
            gradient.push(check.finite("sensitivity to input", slope).map_err(|e| e.at(i))?);
            point[i] = Dual::constant(values[i]);
        }
    }
    let value = value.unwrap_or_else(|| model(&point).value());
    Ok((check.finite("value", value)?, gradient))
}

#[cfg(test)]
mod tests;
