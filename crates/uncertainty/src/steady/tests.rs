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

fn every(spacing_s: f64) -> Sampling {
    Sampling { spacing_s, longest_gap: 3.0 }
}

#[test]
fn a_ramp_is_seen_and_its_end() {
    let mut test = SteadyTest::new(Filters::FAST, 1.44, every(6.0)).unwrap();
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
    let mut test = SteadyTest::new(Filters::FAST, 1.44, every(1.0)).unwrap();
    let said: Vec<_> = (0..40).map(|i| test.push(f64::from(i), 300.0).unwrap()).collect();
    assert_eq!((said[28], said[39]), (Steadiness::Unknown, Steadiness::Steady));
    assert_eq!(test.ratio(), None);
}

/// A test that has said "steady" for a while, its last sample at 39 s.
fn steady() -> SteadyTest {
    let mut test = SteadyTest::new(Filters::FAST, 1.44, every(1.0)).unwrap();
    for i in 0..40 {
        test.push(f64::from(i), 300.0).unwrap();
    }
    assert_eq!(test.push(39.5, 300.0), Ok(Steadiness::Steady));
    test
}

/// Samples a second apart from there until it is known again.
fn samples_until_known(test: &mut SteadyTest, from_s: f64, level: f64) -> usize {
    let said = (0..100).map(|i| test.push(from_s + f64::from(i), level).unwrap());
    said.take_while(|s| *s == Steadiness::Unknown).count()
}

#[test]
fn a_clock_set_back_starts_the_test_anew() {
    // Back by an hour, and by less than the distance of two samples.
    for from_s in [-3600.0, 39.4] {
        assert_eq!(samples_until_known(&mut steady(), from_s, 300.0), 29);
    }
    // The same time again is no step back.
    assert_eq!(steady().push(39.5, 300.0), Ok(Steadiness::Steady));
    // Another level after the step is no change the test has seen: the old samples do not count.
    let mut test = steady();
    assert_eq!(samples_until_known(&mut test, 0.0, 350.0), 29);
    assert_eq!(test.push(30.0, 350.0), Ok(Steadiness::Steady));
}

#[test]
fn a_long_gap_starts_the_test_anew() {
    assert_eq!(steady().push(42.0, 300.0), Ok(Steadiness::Steady), "three spacings after the last one taken");
    assert_eq!(samples_until_known(&mut steady(), 42.001, 300.0), 29);
    let mut test = steady();
    assert!(test.push(f64::NAN, 300.0).is_err() && test.push(50.0, f64::INFINITY).is_err());
    assert_eq!(test, steady(), "a bad sample neither counts nor starts anew");
}

#[test]
fn sampling_out_of_range_is_refused() {
    let refused = |spacing_s, longest_gap| {
        SteadyTest::new(Filters::FAST, 1.44, Sampling { spacing_s, longest_gap }).unwrap_err().argument
    };
    assert_eq!(refused(0.0, 3.0), "spacing in s");
    assert_eq!(refused(1.0, 1.0), "longest gap in spacings");
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
            if let Ok(mut t) = SteadyTest::new(filters, 1.4, every(l.abs())) {
                for x in &x {
                    let _ = t.push(*x, *x);
                }
            }
        }
    }
}
