//! Is it steady? The ratio of two estimates of the same variance.
//!
//! One estimate takes deviations from a filtered mean, the other the differences of successive samples. While nothing
//! but white noise moves the samples both agree, and their ratio is about 1; a drift raises the first alone.
//!
//! **The test takes successive samples for independent.** A slow sensor read fast is not: ten readings a second from
//! a sensor with a time constant of 2 s differ little from one to the next, the ratio is about ten, and steady
//! stretches are called unsteady nearly always (a test here counts it). So samples must be at least three time
//! constants apart: [`SteadyTest`] skips what comes sooner. Put a bound on the slope beside it
//! ([`StraightLine`](crate::line::StraightLine)): a drift slow against the filters passes the ratio test.

use crate::domain::{Checks, DomainError};
use crate::monte_carlo::{Generator, Simulated};
use units::math;

const CHECK: Checks = Checks("steady state");

/// Filter factors: of the mean, of the deviations from it, of the differences. Smaller is slower and surer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filters {
    /// λ₁.
    pub mean: f64,
    /// λ₂.
    pub deviation: f64,
    /// λ₃.
    pub difference: f64,
}

impl Filters {
    /// 0.2, 0.1, 0.1, as in Cao & Rhinehart 1995. 95 % critical value 1.44.
    pub const FAST: Filters = Filters { mean: 0.2, deviation: 0.1, difference: 0.1 };
    /// 0.05 each. 95 % critical value 1.33.
    pub const SLOW: Filters = Filters { mean: 0.05, deviation: 0.05, difference: 0.05 };

    fn checked(self) -> Result<Self, DomainError> {
        for factor in [self.mean, self.deviation, self.difference] {
            CHECK.that("filter factor", factor, "above 0, at most 1", |f| f > 0.0 && f <= 1.0)?;
        }
        Ok(self)
    }
}

/// The recursion.
///
/// ```text
/// ν² ← λ₂·(x − x_f)² + (1 − λ₂)·ν²        with the filtered mean before this sample
/// x_f ← λ₁·x + (1 − λ₁)·x_f
/// δ² ← λ₃·(x − x_previous)² + (1 − λ₃)·δ²
/// R = (2 − λ₁)·ν²/δ²
/// ```
/// * Source: S. Cao and R. R. Rhinehart, "An efficient method for on-line identification of steady state", Journal
///   of Process Control 5 (1995) 363.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioOfVariances {
    filters: Filters,
    mean: f64,
    previous: f64,
    deviation: f64,
    difference: f64,
}

impl RatioOfVariances {
    /// Starts at a first sample, both variances 0. The start shows for a few times 1/λ.
    ///
    /// * Range: filter factors above 0, at most 1; a finite sample. * Outside: [`DomainError`].
    pub fn starting_at(filters: Filters, first: f64) -> Result<Self, DomainError> {
        let first = CHECK.finite("sample", first)?;
        Ok(Self { filters: filters.checked()?, mean: first, previous: first, deviation: 0.0, difference: 0.0 })
    }

    /// Takes the next sample and gives the ratio: `None` while all samples were equal.
    ///
    /// * Range: a finite sample. * Outside: [`DomainError`], the state as it was.
    pub fn push(&mut self, sample: f64) -> Result<Option<f64>, DomainError> {
        let x = CHECK.finite("sample", sample)?;
        let Filters { mean: l1, deviation: l2, difference: l3 } = self.filters;
        let filtered = |l: f64, new: f64, old: f64| l * new + (1.0 - l) * old;
        let next = Self {
            filters: self.filters,
            deviation: CHECK.result(filtered(l2, (x - self.mean) * (x - self.mean), self.deviation))?,
            mean: CHECK.result(filtered(l1, x, self.mean))?,
            difference: CHECK.result(filtered(l3, (x - self.previous) * (x - self.previous), self.difference))?,
            previous: x,
        };
        *self = next;
        Ok(self.ratio())
    }

    /// The ratio as it stands; `None` while all samples were equal.
    pub fn ratio(&self) -> Option<f64> {
        let ratio = (2.0 - self.filters.mean) * self.deviation / self.difference;
        ratio.is_finite().then_some(ratio)
    }
}

/// What the test says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Steadiness {
    /// The ratio is at or below its critical value.
    Steady,
    /// The ratio is above its critical value.
    Unsteady,
    /// Too few samples since the start, or since the test had to start anew.
    Unknown,
}

/// Which samples the test takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// Least distance of two samples taken, s: at least three time constants of the slowest sensor in the quantity.
    pub spacing_s: f64,
    /// Longest distance of two samples taken, in multiples of `spacing_s`: what lies further apart is not one
    /// stretch.
    pub longest_gap: f64,
}

