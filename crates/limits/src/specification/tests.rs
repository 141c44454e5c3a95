use super::*;
use crate::Settings;
use stream::ChannelId;
use uncertainty::GuardBand;

const FLAT: f64 = f64::INFINITY;

fn ratio(limits: Limits) -> Specification {
    Specification::new("compressor efficiency", limits, units::find("1").unwrap(), "RIG-1, B, 4.2")
}

fn at_least(l: f64) -> Limits {
    Limits::at_least(l).unwrap()
}

fn said(spec: &Specification, value: f64, u: f64) -> String {
    judge(spec, value, u, FLAT).unwrap().to_string()
}

#[test]
fn one_sentence_for_each_outcome_and_rule() {
    let with = |rule| Specification { rule: Some(rule), ..ratio(at_least(0.73)) };
    let u2 = GuardBand::Multiple(2.0);
    let text = [
        said(&ratio(at_least(0.73)), 0.742, 0.009),
        said(&ratio(at_least(0.73)), 0.76, 0.009),
        said(&ratio(at_least(0.73)), 0.70, 0.009),
        said(&ratio(Limits::between(0.73, 0.75).unwrap()), 0.742, 0.009),
        said(&ratio(Limits::between(0.7, 0.8).unwrap()), 0.742, 0.009),
        said(&with(Rule::SIMPLE), 0.742, 0.009),
        said(&with(Rule::SIMPLE), 0.7299, 0.009),
        said(&with(Rule::guarded_acceptance(u2)), 0.742, 0.009),
        said(&with(Rule::guarded_acceptance(u2)), 0.729, 0.009),
        said(&with(Rule::guarded_rejection(u2)), 0.729, 0.009),
        said(&with(Rule::guarded_rejection(GuardBand::Width(0.01))), 0.742, 0.009),
        said(&with(Rule::SIMPLE), 0.742, 0.0),
        judge(&ratio(at_least(0.73)), 0.742, 0.009, 4.0).unwrap().to_string(),
    ];
    insta::assert_snapshot!(text.join("\n"), @r"
    compressor efficiency 0.742 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): not decidable, inside the guard band of 0.015; conformance probability 91 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    compressor efficiency 0.760 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): meets, the guard band of 0.015 is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    compressor efficiency 0.700 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): does not meet, the guard band of 0.015 is kept; conformance probability less than 0.1 %, risk that this is false less than 0.1 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    compressor efficiency 0.742 ± 0.018 (k = 2) against 0.73 to 0.75 (RIG-1, B, 4.2): not decidable, too uncertain for these limits; conformance probability 72 %; test uncertainty ratio 0.56; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    compressor efficiency 0.742 ± 0.018 (k = 2) against 0.7 to 0.8 (RIG-1, B, 4.2): meets, the guard band of 0.015 is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; test uncertainty ratio 2.8; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    compressor efficiency 0.742 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): meets; conformance probability 91 %, risk that this is false 9 %; rule: simple acceptance
    compressor efficiency 0.7299 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): does not meet; conformance probability 50 %, risk that this is false 50 %; rule: simple acceptance
    compressor efficiency 0.742 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): not decidable, inside the guard band of 0.018; conformance probability 91 %; rule: guarded acceptance, guard band 2 u
    compressor efficiency 0.729 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): does not meet; conformance probability 46 %, risk that this is false 46 %; rule: guarded acceptance, guard band 2 u
    compressor efficiency 0.729 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): not decidable, inside the guard band of 0.018; conformance probability 46 %; rule: guarded rejection, guard band 2 u
    compressor efficiency 0.742 ± 0.018 (k = 2) against at least 0.73 (RIG-1, B, 4.2): meets; conformance probability 91 %, risk that this is false 9 %; rule: guarded rejection, guard band 0.010
    compressor efficiency 0.742 (without uncertainty) against at least 0.73 (RIG-1, B, 4.2): meets; conformance probability 100 %; rule: simple acceptance
    compressor efficiency 0.742 ± 0.018 (k = 2, 4 degrees of freedom) against at least 0.73 (RIG-1, B, 4.2): not decidable, inside the guard band of 0.019; conformance probability 87 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    ");
}

