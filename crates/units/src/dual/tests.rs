use proptest::prelude::*;

use super::*;

/// Every operation once, written over [`Real`], and a walk over all of them.
macro_rules! operations {
    ($($name:ident = |$x:ident, $y:ident| $body:expr;)*) => {
        $(fn $name<R: Real>($x: R, $y: R) -> R { let _ = $y; $body })*

        /// Calls `check` with each operation's name, plain form and dual result at (a, b).
        fn each(a: f64, b: f64, mut check: impl FnMut(&str, fn(f64, f64) -> f64, Dual<2>)) {
            let [p, q] = Dual::variables([a, b]);
            $(check(stringify!($name), $name::<f64>, $name(p, q));)*
        }
    };
}

operations! {
    negated = |x, y| -x;
    sum = |x, y| x + y;
    difference = |x, y| x - y;
    product = |x, y| x * y;
    quotient = |x, y| x / y;
    plus_constant = |x, y| x + 1.7;
    minus_constant = |x, y| x - 1.7;
    times_constant = |x, y| x * 1.7;
    over_constant = |x, y| x / 1.7;
    constant_over = |x, y| R::of(1.7) / x;
    assigned = |x, y| { let mut s = x; s += y; s -= x * y; s *= y; s };
    root = |x, y| x.sqrt();
    cube_root = |x, y| x.cbrt();
    exponential = |x, y| x.exp();
    exponential_m1 = |x, y| x.exp_m1();
    logarithm = |x, y| x.ln();
    logarithm_1p = |x, y| x.ln_1p();
    logarithm_10 = |x, y| x.log10();
    power_constant = |x, y| x.powf(0.2857);
    power_constant_left = |x, y| R::of(1.7).pow(x);
    power_constant_right = |x, y| x.pow(R::of(-1.3));
    power = |x, y| x.pow(y);
    power_whole = |x, y| x.powi(5);
    power_whole_negative = |x, y| x.powi(-3);
    power_zero = |x, y| x.powi(0);
    sine = |x, y| x.sin();
    cosine = |x, y| x.cos();
    tangent = |x, y| x.tan();
    arc_tangent = |x, y| x.atan();
    hyperbolic_tangent = |x, y| x.tanh();
    absolute = |x, y| x.abs();
    smaller = |x, y| x.min(y);
    greater = |x, y| x.max(y);
    branched = |x, y| if x < y && y > 0.5 { x * y } else { x + y };
    nested = |x, y| ((x * y).tanh() + x.exp()).sqrt() / (y.abs() + 1.0).ln();
}

fn same_bits(a: f64, b: f64) {
    each(a, b, |name, plain, dual| {
        let plain = plain(a, b);
        let same = plain.to_bits() == dual.value.to_bits() || plain.is_nan() && dual.value.is_nan();
        assert!(same, "{name}({a:e}, {b:e}): plain {plain:e}, dual {:e}", dual.value);
    });
}

/// Central difference of f in one argument, by Richardson's extrapolation of two steps.
fn slope(f: impl Fn(f64) -> f64, x: f64) -> f64 {
    let h = 1e-3 * x.abs().max(0.1);
    let central = |h: f64| (f(x + h) - f(x - h)) / (2.0 * h);
    (4.0 * central(h / 2.0) - central(h)) / 3.0
}

proptest! {
    #[test]
    fn the_value_has_the_bits_of_the_plain_computation(a in any::<f64>(), b in any::<f64>()) {
        same_bits(a, b);
    }

    #[test]
    fn also_where_numbers_are_of_common_size(a in -9.0..9.0f64, b in -9.0..9.0f64) {
        same_bits(a, b);
    }

    #[test]
    fn derivatives_agree_with_finite_differences(a in 0.2..3.0f64, b in 0.2..3.0f64) {
        // Away from the kinks of min, max and the branch, and from the pole of the tangent.
        let pole = std::f64::consts::FRAC_PI_2;
        if (a - b).abs() < 0.02 || (b - 0.5).abs() < 0.02 || (a - pole).abs() < 0.15 {
            return Ok(());
        }
        each(a, b, |name, plain, dual| {
            let expected = [slope(|x| plain(x, b), a), slope(|y| plain(a, y), b)];
            for (got, expected) in dual.partials.iter().zip(expected) {
                let scale = 1.0 + expected.abs() + dual.value.abs();
                assert!((got - expected).abs() < 2e-7 * scale, "{name}({a}, {b}): {got} against {expected}");
            }
        });
    }
}

