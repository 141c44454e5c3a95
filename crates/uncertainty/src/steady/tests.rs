use super::*;
use proptest::prelude::*;

/// A sensor of τ = 2 s: the share of steady stretches called unsteady at ten readings a second, and at one in 6 s.
#[test]
fn slow_sensor_read_fast_is_called_unsteady() {
    let share = |spacing_s: f64| {
        let rho = (-spacing_s / 2.0f64).exp();
        null_distribution(Filters::FAST, rho, 200_000, 4).unwrap().share_between(1.44, f64::INFINITY).unwrap()
    };
    let (fast, apart) = (share(0.1), share(6.0));
    assert!(fast > 0.9, "at 10 Hz: {fast}");
    assert!((apart - 0.06).abs() < 0.02, "three time constants apart: {apart}");
}

#[test]
fn a_ramp_is_seen_and_its_end() {
    let mut test = SteadyTest::new(Filters::FAST, 1.44, 6.0).unwrap();
    let mut g = Generator::new(2);
    let mut said = Vec::new();
    for i in 0..24_000 {
        let time = f64::from(i) * 0.1;
        let level = if time < 1200.0 { time * 0.2 } else { 240.0 };
        said.push(test.push(time, level + g.normal()).unwrap());
    }
    assert_eq!(said[100], Steadiness::Unknown);
    assert!(said[4_000..12_000].iter().all(|s| *s == Steadiness::Unsteady));
    let steady = said[18_000..].iter().filter(|s| **s == Steadiness::Steady).count();
    assert!(steady > 5_000, "{steady} of 6000");
}

#[test]
fn equal_samples_are_steady() {
    let mut test = SteadyTest::new(Filters::FAST, 1.44, 0.0).unwrap();
    let said: Vec<_> = (0..40).map(|i| test.push(f64::from(i), 300.0).unwrap()).collect();
    assert_eq!((said[28], said[39]), (Steadiness::Unknown, Steadiness::Steady));
    assert_eq!(test.ratio(), None);
}

#[test]
fn a_bad_sample_leaves_the_state_alone() {
    let mut r = RatioOfVariances::starting_at(Filters::FAST, 1.0).unwrap();
    r.push(2.0).unwrap();
    let before = r;
    assert!(r.push(f64::NAN).is_err() && r.push(1e300).is_err());
    assert_eq!(r, before);
}

proptest! {
    #[test]
    fn no_samples_give_nan(x in prop::collection::vec(any::<f64>(), 0..20), l in any::<f64>()) {
        let odd = Filters { mean: l, deviation: l, difference: 0.5 };
        for filters in [Filters::FAST, odd, Filters { mean: l.abs().fract(), ..Filters::SLOW }] {
            if let Ok(mut r) = RatioOfVariances::starting_at(filters, 1.0) {
                for x in &x {
                    if let Ok(Some(ratio)) = r.push(*x) {
                        prop_assert!(ratio.is_finite() && ratio >= 0.0);
                    }
                }
            }
            if let Ok(mut t) = SteadyTest::new(filters, 1.4, l.abs()) {
                for x in &x {
                    let _ = t.push(*x, *x);
                }
            }
        }
    }
}
