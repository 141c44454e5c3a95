//! What holds for every sensor whatever the number: round trips, monotony, derivatives, refusal of everything else.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use sensors::{
    Construction, Conversion, CurrentLoop, FixedJunction, FormulaError, Linear, PairConversion, Platinum,
    PlatinumClass, Polarity, Polynomial, Ratio, Ratiometric, RatiometricSpec, ResistorClass, Table, Thermocouple,
    ToleranceClass,
};
use units::Dual;

/// Any bits at all, with the usual sizes more often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<u64>().prop_map(f64::from_bits),
        -3000.0..3000.0f64,
        -30.0..100.0f64,
        prop::sample::select(vec![0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE, f64::MAX]),
    ]
}

fn any_type() -> impl Strategy<Value = Thermocouple> {
    prop::sample::select(Thermocouple::ALL.to_vec())
}

/// Where a type can be read back, °C.
fn readable(tc: Thermocouple) -> (f64, f64) {
    let (low, high) = tc.range_c();
    (if tc == Thermocouple::B { 42.15 } else { low }, high)
}

/// How far the temperature read back may be from t: the joints of S, R and B step down by less than 0.4 µK, and at
/// the cold end of T and E the polynomial's terms cancel.
fn closure(tc: Thermocouple, t: f64) -> f64 {
    let joints: &[f64] = match tc {
        Thermocouple::T if t < -200.0 => return 1e-7,
        Thermocouple::E if t < -250.0 => return 1e-8,
        Thermocouple::S | Thermocouple::R => &[1064.18, 1664.5],
        Thermocouple::B => &[630.615],
        _ => &[],
    };
    if joints.iter().any(|j| t >= *j && t < j + 4e-7) { 4e-7 } else { 1e-9 }
}

fn position() -> Ratiometric {
    let polarity = Polarity::RisesToOpen;
    let ratio = Ratio::DifferenceOverSum;
    let spec = RatiometricSpec { ratio, polarity, closed: -0.4, open: 0.45, window: (3.0, 5.0), overtravel: 0.05 };
    Ratiometric::new(spec).unwrap()
}

