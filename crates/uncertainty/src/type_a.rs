//! Mean of repeated readings with its uncertainty (type A).
//!
//! Readings of a slow sensor taken fast repeat each other: 100 readings over 10 s of a sensor with a time constant
//! of 2 s are worth about three. [`mean`] must not be used on them; [`mean_of_correlated`] finds how many they are
//! worth from the readings themselves.

use crate::domain::{Checks, DomainError};
use crate::propagate::Input;
use units::math;

/// A mean and what is known of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation of a reading.
    pub s: f64,
    /// Standard uncertainty of the mean.
    pub u: f64,
    /// Degrees of freedom of `u`.
    pub dof: f64,
    /// How many independent readings they are worth; their count for independent ones.
    pub effective_count: f64,
}

impl Mean {
    /// The mean as an input of a formula.
    pub fn input(self) -> Input {
        Input { value: self.mean, u: self.u, dof: self.dof }
    }
}

/// Mean of independent readings.
///
/// ```text
/// x̄ = Σx/n    s² = Σ(x − x̄)²/(n − 1)    u = s/√n    ν = n − 1
/// ```
/// * Units: of the readings. * Range: two finite readings or more. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), 4.2.
pub fn mean(readings: &[f64]) -> Result<Mean, DomainError> {
    let check = Checks("mean of readings");
    let n = readings.len();
    check.count("count of readings", n, n >= 2, "2 or more")?;
    check.all_finite("reading", readings)?;
    let count = n as f64;
    let mean = average(readings);
    let s = math::sqrt(readings.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (count - 1.0));
    let u = check.result(s / math::sqrt(count))?;
    Ok(Mean { mean: check.result(mean)?, s: check.result(s)?, u, dof: count - 1.0, effective_count: count })
}

/// Mean of evenly spaced readings that may resemble their neighbours.
///
/// ```text
/// ρ_k = Σ(x_i − x̄)(x_{i+k} − x̄)/Σ(x_i − x̄)²         summed up to the last k before the first ρ_k ≤ 0
/// n_eff = n/(1 + 2·Σ(1 − k/n)·ρ_k) ≤ n    ν = n_eff − 1    u² = s²·(n − 1)/(n·(n_eff − 1))
/// ```
/// With n_eff = n this is [`mean`]. The last expression also corrects s², which readings that resemble one another
/// leave too small. `s` is returned as observed.
/// * Units: of the readings. * Range: eight finite readings or more, worth at least two: n_eff ≥ 2, else the window is
///   too short to say. Estimated correlations are too small in short windows: give at least ten correlation times.
/// * Outside: [`DomainError`].
/// * Source: N. F. Zhang, Metrologia 43 (2006) S276, "Calculation of the uncertainty of the mean of autocorrelated
///   measurements" (formula from memory; the truncation is ours).
pub fn mean_of_correlated(readings: &[f64]) -> Result<Mean, DomainError> {
    let check = Checks("mean of correlated readings");
    let n = readings.len();
    check.count("count of readings", n, n >= 8, "8 or more")?;
    let plain = mean(readings)?;
    if plain.s == 0.0 {
        return Ok(plain);
    }
    let count = n as f64;
    let deviations: Vec<f64> = readings.iter().map(|x| (x - plain.mean) / plain.s).collect();
    let worth = count / inflation(&deviations);
    if worth < 2.0 {
        return Err(check.refuse("count of independent readings", worth, "2 or more: take a longer window"));
    }
    let u = check.result(plain.s * math::sqrt((count - 1.0) / (count * (worth - 1.0))))?;
    Ok(Mean { u, dof: worth - 1.0, effective_count: worth, ..plain })
}

/// How many independent readings n evenly spaced readings of first-order correlation ρ are worth.
///
/// ```text
/// n_eff = n·(1 − ρ)/(1 + ρ)        ρ = exp(−Δt/τ) for a first-order sensor of time constant τ read every Δt
/// ```
/// * Units: dimensionless.
/// * Range: n 1 or above, 0 ≤ ρ < 1; n_eff not below 1. * Outside: [`DomainError`].
/// * Source: limit of the formula of [`mean_of_correlated`] for long windows.
pub fn effective_count(count: f64, correlation: f64) -> Result<f64, DomainError> {
    let check = Checks("effective count");
    let n = check.that("count", count, "1 or above", |n| n >= 1.0)?;
    let rho = check.that("correlation", correlation, "0 or above and below 1", |r| (0.0..1.0).contains(&r))?;
    Ok((n * (1.0 - rho) / (1.0 + rho)).max(1.0))
}

/// Correlation coefficient of two quantities read at the same times: that of their means too.
///
/// ```text
/// r = Σ(x − x̄)(y − ȳ)/√(Σ(x − x̄)²·Σ(y − ȳ)²)
/// ```
/// * Units: dimensionless.
/// * Range: two pairs or more, finite, both quantities changing. * Outside: [`DomainError`].
/// * Source: JCGM 100:2008 (GUM), 5.2.3.
pub fn correlation(x: &[f64], y: &[f64]) -> Result<f64, DomainError> {
    let check = Checks("correlation of readings");
    check.count("count of readings of the second", y.len(), y.len() == x.len(), "as many as of the first")?;
    let (a, b) = (mean(x)?, mean(y)?);
    let (sx, sy) = (check.positive("spread of the first", a.s)?, check.positive("spread of the second", b.s)?);
    let sum: f64 = x.iter().zip(y).map(|(x, y)| (x - a.mean) / sx * ((y - b.mean) / sy)).sum();
    check.result((sum / (x.len() as f64 - 1.0)).clamp(-1.0, 1.0))
}

/// 1 + 2·Σ(1 − k/n)·ρ_k of deviations about zero, summed up to the last k before the first ρ_k ≤ 0: by how much their
/// correlation inflates the variance of a mean. 1 for independent or all zero ones, never below.
pub(crate) fn inflation(deviations: &[f64]) -> f64 {
    let n = deviations.len();
    let at_lag = |k: usize| -> f64 { deviations.iter().zip(deviations.iter().skip(k)).map(|(a, b)| a * b).sum() };
    let square = at_lag(0);
    let mut sum = 0.0;
    for k in 1..n {
        let product = at_lag(k);
        if product <= 0.0 {
            break;
        }
        sum += (1.0 - k as f64 / n as f64) * product / square;
    }
    1.0 + 2.0 * sum
}

/// Mean by increments: no sum that overflows, and exact for equal readings.
fn average(readings: &[f64]) -> f64 {
    let first = readings.first().copied().unwrap_or(0.0);
    first + readings.iter().map(|x| x - first).sum::<f64>() / readings.len().max(1) as f64
}

#[cfg(test)]
mod tests;
