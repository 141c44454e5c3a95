use super::*;
use crate::monte_carlo::Generator;
use proptest::prelude::*;

/// Slope of 400 readings of first-order noise, ρ = 0.9, measured over 300 runs against what is said of it.
#[test]
fn drift_of_correlated_readings_gets_its_true_uncertainty() {
    let mut g = Generator::new(5);
    let x: Vec<f64> = (0..400).map(f64::from).collect();
    let (mut true_u, mut said) = (0.0, 0.0);
    for _ in 0..300 {
        let mut noise = g.normal();
        let y: Vec<f64> = x
            .iter()
            .map(|_| {
                noise = 0.9 * noise + 0.19f64.sqrt() * g.normal();
                noise
            })
            .collect();
        let line = StraightLine::through_correlated(&x, &y, 0.0).unwrap();
        true_u += line.slope * line.slope / 300.0;
        said += line.u_slope / 300.0;
    }
    let true_u = true_u.sqrt();
    assert!((said / true_u - 1.0).abs() < 0.15, "{said} against {true_u}");
}

#[test]
fn an_exact_line_has_no_uncertainty() {
    let x = [0.0, 1.0, 2.0, 3.0];
    let line = StraightLine::through(&x, &x.map(|x| 2.0 + 0.5 * x), 1.0).unwrap();
    assert_eq!((line.intercept, line.slope, line.s, line.u_slope), (2.5, 0.5, 0.0, 0.0));
}

proptest! {
    #[test]
    fn no_points_give_nan(
        x in prop::collection::vec(any::<f64>(), 0..10), y in prop::collection::vec(any::<f64>(), 10), at in any::<f64>(),
    ) {
        let y = &y[..x.len()];
        let lines = [StraightLine::through(&x, y, at), StraightLine::through_correlated(&x, y, at)];
        for line in lines.into_iter().flatten() {
            let numbers = [line.intercept, line.slope, line.u_intercept, line.u_slope, line.correlation, line.s];
            prop_assert!(numbers.iter().all(|v| v.is_finite()));
            for r in [line.at(at), line.next_reading_at(at), line.at(-at)] {
                prop_assert!(r.map_or(true, |r| r.value.is_finite() && r.u.is_finite()));
            }
        }
    }
}