/// The ratio test on samples with their times, taken at the distances of [`Sampling`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteadyTest {
    filters: Filters,
    critical: f64,
    sampling: Sampling,
    taken: u32,
    taken_s: f64,
    seen_s: f64,
    ratio: Option<RatioOfVariances>,
}

impl SteadyTest {
    /// `critical`: critical value of the ratio, 1.44 for [`Filters::FAST`] and 95 %.
    ///
    /// * Range: critical value above 1, spacing above 0 s, longest gap above 1. * Outside: [`DomainError`].
    /// * Source: the printed critical values (Cao and Rhinehart, Critical values for a steady-state identifier,
    ///   Journal of Process Control 7 (1997) 149) were not at hand: 1.439 and 1.325 are from own simulation, 1.44 is
    ///   remembered from the literature; [`null_distribution`] gives others.
    pub fn new(filters: Filters, critical: f64, sampling: Sampling) -> Result<Self, DomainError> {
        let filters = filters.checked()?;
        let critical = CHECK.that("critical value", critical, "finite, above 1", |c| c > 1.0)?;
        CHECK.positive("spacing in s", sampling.spacing_s)?;
        CHECK.that("longest gap in spacings", sampling.longest_gap, "finite, above 1", |g| g > 1.0)?;
        Ok(Self { filters, critical, sampling, taken: 0, taken_s: 0.0, seen_s: 0.0, ratio: None })
    }

    /// Takes a sample, unless it comes too soon after the last one taken, and says how things stand. The first 3/λ
    /// samples taken only fill the filters. Equal samples throughout are steady.
    ///
    /// The test starts anew at this sample where its time lies before the last one's (the clock was set back: what
    /// was said before is of no other time any more) and where it comes later than the longest gap after the last
    /// one taken (nobody knows what happened between): [`Steadiness::Unknown`] until the filters are filled again.
    ///
    /// * Range: finite time and sample. * Outside: [`DomainError`], the state as it was.
    pub fn push(&mut self, time_s: f64, sample: f64) -> Result<Steadiness, DomainError> {
        let time_s = CHECK.finite("time in s", time_s)?;
        let sample = CHECK.finite("sample", sample)?;
        let since = time_s - self.taken_s;
        let longest = self.sampling.longest_gap * self.sampling.spacing_s;
        match &mut self.ratio {
            Some(ratio) if time_s >= self.seen_s && since <= longest => {
                if since < self.sampling.spacing_s {
                    self.seen_s = time_s;
                    return Ok(self.says());
                }
                ratio.push(sample)?;
            }
            _ => {
                self.ratio = Some(RatioOfVariances::starting_at(self.filters, sample)?);
                self.taken = 0;
            }
        }
        (self.taken_s, self.seen_s) = (time_s, time_s);
        self.taken = self.taken.saturating_add(1);
        Ok(self.says())
    }

    /// The ratio as it stands.
    pub fn ratio(&self) -> Option<f64> {
        self.ratio.and_then(|r| r.ratio())
    }

    fn says(&self) -> Steadiness {
        let slowest = self.filters.mean.min(self.filters.deviation).min(self.filters.difference);
        if f64::from(self.taken) < 3.0 / slowest {
            return Steadiness::Unknown;
        }
        match self.ratio() {
            Some(ratio) if ratio > self.critical => Steadiness::Unsteady,
            _ => Steadiness::Steady,
        }
    }
}

/// The distribution of the ratio over so many successive steady samples, the start left out: its quantiles are the
/// critical values.
///
/// * Units: dimensionless.
/// * `correlation`: of successive samples, 0 for white noise; above 0 it shows what correlated ones do.
/// * Range: filter factors above 0, at most 1; 0 ≤ correlation < 1; 1 000 to 100 million samples. Four hundred
///   thousand give the 95 % value to about 0.01.
/// * Outside: [`DomainError`]. * Source: own simulation of the published recursion.
pub fn null_distribution(
    filters: Filters,
    correlation: f64,
    samples: usize,
    seed: u64,
) -> Result<Simulated, DomainError> {
    let rho = CHECK.that("correlation", correlation, "0 or above and below 1", |r| (0.0..1.0).contains(&r))?;
    CHECK.count("count of samples", samples, (1_000..=100_000_000).contains(&samples), "1 000 to 100 million")?;
    let mut g = Generator::new(seed);
    let fresh = math::sqrt(1.0 - rho * rho);
    let mut x = g.normal();
    let mut ratio = RatioOfVariances::starting_at(filters, x)?;
    let mut ratios = Vec::with_capacity(samples);
    for i in 0..samples + 500 {
        x = rho * x + fresh * g.normal();
        let r = ratio.push(x)?;
        if i >= 500 {
            ratios.extend(r);
        }
    }
    Simulated::from_results(ratios)
}

#[cfg(test)]
mod tests;
