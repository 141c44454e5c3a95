use proptest::prelude::*;

use super::*;
use crate::propagate::{Shared, propagate};
use units::Real;

/// The reference output of xoshiro256++ for the state 1, 2, 3, 4 begins with 41943041, 58720359 (from the recursion by
/// hand: rotl(1 + 4, 23) + 1).
#[test]
fn the_generator_is_the_published_one() {
    let mut g = Generator::new(0);
    g.set_state([1, 2, 3, 4]);
    assert_eq!(g.bits(), 41_943_041);
    assert_eq!(g.bits(), 58_720_359);
}

#[test]
fn draws_have_the_mean_and_spread_of_their_distribution() {
    use Distribution::*;
    let mut g = Generator::new(3);
    for d in [
        Normal { mean: 3.0, u: 0.5 },
        StudentT { mean: 3.0, scale: 0.5, dof: 9.0 },
        StudentT { mean: 3.0, scale: 0.5, dof: f64::INFINITY },
        Rectangular { low: 1.0, high: 4.0 },
        InexactRectangular { low: 1.0, high: 4.0, d: 0.5 },
        Trapezoidal { low: 1.0, high: 4.0, beta: 0.4 },
        Triangular { low: 1.0, high: 4.0 },
        ArcSine { low: 1.0, high: 4.0 },
        Exponential { mean: 0.7 },
        Gamma { shape: 3.5, scale: 0.4 },
        Gamma { shape: 0.5, scale: 0.4 },
    ] {
        let n = 100_000;
        let m = crate::type_a::mean(&(0..n).map(|_| g.draw(d).unwrap()).collect::<Vec<_>>()).unwrap();
        let (mean, u) = (d.mean().unwrap(), d.u().unwrap());
        assert!((m.mean - mean).abs() < 5.0 * u / f64::from(n).sqrt(), "{d:?} {m:?}");
        assert!((m.s / u - 1.0).abs() < 0.03, "{d:?} {m:?} {u}");
    }
}

/// Groups mean the same to the simulation and to first order: exact for a linear formula.
#[test]
fn correlation_agrees_with_first_order_on_a_linear_formula() {
    fn difference<R: Real>(x: &[R]) -> R {
        x[0] - x[1] + x[2] * 0.5
    }
    let inputs = [Input::new(450.0, 0.5), Input::new(330.0, 0.7), Input::new(300.0, 0.4)];
    let drawn = inputs.map(|i| Distribution::Normal { mean: i.value, u: i.u });
    let shared = [Some(Shared { group: 1, u: 0.4 }), Some(Shared { group: 1, u: 0.6 }), None];
    let r = [1.0, 0.9, 0.3, 0.9, 1.0, 0.3, 0.3, 0.3, 1.0];
    for correlation in [Correlation::Groups(&shared), Correlation::Matrix(&r), Correlation::Independent] {
        let first = propagate::<2>(&inputs, correlation, difference).unwrap().combined;
        let simulated = simulate(&drawn, correlation, 100_000, 5, difference).unwrap();
        assert!((simulated.u() / first.u - 1.0).abs() < 0.01, "{correlation:?}: {} {}", simulated.u(), first.u);
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_and_another_does_not() {
    let inputs = [Distribution::Exponential { mean: 1.0 }];
    let run = |seed| simulate(&inputs, Correlation::Independent, 100, seed, |x| x[0]).unwrap();
    assert_eq!(run(1), run(1));
    assert_ne!(run(1), run(2));
}

#[test]
fn refusals_say_what_and_where() {
    let text = |r: Result<Simulated, DomainError>| r.unwrap_err().to_string();
    let one = [Distribution::Rectangular { low: 0.0, high: 1.0 }];
    assert_eq!(
        text(simulate(&one, Correlation::Independent, 100, 1, |x| if x[0] > 0.9 { f64::NAN } else { 1.0 })),
        "Monte Carlo: the formula's result in trial number 6 (from 0) is NaN, must be a finite number"
    );
    let two = [one[0], one[0]];
    let r = [1.0, 0.5, 0.5, 1.0];
    assert_eq!(
        text(simulate(&two, Correlation::Matrix(&r), 10, 1, |x| x[0])),
        "Monte Carlo: correlated input number 0 (from 0) is 0, must be a normal one"
    );
    let normal = [Distribution::Normal { mean: 0.0, u: 1.0 }; 3];
    let impossible = [1.0, 0.9, -0.9, 0.9, 1.0, 0.9, -0.9, 0.9, 1.0];
    assert!(text(simulate(&normal, Correlation::Matrix(&impossible), 10, 1, |x| x[0])).contains("semi-definite"));
}

/// Near the end of its range a formula is not simulated with inputs that lie beyond: refused, the trial named.
#[test]
fn a_simulation_beyond_the_range_is_refused() {
    let root = |value| evaluate::<1>(&[Input::new(value, 0.5)], Correlation::Independent, (1000, 3), |x| x[0].sqrt());
    assert!(matches!(root(10.0), Ok(Evaluated::FirstOrder(_))));
    let refused = root(0.6).unwrap_err();
    assert_eq!(refused.argument, "the formula's result in trial");
    assert!(refused.index.is_some_and(|trial| trial < 1000));
}

proptest! {
    #[test]
    fn no_inputs_make_it_panic(a in any::<f64>(), b in any::<f64>(), p in any::<f64>(), trials in 0usize..50) {
        let inputs = [Distribution::Rectangular { low: a, high: b }, Distribution::Normal { mean: b, u: a }];
        if let Ok(s) = simulate(&inputs, Correlation::Independent, trials, 1, |x| x[0] * x[1]) {
            prop_assert!(s.mean().is_finite() && s.u().is_finite());
            for p in [p, p.abs().fract()] {
                if let Ok((low, high)) = s.shortest_interval(p) {
                    prop_assert!(low <= high && s.symmetric_interval(p).is_ok());
                }
            }
            let _ = s.share_between(a, b);
        }
    }
}
