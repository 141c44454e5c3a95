//! Least squares with parameter covariance.
//!
//! * [`linear`]: formulas linear in their parameters, by QR decomposition
//! * [`nonlinear`]: any formula written over [`Real`](units::Real), by Levenberg–Marquardt with exact derivatives
//!
//! ```
//! use uncertainty::fit::nonlinear;
//! use units::Real;
//!
//! // Duct resistance Δp = k·ṁⁿ from four points.
//! let flow = [0.20f64, 0.30, 0.40, 0.50];
//! let drop = [812.0, 1826.0, 3249.0, 5071.0];
//! let fit = nonlinear::<2>(&drop, None, [10_000.0, 1.5], |[k, n], i| k * (n * flow[i].ln()).exp())?;
//! assert!((fit.parameters[1] - 2.0).abs() < 3.0 * fit.u(1)?);
//! # Ok::<(), uncertainty::fit::FitError>(())
//! ```
//! Third-party linear algebra inside: results are good to about ten digits, not promised to the bit.

mod linear;
mod nonlinear;

pub use linear::linear;
pub use nonlinear::nonlinear;

use crate::domain::{Checks, DomainError};
use crate::propagate::Input;
use nalgebra::{DMatrix, DVector};
use thiserror::Error;
use units::math;

const CHECK: Checks = Checks("least squares");

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum FitError {
    /// An argument out of range.
    #[error(transparent)]
    Domain(#[from] DomainError),
    /// The points do not determine a parameter.
    #[error(
        "least squares: parameter number {parameter} (from 0) cannot be told from the others with these points: leave \
         it out, fix it, or add points where it shows"
    )]
    Undetermined {
        /// The parameter's number, from 0.
        parameter: usize,
    },
    /// No minimum was reached.
    #[error(
        "least squares: no minimum after {evaluations} evaluations, sum of squares {sum_of_squares}: start from values \
         nearer to the answer"
    )]
    NotConverged {
        /// Evaluations of the formula over all points.
        evaluations: usize,
        /// Sum of squares reached.
        sum_of_squares: f64,
    },
}

/// Fitted parameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// In the order given.
    pub parameters: Vec<f64>,
    /// Covariance matrix, row by row.
    pub covariance: Vec<f64>,
    /// Sum of squares of the residuals (over u² where uncertainties were given).
    pub sum_of_squares: f64,
    /// Residual standard deviation √(sum of squares/degrees of freedom); 0 for as many points as parameters.
    pub s: f64,
    /// Points less parameters.
    pub dof: f64,
}

impl Fit {
    /// Standard uncertainty of a parameter. * Outside: [`DomainError`] for a number there is none of.
    pub fn u(&self, parameter: usize) -> Result<f64, DomainError> {
        self.known(parameter)?;
        CHECK.result(math::sqrt(self.covariance[parameter * (self.parameters.len() + 1)].max(0.0)))
    }

    /// Correlation coefficient of two parameters. * Outside: [`DomainError`]; also where one has no uncertainty.
    pub fn correlation(&self, a: usize, b: usize) -> Result<f64, DomainError> {
        let (ua, ub) = (self.u(a)?, self.u(b)?);
        let product = CHECK.positive("standard uncertainty", ua)? * CHECK.positive("standard uncertainty", ub)?;
        CHECK.result((self.covariance[a * self.parameters.len() + b] / product).clamp(-1.0, 1.0))
    }

    /// A parameter as an input of a formula. * Outside: [`DomainError`], also for no degrees of freedom left.
    pub fn input(&self, parameter: usize) -> Result<Input, DomainError> {
        let u = self.u(parameter)?;
        Ok(Input { value: self.parameters[parameter], u, dof: CHECK.dof(self.dof)? })
    }

    /// All correlation coefficients, row by row, for [`Correlation::Matrix`](crate::Correlation::Matrix).
    pub fn correlations(&self) -> Result<Vec<f64>, DomainError> {
        let n = self.parameters.len();
        let mut r = vec![1.0; n * n];
        for i in 0..n {
            for j in 0..i {
                let both = self.correlation(i, j)?;
                (r[i * n + j], r[j * n + i]) = (both, both);
            }
        }
        Ok(r)
    }

    fn known(&self, parameter: usize) -> Result<(), DomainError> {
        let known = parameter < self.parameters.len();
        CHECK.count("parameter", parameter, known, "the number of one of the parameters, from 0")
    }
}

/// The observations over their uncertainties, or as they are.
struct Observations<'a> {
    y: &'a [f64],
    u: Option<&'a [f64]>,
}

