//! The root of a rising function: Newton's method, kept inside a bracket.

/// Relative size of the last step: a few units in the last place of the larger end of the bracket.
const LAST_STEP: f64 = 4.0 * f64::EPSILON;
/// Far more than bisection needs for any bracket of finite numbers that ends in [`LAST_STEP`].
const MOST_STEPS: u32 = 200;

/// The x in `low..=high` at which a function that rises there is 0. `f` gives value and slope. Where the function is
/// above 0 already at `low`, or below it still at `high`, that end is the answer.
///
/// Newton's step is taken where it stays in the bracket and is at most half the step before; else the bracket is
/// halved (Press et al., Numerical Recipes, section "Newton-Raphson Method Using Derivative").
pub(crate) fn rising(f: impl Fn(f64) -> (f64, f64), low: f64, high: f64) -> f64 {
    let last_step = LAST_STEP * low.abs().max(high.abs());
    let (at_low, at_high) = (f(low).0, f(high).0);
    if at_low >= 0.0 {
        return low;
    }
    if at_high <= 0.0 {
        return high;
    }
    let (mut below, mut above) = (low, high);
    let mut x = between(below, above, below + (above - below) * (at_low / (at_low - at_high)));
    let mut step = above - below;
    for _ in 0..MOST_STEPS {
        let (y, slope) = f(x);
        if y == 0.0 {
            return x;
        }
        if y < 0.0 {
            below = x
        } else {
            above = x
        }
        let newton = x - y / slope;
        let inside = newton >= below && newton <= above && (newton - x).abs() <= 0.5 * step;
        let next = if inside { newton } else { below + 0.5 * (above - below) };
        step = (next - x).abs();
        x = next;
        if step <= last_step {
            break;
        }
    }
    x
}

/// The first guess, where it lies in the bracket; its middle otherwise.
fn between(below: f64, above: f64, guess: f64) -> f64 {
    if guess > below && guess < above { guess } else { below + 0.5 * (above - below) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_whatever_the_shape() {
        assert!((rising(|x| (x * x - 2.0, 2.0 * x), 0.0, 2.0) - std::f64::consts::SQRT_2).abs() < 1e-15);
        // A flat place in the middle, a start far off, and a slope that is no help at all.
        assert!((rising(|x| (x * x * x - 1e-12, 3.0 * x * x), -1.0, 1.0) - 1e-4).abs() < 1e-15);
        assert!((rising(|x| (x.powi(21) - 0.5, 21.0 * x.powi(20)), 0.0, 10.0) - 0.5f64.powf(1.0 / 21.0)).abs() < 1e-14);
        assert!((rising(|x| (x - 0.3, 0.0), 0.0, 1.0) - 0.3).abs() < 1e-15);
    }

    #[test]
    fn without_a_change_of_sign_the_nearer_end() {
        assert_eq!(rising(|x| (x, 1.0), 1.0, 2.0), 1.0);
        assert_eq!(rising(|x| (x, 1.0), -2.0, -1.0), -1.0);
    }
}
