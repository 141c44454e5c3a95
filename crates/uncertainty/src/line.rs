//! The straight line through points: calibration lines, drifts.

use crate::domain::{Checks, DomainError};
use crate::propagate::{Combined, Input};
use crate::type_a::inflation;
use units::math;

const CHECK: Checks = Checks("straight line");

/// y = intercept + slope·(x − x₀).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StraightLine {
    /// The x at which the intercept is taken.
    pub x0: f64,
    /// y at x₀.
    pub intercept: f64,
    /// Slope.
    pub slope: f64,
    /// Standard uncertainty of the intercept.
    pub u_intercept: f64,
    /// Standard uncertainty of the slope.
    pub u_slope: f64,
    /// Correlation coefficient of both.
    pub correlation: f64,
    /// Residual standard deviation.
    pub s: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

impl StraightLine {
    /// Least squares, all y of equal and unknown uncertainty, x exact.
    ///
    /// ```text
    /// slope = S_xy/S_xx    intercept = ȳ + slope·(x₀ − x̄)    s² = Σr²/(n − 2)
    /// u²(slope) = s²/S_xx    u²(intercept) = s²·(1/n + (x₀ − x̄)²/S_xx)
    /// ```
    /// * Units: of x and y. * Range: three points or more, finite, not all at one x. * Outside: [`DomainError`].
    /// * Source: JCGM 100:2008 (GUM), H.3.
    pub fn through(x: &[f64], y: &[f64], x0: f64) -> Result<Self, DomainError> {
        Self::with_deviations(x, y, x0).map(|(line, _)| line)
    }

    /// As [`through`](Self::through) for evenly spaced points whose deviations resemble their neighbours': both
    /// uncertainties are raised, the degrees of freedom lowered, by how much the deviations repeat each other
    /// ([`mean_of_correlated`](crate::type_a::mean_of_correlated)). For the drift of a slow sensor read fast.
    ///
    /// * Range: eight points or more, worth at least four. * Outside: [`DomainError`].
    /// * Source: ours, after the mean's.
    pub fn through_correlated(x: &[f64], y: &[f64], x0: f64) -> Result<Self, DomainError> {
        CHECK.count("count of points", x.len(), x.len() >= 8, "8 or more")?;
        let (line, deviations) = Self::with_deviations(x, y, x0)?;
        if line.s == 0.0 {
            return Ok(line);
        }
        let worth = x.len() as f64 / inflation(&deviations);
        if worth < 4.0 {
            return Err(CHECK.refuse("count of independent points", worth, "4 or more: take a longer window"));
        }
        let raise = math::sqrt((x.len() as f64 - 2.0) / (worth - 2.0));
        Ok(Self {
            u_intercept: CHECK.result(line.u_intercept * raise)?,
            u_slope: CHECK.result(line.u_slope * raise)?,
            dof: (worth - 2.0).max(1.0),
            ..line
        })
    }

    /// The line's y at x with its standard uncertainty.
    ///
    /// ```text
    /// u² = u²(intercept) + (x − x₀)²·u²(slope) + 2·(x − x₀)·r·u(intercept)·u(slope)
    /// ```
    /// * Range: finite x; outside the points it is an extrapolation, and the uncertainty takes the line for true.
    /// * Outside: [`DomainError`]. * Source: JCGM 100:2008 (GUM), equation (H.15).
    pub fn at(self, x: f64) -> Result<Combined, DomainError> {
        let d = CHECK.finite("x", x)? - self.x0;
        let (a, b) = (self.u_intercept, d * self.u_slope);
        let u = math::sqrt((a * a + b * b + 2.0 * self.correlation * a * b).max(0.0));
        Ok(Combined { value: CHECK.result(self.intercept + self.slope * d)?, u: CHECK.result(u)?, dof: self.dof })
    }

    /// A further reading to be expected at x: the line's uncertainty and the scatter of a reading.
    ///
    /// * Range, outside: as at [`at`](Self::at). * Source: any text on regression: u² + s².
    pub fn next_reading_at(self, x: f64) -> Result<Combined, DomainError> {
        let line = self.at(x)?;
        Ok(Combined { u: CHECK.result(math::sqrt(line.u * line.u + self.s * self.s))?, ..line })
    }

    /// The slope as a measured quantity: put it against ±bound with a [`Rule`](crate::Rule) to say that a drift is
    /// small enough.
    pub fn slope_input(self) -> Input {
        Input { value: self.slope, u: self.u_slope, dof: self.dof }
    }

    fn with_deviations(x: &[f64], y: &[f64], x0: f64) -> Result<(Self, Vec<f64>), DomainError> {
        let n = x.len();
        CHECK.count("count of points", n, n >= 3, "3 or more")?;
        CHECK.count("count of y", y.len(), y.len() == n, "as many as x")?;
        CHECK.all_finite("x", x)?;
        CHECK.all_finite("y", y)?;
        let x0 = CHECK.finite("x0", x0)?;
        let count = n as f64;
        let centre = |v: &[f64]| v[0] + v.iter().map(|a| a - v[0]).sum::<f64>() / count;
        let (mx, my) = (CHECK.result(centre(x))?, CHECK.result(centre(y))?);
        let sxx: f64 = x.iter().map(|x| (x - mx) * (x - mx)).sum();
        let sxx = CHECK.positive("spread of x", sxx)?;
        let sxy: f64 = x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum();
        let slope = CHECK.result(sxy / sxx)?;
        let deviations: Vec<f64> = x.iter().zip(y).map(|(x, y)| (y - my) - slope * (x - mx)).collect();
        let dof = count - 2.0;
        let s = CHECK.result(math::sqrt(deviations.iter().map(|r| r * r).sum::<f64>() / dof))?;
        let from_centre = x0 - mx;
        let (u_slope, leverage) = (s / math::sqrt(sxx), math::sqrt(1.0 / count + from_centre * from_centre / sxx));
        let line = Self {
            x0,
            intercept: CHECK.result(my + slope * from_centre)?,
            slope,
            u_intercept: CHECK.result(s * leverage)?,
            u_slope: CHECK.result(u_slope)?,
            correlation: CHECK.result(from_centre / math::sqrt(sxx) / leverage)?.clamp(-1.0, 1.0),
            s,
            dof,
        };
        Ok((line, deviations))
    }
}

#[cfg(test)]
mod tests;
