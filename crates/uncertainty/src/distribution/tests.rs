use proptest::prelude::*;

use super::*;

/// Two-sided 95 % and 99 % factors as in JCGM 100:2008 (GUM), table G.2 (values from memory, two decimals printed).
#[test]
fn quantiles_of_gum_table_g2() {
    for (dof, t95, t99) in [
        (1.0, 12.71, 63.66),
        (2.0, 4.30, 9.92),
        (3.0, 3.18, 5.84),
        (4.0, 2.78, 4.60),
        (5.0, 2.57, 4.03),
        (10.0, 2.23, 3.17),
        (16.0, 2.12, 2.92),
        (20.0, 2.09, 2.85),
        (50.0, 2.01, 2.68),
        (100.0, 1.984, 2.626),
        (f64::INFINITY, 1.960, 2.576),
    ] {
        assert!((student_t::quantile(0.975, dof).unwrap() - t95).abs() < 0.0051, "{dof}");
        assert!((student_t::quantile(0.995, dof).unwrap() - t99).abs() < 0.0051, "{dof}");
    }
}

/// Upper tails from arbitrary-precision arithmetic (mpmath 1.3, 40 digits).
#[test]
fn tails_in_many_digits() {
    for (t, dof, expected) in [
        (0.3, 1.0, 0.40722642092225764),
        (2.0, 1.0, 0.14758361765043326),
        (9.0, 1.0, 0.03522328747727727),
        (0.3, 2.5, 0.39367118574759863),
        (2.0, 2.5, 0.078695747878983),
        (9.0, 2.5, 0.0028739530918040278),
        (0.3, 7.0, 0.38644502520106716),
        (2.0, 7.0, 0.04280966428148804),
        (9.0, 7.0, 2.132850460562164e-05),
        (0.3, 30.0, 0.3831230526421764),
        (2.0, 30.0, 0.02731252248149155),
        (9.0, 30.0, 2.507415958073939e-10),
        (0.3, 300.0, 0.38219245941407065),
        (2.0, 300.0, 0.023200760491574546),
        (9.0, 300.0, 1.3257947891309066e-17),
        (0.3, 999.0, 0.3821197832849058),
        (2.0, 999.0, 0.0228853084868785),
        (9.0, 999.0, 5.572984379744915e-19),
        (0.3, 1001.0, 0.38211972094467006),
        (2.0, 1001.0, 0.022885038276710144),
        (9.0, 1001.0, 5.556121587512219e-19),
        (0.3, 10000.0, 0.38209169561466616),
        (2.0, 10000.0, 0.02276363033071772),
        (9.0, 10000.0, 1.3339216347343313e-19),
        (0.3, 1000000.0, 0.3820886089894971),
        (2.0, 1000000.0, 0.022750266925659603),
        (9.0, 1000000.0, 1.13048651674643e-19),
    ] {
        let got = student_t::probability_below(-t, dof).unwrap();
        assert!((got / expected - 1.0).abs() < 1e-12, "t {t} dof {dof}: {got} {expected}");
    }
}

/// Closed forms: ν = 1 is Cauchy's distribution, ν = 2 is algebraic.
#[test]
fn quantiles_in_closed_form() {
    for p in [1e-12, 1e-6, 0.01, 0.1, 0.3, 0.49, 0.6, 0.9, 0.999] {
        let one = (std::f64::consts::PI * (p - 0.5)).tan();
        let two = (2.0 * p - 1.0) * (2.0 / (4.0 * p * (1.0 - p))).sqrt();
        for (dof, expected) in [(1.0, one), (2.0, two)] {
            let got = student_t::quantile(p, dof).unwrap();
            // The tangent itself loses digits near its pole.
            assert!((got / expected - 1.0).abs() < 1e-13 + 3e-16 / p, "p {p} dof {dof}: {got} {expected}");
        }
    }
}

