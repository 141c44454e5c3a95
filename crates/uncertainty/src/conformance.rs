//! May it be said that a limit is met? JCGM 106:2012, ISO 14253-1.
//!
//! ```
//! use uncertainty::{Input, Limits, Outcome, Rule};
//! let limits = Limits::at_most(10.0)?;
//! let decision = Rule::ISO_14253_1.decide(limits, Input::new(9.5, 0.2))?;
//! assert_eq!(decision.outcome, Outcome::Meets);
//! assert_eq!(Rule::ISO_14253_1.decide(limits, Input::new(9.9, 0.2))?.outcome, Outcome::NotDecidable);
//! # Ok::<(), uncertainty::DomainError>(())
//! ```

mod indices;

pub use indices::{
    capability_index, guard_factor_full, guard_factor_managed_risk, guard_factor_root_sum, normalised_error,
    test_uncertainty_ratio,
};

use crate::distribution::{normal, student_t};
use crate::domain::{Checks, DomainError};
use crate::propagate::Input;

const CHECK: Checks = Checks("conformance");

/// Tolerance limits: at least one of both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Limits {
    /// A lower limit alone.
    pub fn at_least(lower: f64) -> Result<Self, DomainError> {
        Ok(Self { lower: Some(CHECK.finite("lower limit", lower)?), upper: None })
    }

    /// An upper limit alone.
    pub fn at_most(upper: f64) -> Result<Self, DomainError> {
        Ok(Self { lower: None, upper: Some(CHECK.finite("upper limit", upper)?) })
    }

    /// Both limits, lower below upper.
    pub fn between(lower: f64, upper: f64) -> Result<Self, DomainError> {
        let lower = CHECK.finite("lower limit", lower)?;
        let upper = CHECK.that("upper limit", upper, "finite, above the lower limit", |u| u > lower)?;
        CHECK.result(upper - lower)?;
        Ok(Self { lower: Some(lower), upper: Some(upper) })
    }

    /// The lower limit.
    pub fn lower(self) -> Option<f64> {
        self.lower
    }

    /// The upper limit.
    pub fn upper(self) -> Option<f64> {
        self.upper
    }

    /// Upper less lower limit; `None` for a one-sided limit.
    pub fn span(self) -> Option<f64> {
        Some(self.upper? - self.lower?)
    }

    /// True if a value lies within, limits included.
    pub fn contain(self, value: f64) -> bool {
        self.lower.is_none_or(|l| value >= l) && self.upper.is_none_or(|u| value <= u)
    }

    /// The limits moved inwards by w (outwards for w < 0); `None` if nothing remains.
    fn moved(self, w: f64) -> Option<Self> {
        let moved = Self { lower: self.lower.map(|l| l + w), upper: self.upper.map(|u| u - w) };
        match (moved.lower, moved.upper) {
            (Some(l), Some(u)) if l > u => None,
            _ => Some(moved),
        }
    }
}

/// Probability that the true value lies within the limits.
///
/// ```text
/// p = F((T_U − y)/u) − F((T_L − y)/u)        F: normal, or t with the degrees of freedom of u
/// ```
/// * Units: y, u and limits alike. * Range: finite y, u 0 or above (0: certainty), ν 1 or above. * Outside:
///   [`DomainError`].
/// * Source: JCGM 106:2012, 7.3, 7.4; t distribution: A.3.2 of the same (from memory).
pub fn conformance_probability(limits: Limits, measured: Input) -> Result<f64, DomainError> {
    let y = CHECK.finite("measured value", measured.value)?;
    let u = CHECK.uncertainty(measured.u)?;
    let dof = CHECK.dof(measured.dof)?;
    if u == 0.0 {
        return Ok(if limits.contain(y) { 1.0 } else { 0.0 });
    }
    // Each tail by itself, so that small probabilities keep their digits.
    let below = |x: f64| if dof.is_infinite() { normal::cumulative(x) } else { student_t::cumulative(x, dof) };
    let z = |limit: f64| (limit - y) / u;
    let p = match (limits.lower, limits.upper) {
        (Some(l), None) => below(-z(l)),
        (None, Some(t)) => below(z(t)),
        (Some(l), Some(t)) if z(l) > 0.0 => below(-z(l)) - below(-z(t)),
        (Some(l), Some(t)) => below(z(t)) - below(z(l)),
        (None, None) => 1.0,
    };
    CHECK.result(p.clamp(0.0, 1.0))
}

/// How far from the limit a statement needs to stay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GuardBand {
    /// A width in the unit of the value.
    Width(f64),
    /// So many standard uncertainties: w = k·u. With k = 2, w = U.
    Multiple(f64),
    /// So wide that the statement is true with this probability at its edge, the other limit taken into account:
    /// w = z_p·u where that one is far.
    Probability(f64),
}

/// How a measured value is judged against a limit; part of the test specification, printed with the verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Guard band inside the limits that "meets" must keep; `None`: none.
    pub acceptance: Option<GuardBand>,
    /// Guard band outside the limits that "does not meet" must keep; `None`: none.
    pub rejection: Option<GuardBand>,
}

/// The judgement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Within the limits, by the rule.
    Meets,
    /// Outside the limits, by the rule.
    DoesNotMeet,
    /// In the guard band: the measurement is not good enough to say.
    NotDecidable,
}

/// A judgement with its numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// The judgement.
    pub outcome: Outcome,
    /// Probability that the true value lies within the limits: 1 − p is the risk of "meets", p that of "does not
    /// meet".
    pub conformance_probability: f64,
    /// Where "meets" is said; `None`: nowhere, the measurement is too uncertain for these limits.
    pub acceptance: Option<Limits>,
    /// Outside of which "does not meet" is said.
    pub rejection: Limits,
}

