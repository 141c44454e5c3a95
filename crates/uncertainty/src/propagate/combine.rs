//! From sensitivities and input uncertainties to the result's uncertainty.

use super::{Combined, Correlation, Input};
use crate::domain::{Checks, DomainError};
use units::math;

const CHECK: Checks = Checks("combined uncertainty");

/// One input's part in a result's uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// The input's place in the list.
    pub input: usize,
    /// c_i·u(x_i), with the sensitivity's sign, in the result's unit.
    pub u: f64,
    /// Share of the result's variance; the shares of all inputs add up to 1. Negative where correlation lets the
    /// input lessen the variance. 0 where the result has none.
    pub share: f64,
}

/// Combined standard uncertainty and effective degrees of freedom from sensitivities.
///
/// ```text
/// u_c² = ΣΣ c_i·c_j·u(x_i, x_j)        ν_eff = u_c⁴/Σ(u_b⁴/ν_b)
/// ```
/// The sum for ν_eff runs over independent parts b: each uncorrelated input; for groups, what each input has for
/// itself, the common part counting as known exactly; for a matrix, each block of inputs that correlate with one
/// another, with the smallest ν in the block (for means of simultaneous readings that is their n − 1).
/// * Units: of the value; sensitivities per unit of their input.
/// * Range, outside: as at [`propagate`](super::propagate); one sensitivity an input.
/// * Source: JCGM 100:2008 (GUM), equations (13), (16), (G.2b); blocks and groups: ours.
pub fn combine(
    value: f64,
    gradient: &[f64],
    inputs: &[Input],
    correlation: Correlation,
) -> Result<Combined, DomainError> {
    let value = CHECK.finite("value", value)?;
    check_inputs(gradient, inputs, correlation)?;
    let variance = quadratic_form(gradient, gradient, inputs, correlation);
    let u = CHECK.result(math::sqrt(variance.max(0.0)))?;
    let dof = effective_dof(u, gradient, inputs, correlation);
    Ok(Combined { value, u, dof })
}

/// Covariance of two results of the same inputs.
///
/// ```text
/// u(y, z) = ΣΣ c_i·d_j·u(x_i, x_j)        c = ∂y/∂x, d = ∂z/∂x
/// ```
/// * Units: product of both. Divide by both standard uncertainties for the correlation coefficient.
/// * Range, outside: as at [`combine`]. * Source: JCGM 100:2008 (GUM), equation (H.9).
pub fn covariance(
    gradient_y: &[f64],
    gradient_z: &[f64],
    inputs: &[Input],
    correlation: Correlation,
) -> Result<f64, DomainError> {
    check_inputs(gradient_y, inputs, correlation)?;
    check_inputs(gradient_z, inputs, correlation)?;
    CHECK.result(quadratic_form(gradient_y, gradient_z, inputs, correlation))
}

/// The K inputs that contribute most, greatest share first. Fewer inputs than K leave `None` at the end.
///
/// ```text
/// share_i = c_i·Σ_j c_j·u(x_i, x_j)/u_c²
/// ```
/// * Units: of the result.
/// * Range, outside: as at [`combine`]. * Source: the terms of JCGM 100:2008 (GUM), equation (13), by input.
pub fn top_contributions<const K: usize>(
    gradient: &[f64],
    inputs: &[Input],
    correlation: Correlation,
) -> Result<[Option<Contribution>; K], DomainError> {
    check_inputs(gradient, inputs, correlation)?;
    let variance = CHECK.result(quadratic_form(gradient, gradient, inputs, correlation))?;
    let mut top: [Option<Contribution>; K] = [None; K];
    for i in 0..inputs.len() {
        let own = row(i, gradient, gradient, inputs, correlation);
        let share = if variance > 0.0 { CHECK.result(own / variance)? } else { 0.0 };
        let mut next = Some(Contribution { input: i, u: CHECK.result(gradient[i] * inputs[i].u)?, share });
        for place in &mut top {
            let smaller = match (&*place, &next) {
                (Some(there), Some(new)) => new.share.abs() > there.share.abs(),
                (None, Some(_)) => true,
                _ => false,
            };
            if smaller {
                std::mem::swap(place, &mut next);
            }
        }
    }
    Ok(top)
}

fn check_inputs(gradient: &[f64], inputs: &[Input], correlation: Correlation) -> Result<(), DomainError> {
    let n = inputs.len();
    CHECK.count("count of sensitivities", gradient.len(), gradient.len() == n, "one an input")?;
    CHECK.all_finite("sensitivity", gradient)?;
    for (i, input) in inputs.iter().enumerate() {
        let good =
            CHECK.finite("value of input", input.value).and(CHECK.uncertainty(input.u)).and(CHECK.dof(input.dof));
        good.map_err(|e| e.at(i))?;
    }
    match correlation {
        Correlation::Independent => Ok(()),
        Correlation::Groups(shared) => {
            CHECK.count("count of group entries", shared.len(), shared.len() == n, "one an input")?;
            for (i, (part, input)) in shared.iter().zip(inputs).enumerate() {
                if let Some(part) = part {
                    let valid = "finite and not more than the input's own";
                    let within = |u: f64| u.abs() <= input.u * (1.0 + 1e-12);
                    CHECK.that("shared uncertainty", part.u, valid, within).map_err(|e| e.at(i))?;
                }
            }
            Ok(())
        }
        Correlation::Matrix(r) => check_matrix(r, n),
    }
}

