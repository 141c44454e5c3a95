use super::*;
use crate::monte_carlo::Generator;
use proptest::prelude::*;

#[test]
fn the_rule_is_exact_to_the_ninth_power() {
    for n in 0..10 {
        let got: f64 = gauss_legendre(1.0, 3.0).iter().map(|(x, w)| w * x.powi(n)).sum();
        let exact = (3f64.powi(n + 1) - 1.0) / f64::from(n + 1);
        assert!((got / exact - 1.0).abs() < 1e-14, "{n}");
    }
}

/// Against counting: every prior, one and two limits, a guard band.
#[test]
fn risks_agree_with_counting() {
    let priors = [
        Distribution::Normal { mean: 0.3, u: 0.6 },
        Distribution::Rectangular { low: -1.5, high: 1.5 },
        Distribution::Triangular { low: -1.5, high: 1.5 },
        Distribution::Trapezoidal { low: -1.5, high: 1.5, beta: 0.3 },
        Distribution::Exponential { mean: 0.5 },
        Distribution::Gamma { shape: 2.0, scale: 0.4 },
    ];
    let two = (Limits::between(-1.0, 1.0).unwrap(), Limits::between(-0.9, 0.9).unwrap());
    let one = (Limits::at_most(1.0).unwrap(), Limits::at_most(1.1).unwrap());
    let mut g = Generator::new(17);
    for prior in priors {
        for (tolerance, acceptance) in [two, one] {
            let risk = global_risk(tolerance, acceptance, prior, 0.2).unwrap();
            let n = 50_000;
            let mut counts = [0.0; 4];
            for _ in 0..n {
                let truth = g.draw(prior).unwrap();
                let accepted = acceptance.contain(truth + 0.2 * g.normal());
                counts[usize::from(tolerance.contain(truth)) * 2 + usize::from(accepted)] += 1.0 / f64::from(n);
            }
            for (got, counted) in
                [risk.true_reject, risk.false_accept, risk.false_reject, risk.true_accept].iter().zip(counts)
            {
                assert!((got - counted).abs() < 0.008, "{prior:?}: {got} {counted}");
            }
        }
    }
}

/// Without measurement error only the tolerance counts.
#[test]
fn a_perfect_measurement_errs_never() {
    let t = Limits::between(-1.0, 1.0).unwrap();
    let risk = global_risk(t, t, Distribution::Normal { mean: 0.0, u: 1.0 }, 0.0).unwrap();
    assert!(risk.false_accept < 1e-12 && risk.false_reject < 1e-12);
    assert!((risk.true_accept - 0.682_689_492_137_086).abs() < 1e-9);
}

proptest! {
    #[test]
    fn no_number_gives_nan(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>()) {
        if let (Ok(t), Ok(g)) = (Limits::between(a, b), Limits::at_most(c)) {
            for prior in [Distribution::Normal { mean: c, u: d.abs() }, Distribution::ArcSine { low: a, high: b }] {
                if let Ok(r) = global_risk(t, g, prior, d.abs()) {
                    prop_assert!(r.false_accept.is_finite() && r.false_reject.is_finite());
                }
            }
        }
        if let Ok(p) = after_measurement(Input::new(a, b.abs()), Input::new(c, d.abs())) {
            prop_assert!(p.value.is_finite() && p.u.is_finite() && p.u <= b.abs().min(d.abs()));
        }
    }
}
