//! Cross-flow with both fluids unmixed, exactly.
//!
//! With the Poisson probabilities p_m(y) = e^−y·y^m/m! and the tails P(n+1, x) = 1 − Σ_{k≤n} p_k(x), Mason's series
//! ε = 1/y·Σ P(n+1, x)·P(n+1, y), x = N, y = C·N, becomes by exchange of the sums
//! ε = Σ_m p_m(y)·A_m, A_m the mean of P(1, x) … P(m+1, x): positive terms, no division by y, a value between 0 and 1
//! for any x and y, and derivatives from the same sums.

use units::{Real, math};

pub(super) fn effectiveness<R: Real>(ntu: R, ratio: R) -> R {
    let y = ntu * ratio;
    let sum = series(ntu.value(), y.value());
    ntu.chain(sum.effectiveness, || sum.by_x) + y.chain(0.0, || sum.by_y)
}

struct Sum {
    effectiveness: f64,
    by_x: f64,
    by_y: f64,
}

/// Ends where the probabilities left, at most p_m·y/(m + 1 − y) in sum, cannot change the last place.
fn series(x: f64, y: f64) -> Sum {
    let mut sum = Sum { effectiveness: 0.0, by_x: 0.0, by_y: 0.0 };
    let mut p_x = math::exp(-x);
    let mut p_y = math::exp(-y);
    let mut tail = -math::exp_m1(-x);
    let mut below = p_x;
    let mut mean = tail;
    let mut m = 0.0;
    loop {
        sum.effectiveness += p_y * mean;
        sum.by_x += p_y * below / (m + 1.0);
        p_x *= x / (m + 1.0);
        below += p_x;
        tail = (tail - p_x).max(0.0);
        let step = (tail - mean) / (m + 2.0);
        sum.by_y += p_y * step;
        if m + 1.0 > y && p_y * y < 1e-17 * (m + 1.0 - y) {
            sum.effectiveness = sum.effectiveness.min(1.0);
            return sum;
        }
        mean += step;
        m += 1.0;
        p_y *= y / m;
    }
}
