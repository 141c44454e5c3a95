use super::*;
use crate::monte_carlo::Generator;
use proptest::prelude::*;

fn curve(t: f64) -> f64 {
    278.0 + (311.0 - 278.0) * (-(t - 40.0) / 150.0).exp()
}

#[test]
fn exact_points_give_the_curve_back() {
    let times: Vec<f64> = (0..30).map(|i| 40.0 + 10.0 * f64::from(i)).collect();
    let values: Vec<f64> = times.iter().map(|t| curve(*t)).collect();
    let fit = Settling::fit(&times, &values).unwrap();
    assert!((fit.final_value.value - 278.0).abs() < 1e-8, "{fit:?}");
    assert!((fit.initial_value.value - 311.0).abs() < 1e-9 && (fit.time_constant.value - 150.0).abs() < 1e-7);
    assert!((fit.at(1000.0).unwrap().value - curve(1000.0)).abs() < 1e-8);
    assert!((fit.settled_within(0.33).unwrap() - (40.0 + 150.0 * 100f64.ln())).abs() < 1e-5);
}

/// With noise the stated intervals hold as often as they say: final value, time constant, and a further reading.
#[test]
fn stated_intervals_hold_as_often_as_they_say() {
    let mut g = Generator::new(8);
    let times: Vec<f64> = (0..60).map(|i| 40.0 + 6.0 * f64::from(i)).collect();
    let runs = 300;
    let mut inside = [0; 3];
    for _ in 0..runs {
        let values: Vec<f64> = times.iter().map(|t| curve(*t) + 0.2 * g.normal()).collect();
        let fit = Settling::fit(&times, &values).unwrap();
        let holds = |c: Combined, truth: f64| c.expanded(0.95).is_ok_and(|e| e.low <= truth && truth <= e.high);
        inside[0] += usize::from(holds(fit.final_value, 278.0));
        inside[1] += usize::from(holds(fit.time_constant, 150.0));
        let p = fit.prediction(700.0, 0.95).unwrap();
        let reading = curve(700.0) + 0.2 * g.normal();
        inside[2] += usize::from(p.low <= reading && reading <= p.high);
    }
    for count in inside {
        let share = count as f64 / f64::from(runs);
        assert!((0.92..=0.975).contains(&share), "{inside:?} of {runs}");
    }
}

#[test]
fn a_straight_line_and_a_constant_are_refused() {
    let times: Vec<f64> = (0..20).map(f64::from).collect();
    let line: Vec<f64> = times.iter().map(|t| 300.0 - 0.1 * t).collect();
    let text = Settling::fit(&times, &line).unwrap_err().to_string();
    assert!(text.contains("no first-order approach can be told"), "{text}");
    assert!(Settling::fit(&times, &[300.0; 20]).is_err());
}

#[test]
fn times_must_rise() {
    let text = Settling::fit(&[0.0, 1.0, 1.0, 2.0, 3.0, 4.0], &[0.0; 6]).unwrap_err().to_string();
    assert_eq!(text, "settling: step to the time before number 2 (from 0) is 0, must be above 0: times must rise");
}

proptest! {
    #[test]
    fn no_points_give_nan(
        mut t in prop::collection::vec(any::<f64>(), 6..9), y in prop::collection::vec(any::<f64>(), 9),
        y2 in prop::collection::vec(-10.0..10.0f64, 9), at in any::<f64>(),
    ) {
        t.sort_by(f64::total_cmp);
        let even: Vec<f64> = (0..t.len()).map(|i| i as f64).collect();
        for (t, y) in [(&t, &y), (&t, &y2), (&even, &y2), (&even, &y)] {
            if let Ok(fit) = Settling::fit(t, &y[..t.len()]) {
                let found = [Ok(fit.final_value), Ok(fit.initial_value), Ok(fit.time_constant), fit.at(at)];
                for c in found.into_iter().flatten() {
                    prop_assert!(c.value.is_finite() && c.u.is_finite());
                }
                prop_assert!(fit.prediction(at, 0.9).map_or(true, |p| p.low.is_finite() && p.high.is_finite()));
                prop_assert!(fit.settled_within(at).map_or(true, f64::is_finite));
            }
        }
    }
}
