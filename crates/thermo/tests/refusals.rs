//! Outside its range a formula names argument, value and range; it never returns what is no number.

use thermo::DomainError;
use thermo::corrected::{corrected_flow, corrected_speed};
use thermo::exchanger::temperature_effectiveness;
use thermo::pressure_ratio::pressure_ratio;
use units::{AbsolutePressure, AngularSpeed, MassFlow, Ratio, Temperature};

fn effectiveness(hot_in: f64, hot_out: f64, cold_in: f64) -> Result<f64, DomainError> {
    let k = Temperature::from_si;
    temperature_effectiveness(k(hot_in), k(hot_out), k(cold_in)).map(Ratio::si)
}

fn ratio(high: f64, low: f64) -> Result<f64, DomainError> {
    pressure_ratio(AbsolutePressure::from_si(high), AbsolutePressure::from_si(low)).map(Ratio::si)
}

fn flow(w: f64, t: f64, p: f64) -> Result<f64, DomainError> {
    corrected_flow(MassFlow::from_si(w), Temperature::from_si(t), AbsolutePressure::from_si(p)).map(MassFlow::si)
}

fn speed(n: f64, t: f64) -> Result<f64, DomainError> {
    corrected_speed(AngularSpeed::from_si(n), Temperature::from_si(t)).map(AngularSpeed::si)
}

#[test]
fn refusals_name_argument_value_and_range() {
    let refused = [
        effectiveness(300.0, 300.0, 299.5),
        effectiveness(300.0, 300.0, 400.0),
        effectiveness(-1.0, 300.0, 300.0),
        effectiveness(400.0, f64::NAN, 300.0),
        ratio(300_000.0, -1300.0),
        ratio(0.0, 100_000.0),
        flow(f64::INFINITY, 300.0, 1e5),
        flow(0.5, 0.0, 1e5),
        flow(0.5, 300.0, 0.0),
        flow(f64::MAX, 300.0, 1e-300),
        speed(f64::NAN, 300.0),
        speed(4000.0, -3.0),
    ];
    let text: Vec<String> = refused.iter().map(|r| r.unwrap_err().to_string()).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    temperature effectiveness: hot minus cold inlet is 0.5, must be at least 1 K (inlets swapped, or no bleed air?)
    temperature effectiveness: hot minus cold inlet is -100, must be at least 1 K (inlets swapped, or no bleed air?)
    temperature effectiveness: hot inlet temperature is -1, must be above 0 K
    temperature effectiveness: hot outlet temperature is NaN, must be above 0 K
    pressure ratio: low pressure is -1300, must be above 0 Pa absolute (a gauge pressure taken for an absolute one?)
    pressure ratio: high pressure is 0, must be above 0 Pa absolute (a gauge pressure taken for an absolute one?)
    corrected flow: mass flow is inf, must be a finite number in kg/s
    corrected flow: temperature is 0, must be above 0 K
    corrected flow: pressure is 0, must be above 0 Pa absolute
    corrected flow: the result is inf, must be a finite number: an argument is far outside what air does
    corrected speed: speed is NaN, must be a finite number in rad/s
    corrected speed: temperature is -3, must be above 0 K
    ");
}

#[test]
fn a_result_outside_0_to_1_is_returned_as_it_is() {
    assert_eq!(effectiveness(400.0, 410.0, 300.0), Ok(-0.1));
    assert_eq!(effectiveness(400.0, 290.0, 300.0), Ok(1.1));
    assert_eq!(effectiveness(301.0, 300.5, 300.0), Ok(0.5));
}

/// Every combination of odd and ordinary numbers gives a finite number or a refusal.
#[test]
fn never_what_is_no_number() {
    const ODD: [f64; 13] = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::MAX,
        f64::MIN,
        f64::MIN_POSITIVE,
        5e-324,
        0.0,
        -0.0,
        -1.0,
        1.0,
        300.0,
        1e300,
    ];
    let check = |result: Result<f64, DomainError>| match result {
        Ok(x) => assert!(x.is_finite()),
        Err(e) => assert!(!e.argument.is_empty() && !e.valid.is_empty()),
    };
    for a in ODD {
        for b in ODD {
            check(ratio(a, b));
            check(speed(a, b));
            for c in ODD {
                check(effectiveness(a, b, c));
                check(flow(a, b, c));
            }
        }
    }
}

proptest::proptest! {
    #[test]
    fn effectiveness_is_a_share(cold in 200.0..350.0_f64, span in 1.0..300.0_f64, share in 0.0..=1.0_f64) {
        let e = effectiveness(cold + span, cold + span * (1.0 - share), cold);
        proptest::prop_assume!(e.is_ok());
        proptest::prop_assert!((e.unwrap() - share).abs() <= 1e-12 * 300.0 / span + 1e-12);
    }

    #[test]
    fn pressure_ratio_is_inverse_to_its_inverse(a in 1e3..1e6_f64, b in 1e3..1e6_f64) {
        proptest::prop_assert!((ratio(a, b).unwrap() * ratio(b, a).unwrap() - 1.0).abs() < 1e-15);
    }

    #[test]
    fn corrected_values_are_the_values_at_the_reference(x in -10.0..1e4_f64) {
        proptest::prop_assert_eq!(flow(x, 288.15, 101_325.0), Ok(x));
        proptest::prop_assert_eq!(speed(x, 288.15), Ok(x));
    }

    #[test]
    fn corrected_flow_rises_with_temperature_and_falls_with_pressure(t in 200.0..500.0_f64, p in 5e4..6e5_f64) {
        let w = flow(0.5, t, p).unwrap();
        proptest::prop_assert!(flow(0.5, t + 1.0, p).unwrap() > w && flow(0.5, t, p + 100.0).unwrap() < w);
    }
}
