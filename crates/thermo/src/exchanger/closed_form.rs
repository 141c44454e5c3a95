//! Arrangements with a closed form, each written so that C = 0 and C = 1 are ordinary points.

use crate::smooth::{decay_mean, log_mean};
use units::Real;

pub(super) fn counter_flow<R: Real>(ntu: R, ratio: R) -> R {
    let g = ntu * decay_mean(ntu * (-ratio + 1.0));
    g / (ratio * g + 1.0)
}

pub(super) fn parallel_flow<R: Real>(ntu: R, ratio: R) -> R {
    ntu * decay_mean(ntu * (ratio + 1.0))
}

pub(super) fn max_mixed<R: Real>(ntu: R, ratio: R) -> R {
    let unmixed = -(-ntu).exp_m1();
    unmixed * decay_mean(ratio * unmixed)
}

pub(super) fn min_mixed<R: Real>(ntu: R, ratio: R) -> R {
    -(-(ntu * decay_mean(ratio * ntu))).exp_m1()
}

pub(super) fn both_mixed<R: Real>(ntu: R, ratio: R) -> R {
    let one = R::of(1.0);
    ntu / (one / decay_mean(ntu) + one / decay_mean(ratio * ntu) - 1.0)
}

/// One shell with an even number of tube passes.
pub(super) fn one_shell<R: Real>(ntu: R, ratio: R) -> R {
    let s = (ratio * ratio + 1.0).sqrt();
    let x = ntu * s;
    // (1 + e^−x)/(1 − e^−x) = (2 − x·φ)/(x·φ); the division by x·φ is taken over to the numerator.
    let transfer = x * decay_mean(x);
    transfer * 2.0 / ((ratio + 1.0) * transfer + s * (-transfer + 2.0))
}

pub(super) fn counter_flow_inverse<R: Real>(effectiveness: R, ratio: R) -> R {
    let g = effectiveness / (-effectiveness + 1.0);
    g * log_mean((-ratio + 1.0) * g)
}

pub(super) fn parallel_flow_inverse<R: Real>(effectiveness: R, ratio: R) -> R {
    effectiveness * log_mean(-(effectiveness * (ratio + 1.0)))
}

pub(super) fn max_mixed_inverse<R: Real>(effectiveness: R, ratio: R) -> R {
    let unmixed = effectiveness * log_mean(-(effectiveness * ratio));
    -(-unmixed).ln_1p()
}

pub(super) fn min_mixed_inverse<R: Real>(effectiveness: R, ratio: R) -> R {
    let exponent = -(-effectiveness).ln_1p();
    exponent * log_mean(-(ratio * exponent))
}

pub(super) fn one_shell_inverse<R: Real>(effectiveness: R, ratio: R) -> R {
    let s = (ratio * ratio + 1.0).sqrt();
    // 1 − e^−x = 2·s·ε/(2 − ε·(1 + C − s)), from the formula for ε solved for the transfer.
    let transfer = s * effectiveness * 2.0 / (-(effectiveness * (ratio + 1.0 - s)) + 2.0);
    -(-transfer).ln_1p() / s
}
