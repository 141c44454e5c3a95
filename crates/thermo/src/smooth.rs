//! Quotients that are 0/0 somewhere, as functions without a step there.

use units::{Real, math};

/// φ(z) = (1 − e^−z)/z, the mean of e^−x over 0…z; 1 at 0.
pub(crate) fn decay_mean<R: Real>(z: R) -> R {
    let x = z.value();
    let mean = if x == 0.0 { 1.0 } else { -math::exp_m1(-x) / x };
    z.chain(mean, || {
        if x.abs() < 0.03 {
            -0.5 + x * (1.0 / 3.0 - x * (0.125 - x * (1.0 / 30.0 - x * (1.0 / 144.0 - x / 840.0))))
        } else {
            (math::exp(-x) - mean) / x
        }
    })
}

/// λ(z) = ln(1 + z)/z; 1 at 0; z > −1.
pub(crate) fn log_mean<R: Real>(z: R) -> R {
    let x = z.value();
    let mean = if x == 0.0 { 1.0 } else { math::ln_1p(x) / x };
    z.chain(mean, || {
        if x.abs() < 0.005 {
            -0.5 + x * (2.0 / 3.0 - x * (0.75 - x * (0.8 - x * (5.0 / 6.0 - x * 6.0 / 7.0))))
        } else {
            (1.0 / (1.0 + x) - mean) / x
        }
    })
}
