use super::*;
use proptest::prelude::*;
use units::Real;

/// Known uncertainties stand: twice as great ones give twice as great parameter uncertainties, the scatter does not.
#[test]
fn known_uncertainties_of_the_observations_stand() {
    let design = [1.0, 0.0, 1.0, 1.0, 1.0, 2.0, 1.0, 3.0];
    let y = [1.0, 2.1, 2.9, 4.0];
    let one = linear(&design, 2, &y, Some(&[0.1; 4])).unwrap();
    let two = linear(&design, 2, &y, Some(&[0.2; 4])).unwrap();
    assert!((one.u(1).unwrap() - 0.1 / 5f64.sqrt()).abs() < 1e-12);
    assert!((two.u(1).unwrap() - 0.2 / 5f64.sqrt()).abs() < 1e-12);
    assert!((one.parameters[1] - two.parameters[1]).abs() < 1e-14);
}

#[test]
fn both_ways_agree_on_a_linear_formula() {
    let x = [0.0, 1.0, 2.0, 4.0, 5.0];
    let y = [1.0, 2.1, 2.9, 5.2, 5.9];
    let u = [0.1, 0.2, 0.1, 0.3, 0.1];
    let design: Vec<f64> = x.iter().flat_map(|x| [1.0, *x]).collect();
    let a = linear(&design, 2, &y, Some(&u)).unwrap();
    let b = nonlinear::<2>(&y, Some(&u), [0.0, 0.0], |[p, q], i| p + q * x[i]).unwrap();
    for (a, b) in a.parameters.iter().chain(&a.covariance).zip(b.parameters.iter().chain(&b.covariance)) {
        assert!((a - b).abs() < 1e-10 * (1.0 + a.abs()), "{a} {b}");
    }
    assert!((a.correlation(0, 1).unwrap() - b.correlations().unwrap()[1]).abs() < 1e-9);
}

#[test]
fn a_parameter_that_does_not_show_is_named() {
    let design = [1.0, 0.0, 2.0, 1.0, 1.0, 4.0, 1.0, 2.0, 6.0, 1.0, 3.0, 8.0];
    let error = linear(&design, 3, &[1.0, 2.0, 3.0, 4.5], None).unwrap_err();
    assert_eq!(error, FitError::Undetermined { parameter: 2 });
    assert!(error.to_string().contains("parameter number 2 (from 0) cannot be told"));
    let twice = nonlinear::<2>(&[1.0, 2.0, 3.5], None, [1.0, 1.0], |[a, b], i| a * b * (i as f64 + 1.0));
    assert_eq!(twice.unwrap_err(), FitError::Undetermined { parameter: 1 });
}

#[test]
fn a_formula_without_value_at_the_start_is_refused() {
    let fit = nonlinear::<1>(&[1.0, 2.0], None, [-1.0], |[a], _| a.sqrt());
    let text = fit.unwrap_err().to_string();
    assert_eq!(
        text,
        "least squares: the formula at the start, observation number 0 (from 0) is NaN, must be a finite number"
    );
}

#[test]
fn no_minimum_is_said() {
    // exp(−b) falls towards 0 for ever.
    let fit = nonlinear::<1>(&[-1.0, -1.0, -1.1], None, [1.0], |[b], _| (-b).exp());
    assert!(fit.is_err(), "{fit:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_points_give_nan(
        y in prop::collection::vec(any::<f64>(), 0..6), x in prop::collection::vec(any::<f64>(), 18),
        start in any::<f64>(),
        tame in prop::collection::vec(-5.0..5.0f64, 6),
    ) {
        let good = |fit: Result<Fit, FitError>| fit.map_or(true, |f| {
            f.parameters.iter().chain(&f.covariance).all(|v| v.is_finite()) && f.s.is_finite()
        });
        for y in [&y[..], &tame] {
            prop_assert!(good(linear(&x[..2 * y.len()], 2, y, None)));
            prop_assert!(good(linear(&x[..2 * y.len()], 2, y, Some(&x[..y.len()]))));
            prop_assert!(good(nonlinear::<2>(y, None, [start, 1.0], |[a, b], i| a * (b * x[i]).exp())));
            prop_assert!(good(nonlinear::<2>(y, None, [1.0, 0.5], |[a, b], i| a * (b * tame[i % 6]).exp())));
        }
    }
}
