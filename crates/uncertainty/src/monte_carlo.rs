//! Through a formula by simulation: JCGM 101:2008. For tests of the first-order result and for formulas that curve.
//!
//! ```
//! use uncertainty::{Correlation, Distribution, monte_carlo::simulate};
//! use units::Real;
//!
//! fn product<R: Real>(x: &[R]) -> R {
//!     x[0] * x[1]
//! }
//! let inputs = [Distribution::Normal { mean: 2.0, u: 0.1 }, Distribution::Rectangular { low: 2.9, high: 3.1 }];
//! let outcome = simulate(&inputs, Correlation::Independent, 20_000, 7, product)?;
//! let (low, high) = outcome.shortest_interval(0.95)?;
//! assert!((outcome.mean() - 6.0).abs() < 0.01 && low < 5.45 && high > 6.55);
//! # Ok::<(), uncertainty::DomainError>(())
//! ```
//! The formula is the same generic function that [`propagate`](crate::propagate::propagate) takes. [`evaluate`] chooses
//! between both.

mod evaluate;
mod generator;

pub use evaluate::{Evaluated, evaluate};
pub use generator::Generator;

use crate::distribution::Distribution;
use crate::domain::{Checks, DomainError};
use crate::propagate::{Correlation, Input};
use units::math;

/// Most trials of one simulation: 800 MB of results.
pub const MOST_TRIALS: usize = 100_000_000;

const CHECK: Checks = Checks("Monte Carlo");

/// The results of all trials, in rising order.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulated {
    sorted: Vec<f64>,
    mean: f64,
    u: f64,
}

impl Simulated {
    /// Results as they came; finite, two or more.
    pub fn from_results(mut results: Vec<f64>) -> Result<Self, DomainError> {
        let summary = crate::type_a::mean(&results)?;
        results.sort_by(f64::total_cmp);
        Ok(Self { sorted: results, mean: summary.mean, u: summary.s })
    }

    /// Mean of the results: the estimate.
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// Standard deviation of the results: the standard uncertainty.
    pub fn u(&self) -> f64 {
        self.u
    }

    /// The results in rising order: the distribution function in discrete form.
    pub fn sorted(&self) -> &[f64] {
        &self.sorted
    }

    /// The result below which the share p of the results lies.
    ///
    /// * Range: 0 < p < 1. * Outside: [`DomainError`].
    pub fn quantile(&self, p: f64) -> Result<f64, DomainError> {
        let below = (CHECK.probability(p)? * self.sorted.len() as f64) as usize;
        Ok(self.sorted[below.min(self.sorted.len() - 1)])
    }

    /// Probabilistically symmetric coverage interval: as much left out below as above.
    ///
    /// * Range: 0 < p < 1, and enough trials that something is left out on both sides (p·M ≤ M − 2).
    /// * Outside: [`DomainError`]. * Source: JCGM 101:2008, 7.7.2.
    pub fn symmetric_interval(&self, probability: f64) -> Result<(f64, f64), DomainError> {
        let inside = self.inside(probability)?;
        let first = (self.sorted.len() - inside) / 2;
        Ok((self.sorted[first], self.sorted[first + inside]))
    }

    /// Shortest coverage interval.
    ///
    /// * Range, outside: as at [`symmetric_interval`](Self::symmetric_interval). * Source: JCGM 101:2008, 7.7.4.
    pub fn shortest_interval(&self, probability: f64) -> Result<(f64, f64), DomainError> {
        let inside = self.inside(probability)?;
        let mut best = (self.sorted[0], self.sorted[inside]);
        for (low, high) in self.sorted.iter().zip(&self.sorted[inside..]) {
            if high - low < best.1 - best.0 {
                best = (*low, *high);
            }
        }
        Ok(best)
    }

    /// Share of the results from `low` to `high`, both ends counted; either may be infinite.
    ///
    /// * Range: no NaN. * Outside: [`DomainError`].
    pub fn share_between(&self, low: f64, high: f64) -> Result<f64, DomainError> {
        if low.is_nan() || high.is_nan() {
            return Err(CHECK.refuse("end of an interval", f64::NAN, "a number, infinite allowed"));
        }
        let below = self.sorted.partition_point(|x| *x < low);
        let up_to = self.sorted.partition_point(|x| *x <= high);
        Ok(up_to.saturating_sub(below) as f64 / self.sorted.len() as f64)
    }

