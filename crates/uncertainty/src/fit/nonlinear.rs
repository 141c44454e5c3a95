//! Formulas of any form.

use super::{CHECK, Fit, FitError, Observations, ScaledQr};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, VecStorage};
use units::Dual;

/// Stands for the residual where a trial step leads to parameters for which the formula has no finite value: so great
/// that the step is taken back.
const OFF_LIMITS: f64 = 1e100;

/// Nonlinear least squares: y_i = f(b; i), the formula of parameters and observation number on dual numbers.
///
/// ```text
/// minimise Σ((y_i − f(b; i))/u_i)²        by Levenberg–Marquardt, then Gauss–Newton steps to the last digits
/// covariance: s²·(JᵀJ)⁻¹ without u, (JᵀJ)⁻¹ of the weighted Jacobian with u
/// ```
/// A minimum counts as reached when a further Gauss–Newton step would move every parameter by less than a millionth
/// of its standard uncertainty or by less than 1e-10 of itself. It may be a local one: the start decides.
/// * Units: of the data; parameters in theirs.
/// * Range: at least as many points as parameters, finite numbers, u above 0; the formula finite at the start.
/// * Outside: [`FitError`].
/// * Source: J. J. Moré, "The Levenberg–Marquardt algorithm: implementation and theory" (1978), as in the crate
///   levenberg-marquardt.
pub fn nonlinear<const P: usize>(
    y: &[f64],
    u: Option<&[f64]>,
    start: [f64; P],
    model: impl Fn([Dual<P>; P], usize) -> Dual<P>,
) -> Result<Fit, FitError> {
    let observations = Observations::new(y, u, P)?;
    CHECK.all_finite("start value", &start)?;
    let mut problem = Problem { observations, model, b: DVector::from_column_slice(&start) };
    for i in 0..y.len() {
        CHECK.finite("the formula at the start, observation", problem.point(i).value).map_err(|e| e.at(i))?;
    }
    let mut evaluations = 0;
    // A stop on a plateau is often left by beginning afresh there.
    for _ in 0..4 {
        let (next, report) = LevenbergMarquardt::new().with_patience(500).minimize(problem);
        evaluations += report.number_of_evaluations;
        problem = next;
        if problem.polish()? {
            let (residuals, design) = (problem.residual_vector(), problem.design());
            let parameters = problem.b.iter().copied().collect();
            return problem.observations.finish(parameters, &residuals, &design);
        }
    }
    let sum_of_squares = CHECK.result(problem.residual_vector().norm_squared())?;
    Err(FitError::NotConverged { evaluations, sum_of_squares })
}

struct Problem<'a, const P: usize, F> {
    observations: Observations<'a>,
    model: F,
    b: DVector<f64>,
}

impl<const P: usize, F: Fn([Dual<P>; P], usize) -> Dual<P>> Problem<'_, P, F> {
    fn point(&self, i: usize) -> Dual<P> {
        (self.model)(std::array::from_fn(|j| Dual::variable(self.b[j], j)), i)
    }

    /// (f(b; i) − y_i)/u_i.
    fn residual_vector(&self) -> DVector<f64> {
        DVector::from_fn(self.observations.y.len(), |i, _| {
            let r = (self.point(i).value - self.observations.y[i]) * self.observations.weight(i);
            if r.abs() < OFF_LIMITS { r } else { OFF_LIMITS }
        })
    }

    fn design(&self) -> DMatrix<f64> {
        let mut design = DMatrix::zeros(self.observations.y.len(), P);
        for i in 0..design.nrows() {
            let (partials, weight) = (self.point(i).partials, self.observations.weight(i));
            for (j, slope) in partials.into_iter().enumerate() {
                design[(i, j)] = slope * weight;
            }
        }
        design
    }

    /// Gauss–Newton steps, first while they lessen the sum of squares, then, once too small for it to tell, while they
    /// become smaller; true if a minimum is reached.
    fn polish(&mut self) -> Result<bool, FitError> {
        let mut before = f64::INFINITY;
        for _ in 0..50 {
            let residuals = self.residual_vector();
            let (step, length) = self.gauss_newton(&residuals)?;
            let small = length <= 1.0;
            if small && length >= before {
                return Ok(true);
            }
            let here = self.b.clone();
            self.b -= step;
            if !small && self.residual_vector().norm_squared() >= residuals.norm_squared() {
                self.b = here;
                return Ok(false);
            }
            before = if small { length } else { f64::INFINITY };
        }
        Ok(before.is_finite())
    }

    /// The step to be taken off, and its length: the greatest of its parts over what counts as small for each.
    fn gauss_newton(&self, residuals: &DVector<f64>) -> Result<(DVector<f64>, f64), FitError> {
        let dof = (self.observations.y.len() - P) as f64;
        let qr = ScaledQr::new(&self.design())?;
        let step = qr.solve(residuals)?;
        let variance = if dof > 0.0 { residuals.norm_squared() / dof } else { 0.0 };
        let inverse = qr.inverse_of_normal()?;
        let part = |j: usize| {
            let small = (1e-6 * units::math::sqrt(inverse[(j, j)] * variance)).max(1e-10 * self.b[j].abs());
            if step[j] == 0.0 { 0.0 } else { step[j].abs() / small }
        };
        Ok((step.clone(), (0..P).map(part).fold(0.0, f64::max)))
    }
}

impl<const P: usize, F: Fn([Dual<P>; P], usize) -> Dual<P>> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, P, F> {
    type ResidualStorage = VecStorage<f64, Dyn, nalgebra::U1>;
    type JacobianStorage = VecStorage<f64, Dyn, Dyn>;
    type ParameterStorage = VecStorage<f64, Dyn, nalgebra::U1>;

    fn set_params(&mut self, b: &DVector<f64>) {
        self.b.copy_from(b);
    }

    fn params(&self) -> DVector<f64> {
        self.b.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.residual_vector())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let design = self.design();
        design.iter().all(|v| v.is_finite()).then_some(design)
    }
}
