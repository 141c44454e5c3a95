//! Where does it settle? First-order approach to a final value, fitted while it is still under way.

use crate::coverage::Coverage;
use crate::domain::{Checks, DomainError};
use crate::propagate::Combined;
use units::math;

const CHECK: Checks = Checks("settling");

/// T(t) = T_∞ + (T_0 − T_∞)·exp(−(t − t_0)/τ), t_0 the time of the first point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settling {
    /// Time of the first point.
    pub start: f64,
    /// T_∞: the final value.
    pub final_value: Combined,
    /// T_0: the fitted value at the first point.
    pub initial_value: Combined,
    /// τ: the time constant.
    pub time_constant: Combined,
    /// Residual standard deviation.
    pub s: f64,
    /// Covariance matrix of T_∞, T_0, τ.
    pub covariance: [[f64; 3]; 3],
}

impl Settling {
    /// Least squares on points in rising time.
    ///
    /// Given τ the other two follow directly; τ is searched from a hundredth of the shortest step to ten times the
    /// window, then refined by Gauss–Newton steps. Covariance s²·(JᵀJ)⁻¹, ν = n − 3.
    /// * Units: of times and values. * Range: six finite points or more, times rising. The residuals are taken for
    ///   independent: take points at least three time constants *of the sensor* apart.
    /// * Outside: [`DomainError`]; also where the points show no approach that could be told from a straight line (τ
    ///   above ten windows) or from a jump (τ below a hundredth of a step).
    /// * Source: nonlinear least squares with separable parameters (any text).
    pub fn fit(times: &[f64], values: &[f64]) -> Result<Self, DomainError> {
        let n = times.len();
        CHECK.count("count of points", n, n >= 6, "6 or more")?;
        CHECK.count("count of values", values.len(), values.len() == n, "as many as times")?;
        CHECK.all_finite("time", times)?;
        CHECK.all_finite("value", values)?;
        let mut shortest = f64::INFINITY;
        for (i, pair) in times.windows(2).enumerate() {
            let step = pair[1] - pair[0];
            CHECK
                .that("step to the time before", step, "above 0: times must rise", |s| s > 0.0)
                .map_err(|e| e.at(i + 1))?;
            shortest = shortest.min(step);
        }
        let window = CHECK.result(times[n - 1] - times[0])?;
        let points = Points { times, values };
        let tau = points.search(shortest / 100.0, 10.0 * window)?;
        points.refine(tau, window, shortest)
    }

    /// The curve at a time, with the standard uncertainty of the curve.
    ///
    /// * Range: finite t, not before the first point; the uncertainty takes first order for true. * Outside:
    ///   [`DomainError`]. * Source: propagation of the parameters' covariance.
    pub fn at(&self, t: f64) -> Result<Combined, DomainError> {
        let since = CHECK.finite("time", t)? - self.start;
        let since = CHECK.not_negative("time since the first point", since)?;
        let tau = self.time_constant.value;
        let gone = math::exp(-since / tau);
        let step = self.initial_value.value - self.final_value.value;
        let g = [1.0 - gone, gone, step * gone * (since / tau) / tau];
        let mut variance = 0.0;
        for i in 0..3 {
            for j in 0..3 {
                variance += g[i] * g[j] * self.covariance[i][j];
            }
        }
        let value = CHECK.result(self.final_value.value + step * gone)?;
        Ok(Combined { value, u: CHECK.result(math::sqrt(variance.max(0.0)))?, dof: self.final_value.dof })
    }

    /// Interval for a further reading at a time.
    ///
    /// ```text
    /// T(t) ± t_p(n − 3)·√(u²(T(t)) + s²)
    /// ```
    /// * Range: as at [`at`](Self::at), 0 < p < 1. * Outside: [`DomainError`]. * Source: any text on regression.
    pub fn prediction(&self, t: f64, probability: f64) -> Result<Coverage, DomainError> {
        let curve = self.at(t)?;
        let u = CHECK.result(math::sqrt(curve.u * curve.u + self.s * self.s))?;
        Coverage::of(curve.value, u, probability, curve.dof)
    }

    /// Time from which the curve stays within ±`band` of its final value; the first point's if it does already.
    ///
    /// * Units: band in the unit of the values. * Range: band above 0. * Outside: [`DomainError`].
    /// * Source: inverse of the curve.
    pub fn settled_within(&self, band: f64) -> Result<f64, DomainError> {
        let band = CHECK.positive("band", band)?;
        let share = (self.initial_value.value - self.final_value.value).abs() / band;
        CHECK.result(self.start + self.time_constant.value * math::ln(share.max(1.0)))
    }
}

struct Points<'a> {
    times: &'a [f64],
    values: &'a [f64],
}