    /// Count of results from one end of the interval to the other.
    fn inside(&self, probability: f64) -> Result<usize, DomainError> {
        let p = CHECK.probability(probability)?;
        let trials = self.sorted.len();
        let inside = (p * trials as f64 + 0.5) as usize;
        let valid = "so many that some lie outside the interval: more trials or a smaller probability";
        CHECK.count("count of trials", trials, inside >= 1 && inside + 2 <= trials, valid)?;
        Ok(inside)
    }
}

/// Runs the formula on inputs drawn from their distributions, `trials` times. The same seed gives the same results
/// to the bit.
///
/// * Units: of the formula.
/// * Correlated inputs must be normal ones (the joint normal of JCGM 101:2008, 6.4.8); groups and matrix as at
///   [`Correlation`].
/// * Range: 2 to [`MOST_TRIALS`] trials; distributions and correlations in range. * Outside: [`DomainError`]; also
///   where the formula gives no finite number in a trial: `index` is the trial's number.
/// * Source: JCGM 101:2008, clause 7.
pub fn simulate(
    inputs: &[Distribution],
    correlation: Correlation,
    trials: usize,
    seed: u64,
    mut model: impl FnMut(&[f64]) -> f64,
) -> Result<Simulated, DomainError> {
    let sampler = Sampler::new(inputs, correlation)?;
    CHECK.count("count of trials", trials, (2..=MOST_TRIALS).contains(&trials), "2 to 100 million")?;
    let mut generator = Generator::new(seed);
    let mut results = Vec::with_capacity(trials);
    sampler.run(&mut generator, trials, &mut results, &mut model)?;
    Simulated::from_results(results)
}

/// As [`simulate`], in batches of ten thousand until mean, standard uncertainty and both ends of the symmetric interval
/// are settled: twice the standard deviation of their means over the batches below half a unit of the last of
/// `digits` digits of the standard uncertainty. Ends at `most_trials` if that comes first; the second of the pair
/// says whether it settled.
///
/// * Units: of the formula.
/// * Range: 1 to 6 digits, 0.5 ≤ p ≤ 0.999. * Outside: as at [`simulate`].
/// * Source: JCGM 101:2008, 7.9.4.
pub fn simulate_until_settled(
    inputs: &[Distribution],
    correlation: Correlation,
    (digits, probability): (u32, f64),
    most_trials: usize,
    seed: u64,
    mut model: impl FnMut(&[f64]) -> f64,
) -> Result<(Simulated, bool), DomainError> {
    const BATCH: usize = 10_000;
    let sampler = Sampler::new(inputs, correlation)?;
    CHECK.count("count of digits", digits as usize, (1..=6).contains(&digits), "1 to 6")?;
    CHECK.that("probability", probability, "0.5 to 0.999", |p| (0.5..=0.999).contains(&p))?;
    let valid = "20 000 to 100 million";
    CHECK.count("most trials", most_trials, (2 * BATCH..=MOST_TRIALS).contains(&most_trials), valid)?;
    let mut generator = Generator::new(seed);
    let mut results: Vec<f64> = Vec::new();
    let mut batches: [Vec<f64>; 4] = Default::default();
    let mut settled = false;
    while !settled && results.len() + BATCH <= most_trials {
        let from = results.len();
        sampler.run(&mut generator, BATCH, &mut results, &mut model)?;
        let batch = Simulated::from_results(results[from..].to_vec())?;
        let (low, high) = batch.symmetric_interval(probability)?;
        for (list, value) in batches.iter_mut().zip([batch.mean, batch.u, low, high]) {
            list.push(value);
        }
        if batches[0].len() > 1 {
            let bound = tolerance(crate::type_a::mean(&results)?.s, digits);
            settled = batches.iter().all(|list| crate::type_a::mean(list).is_ok_and(|m| 2.0 * m.u <= bound));
        }
    }
    Ok((Simulated::from_results(results)?, settled))
}

/// Half a unit of the last of so many significant digits of u.
fn tolerance(u: f64, digits: u32) -> f64 {
    if u == 0.0 {
        return 0.0;
    }
    let exponent = math::log10(u).floor() as i32 + 1 - digits as i32;
    0.5 * math::powf(10.0, f64::from(exponent))
}