impl<'a> Observations<'a> {
    fn new(y: &'a [f64], u: Option<&'a [f64]>, parameters: usize) -> Result<Self, DomainError> {
        CHECK.count("count of parameters", parameters, parameters >= 1, "1 or more")?;
        CHECK.count("count of points", y.len(), y.len() >= parameters, "as many as parameters or more")?;
        CHECK.all_finite("observation", y)?;
        if let Some(u) = u {
            CHECK.count("count of uncertainties", u.len(), u.len() == y.len(), "one an observation")?;
            for (i, u) in u.iter().enumerate() {
                CHECK.positive("standard uncertainty of observation", *u).map_err(|e| e.at(i))?;
            }
        }
        Ok(Self { y, u })
    }

    fn weight(&self, i: usize) -> f64 {
        self.u.map_or(1.0, |u| 1.0 / u[i])
    }

    /// The fit from its parameters, residuals and the weighted design (Jacobian) at them.
    fn finish(&self, parameters: Vec<f64>, residuals: &DVector<f64>, design: &DMatrix<f64>) -> Result<Fit, FitError> {
        let sum_of_squares = CHECK.result(residuals.norm_squared())?;
        let dof = (self.y.len() - parameters.len()) as f64;
        let s = if dof > 0.0 { math::sqrt(sum_of_squares / dof) } else { 0.0 };
        // Known uncertainties of the observations stand; unknown ones are found from the scatter.
        let scale = if self.u.is_some() { 1.0 } else { s * s };
        let qr = ScaledQr::new(design)?;
        let covariance: Vec<f64> = qr.inverse_of_normal()?.transpose().iter().map(|c| c * scale).collect();
        CHECK.all_finite("covariance", &covariance)?;
        CHECK.all_finite("parameter", &parameters)?;
        Ok(Fit { parameters, covariance, sum_of_squares, s, dof })
    }
}

/// QR decomposition of a matrix whose columns were brought to length 1 first.
struct ScaledQr {
    q: DMatrix<f64>,
    r: DMatrix<f64>,
    lengths: Vec<f64>,
}

impl ScaledQr {
    fn new(matrix: &DMatrix<f64>) -> Result<Self, FitError> {
        if let Some(bad) = matrix.iter().find(|v| !v.is_finite()) {
            return Err(CHECK.refuse("derivative by a parameter", *bad, "a finite number").into());
        }
        // The greatest element first: no square overflows.
        let length = |c: nalgebra::DVectorView<f64>| {
            let great = c.amax();
            if great > 0.0 { great * (c / great).norm() } else { 0.0 }
        };
        let lengths: Vec<f64> = matrix.column_iter().map(|c| length(c.as_view())).collect();
        let mut scaled = matrix.clone();
        for (j, length) in lengths.iter().enumerate() {
            if *length == 0.0 || !length.is_finite() {
                return Err(FitError::Undetermined { parameter: j });
            }
            scaled.column_mut(j).iter_mut().for_each(|v| *v /= length);
        }
        let qr = scaled.qr();
        let (q, r) = (qr.q(), qr.r());
        // What is left of a column of length 1 once the columns before it are taken out.
        let least = 1e-14;
        match (0..r.ncols()).find(|j| r[(*j, *j)].is_nan() || r[(*j, *j)].abs() <= least) {
            Some(parameter) => Err(FitError::Undetermined { parameter }),
            None => Ok(Self { q, r, lengths }),
        }
    }

    /// The parameters that make matrix·parameters come nearest to the right side.
    fn solve(&self, right: &DVector<f64>) -> Result<DVector<f64>, FitError> {
        let solved = self.r.solve_upper_triangular(&(self.q.transpose() * right));
        let mut solved = solved.ok_or(FitError::Undetermined { parameter: 0 })?;
        for (v, length) in solved.iter_mut().zip(&self.lengths) {
            *v /= length;
        }
        Ok(solved)
    }

    /// (JᵀJ)⁻¹.
    fn inverse_of_normal(&self) -> Result<DMatrix<f64>, FitError> {
        let p = self.r.ncols();
        let inverse = self.r.solve_upper_triangular(&DMatrix::identity(p, p));
        let inverse = inverse.ok_or(FitError::Undetermined { parameter: 0 })?;
        let mut product = &inverse * inverse.transpose();
        for i in 0..p {
            for j in 0..p {
                product[(i, j)] /= self.lengths[i];
                product[(i, j)] /= self.lengths[j];
            }
        }
        Ok(product)
    }
}

#[cfg(test)]
mod tests;