pub(crate) fn check_matrix(r: &[f64], n: usize) -> Result<(), DomainError> {
    CHECK.count("count of correlation coefficients", r.len(), r.len() == n * n, "the square of the count of inputs")?;
    for (at, value) in r.iter().enumerate() {
        let (i, j) = (at / n, at % n);
        let mirrored = r[j * n + i];
        let fits = |v: f64| if i == j { v == 1.0 } else { (-1.0..=1.0).contains(&v) && v == mirrored };
        let valid = "-1 to 1, equal to its mirror image, 1 on the diagonal";
        CHECK.that("correlation coefficient", *value, valid, fits).map_err(|e| e.at(at))?;
    }
    Ok(())
}

/// u(x_i, x_j) for i ≠ j.
pub(crate) fn input_covariance(i: usize, j: usize, inputs: &[Input], correlation: Correlation) -> f64 {
    match correlation {
        Correlation::Independent => 0.0,
        Correlation::Groups(shared) => match (shared[i], shared[j]) {
            (Some(a), Some(b)) if a.group == b.group => a.u * b.u,
            _ => 0.0,
        },
        Correlation::Matrix(r) => r[i * inputs.len() + j] * inputs[i].u * inputs[j].u,
    }
}

/// c_i·Σ_j d_j·u(x_i, x_j).
fn row(i: usize, c: &[f64], d: &[f64], inputs: &[Input], correlation: Correlation) -> f64 {
    let mut sum = c[i] * inputs[i].u * (d[i] * inputs[i].u);
    if matches!(correlation, Correlation::Independent) {
        return sum;
    }
    for (j, by_j) in d.iter().enumerate() {
        if j != i {
            sum += c[i] * by_j * input_covariance(i, j, inputs, correlation);
        }
    }
    sum
}

fn quadratic_form(c: &[f64], d: &[f64], inputs: &[Input], correlation: Correlation) -> f64 {
    (0..inputs.len()).map(|i| row(i, c, d, inputs, correlation)).sum()
}

/// u_c⁴/Σ(u_b⁴/ν_b) over independent parts.
fn effective_dof(u: f64, gradient: &[f64], inputs: &[Input], correlation: Correlation) -> f64 {
    if u == 0.0 {
        return f64::INFINITY;
    }
    let part = |variance: f64, dof: f64| {
        let relative = variance / u / u;
        relative * relative / dof
    };
    let own = |i: usize| {
        let u = gradient[i] * inputs[i].u;
        u * u
    };
    let mut sum = 0.0;
    for i in 0..inputs.len() {
        sum += match correlation {
            Correlation::Independent => part(own(i), inputs[i].dof),
            Correlation::Groups(shared) => {
                let common = shared[i].map_or(0.0, |s| gradient[i] * s.u);
                part((own(i) - common * common).max(0.0), inputs[i].dof)
            }
            Correlation::Matrix(r) => match block(i, r, inputs) {
                // The block's first member speaks for all of it.
                Some((members, dof)) => part(block_variance(members, gradient, inputs, correlation), dof),
                None => 0.0,
            },
        };
    }
    // Not below the smallest of the parts, as the formula promises for independent ones.
    if sum > 0.0 { (1.0 / sum).max(1.0) } else { f64::INFINITY }
}

/// The inputs that hang together with input i, directly or through others, with the block's smallest degrees of
/// freedom; `None` unless i is the first of them.
fn block(i: usize, r: &[f64], inputs: &[Input]) -> Option<(Members, f64)> {
    let n = inputs.len();
    let linked = |a: usize, b: usize| r[a * n + b] != 0.0;
    let mut members = Members::from_start(i);
    let mut grown = true;
    while grown {
        grown = false;
        for a in 0..n {
            if !members.has(a) && (0..n).any(|b| members.has(b) && linked(a, b)) {
                if a < i {
                    return None;
                }
                members.add(a);
                grown = true;
            }
        }
    }
    let dof = (0..n).filter(|a| members.has(*a)).map(|a| inputs[a].dof).fold(f64::INFINITY, f64::min);
    Some((members, dof))
}

fn block_variance(members: Members, gradient: &[f64], inputs: &[Input], correlation: Correlation) -> f64 {
    let inside: Vec<f64> = gradient.iter().enumerate().map(|(i, c)| if members.has(i) { *c } else { 0.0 }).collect();
    quadratic_form(&inside, &inside, inputs, correlation).max(0.0)
}

/// A set of input numbers.
struct Members(Vec<usize>);

impl Members {
    fn from_start(i: usize) -> Self {
        Self(vec![i])
    }

    fn has(&self, i: usize) -> bool {
        self.0.contains(&i)
    }

    fn add(&mut self, i: usize) {
        self.0.push(i);
    }
}