impl Points<'_> {
    /// For a given τ: T_∞, T_0 and the sum of squares of what remains.
    fn at_tau(&self, tau: f64) -> (f64, f64, f64) {
        let n = self.times.len() as f64;
        let gone = |t: &f64| math::exp(-(t - self.times[0]) / tau);
        let y0 = self.values[0];
        let mean_e = self.times.iter().map(gone).sum::<f64>() / n;
        let mean_y = self.values.iter().map(|y| y - y0).sum::<f64>() / n;
        let (mut see, mut sey) = (0.0, 0.0);
        for (t, y) in self.times.iter().zip(self.values) {
            let e = gone(t) - mean_e;
            see += e * e;
            sey += e * (y - y0 - mean_y);
        }
        let step = if see > 0.0 { sey / see } else { 0.0 };
        let mut rest = 0.0;
        for (t, y) in self.times.iter().zip(self.values) {
            let r = (y - y0 - mean_y) - step * (gone(t) - mean_e);
            rest += r * r;
        }
        let last = y0 + mean_y - step * mean_e;
        (last, last + step, rest)
    }

    /// The τ of the least sum of squares: on a grid, then by golden section around the best of it.
    fn search(&self, from: f64, to: f64) -> Result<f64, DomainError> {
        const STEPS: i32 = 60;
        let (low, high) = (math::ln(CHECK.positive("shortest step", from)?), math::ln(CHECK.positive("window", to)?));
        let at = |i: i32| low + (high - low) * f64::from(i) / f64::from(STEPS);
        let rest = |log: f64| self.at_tau(math::exp(log)).2;
        let mut best = 0;
        for i in 0..=STEPS {
            if rest(at(i)) < rest(at(best)) {
                best = i;
            }
        }
        let (mut a, mut b) = (at((best - 1).max(0)), at((best + 1).min(STEPS)));
        let golden = (math::sqrt(5.0) - 1.0) / 2.0;
        for _ in 0..40 {
            let (c, d) = (b - golden * (b - a), a + golden * (b - a));
            if rest(c) < rest(d) {
                b = d;
            } else {
                a = c;
            }
        }
        CHECK.result(math::exp(a + (b - a) / 2.0))
    }

    /// Gauss–Newton steps on all three, and the covariance.
    fn refine(&self, tau: f64, window: f64, shortest: f64) -> Result<Settling, DomainError> {
        let valid =
            "between a hundredth of a step and ten windows: no first-order approach can be told from these points";
        let told = |tau: f64| tau > 0.0101 * shortest && tau < 9.9 * window;
        let mut tau = CHECK.that("time constant", tau, valid, told)?;
        let (mut last, mut first, mut rest) = self.at_tau(tau);
        for _ in 0..20 {
            let (normal, slopes) = self.normal_equations(last, first, tau);
            let Some(inverse) = inverse(normal) else { break };
            let step = inverse[2][0] * slopes[0] + inverse[2][1] * slopes[1] + inverse[2][2] * slopes[2];
            let next = tau + step;
            if !told(next) {
                break;
            }
            let found = self.at_tau(next);
            if found.2 >= rest {
                break;
            }
            (tau, (last, first, rest)) = (next, found);
        }
        let dof = self.times.len() as f64 - 3.0;
        let s = CHECK.result(math::sqrt(rest / dof))?;
        let (normal, _) = self.normal_equations(last, first, tau);
        let step = first - last;
        let Some(inverse) = inverse(normal) else {
            return Err(CHECK.refuse("step from first to final value", step, "large enough to be seen"));
        };
        let covariance = inverse.map(|row| row.map(|v| v * s * s));
        let parameter = |i: usize, value: f64| -> Result<Combined, DomainError> {
            let u = CHECK.result(math::sqrt(covariance[i][i].max(0.0)))?;
            Ok(Combined { value: CHECK.result(value)?, u, dof })
        };
        CHECK.all_finite("covariance", covariance.as_flattened())?;
        Ok(Settling {
            start: self.times[0],
            final_value: parameter(0, last)?,
            initial_value: parameter(1, first)?,
            time_constant: parameter(2, tau)?,
            s,
            covariance,
        })
    }

    /// JᵀJ and Jᵀr for T_∞, T_0, τ.
    fn normal_equations(&self, last: f64, first: f64, tau: f64) -> ([[f64; 3]; 3], [f64; 3]) {
        let (mut normal, mut slopes) = ([[0.0; 3]; 3], [0.0; 3]);
        for (t, y) in self.times.iter().zip(self.values) {
            let since = (t - self.times[0]) / tau;
            let gone = math::exp(-since);
            let g = [1.0 - gone, gone, (first - last) * gone * since / tau];
            let r = y - (last + (first - last) * gone);
            for i in 0..3 {
                slopes[i] += g[i] * r;
                for j in 0..3 {
                    normal[i][j] += g[i] * g[j];
                }
            }
        }
        (normal, slopes)
    }
}

/// Inverse of a symmetric positive matrix, scaled to 1 on its diagonal first; `None` where it has none.
fn inverse(m: [[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let scale: [f64; 3] = std::array::from_fn(|i| 1.0 / math::sqrt(m[i][i]));
    if scale.iter().any(|s| !s.is_finite()) {
        return None;
    }
    let a = |i: usize, j: usize| m[i][j] * scale[i] * scale[j];
    let minor = |i: usize, j: usize| {
        let (p, q) = ((i + 1) % 3, (i + 2) % 3);
        let (r, s) = ((j + 1) % 3, (j + 2) % 3);
        a(p, r) * a(q, s) - a(p, s) * a(q, r)
    };
    let determinant = (0..3).map(|j| a(0, j) * minor(0, j)).sum::<f64>();
    if determinant.is_nan() || determinant <= 1e-14 {
        return None;
    }
    Some(std::array::from_fn(|i| std::array::from_fn(|j| minor(j, i) / determinant * scale[i] * scale[j])))
}

#[cfg(test)]
mod tests;
