//! Equal passes in overall counter-flow, both fluids mixed between them.

use super::closed_form::{counter_flow, counter_flow_inverse};
use units::Real;

/// ε of n passes with ε_p each. With q = (1 − ε_p)/(1 − C·ε_p) the factor (1 − C) of numerator and denominator of
/// (F − 1)/(F − C), F = q^−n, is divided out, so that C = 1 and ε_p = 1 are ordinary points.
pub(super) fn in_counter_flow<R: Real>(of_one: R, ratio: R, passes: u32) -> R {
    let left = -(of_one * ratio) + 1.0;
    let q = (-of_one + 1.0) / left;
    let mut sum = R::of(1.0);
    for _ in 1..passes {
        sum = sum * q + 1.0;
    }
    let g = of_one / left * sum;
    g / (ratio * g + 1.0)
}

/// ε_p from ε: the counter-flow exchanger of the same effectiveness is divided into n equal ones.
pub(super) fn of_one<R: Real>(of_all: R, ratio: R, passes: u32) -> R {
    counter_flow(counter_flow_inverse(of_all, ratio) / f64::from(passes), ratio)
}
