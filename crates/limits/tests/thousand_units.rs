//! A thousand simulated units near a limit, each measured with a known uncertainty and judged: how many statements are
//! false against what is stated of them. Seeded: the same units every time.

#![allow(clippy::unwrap_used)]

use limits::{Specification, Verdict, judge};
use uncertainty::monte_carlo::Generator;
use uncertainty::risk::global_risk;
use uncertainty::{Distribution, GuardBand, Limits, Outcome, Rule};

const UNITS: u32 = 1000;
/// Standard uncertainty of a measurement.
const U: f64 = 0.009;

/// A unit's efficiency as it is, and the verdict on it as measured.
fn judged(limits: Limits, rule: Rule, prior: Distribution, seed: u64) -> Vec<(f64, Verdict)> {
    let ratio = units::find("1").unwrap();
    let spec = Specification { rule: Some(rule), ..Specification::new("efficiency", limits, ratio, "RIG-1") };
    let mut generator = Generator::new(seed);
    let mut unit = || {
        let truth = generator.draw(prior).unwrap();
        (truth, judge(&spec, truth + U * generator.normal(), U, f64::INFINITY).unwrap())
    };
    (0..UNITS).map(|_| unit()).collect()
}

/// So many of so many is what a probability says, within four standard deviations of sampling.
fn within_sampling(what: &str, count: usize, of: f64, p: f64) {
    let spread = (of * p * (1.0 - p)).sqrt();
    assert!((count as f64 - of * p).abs() <= 4.0 * spread + 1.0, "{what}: {count} of {of}, stated {}", of * p);
}

/// JCGM 106:2012, clause 9.5: units from a known production, the risks of the whole procedure.
#[test]
fn false_acceptance_and_false_rejection_are_as_stated() {
    let production = Distribution::Normal { mean: 0.74, u: 0.015 };
    let tolerances = [Limits::at_least(0.73).unwrap(), Limits::between(0.72, 0.765).unwrap()];
    let band = GuardBand::Probability(0.95);
    let rules = [Rule::SIMPLE, Rule::guarded_acceptance(band), Rule::guarded_rejection(band), Rule::guarded(band)];
    for (t, tolerance) in tolerances.into_iter().enumerate() {
        for (r, rule) in rules.into_iter().enumerate() {
            let all = judged(tolerance, rule, production, (10 * t + r) as u64);
            let decision = all[0].1.decision;
            let accepting = global_risk(tolerance, decision.acceptance.unwrap(), production, U).unwrap();
            let rejecting = global_risk(tolerance, decision.rejection, production, U).unwrap();
            let count = |outcome, good| {
                all.iter().filter(|(x, v)| v.decision.outcome == outcome && tolerance.contain(*x) == good).count()
            };
            let n = f64::from(UNITS);
            within_sampling("falsely accepted", count(Outcome::Meets, false), n, accepting.false_accept);
            within_sampling("rightly accepted", count(Outcome::Meets, true), n, accepting.true_accept);
            within_sampling("falsely rejected", count(Outcome::DoesNotMeet, true), n, rejecting.false_reject);
            within_sampling("rightly rejected", count(Outcome::DoesNotMeet, false), n, rejecting.true_reject);
        }
    }
}

/// Where nothing is known of the units before they are measured, the risk printed with each statement is the share of
/// statements that are false: units spread evenly about the limit.
#[test]
fn the_risk_told_with_each_verdict_is_how_often_it_is_false() {
    let tolerance = Limits::at_least(0.73).unwrap();
    let even = Distribution::Rectangular { low: 0.73 - 6.0 * U, high: 0.73 + 6.0 * U };
    for (seed, rule) in [Rule::SIMPLE, Rule::guarded(GuardBand::Multiple(1.0))].into_iter().enumerate() {
        let all = judged(tolerance, rule, even, 100 + seed as u64);
        for outcome in [Outcome::Meets, Outcome::DoesNotMeet] {
            let of: Vec<_> = all.iter().filter(|(_, v)| v.decision.outcome == outcome).collect();
            let stated = of.iter().filter_map(|(_, v)| v.risk()).sum::<f64>() / of.len() as f64;
            let wrong = of.iter().filter(|(x, _)| tolerance.contain(*x) != (outcome == Outcome::Meets)).count();
            assert!(of.len() > 350 && stated > 0.01, "{} {stated}", of.len());
            within_sampling("false", wrong, of.len() as f64, stated);
        }
    }
}

/// At the edge of a guard band of 95 % no more than one statement in twenty is false, whatever the unit is.
#[test]
fn a_guard_band_keeps_its_promise() {
    let tolerance = Limits::at_least(0.73).unwrap();
    let guarded = Rule::guarded(GuardBand::Probability(0.95));
    // The worst unit there is: just outside, and just inside.
    for (truth, false_outcome) in [(0.73 - 1e-9, Outcome::Meets), (0.73 + 1e-9, Outcome::DoesNotMeet)] {
        let at = Distribution::Rectangular { low: truth - 1e-10, high: truth + 1e-10 };
        let all = judged(tolerance, guarded, at, 7);
        let wrong = all.iter().filter(|(_, v)| v.decision.outcome == false_outcome).count();
        within_sampling("false", wrong, f64::from(UNITS), 0.05);
    }
}
