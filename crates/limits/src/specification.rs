//! A measured value with its uncertainty against a limit: meets, does not meet, not decidable.
//!
//! ```
//! use limits::{Specification, judge};
//! use uncertainty::Limits;
//! let ratio = units::find("1").map_err(|e| e.to_string())?;
//! let at_least = Limits::at_least(0.73).map_err(|e| e.to_string())?;
//! let spec = Specification::new("compressor efficiency", at_least, ratio, "RIG-1, B, 4.2");
//! let verdict = judge(&spec, 0.742, 0.009, f64::INFINITY).map_err(|e| e.to_string())?;
//! assert_eq!(
//!     verdict.to_string(),
//!     "compressor efficiency 0.742 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): not decidable, inside the \
//!      guard band of 0.015; conformance probability 91 %; rule: guarded acceptance and rejection, 95 % (the default, \
//!      the document is silent)"
//! );
//! # Ok::<(), String>(())
//! ```

mod sentence;

use crate::{Kind, LimitSpec, kinds};
use uncertainty::conformance::test_uncertainty_ratio;
use uncertainty::{Decision, DomainError, Input, Limits, Outcome, Rule};
use units::{PressureReference, Unit};

/// The rule where the document is silent: both statements proven with 95 % (ISO 14253-1:2017, from memory).
pub const DEFAULT_RULE: Rule = Rule::ISO_14253_1;

/// The coverage factor of the expanded uncertainty that sentences and ratios show.
pub const COVERAGE_FACTOR: f64 = 2.0;

/// What a measured value has to meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Specification {
    /// What is measured, as a sentence calls it.
    pub name: String,
    /// The limits, in SI.
    pub limits: Limits,
    /// The unit that the document writes them in.
    pub unit: &'static Unit,
    /// What a pressure is measured against, where the unit does not say it.
    pub reference: Option<PressureReference>,
    /// Whether value and limits are differences of two values.
    pub is_difference: bool,
    /// How it is judged; `None`: the document is silent, [`DEFAULT_RULE`] is taken and named.
    pub rule: Option<Rule>,
    /// Document, revision and paragraph.
    pub source: String,
}

/// A judgement with everything it rests on; as text the one sentence that says it.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// What had to be met.
    pub specification: Specification,
    /// What was measured, in SI.
    pub measured: Input,
    /// The judgement.
    pub decision: Decision,
}

impl Specification {
    /// Limits on values, the document being silent on the rule.
    pub fn new(name: &str, limits: Limits, unit: &'static Unit, source: &str) -> Specification {
        Specification {
            name: name.to_owned(),
            limits,
            unit,
            reference: None,
            is_difference: false,
            rule: None,
            source: source.to_owned(),
        }
    }

    /// The rule that it is judged by.
    pub fn rule_used(&self) -> Rule {
        self.rule.unwrap_or(DEFAULT_RULE)
    }
}

impl LimitSpec {
    /// What a limit asks of a measured value called `name`; `None` for kinds that look at a course of values, or at a
    /// limit that changes with another column.
    pub fn specification(&self, name: &str) -> Option<Specification> {
        let s = &self.settings;
        let is = |kind: &str| kinds::find(kind).is_ok_and(|k: &Kind| k == self.kind);
        let limits = if is("above") {
            Limits::at_most(s.threshold?)
        } else if is("below") {
            Limits::at_least(s.threshold?)
        } else if is("band") || is("deviation") {
            match (s.low, s.high) {
                (Some(low), Some(high)) => Limits::between(low, high),
                (Some(low), None) => Limits::at_least(low),
                (None, high) => Limits::at_most(high?),
            }
        } else {
            return None;
        };
        Some(Specification {
            reference: self.reference,
            is_difference: self.kind.of_differences,
            rule: self.rule,
            ..Specification::new(name, limits.ok()?, self.unit, &self.source())
        })
    }
}

/// Judges a measured value: `value` and its standard uncertainty `u` in SI, `dof` the degrees of freedom of `u`
/// (infinite where it is known exactly).
///
/// * Range: finite value, u 0 or above, dof 1 or above. * Outside: [`DomainError`].
/// * Source: JCGM 106:2012, clause 8, by [`Rule::decide`].
pub fn judge(specification: &Specification, value: f64, u: f64, dof: f64) -> Result<Verdict, DomainError> {
    let measured = Input { value, u, dof };
    let decision = specification.rule_used().decide(specification.limits, measured)?;
    Ok(Verdict { specification: specification.clone(), measured, decision })
}

impl Verdict {
    /// The risk that the statement is false, as the measurement alone tells it; `None` where nothing is stated.
    pub fn risk(&self) -> Option<f64> {
        match self.decision.outcome {
            Outcome::Meets => Some(1.0 - self.decision.conformance_probability),
            Outcome::DoesNotMeet => Some(self.decision.conformance_probability),
            Outcome::NotDecidable => None,
        }
    }

    /// Tolerance span over twice the expanded uncertainty; `None` for a one-sided limit, which has no span, and
    /// without uncertainty.
    pub fn test_uncertainty_ratio(&self) -> Option<f64> {
        test_uncertainty_ratio(self.specification.limits, COVERAGE_FACTOR * self.measured.u).ok().flatten()
    }

    /// Width of the guard band that the outcome had to keep, in SI; `None` where the rule has none on that side, or
    /// no value could be accepted at all.
    pub fn guard_band(&self) -> Option<f64> {
        let limits = self.specification.limits;
        let edges = match self.decision.outcome {
            Outcome::Meets => self.decision.acceptance?,
            Outcome::DoesNotMeet => self.decision.rejection,
            // Inside the limits it is the acceptance that failed, outside the rejection.
            Outcome::NotDecidable if limits.contain(self.measured.value) => self.decision.acceptance?,
            Outcome::NotDecidable => self.decision.rejection,
        };
        let width = |limit: Option<f64>, edge: Option<f64>| Some((limit? - edge?).abs());
        let width = width(limits.upper(), edges.upper()).or_else(|| width(limits.lower(), edges.lower()))?;
        (width > 0.0).then_some(width)
    }
}

/// The word for an outcome in texts and tables.
pub fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Meets => "meets",
        Outcome::DoesNotMeet => "does not meet",
        Outcome::NotDecidable => "not decidable",
    }
}

#[cfg(test)]
mod tests;