#[test]
fn the_change_to_the_normal_shape_is_smooth() {
    for p in [1e-9, 0.001, 0.025, 0.2, 0.45] {
        let below = student_t::quantile(p, 999.999_999_999).unwrap();
        let above = student_t::quantile(p, 1_000.000_000_001).unwrap();
        assert!((below / above - 1.0).abs() < 1e-13, "{p}: {below} {above}");
    }
}

#[test]
fn densities_have_area_one_and_their_spread() {
    for d in [
        Normal { mean: 3.0, u: 0.5 },
        StudentT { mean: 3.0, scale: 0.5, dof: 30.0 },
        Rectangular { low: 1.0, high: 4.0 },
        InexactRectangular { low: 1.0, high: 4.0, d: 0.5 },
        InexactRectangular { low: 1.0, high: 4.0, d: 0.0 },
        Trapezoidal { low: 1.0, high: 4.0, beta: 0.4 },
        Triangular { low: 1.0, high: 4.0 },
        Exponential { mean: 0.7 },
        Gamma { shape: 3.5, scale: 0.4 },
    ] {
        let (mean, u) = (d.mean().unwrap(), d.u().unwrap());
        let n = 100_000;
        let (from, to) = (mean - 20.0 * u, mean + 30.0 * u);
        let h = (to - from) / f64::from(n);
        let (mut area, mut first, mut second) = (0.0, 0.0, 0.0);
        for i in 0..n {
            let x = from + (f64::from(i) + 0.5) * h;
            let f = d.density(x).unwrap() * h;
            area += f;
            first += f * x;
            second += f * (x - mean) * (x - mean);
        }
        assert!((area - 1.0).abs() < 1e-4, "{d:?} {area}");
        assert!((first - mean).abs() < 1e-4, "{d:?} {first}");
        assert!((second.sqrt() / u - 1.0).abs() < 1e-4, "{d:?} {}", second.sqrt());
    }
}

#[test]
fn a_t_distribution_of_two_degrees_has_no_standard_uncertainty() {
    let error = StudentT { mean: 0.0, scale: 1.0, dof: 2.0 }.u().unwrap_err();
    assert_eq!(
        error.to_string(),
        "distribution: degrees of freedom is 2, must be above 2 to have a standard deviation"
    );
}

proptest! {
    #[test]
    fn quantiles_are_the_inverse(p in 1e-9..0.999_999f64, dof in prop_oneof![1.0..50.0f64, 50.0..1e7]) {
        let z = normal::quantile(p).unwrap();
        prop_assert!((normal::cumulative(z) / p - 1.0).abs() < 1e-12);
        let t = student_t::quantile(p, dof).unwrap();
        let back = student_t::cumulative(t, dof);
        prop_assert!((back / p - 1.0).abs() < 1e-11, "{t} {back}");
    }

    #[test]
    fn no_number_gives_nan(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), x in any::<f64>()) {
        let good = |r: Result<f64, DomainError>| r.map_or(true, f64::is_finite);
        prop_assert!(good(normal::quantile(a)) && good(student_t::quantile(a, b)));
        prop_assert!(good(student_t::quantile(a.abs().fract(), 1.0 + b.abs())));
        prop_assert!(good(normal::probability_below(a)) && good(student_t::probability_below(a, b)));
        prop_assert!(good(student_t::probability_below(a, 1.0 + b.abs())));
        for d in [
            Normal { mean: a, u: b }, StudentT { mean: a, scale: b, dof: c }, Rectangular { low: a, high: b },
            InexactRectangular { low: a, high: b, d: c }, Trapezoidal { low: a, high: b, beta: c },
            Triangular { low: a, high: b }, ArcSine { low: a, high: b }, Exponential { mean: a },
            Gamma { shape: a, scale: b },
        ] {
            prop_assert!(good(crate::monte_carlo::Generator::new(1).draw(d)));
            prop_assert!(good(d.mean()) && good(d.u()) && good(d.density(x)) && good(d.density(a)), "{d:?} at {x}");
        }
    }
}