#[test]
fn in_the_units_of_the_document() {
    let unit = |u| units::find(u).unwrap();
    let hot = Specification::new("discharge", Limits::at_most(463.15).unwrap(), unit("degC"), "D");
    let gauge = Specification {
        reference: Some(PressureReference::Absolute),
        ..Specification::new("supply", at_least(250_000.0), unit("kPa"), "D")
    };
    let off = Specification {
        is_difference: true,
        ..Specification::new("discharge less expected", Limits::between(-2.0, 2.0).unwrap(), unit("degC"), "D")
    };
    let rpm = |x: f64| unit("rpm").to_si(x);
    let speed = Specification::new("speed", Limits::at_most(rpm(46_000.0)).unwrap(), unit("rpm"), "D");
    let psi = Specification::new("supply", at_least(250_000.0), unit("psia"), "D");
    let text = [
        said(&hot, 462.0, 0.4),
        said(&gauge, 260_000.0, 1_000.0),
        said(&off, 1.2, 0.25),
        said(&psi, 260_000.0, 1_000.0),
        said(&speed, rpm(45_000.0), rpm(172.0)),
    ];
    insta::assert_snapshot!(text.join("\n"), @r"
    discharge 188.85 ± 0.80 degC (k = 2) against at most 190 degC (D): meets, the guard band of 0.66 K is kept; conformance probability 99.8 %, risk that this is false 0.2 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    supply 260.0 ± 2.0 kPa (k = 2) against at least 250 kPa absolute (D): meets, the guard band of 1.6 kPa is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    discharge less expected 1.20 ± 0.50 K (k = 2) against -2 K to 2 K (D): meets, the guard band of 0.41 K is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; test uncertainty ratio 4.0; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    supply 37.71 ± 0.29 psia (k = 2) against at least 36.25943 psia (D): meets, the guard band of 1645 Pa is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    speed 45000 ± 344 rpm (k = 2) against at most 46000 rpm (D): meets, the guard band of 283 rpm is kept; conformance probability more than 99.9 %, risk that this is false less than 0.1 %; rule: guarded acceptance and rejection, 95 % (the default, the document is silent)
    ");
}

/// A rounded value never seems to lie where it does not.
#[test]
fn the_number_shown_lies_on_the_side_that_the_outcome_says() {
    let spec = Specification { rule: Some(Rule::SIMPLE), ..ratio(at_least(0.73)) };
    for (value, shown) in [(0.7299, "0.7299"), (0.72999, "0.72999"), (0.7301, "0.7301"), (0.73, "0.730")] {
        let said = said(&spec, value, 0.009);
        assert!(said.starts_with(&format!("compressor efficiency {shown} ± 0.018")), "{said}");
    }
}

/// JCGM 106:2012, examples of clause 7 (from memory): a breakdown voltage of at most -5.40 V measured as -5.47 V with
/// u = 0.05 V conforms with 92 %; a viscosity of 12.5 to 16.3 measured as 13.6 with u = 1.8 with 66 %.
#[test]
fn published_conformance_probabilities_stand_in_the_sentence() {
    let voltage = said(&ratio(Limits::at_most(-5.40).unwrap()), -5.47, 0.05);
    assert!(voltage.contains("-5.47 ± 0.10") && voltage.contains("conformance probability 92 %"), "{voltage}");
    let viscosity = said(&ratio(Limits::between(12.5, 16.3).unwrap()), 13.6, 1.8);
    assert!(viscosity.contains("conformance probability 66 %"), "{viscosity}");
}

/// A one-sided limit has no span, so no test uncertainty ratio; nor has a measurement without uncertainty.
#[test]
fn the_ratio_is_undefined_for_one_side() {
    let verdict = |limits, u| judge(&ratio(limits), 0.742, u, FLAT).unwrap();
    assert_eq!(verdict(at_least(0.73), 0.009).test_uncertainty_ratio(), None);
    let both = Limits::between(0.7, 0.772).unwrap();
    let ratio = verdict(both, 0.009).test_uncertainty_ratio().unwrap();
    assert!((ratio - 2.0).abs() < 1e-12, "{ratio}");
    assert_eq!(verdict(both, 0.0).test_uncertainty_ratio(), None);
}

#[test]
fn a_limit_file_gives_what_is_to_be_met() {
    let spec = |kind: &str, settings: Settings| {
        let (kind, unit) = (kinds::find(kind).unwrap(), units::find("1").unwrap());
        let limit = LimitSpec::new("x", ChannelId(0), kind, settings, unit, "D");
        limit.specification("efficiency").map(|s| (s.limits.lower(), s.limits.upper(), s.is_difference, s.source))
    };
    let band = Settings { low: Some(1.0), high: Some(2.0), ..Settings::default() };
    let only_high = Settings { high: Some(2.0), ..Settings::default() };
    let source = || "D".to_owned();
    assert_eq!(spec("above", Settings::threshold(3.0, 0.0)), Some((None, Some(3.0), false, source())));
    assert_eq!(spec("below", Settings::threshold(3.0, 0.0)), Some((Some(3.0), None, false, source())));
    assert_eq!(spec("band", band), Some((Some(1.0), Some(2.0), false, source())));
    assert_eq!(spec("deviation", only_high), Some((None, Some(2.0), true, source())));
    assert_eq!(spec("stuck", Settings::default()), None);
}

#[test]
fn what_cannot_be_judged_is_refused() {
    let spec = ratio(at_least(0.73));
    for (value, u, dof) in [(f64::NAN, 0.1, FLAT), (0.7, -0.1, FLAT), (0.7, f64::NAN, FLAT), (0.7, 0.1, 0.5)] {
        assert!(judge(&spec, value, u, dof).is_err(), "{value} {u} {dof}");
    }
}