/// The derivatives in closed form, at x = 2 and y = 3.
#[test]
fn derivatives_in_closed_form() {
    let [x, y] = Dual::<2>::variables([2.0, 3.0]);
    let close = |got: Dual<2>, by_x: f64, by_y: f64| {
        let tolerance = |e: f64| 4.0 * f64::EPSILON * e.abs();
        assert!((got.partials[0] - by_x).abs() <= tolerance(by_x), "{got:?} by x {by_x}");
        assert!((got.partials[1] - by_y).abs() <= tolerance(by_y), "{got:?} by y {by_y}");
    };
    close(x * y, 3.0, 2.0);
    close(x / y, 1.0 / 3.0, -2.0 / 9.0);
    close(x.pow(y), 12.0, 8.0 * 2f64.ln());
    close(x.powf(0.5), 0.5 / 2f64.sqrt(), 0.0);
    close(y.powi(-2), 0.0, -2.0 / 27.0);
    close(x.sqrt(), 0.5 / 2f64.sqrt(), 0.0);
    close(x.cbrt(), 1.0 / (3.0 * 4f64.cbrt()), 0.0);
    close(y.exp(), 0.0, 3f64.exp());
    close(y.exp_m1(), 0.0, 3f64.exp());
    close(x.ln(), 0.5, 0.0);
    close(y.ln_1p(), 0.0, 0.25);
    close(x.log10(), 1.0 / (2.0 * std::f64::consts::LN_10), 0.0);
    close(x.sin(), 2f64.cos(), 0.0);
    close(x.cos(), -2f64.sin(), 0.0);
    close(x.tan(), 1.0 / (2f64.cos() * 2f64.cos()), 0.0);
    close(x.atan(), 0.2, 0.0);
    close(x.max(y) + (-x).abs(), 1.0, 1.0);
}

/// x³ = a by its root: dx/da = 1/(3x²).
#[test]
fn a_root_found_beforehand_gets_its_derivatives() {
    fn cube_root_of<R: Real>(a: R) -> R {
        let root = math::cbrt(a.value());
        R::at_root(root, R::of(root).powi(3) - a, 3.0 * root * root)
    }
    let [a] = Dual::variables([8.0]);
    assert_eq!(cube_root_of(8.0), 2.0);
    assert_eq!(cube_root_of(a).value, 2.0);
    assert!((cube_root_of(a).partials[0] - 1.0 / 12.0).abs() < 1e-16);
}

#[test]
fn a_constant_stays_one_where_a_slope_is_infinite() {
    let zero = Dual::<2>::constant(0.0);
    assert_eq!(zero.sqrt().partials, [0.0, 0.0]);
    assert_eq!(zero.powf(0.5).partials, [0.0, 0.0]);
    assert!(zero.sqrt().is_finite());
    let [x, _] = Dual::<2>::variables([0.0, 0.0]);
    assert!(!x.sqrt().is_finite(), "a sensitivity without bound must show");
    assert_eq!(x.sqrt().partials[1], 0.0);
    assert_eq!(x.powf(0.0).partials, [0.0, 0.0]);
    assert_eq!(x.powf(1.0).partials, [1.0, 0.0]);
}

#[test]
fn a_variable_beyond_the_last_is_a_constant() {
    assert_eq!(Dual::<2>::variable(5.0, 2).partials, [0.0, 0.0]);
}
