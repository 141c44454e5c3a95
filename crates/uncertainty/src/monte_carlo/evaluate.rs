//! First order where the formula is straight, Monte Carlo where it curves.

use super::{Simulated, simulate};
use crate::distribution::Distribution;
use crate::domain::DomainError;
use crate::propagate::{Correlation, Input, Propagated, Verdict, judge};
use units::{Dual, Real};

/// A result, by the way that fits the formula at its inputs.
#[derive(Clone, Debug, PartialEq)]
pub enum Evaluated {
    /// The formula is straight there.
    FirstOrder(Propagated),
    /// It curves there.
    Simulated(Simulated),
}

impl Evaluated {
    /// The estimate: the formula's value at the best estimates, or the mean of all trials.
    pub fn value(&self) -> f64 {
        match self {
            Self::FirstOrder(p) => p.combined.value,
            Self::Simulated(s) => s.mean(),
        }
    }

    /// Standard uncertainty.
    pub fn u(&self) -> f64 {
        match self {
            Self::FirstOrder(p) => p.combined.u,
            Self::Simulated(s) => s.u(),
        }
    }
}

/// A formula's value and standard uncertainty: to first order where [`judge`] finds it straight, else by simulation of
/// normal inputs.
///
/// ```
/// use uncertainty::{Correlation, Input, monte_carlo::{Evaluated, evaluate}};
///
/// // Dynamic pressure from a velocity: straight at 20 m/s ± 1 m/s, curved at 1 m/s ± 1 m/s.
/// let at = |velocity| {
///     let inputs = [Input::new(velocity, 1.0)];
///     evaluate::<1>(&inputs, Correlation::Independent, (100_000, 1), |x| x[0] * x[0] * 0.6).unwrap()
/// };
/// assert!(matches!(at(20.0), Evaluated::FirstOrder(_)) && (at(20.0).u() - 24.0).abs() < 1e-12);
/// // To first order 0.6 Pa ± 1.2 Pa; exactly 1.2 Pa ± 0.6·√6 Pa.
/// let curved = at(1.0);
/// assert!((curved.value() - 1.2).abs() < 0.02 && (curved.u() - 0.6 * 6f64.sqrt()).abs() < 0.02);
/// ```
/// * Units: those of the trials.
/// * `(trials, seed)`: of the simulation. The same seed gives the same result to the bit.
/// * Range, outside: as at [`propagate`](crate::propagate::propagate) and [`simulate`]; where the range of the
///   formula ends so near that trials fall outside, the error names the first such trial. Degrees of freedom have no
///   part in a simulation.
/// * Source: JCGM 101:2008, clause 8, in short: where first order fails, the simulation is what counts.
pub fn evaluate<const N: usize>(
    inputs: &[Input],
    correlation: Correlation,
    (trials, seed): (usize, u64),
    model: impl Fn(&[Dual<N>]) -> Dual<N>,
) -> Result<Evaluated, DomainError> {
    let judged = judge(inputs, correlation, &model)?;
    if judged.verdict == Verdict::Straight {
        return Ok(Evaluated::FirstOrder(judged.first_order));
    }
    let normal: Vec<_> = inputs.iter().map(|i| Distribution::Normal { mean: i.value, u: i.u }).collect();
    let mut point = vec![Dual::constant(0.0); inputs.len()];
    let simulated = simulate(&normal, correlation, trials, seed, |x| {
        for (to, from) in point.iter_mut().zip(x) {
            *to = Dual::constant(*from);
        }
        model(&point).value()
    })?;
    Ok(Evaluated::Simulated(simulated))
}