fn conversions() -> Vec<Conversion> {
    let points = [(0.0, 10.0), (1.0, 4.0), (3.0, 3.5), (4.0, -20.0)];
    vec![
        Conversion::IDENTITY,
        Conversion::Linear(Linear::new(1e300, 1e300).unwrap()),
        Conversion::Table(Table::new(&points).unwrap()),
        Conversion::Table(Table::monotone_cubic(&points).unwrap()),
        Conversion::CurrentLoop(CurrentLoop::new(-50.0, 150.0).unwrap()),
        Conversion::Polynomial(Polynomial::new(&[1.0, 2.0, 0.0, 0.1], -2.0, 30.0).unwrap()),
        Conversion::Polynomial(Polynomial::new(&[1.0, 2.0, -3.0], -2.0, 3.0).unwrap()),
        Conversion::Platinum(Platinum::PT1000),
        Conversion::FixedJunction(FixedJunction::new(Thermocouple::K, 50.0).unwrap()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn a_thermocouple_is_read_back(tc in any_type(), share in 0.0..=1.0f64, reference in 0.0..60.0f64) {
        let (low, high) = readable(tc);
        let t = low + share * (high - low);
        let emf = tc.emf_mv(t).unwrap();
        let back = tc.temperature_c(emf).unwrap();
        prop_assert!((back - t).abs() <= closure(tc, t), "{tc:?} {t} {back}");
        let measured = tc.measured_mv(t, reference).unwrap();
        // The sum of measured and reference emf may round beyond the very end.
        if share > 1e-9 && share < 1.0 - 1e-9 {
            let back = tc.junction_c(measured, reference).unwrap();
            let rounding = 2e-14 / tc.seebeck_mv_per_k(t).unwrap();
            prop_assert!((back - t).abs() <= closure(tc, t) + rounding, "{tc:?} {t} {reference} {back}");
        }
    }

    #[test]
    fn the_emf_read_back_is_the_emf(tc in any_type(), share in 0.0..=1.0f64) {
        let (low, high) = (tc.emf_mv(readable(tc).0).unwrap(), tc.range_mv().1);
        let emf = low + share * (high - low);
        let again = tc.emf_mv(tc.temperature_c(emf).unwrap()).unwrap();
        // Type J leaves 7.5e-8 mV out at 760 °C.
        prop_assert!((again - emf).abs() <= 8e-8, "{tc:?} {emf} {again}");
    }

    #[test]
    fn emf_and_temperature_rise_together(tc in any_type(), a in 0.0..=1.0f64, b in 0.0..=1.0f64) {
        let (low, high) = readable(tc);
        let (t1, t2) = (low + a.min(b) * (high - low), low + a.max(b) * (high - low));
        let (e1, e2) = (tc.emf_mv(t1).unwrap(), tc.emf_mv(t2).unwrap());
        prop_assert!(t2 - t1 < 1e-6 || e1 < e2, "{tc:?} {t1} {t2}");
        prop_assert!(tc.temperature_c(e1.min(e2)).unwrap() <= tc.temperature_c(e1.max(e2)).unwrap());
        prop_assert!(tc.seebeck_mv_per_k(t1).unwrap() > 0.0);
    }

    #[test]
    fn slopes_are_the_seebeck_coefficient(tc in any_type(), share in 0.001..0.999f64, reference in 1.0..60.0f64) {
        let (low, high) = readable(tc);
        let t = low + share * (high - low);
        let s = tc.seebeck_mv_per_k(t).unwrap();
        let emf = tc.emf_mv(Dual::<1>::variable(t, 0)).unwrap();
        prop_assert_eq!(emf.value.to_bits(), tc.emf_mv(t).unwrap().to_bits());
        prop_assert!((emf.partials[0] - s).abs() <= 1e-8 * s.abs(), "{} {s}", emf.partials[0]);
        let h = 1e-3;
        let finite = (tc.emf_mv(t + h).unwrap() - tc.emf_mv(t - h).unwrap()) / (2.0 * h);
        // A joint within the step, or the coefficient's own change over it.
        prop_assert!((finite - s).abs() <= 1e-6 * s.abs() + 1e-4 * 7.5e-4, "{finite} {s}");
        let [m, r] = Dual::variables([tc.measured_mv(t, reference).unwrap(), reference]);
        let junction = tc.junction_c(m, r).unwrap();
        prop_assert_eq!(junction.value.to_bits(), tc.junction_c(m.value, reference).unwrap().to_bits());
        let (by_emf, by_reference) = (1.0 / s, tc.seebeck_mv_per_k(reference).unwrap() / s);
        prop_assert!((junction.partials[0] - by_emf).abs() <= 1e-6 * by_emf, "{:?} {by_emf}", junction.partials);
        prop_assert!((junction.partials[1] - by_reference).abs() <= 1e-6 * (by_reference.abs() + by_emf * 1e-4));
    }

    #[test]
    fn a_platinum_resistor_is_read_back(t in -200.0..=850.0f64, r0 in 1.0..5000.0f64) {
        let p = Platinum::new(r0).unwrap();
        let r = p.resistance_ohm(t).unwrap();
        prop_assert!((p.temperature_c(r).unwrap() - t).abs() <= 1e-9);
        let s = p.sensitivity_ohm_per_k(t).unwrap();
        let dual = p.resistance_ohm(Dual::<1>::variable(t, 0)).unwrap();
        prop_assert!(s > 0.0 && (dual.partials[0] / s - 1.0).abs() <= 1e-12 && dual.value.to_bits() == r.to_bits());
        let back = p.temperature_c(Dual::<1>::variable(r, 0)).unwrap();
        prop_assert!((back.partials[0] * s - 1.0).abs() <= 1e-9);
        prop_assert_eq!(back.value.to_bits(), p.temperature_c(r).unwrap().to_bits());
        if (-199.9..849.9).contains(&t) {
            let h = 1e-3;
            let finite = (p.resistance_ohm(t + h).unwrap() - p.resistance_ohm(t - h).unwrap()) / (2.0 * h);
            prop_assert!((finite / s - 1.0).abs() <= 1e-8);
        }
    }

    #[test]
    fn a_polynomial_that_only_rises_is_read_back(
        c in prop::collection::vec(0.0..2.0f64, 2..9), x in 0.0..3.0f64, down in any::<bool>(),
    ) {
        let mut c = c;
        c[1] += 0.1;
        let c: Vec<f64> = c.into_iter().map(|k| if down { -k } else { k }).collect();
        let p = Polynomial::new(&c, 0.0, 3.0).unwrap();
        prop_assert!(p.turns().is_empty());
        let y = p.value(x).unwrap();
        prop_assert!((p.raw(y).unwrap() - x).abs() <= 1e-9, "{c:?} {x}");
        let slope = p.value(Dual::<1>::variable(x, 0)).unwrap().partials[0];
        let back = p.raw(Dual::<1>::variable(y, 0)).unwrap();
        prop_assert!((back.partials[0] * slope - 1.0).abs() <= 1e-9);
    }

    /// Between its turns a polynomial rises or falls: sampled, against what it says itself.
    #[test]
    fn a_polynomial_knows_its_turns(roots in prop::collection::vec(-1.9..1.9f64, 1..5)) {
        // The derivative with these roots, integrated.
        let mut d = vec![1.0];
        for r in &roots {
            let mut next = vec![0.0; d.len() + 1];
            for (i, k) in d.iter().enumerate() {
                next[i] -= k * r;
                next[i + 1] += k;
            }
            d = next;
        }
        let mut c = vec![0.5];
        c.extend(d.iter().enumerate().map(|(i, k)| k / (i as f64 + 1.0)));
        let p = Polynomial::new(&c, -2.0, 2.0).unwrap();
        let mut sorted = roots;
        sorted.sort_by(f64::total_cmp);
        prop_assume!(sorted.windows(2).all(|w| w[1] - w[0] > 0.05));
        prop_assert_eq!(p.turns().len(), sorted.len());
        for (found, r) in p.turns().iter().zip(&sorted) {
            prop_assert!((found - r).abs() < 1e-9, "{found} {r}");
        }
        let refused = matches!(p.raw(0.5), Err(FormulaError::Turns { .. }));
        prop_assert!(refused);
    }

    /// The curve goes through its points, stays between their values, and is read back.
    #[test]
    fn a_monotone_curve_has_no_turn_of_its_own(
        steps in prop::collection::vec((0.01..5.0f64, 0.0..5.0f64), 2..10), share in 0.0..=1.0f64, down in any::<bool>(),
    ) {
        let (mut x, mut y) = (0.0, 0.0);
        let mut points = vec![(x, y)];
        for (dx, dy) in &steps {
            x += dx;
            y += if down { -dy } else { *dy };
            points.push((x, y));
        }
        let table = Table::monotone_cubic(&points).unwrap();
        for (x, y) in &points {
            prop_assert!((table.value(*x).unwrap() - y).abs() <= 1e-12 * (1.0 + y.abs()));
        }
        let at = share * x;
        let value = table.value(at).unwrap();
        let i = points.iter().position(|p| at <= p.0).unwrap_or(points.len() - 1).max(1);
        let (a, b) = (points[i - 1].1, points[i].1);
        prop_assert!(value >= a.min(b) - 1e-12 && value <= a.max(b) + 1e-12, "{value} between {a} and {b}");
        if steps.iter().all(|s| s.1 > 0.01) && value > y.min(0.0) && value < y.max(0.0) {
            let again = table.value(table.raw(value).unwrap()).unwrap();
            prop_assert!((again - value).abs() <= 1e-9);
        }
        let h = 1e-6;
        if let (Ok(up), Ok(lower)) = (table.value(at + h), table.value(at - h)) {
            let slope = table.value(Dual::<1>::variable(at, 0)).unwrap().partials[0];
            prop_assert!((slope - (up - lower) / (2.0 * h)).abs() <= 1e-2 * (1.0 + slope.abs()));
        }
    }

    #[test]
    fn a_position_is_read_back_whatever_the_sum(p in -0.05..=1.05f64, sum in 3.0..=5.0f64) {
        let sensor = position();
        prop_assume!(sum > 3.0 + 1e-9 && sum < 5.0 - 1e-9 && p > -0.05 + 1e-9 && p < 1.05 - 1e-9);
        let (a, b) = sensor.readings(p, sum).unwrap();
        prop_assert!((sensor.position(a, b).unwrap() - p).abs() < 1e-12);
        let [da, db] = Dual::variables([a, b]);
        let dual = sensor.position(da, db).unwrap();
        // Scaling both readings changes nothing.
        prop_assert!((dual.partials[0] * a + dual.partials[1] * b).abs() < 1e-12);
        let finite = (sensor.position(a + 1e-7, b).unwrap_or(f64::NAN) - sensor.position(a, b).unwrap()) / 1e-7;
        prop_assert!(finite.is_nan() || (finite - dual.partials[0]).abs() < 1e-5);
    }

    /// Whatever comes in: a finite number, or an error; never NaN, never a panic.
    #[test]
    fn nothing_is_nan_and_nothing_panics(x in any_number(), y in any_number(), tc in any_type()) {
        let check = |r: Result<f64, FormulaError>| match r {
            Ok(v) => assert!(v.is_finite(), "{x} {y} gave {v}"),
            Err(e) => assert!(!e.to_string().is_empty()),
        };
        check(tc.emf_mv(x));
        check(tc.seebeck_mv_per_k(x));
        check(tc.temperature_c(x));
        check(tc.junction_c(x, y));
        check(tc.measured_mv(x, y));
        for class in [ToleranceClass::One, ToleranceClass::Two, ToleranceClass::Three] {
            check(tc.tolerance_k(class, x));
        }
        for construction in [Construction::WireWound, Construction::Film] {
            for class in [PlatinumClass::AA, PlatinumClass::A, PlatinumClass::B, PlatinumClass::C] {
                check(class.tolerance_k(construction, x));
            }
            for class in [ResistorClass::P1, ResistorClass::P15, ResistorClass::P3, ResistorClass::P6] {
                check(class.tolerance_k(construction, x));
            }
        }
        if let Ok(p) = Platinum::new(y) {
            check(p.resistance_ohm(x));
            check(p.temperature_c(x));
            check(p.sensitivity_ohm_per_k(x));
        }
        check(position().position(x, y));
        check(position().readings(x, y).map(|(a, b)| a + b));
        check(PairConversion::Thermocouple(tc).value(x, y));
        for c in conversions() {
            for r in [c.value(x), c.raw(x)] {
                match r {
                    Ok(v) => assert!(v.is_finite(), "{c:?} {x} gave {v}"),
                    Err(e) => assert!(!e.to_string().is_empty()),
                }
            }
            let d = Dual::<1>::variable(x, 0);
            if let Ok(v) = c.value(d) {
                prop_assert!(v.value.is_finite() && v.partials[0].is_finite(), "{c:?} {x} gave {v:?}");
                prop_assert_eq!(Ok(v.value.to_bits()), c.value(x).map(f64::to_bits));
            }
        }
    }

    /// The same for descriptions: one is refused, or what it makes keeps the promise.
    #[test]
    fn a_description_of_anything_is_refused_or_holds(
        c in prop::collection::vec(any_number(), 0..8), x in any_number(), y in any_number(), z in any_number(),
    ) {
        if let Ok(p) = Polynomial::new(&c, x.min(y), x.max(y)) {
            for r in [p.value(z), p.value(x), p.value(y), p.raw(z)] {
                prop_assert!(r.map_or(true, f64::is_finite), "{c:?} {x} {y} {z} gave {r:?}");
            }
        }
        if let [a, b, e, ..] = c[..] {
            let p = Platinum::with_coefficients(a, b, e, z);
            prop_assert!(p.map_or(true, |p| p.temperature_c(p.range_ohm().0).is_ok_and(f64::is_finite)));
        }
        let points: Vec<(f64, f64)> = c.chunks_exact(2).map(|p| (p[0], p[1])).collect();
        if let Ok(t) = Table::monotone_cubic(&points) {
            for r in [t.value(x), t.value(y), t.raw(z)] {
                prop_assert!(r.map_or(true, f64::is_finite), "{points:?} {x} {y} {z} gave {r:?}");
            }
        }
        let (ratio, polarity) = (Ratio::PartOfWhole, Polarity::FallsToOpen);
        let spec = RatiometricSpec { ratio, polarity, closed: x, open: y, window: (z.abs(), z.abs() * 2.0), overtravel: 0.0 };
        if let Ok(r) = Ratiometric::new(spec) {
            let p = r.position(x * z, z.abs());
            prop_assert!(p.map_or(true, f64::is_finite), "{p:?}");
        }
    }
}

#[test]
fn type_b_is_not_read_where_two_temperatures_give_one_emf() {
    let b = Thermocouple::B;
    let ambiguous = |e: f64| matches!(b.temperature_c(e), Err(FormulaError::TwoTemperatures { .. }));
    assert!(
        ambiguous(0.0)
            && ambiguous(-0.0025)
            && ambiguous(b.emf_mv(21.0).unwrap())
            && ambiguous(b.emf_mv(42.0).unwrap())
    );
    assert!(matches!(b.temperature_c(-0.0026), Err(FormulaError::Outside { .. })));
    let t = b.temperature_c(1e-9).unwrap();
    assert!(t > 42.13 && t < 42.15, "{t}");
    // Its terminals may stand there: their emf is small and known.
    assert!((b.junction_c(b.measured_mv(900.0, 30.0).unwrap(), 30.0).unwrap() - 900.0).abs() < 1e-9);
}