/// Draws all inputs of one trial.
struct Sampler<'a> {
    inputs: &'a [Distribution],
    /// Lower triangle of the correlation matrix's root, row by row; empty for independent inputs.
    root: Vec<f64>,
}

impl<'a> Sampler<'a> {
    fn new(inputs: &'a [Distribution], correlation: Correlation) -> Result<Self, DomainError> {
        for (i, input) in inputs.iter().enumerate() {
            input.checked().map_err(|e| e.at(i))?;
        }
        Ok(Self { inputs, root: correlation_root(inputs, correlation)? })
    }

    fn run(
        &self,
        generator: &mut Generator,
        trials: usize,
        results: &mut Vec<f64>,
        model: &mut impl FnMut(&[f64]) -> f64,
    ) -> Result<(), DomainError> {
        let n = self.inputs.len();
        let (mut x, mut z) = (vec![0.0; n], vec![0.0; n]);
        for trial in 0..trials {
            if !self.root.is_empty() {
                z.fill_with(|| generator.normal());
            }
            for (i, input) in self.inputs.iter().enumerate() {
                x[i] = match input {
                    Distribution::Normal { mean, u } if !self.root.is_empty() => {
                        let row = &self.root[i * n..i * n + i + 1];
                        mean + u * row.iter().zip(&z).map(|(r, z)| r * z).sum::<f64>()
                    }
                    other => generator.draw_checked(*other),
                };
            }
            results.push(CHECK.finite("the formula's result in trial", model(&x)).map_err(|e| e.at(trial))?);
        }
        Ok(())
    }
}

/// Lower triangle of the correlation matrix's root, row by row; empty for independent inputs.
pub(crate) fn correlation_root(inputs: &[Distribution], correlation: Correlation) -> Result<Vec<f64>, DomainError> {
    match correlation {
        Correlation::Independent => Ok(Vec::new()),
        _ => root(&matrix(inputs, correlation)?, inputs.len()),
    }
}

/// The correlation matrix, by groups or as given; off its diagonal only between normal inputs.
fn matrix(inputs: &[Distribution], correlation: Correlation) -> Result<Vec<f64>, DomainError> {
    let n = inputs.len();
    let normal: Vec<Option<Input>> = inputs
        .iter()
        .map(|d| match d {
            Distribution::Normal { mean, u } => Some(Input::new(*mean, *u)),
            _ => None,
        })
        .collect();
    let plain: Vec<Input> = normal.iter().map(|i| i.unwrap_or(Input::exact(0.0))).collect();
    let mut r = vec![0.0; n * n];
    match correlation {
        Correlation::Matrix(given) => {
            crate::propagate::check_matrix(given, n)?;
            r.copy_from_slice(given);
        }
        Correlation::Groups(shared) => {
            CHECK.count("count of group entries", shared.len(), shared.len() == n, "one an input")?;
            for i in 0..n {
                for j in 0..n {
                    let product = plain[i].u * plain[j].u;
                    r[i * n + j] = match (shared[i], shared[j]) {
                        _ if i == j => 1.0,
                        (Some(a), Some(b)) if a.group == b.group && product > 0.0 => a.u * b.u / product,
                        _ => 0.0,
                    };
                }
            }
            crate::propagate::check_matrix(&r, n)?;
        }
        Correlation::Independent => return Ok(r),
    }
    for i in 0..n {
        if normal[i].is_none() && (0..n).any(|j| j != i && r[i * n + j] != 0.0) {
            return Err(CHECK.refuse("correlated input", i as f64, "a normal one").at(i));
        }
    }
    Ok(r)
}

/// Cholesky's root of a correlation matrix that may be semi-definite.
fn root(r: &[f64], n: usize) -> Result<Vec<f64>, DomainError> {
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
            let rest = r[i * n + j] - known;
            let valid = "a matrix that belongs to real quantities (positive semi-definite)";
            if i == j {
                CHECK.that("correlation matrix: rest of the diagonal", rest, valid, |v| v > -1e-9)?;
                l[i * n + i] = math::sqrt(rest.max(0.0));
            } else if l[j * n + j] > 1e-7 {
                l[i * n + j] = rest / l[j * n + j];
            } else {
                CHECK.that("correlation matrix: rest off the diagonal", rest, valid, |v| v.abs() < 1e-6)?;
            }
        }
    }
    Ok(l)
}

#[cfg(test)]
mod tests;
