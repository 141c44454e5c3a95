//! Where the formula curves.

use super::{Correlation, Input, Propagated, gradient, propagate};
use crate::distribution::Distribution;
use crate::domain::{Checks, DomainError};
use crate::monte_carlo::correlation_root;
use units::{Dual, math};

/// What the terms of next higher order make of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SecondOrder {
    /// Standard uncertainty with them.
    pub u: f64,
    /// Mean of the result less its value at the best estimates.
    pub shift: f64,
}

/// Standard uncertainty and shift with the terms of next higher order, for normal inputs.
///
/// ```text
/// u² = Σ c_i² + ΣΣ (½·f_ij² + c_i·f_ijj)        shift = ½·Σ f_ii
/// ```
/// The derivatives are those along the directions into which the covariance of the inputs is parted (by Cholesky's
/// root), one standard uncertainty long each: for independent inputs the inputs themselves, c_i = u_i·∂f/∂x_i. Second
/// and third derivatives are differences of the exact first ones over ±1 standard uncertainty: exact for polynomials of
/// third degree, else what matters is the curvature over just that distance.
/// * Units: of the formula. * Range, outside: as at [`propagate`]; also needs the formula within one standard
///   uncertainty around the best estimates.
/// * Source: JCGM 100:2008 (GUM), note to 5.1.2, there for independent inputs; the shift: expectation of the same
///   series. Correlated inputs by a change of variables: ours.
pub fn second_order<const N: usize>(
    inputs: &[Input],
    correlation: Correlation,
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<SecondOrder, DomainError> {
    let check = Checks("second-order uncertainty");
    for (i, input) in inputs.iter().enumerate() {
        check.uncertainty(input.u).map_err(|e| e.at(i))?;
    }
    let values: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let (_, slopes) = gradient(&values, &model)?;
    let directions = directions(inputs, correlation)?;
    let mut variance: f64 = directions.iter().map(|d| along(&slopes, d) * along(&slopes, d)).sum();
    let mut shift = 0.0;
    for direction in &directions {
        if direction.iter().all(|d| *d == 0.0) {
            continue;
        }
        let shifted = |sign: f64| {
            let x: Vec<f64> = values.iter().zip(direction).map(|(x, d)| x + sign * d).collect();
            gradient(&x, &model).map(|(_, g)| g)
        };
        let (above, below) = (shifted(1.0)?, shifted(-1.0)?);
        for other in &directions {
            let (up, here, down) = (along(&above, other), along(&slopes, other), along(&below, other));
            let second = (up - down) / 2.0;
            variance += 0.5 * second * second + here * (up - 2.0 * here + down);
        }
        shift += 0.5 * (along(&above, direction) - along(&below, direction)) / 2.0;
    }
    Ok(SecondOrder { u: check.result(math::sqrt(variance.max(0.0)))?, shift: check.result(shift)? })
}

fn along(slopes: &[f64], direction: &[f64]) -> f64 {
    slopes.iter().zip(direction).map(|(s, d)| s * d).sum()
}

/// Independent steps of one standard uncertainty that together have the inputs' covariance.
fn directions(inputs: &[Input], correlation: Correlation) -> Result<Vec<Vec<f64>>, DomainError> {
    let n = inputs.len();
    let normal: Vec<_> = inputs.iter().map(|i| Distribution::Normal { mean: i.value, u: i.u }).collect();
    let root = correlation_root(&normal, correlation)?;
    let step = |i: usize, k: usize| match root.get(i * n + k) {
        Some(share) => share * inputs[i].u,
        None if i == k => inputs[i].u,
        None => 0.0,
    };
    Ok((0..n).map(|k| (0..n).map(|i| step(i, k)).collect()).collect())
}

/// How far the first-order uncertainty is off: u of second order over u of first order, less 1. [`judge`] says whether
/// that is too much.
///
/// * Units: ratio out.
/// * Range, outside: as at [`second_order()`]; 0 where no input has an uncertainty, and a finite first-order
///   uncertainty of 0 with curvature is refused ("first-order uncertainty").
/// * Source: comparison of both orders.
pub fn curvature<const N: usize>(
    inputs: &[Input],
    correlation: Correlation,
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<f64, DomainError> {
    let first = propagate(inputs, correlation, &model)?.combined.u;
    let second = second_order(inputs, correlation, &model)?.u;
    if first == second {
        return Ok(0.0);
    }
    let check = Checks("curvature");
    check.result(second / check.positive("first-order uncertainty", first)? - 1.0)
}

/// Most that second-order terms may change u by, as a share of it, before a formula is called curved. Then 1.96·u
/// covers 92.5 % instead of 95 %.
pub const MOST_CURVATURE: f64 = 0.1;

/// Most that second-order terms may shift the result by, in units of u, before a formula is called curved. Then 1.96·u
/// covers 94.3 % instead of 95 %.
pub const MOST_SHIFT: f64 = 0.25;

/// Whether a first-order result may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Second-order terms change little: by at most [`MOST_CURVATURE`] and [`MOST_SHIFT`].
    Straight,
    /// They change more: Monte Carlo takes the place of first order, see
    /// [`evaluate`](crate::monte_carlo::evaluate).
    Curved,
    /// The formula has no value, or no slope, one standard uncertainty away from the best estimates: its range ends
    /// that near (a dew point just below saturation). No normal input may be assumed there, for a part of it lies where
    /// the formula does not hold; simulate with distributions that stop at the end.
    Ends,
}

/// A first-order result with what it is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// To first order.
    pub first_order: Propagated,
    /// To second order; `None` for [`Verdict::Ends`].
    pub second_order: Option<SecondOrder>,
    /// The comparison of both.
    pub verdict: Verdict,
}

/// A formula's value and standard uncertainty to first order, with a verdict on whether first order holds there.
///
/// No formula is curved or straight as such: the same one may be either, by the place on the curve and by how
/// uncertain the inputs are. So nothing is declared, it is measured at the inputs at hand.
///
/// * Units: of the formula.
/// * Costs two gradients an input more than [`propagate`].
/// * Range, outside: as at [`propagate`]; where only the neighbourhood is out of range: [`Verdict::Ends`].
/// * Source: comparison of both orders (JCGM 100:2008, note to 5.1.2); the bounds are ours.
pub fn judge<const N: usize>(
    inputs: &[Input],
    correlation: Correlation,
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<Judged, DomainError> {
    let first_order = propagate(inputs, correlation, &model)?;
    let second_order = second_order(inputs, correlation, &model).ok();
    let u = first_order.combined.u;
    let verdict = match second_order {
        None => Verdict::Ends,
        Some(s) if (s.u - u).abs() > MOST_CURVATURE * u || s.shift.abs() > MOST_SHIFT * u => Verdict::Curved,
        Some(_) => Verdict::Straight,
    };
    Ok(Judged { first_order, second_order, verdict })
}
