use super::*;
use crate::gas::MOLAR_GAS_CONSTANT;
use units::Dual;

/// The sources' formulas: terms n·(T/T*)^e, as B and T^k times its derivatives to the third.
fn published(t: f64, reference: f64, terms: &[(f64, f64)]) -> [f64; 4] {
    let mut sum = [0.0; 4];
    for (n, e) in terms {
        let term = n * math::powf(t / reference, *e);
        let factors = [1.0, *e, e * (e - 1.0), e * (e - 1.0) * (e - 2.0)];
        sum.iter_mut().zip(factors).for_each(|(s, f)| *s += term * f);
    }
    sum
}

fn published_air(t: f64) -> [f64; 4] {
    const V: f64 = 1.0 / 10_447.7; // m³/mol
    let terms = [
        (0.118_160_747_229 * V, 0.0),
        (0.713_116_392_079 * V, -0.33),
        (-1.618_241_920_67 * V, -1.01),
        (-0.101_365_037_912 * V, -1.6),
        (-0.146_629_609_713 * V, -3.6),
        (0.014_828_789_197_8 * V, -3.5),
    ];
    published(t, 132.6312, &terms)
}

fn published_cross(t: f64) -> [f64; 4] {
    published(t, 100.0, &[(66.5687e-6, -0.237), (-238.834e-6, -1.048), (-176.755e-6, -3.183)])
}

/// By how much the compressibility p B/(R T) at 2 MPa, and what enthalpy and heat capacity see of it, are off.
#[test]
fn polynomials_are_the_published_formulas() {
    let mut worst = [0.0f64; 4];
    for i in 0..=3400 {
        let t = 150.0 + 0.25 * f64::from(i);
        let y = math::ln(t) - LN_CENTRE;
        let scale = 2e6 / (MOLAR_GAS_CONSTANT * t);
        for (family, [b, t1, t2, t3]) in [(&AIR, published_air(t)), (&CROSS, published_cross(t))] {
            let x = Dual::<1>::variable(t, 0);
            let values = [Of::B, Of::Slope, Of::Curve, Of::Enthalpy].map(|of| family.at(of, x, y));
            let off = |own: f64, theirs: f64| (own - theirs).abs() * scale;
            assert!(off(values[3].value, b - t1) < 1e-11, "{t}");
            let slopes = [t1, t1 + t2, 2.0 * t2 + t3, -t2];
            for (own, slope) in values.iter().zip(slopes) {
                assert!(off(own.partials[0] * t, slope) < 1e-8, "{t}");
            }
            for (worst, (own, theirs)) in worst.iter_mut().zip(values.iter().zip([b, t1, t2])) {
                *worst = worst.max(off(own.value, theirs));
            }
        }
    }
    println!("{worst:?}");
    assert!(worst[0] < 1e-14 && worst[1] < 3e-12 && worst[2] < 2e-10, "{worst:?}");
}

#[test]
fn water_s_derivatives_are_those_of_its_formula() {
    let at = |t: f64| Virials::at(Dual::<1>::variable(t, 0), math::ln(t));
    for t in [160.0, 250.0, 300.0, 450.0, 900.0] {
        let v = at(t);
        let [b, slope, curve, h] = [Of::B, Of::Slope, Of::Curve, Of::Enthalpy].map(|of| v.water(of));
        assert!((b.partials[0] * t / slope.value - 1.0).abs() < 1e-13);
        assert!((slope.partials[0] * t / (slope.value + curve.value) - 1.0).abs() < 1e-12);
        assert!(((b.value - slope.value) / h.value - 1.0).abs() < 1e-12);
        assert!((h.partials[0] * t / curve.value + 1.0).abs() < 1e-12);
        let step = 1e-4 * t;
        let by_step = (at(t + step).water(Of::Curve).value - at(t - step).water(Of::Curve).value) / (2.0 * step);
        assert!((by_step / curve.partials[0] - 1.0).abs() < 1e-6, "{t}");
    }
}
