//! Where the formula curves.

use super::{Input, gradient};
use crate::domain::{Checks, DomainError};
use units::{Dual, math};

/// Standard uncertainty with the terms of next higher order, for independent, symmetric (near-normal) inputs.
///
/// ```text
/// u² = Σ c_i²·u_i² + ΣΣ (½·f_ij² + c_i·f_ijj)·u_i²·u_j²
/// ```
/// The second and third derivatives are differences of the exact first ones over ±u_j: exact for polynomials of
/// third degree, else what matters is the curvature over just that distance.
/// * Units: of the formula. * Range and errors: as at [`propagate`](super::propagate); also needs the formula within
///   ±u of each input.
/// * Source: JCGM 100:2008 (GUM), note to 5.1.2.
pub fn second_order<const N: usize>(
    inputs: &[Input],
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<f64, DomainError> {
    let check = Checks("second-order uncertainty");
    for (i, input) in inputs.iter().enumerate() {
        check.uncertainty(input.u).map_err(|e| e.at(i))?;
    }
    let values: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let (_, c) = gradient(&values, &model)?;
    let mut variance: f64 = c.iter().zip(inputs).map(|(c, i)| c * i.u * (c * i.u)).sum();
    for j in 0..inputs.len() {
        let h = inputs[j].u;
        if h == 0.0 {
            continue;
        }
        let shifted = |by: f64| {
            let mut x = values.clone();
            x[j] += by;
            gradient(&x, &model).map(|(_, g)| g)
        };
        let (above, below) = (shifted(h)?, shifted(-h)?);
        for i in 0..inputs.len() {
            // f_ij·u_j and f_ijj·u_j².
            let second = (above[i] - below[i]) / 2.0;
            let third = above[i] - 2.0 * c[i] + below[i];
            let u = inputs[i].u;
            variance += (0.5 * second * second + c[i] * third) * u * u;
        }
    }
    check.result(math::sqrt(variance.max(0.0)))
}

/// How far the first-order uncertainty is off: u of second order over u of first order, less 1. Above about 0.1 in
/// size the formula is to be called curved, and Monte Carlo takes its place.
///
/// * Range and errors: as at [`second_order`]; 0 where no input has an uncertainty, and a finite first-order
///   uncertainty of 0 with curvature is refused ("first-order uncertainty").
/// * Source: comparison of both orders; the bound of 0.1 is ours.
pub fn curvature<const N: usize>(inputs: &[Input], model: impl Fn(&[Dual<N>]) -> Dual<N>) -> Result<f64, DomainError> {
    let first = super::propagate(inputs, super::Correlation::Independent, &model)?.combined.u;
    let second = second_order(inputs, &model)?;
    if first == second {
        return Ok(0.0);
    }
    let check = Checks("curvature");
    check.result(second / check.positive("first-order uncertainty", first)? - 1.0)
}