impl Rule {
    /// Simple acceptance (shared risk): the limits as they are. At a limit half of all statements are false.
    pub const SIMPLE: Rule = Rule { acceptance: None, rejection: None };

    /// Both statements proven with 95 %: the default where the document is silent (ISO 14253-1:2017, from memory).
    pub const ISO_14253_1: Rule = Rule::guarded(GuardBand::Probability(0.95));

    /// "Meets" is proven, "does not meet" at the limit (JCGM 106:2012, 8.3.2).
    pub const fn guarded_acceptance(band: GuardBand) -> Rule {
        Rule { acceptance: Some(band), rejection: None }
    }

    /// "Does not meet" is proven, "meets" at the limit (JCGM 106:2012, 8.3.3).
    pub const fn guarded_rejection(band: GuardBand) -> Rule {
        Rule { acceptance: None, rejection: Some(band) }
    }

    /// Both statements proven.
    pub const fn guarded(band: GuardBand) -> Rule {
        Rule { acceptance: Some(band), rejection: Some(band) }
    }

    /// The judgement on a measured value.
    ///
    /// ```text
    /// meets: T_L + w_a ≤ y ≤ T_U − w_a    does not meet: y < T_L − w_r or y > T_U + w_r    else not decidable
    /// ```
    /// * Units: y, u and limits alike. * Range: as at [`conformance_probability`]; guard bands 0 or above, their
    ///   probability from 0.5 and below 1. * Outside: [`DomainError`].
    /// * Source: JCGM 106:2012, clause 8; ISO 14253-1.
    pub fn decide(self, limits: Limits, measured: Input) -> Result<Decision, DomainError> {
        let conformance_probability = conformance_probability(limits, measured)?;
        let acceptance = match self.acceptance {
            None => Some(limits),
            Some(band) => match acceptance_width(band, limits, measured)? {
                Some(w) => limits.moved(w),
                None => None,
            },
        };
        let rejection = match self.rejection {
            None => limits,
            Some(band) => limits.moved(-rejection_width(band, limits, measured)?).unwrap_or(limits),
        };
        for limits in [acceptance, Some(rejection)].into_iter().flatten() {
            for edge in [limits.lower, limits.upper].into_iter().flatten() {
                CHECK.result(edge)?;
            }
        }
        let y = measured.value;
        let outcome = if acceptance.is_some_and(|a| a.contain(y)) {
            Outcome::Meets
        } else if !rejection.contain(y) {
            Outcome::DoesNotMeet
        } else {
            Outcome::NotDecidable
        };
        Ok(Decision { outcome, conformance_probability, acceptance, rejection })
    }
}

/// Width of the guard band inside the limits; `None` if no value within them is sure enough.
fn acceptance_width(band: GuardBand, limits: Limits, measured: Input) -> Result<Option<f64>, DomainError> {
    let (p, one_sided) = match band {
        GuardBand::Probability(p) => (p, guard_factor(p, measured)? * measured.u),
        other => return fixed_width(other, measured).map(Some),
    };
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else { return Ok(Some(one_sided)) };
    if other_limit_is_far(limits, measured) {
        return Ok(Some(one_sided));
    }
    let half = (upper - lower) / 2.0;
    let at = |w: f64| conformance_probability(limits, Input { value: upper - w, ..measured });
    if one_sided > half || at(half)? < p {
        return Ok(None);
    }
    // The one-sided width is a little too narrow where the other limit is near.
    bisect(one_sided, half, |w| at(w).map(|q| q >= p)).map(Some)
}

/// Width of the guard band outside the limits.
fn rejection_width(band: GuardBand, limits: Limits, measured: Input) -> Result<f64, DomainError> {
    let (p, one_sided) = match band {
        GuardBand::Probability(p) => (p, guard_factor(p, measured)? * measured.u),
        other => return fixed_width(other, measured),
    };
    let (Some(_), Some(upper)) = (limits.lower, limits.upper) else { return Ok(one_sided) };
    if other_limit_is_far(limits, measured) {
        return Ok(one_sided);
    }
    // With the other limit near, less width is enough.
    bisect(0.0, one_sided, |w| {
        conformance_probability(limits, Input { value: upper + w, ..measured }).map(|q| q <= 1.0 - p)
    })
}

/// True if the width of the tolerance leaves less than 1e-18 beyond one limit for a value up to half of it inside the
/// other: then each limit stands alone.
fn other_limit_is_far(limits: Limits, measured: Input) -> bool {
    measured.dof.is_infinite() && limits.span().is_some_and(|span| span > 18.0 * measured.u)
}

fn fixed_width(band: GuardBand, measured: Input) -> Result<f64, DomainError> {
    match band {
        GuardBand::Width(w) => CHECK.not_negative("guard band", w),
        GuardBand::Multiple(k) => CHECK.result(CHECK.not_negative("guard band factor", k)? * measured.u),
        GuardBand::Probability(p) => CHECK.result(guard_factor(p, measured)? * measured.u),
    }
}

fn guard_factor(p: f64, measured: Input) -> Result<f64, DomainError> {
    let p = CHECK.that("guard band probability", p, "from 0.5 and below 1", |p| (0.5..1.0).contains(&p))?;
    Ok(student_t::quantile(p, measured.dof)?.max(0.0))
}

/// The smallest w between two ends for which the condition holds, given that it holds at `to`.
fn bisect(mut from: f64, mut to: f64, holds: impl Fn(f64) -> Result<bool, DomainError>) -> Result<f64, DomainError> {
    if holds(from)? {
        return Ok(from);
    }
    for _ in 0..60 {
        let middle = from + (to - from) / 2.0;
        if holds(middle)? {
            to = middle;
        } else {
            from = middle;
        }
    }
    Ok(to)
}

#[cfg(test)]
mod tests;
