//! False-accept risk: tables of the draft of NCSLI RP-19, as asserted in the tests of suncal (Sandia,
//! tests/test_risk.py, commit d44c2cc1).

use crate::near;
use uncertainty::distribution::normal;
use uncertainty::risk::{after_measurement, global_risk};
use uncertainty::{Distribution, Input, Limits, conformance::conformance_probability};

/// Case MS-08: the ratio 4 here is process spread to measurement spread, not the usual test uncertainty ratio.
/// Tolerance 1e-4 relative.
#[test]
fn ms_08_unconditional_and_conditional_false_accept() {
    let limits = Limits::between(-1.0, 1.0).unwrap();
    for (in_tolerance, unconditional_percent, conditional_percent) in [
        (0.6, 4.838_603_26, 8.260_081_99),
        (0.8, 2.855_830_37, 3.632_271_45),
        (0.9, 1.599_953_12, 1.798_804_3),
        (0.95, 0.871_009_25, 0.923_896_64),
    ] {
        let process = 1.0 / normal::quantile((1.0 + in_tolerance) / 2.0).unwrap();
        let prior = Distribution::Normal { mean: 0.0, u: process };
        let risk = global_risk(limits, limits, prior, process / 4.0).unwrap();
        let relative = |published: f64| published * 1e-4;
        near("unconditional, %", risk.false_accept * 100.0, unconditional_percent, relative(unconditional_percent));
        let conditional = risk.false_among_accepted().unwrap() * 100.0;
        near("conditional, %", conditional, conditional_percent, relative(conditional_percent));
        near("in tolerance", risk.true_accept + risk.false_reject, in_tolerance, 1e-9);
    }
}

/// The specific risks averaged over all readings are the global ones (JCGM 106:2012, 9.3 and 9.5 together): no
/// published figure, two ways of ours against each other.
#[test]
fn specific_risks_average_to_the_global_one() {
    let limits = Limits::between(-1.0, 1.0).unwrap();
    let (u0, um) = (0.8f64, 0.2);
    let readings = Distribution::Normal { mean: 0.0, u: (u0 * u0 + um * um).sqrt() };
    let (mut false_accept, mut false_reject, steps) = (0.0, 0.0, 20_000);
    for i in 0..steps {
        let reading = -8.0 + 16.0 * (f64::from(i) + 0.5) / f64::from(steps);
        let share = readings.density(reading).unwrap() * 16.0 / f64::from(steps);
        let known = after_measurement(Input::new(0.0, u0), Input::new(reading, um)).unwrap();
        let good = conformance_probability(limits, known).unwrap();
        match limits.contain(reading) {
            true => false_accept += share * (1.0 - good),
            false => false_reject += share * good,
        }
    }
    let risk = global_risk(limits, limits, Distribution::Normal { mean: 0.0, u: u0 }, um).unwrap();
    near("consumer's risk", false_accept, risk.false_accept, 1e-6);
    near("producer's risk", false_reject, risk.false_reject, 1e-6);
}
