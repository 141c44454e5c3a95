use super::*;
use proptest::prelude::*;

fn outcome(rule: Rule, limits: Limits, y: f64, u: f64) -> Outcome {
    rule.decide(limits, Input::new(y, u)).unwrap().outcome
}

#[test]
fn one_limit_four_rules() {
    let limits = Limits::at_most(10.0).unwrap();
    let u2 = GuardBand::Multiple(2.0);
    use Outcome::{DoesNotMeet, Meets, NotDecidable};
    for (y, simple, acceptance, rejection, both) in [
        (9.7, Meets, Meets, Meets, Meets),
        (9.9, Meets, NotDecidable, Meets, NotDecidable),
        (10.1, DoesNotMeet, DoesNotMeet, NotDecidable, NotDecidable),
        (10.3, DoesNotMeet, DoesNotMeet, DoesNotMeet, DoesNotMeet),
    ] {
        assert_eq!(outcome(Rule::SIMPLE, limits, y, 0.1), simple, "{y}");
        assert_eq!(outcome(Rule::guarded_acceptance(u2), limits, y, 0.1), acceptance, "{y}");
        assert_eq!(outcome(Rule::guarded_rejection(u2), limits, y, 0.1), rejection, "{y}");
        assert_eq!(outcome(Rule::guarded(u2), limits, y, 0.1), both, "{y}");
    }
}

/// The edge of a one-sided guard band by probability is z·u from the limit, 1.645·u for 95 %.
#[test]
fn guard_band_by_probability() {
    let decide = |limits: Limits, u: f64| Rule::ISO_14253_1.decide(limits, Input::new(0.0, u)).unwrap();
    let one_sided = decide(Limits::at_least(-1.0).unwrap(), 0.1);
    assert!((one_sided.acceptance.unwrap().lower().unwrap() + 1.0 - 0.164_485).abs() < 1e-6);
    // Tolerance of ±1.8 u: the other limit counts, p at the centre is 0.928: nothing can be accepted.
    assert_eq!(decide(Limits::between(-1.8, 1.8).unwrap(), 1.0).acceptance, None);
    // Tolerance of ±2 u, 0.9545 at the centre: a narrow interval remains, its edge at exactly 95 %.
    let limits = Limits::between(-2.0, 2.0).unwrap();
    let narrow = decide(limits, 1.0).acceptance.unwrap();
    let p = conformance_probability(limits, Input::new(narrow.upper().unwrap(), 1.0)).unwrap();
    assert!((p - 0.95).abs() < 1e-9 && narrow.upper().unwrap() < 0.3, "{narrow:?} {p}");
    let outside = decide(limits, 1.0).rejection;
    let p = conformance_probability(limits, Input::new(outside.upper().unwrap(), 1.0)).unwrap();
    assert!((p - 0.05).abs() < 1e-9, "{outside:?} {p}");
}

/// Few degrees of freedom widen the guard band.
#[test]
fn guard_band_with_t() {
    let limits = Limits::at_most(0.0).unwrap();
    let measured = Input { value: -2.0, u: 1.0, dof: 4.0 };
    let decision = Rule::ISO_14253_1.decide(limits, measured).unwrap();
    assert_eq!(decision.outcome, Outcome::NotDecidable);
    assert!((decision.acceptance.unwrap().upper().unwrap() + 2.131_847).abs() < 1e-6);
    assert_eq!(outcome(Rule::ISO_14253_1, limits, -2.0, 1.0), Outcome::Meets);
}

#[test]
fn without_uncertainty_it_is_yes_or_no() {
    let limits = Limits::between(1.0, 2.0).unwrap();
    assert_eq!(outcome(Rule::ISO_14253_1, limits, 2.0, 0.0), Outcome::Meets);
    assert_eq!(outcome(Rule::ISO_14253_1, limits, 2.1, 0.0), Outcome::DoesNotMeet);
}

#[test]
fn ratios() {
    let both = Limits::between(-1.0, 1.0).unwrap();
    assert_eq!(test_uncertainty_ratio(both, 0.25).unwrap(), Some(4.0));
    assert_eq!(test_uncertainty_ratio(Limits::at_most(1.0).unwrap(), 0.25).unwrap(), None);
    assert_eq!(capability_index(both, 0.125).unwrap(), Some(4.0));
    assert_eq!(normalised_error(10.0, 3.0, 5.0, 4.0).unwrap(), 1.0);
    let error = normalised_error(10.0, 0.0, 5.0, 0.0).unwrap_err().to_string();
    assert!(error.contains("greater of both expanded uncertainties is 0"), "{error}");
}

proptest! {
    #[test]
    fn no_number_gives_nan_or_panic(y in any::<f64>(), u in any::<f64>(), a in any::<f64>(), b in any::<f64>()) {
        for limits in [Limits::at_least(a), Limits::at_most(a), Limits::between(a, b)].into_iter().flatten() {
            use GuardBand::{Multiple, Probability, Width};
            for band in [Width(b), Multiple(b), Probability(b), Probability(0.95)] {
                for dof in [f64::INFINITY, 3.0, b] {
                    if let Ok(d) = Rule::guarded(band).decide(limits, Input { value: y, u: u.abs(), dof }) {
                        prop_assert!((0.0..=1.0).contains(&d.conformance_probability));
                        let edges = [d.acceptance.and_then(Limits::lower), d.rejection.lower(), d.rejection.upper()];
                        prop_assert!(edges.into_iter().flatten().all(f64::is_finite));
                    }
                }
            }
            for r in [test_uncertainty_ratio(limits, u), capability_index(limits, u)] {
                prop_assert!(r.map_or(true, |r| r.is_none_or(f64::is_finite)));
            }
        }
        let factors = [guard_factor_full(a), guard_factor_root_sum(a), guard_factor_managed_risk(a)];
        for r in factors.into_iter().chain([normalised_error(y, u, a, b)]) {
            prop_assert!(r.map_or(true, f64::is_finite));
        }
    }

    /// The three outcomes lie in order: a better value is never judged worse.
    #[test]
    fn the_outcome_follows_the_value(u in 0.01..5.0f64, y in -10.0..10.0f64, step in 0.0..5.0f64) {
        let limits = Limits::at_most(0.0).unwrap();
        let rank = |y| match outcome(Rule::ISO_14253_1, limits, y, u) {
            Outcome::Meets => 0,
            Outcome::NotDecidable => 1,
            Outcome::DoesNotMeet => 2,
        };
        prop_assert!(rank(y) <= rank(y + step));
    }
}
