//! Formulas linear in their parameters.

use super::{CHECK, Fit, FitError, Observations, ScaledQr};
use nalgebra::{DMatrix, DVector};

/// Linear least squares: y_i = Σ_j x_ij·b_j.
///
/// ```text
/// minimise Σ((y_i − Σ_j x_ij·b_j)/u_i)²        by QR decomposition of the scaled design, one step of refinement
/// covariance: s²·(XᵀX)⁻¹ without u, (XᵀX)⁻¹ of the weighted design with u
/// ```
/// * Units: of the data; parameters in theirs.
/// * `design`: row by row, one row an observation; an intercept is a column of ones. `u`: standard uncertainties of the
///   observations, `None` if equal and unknown.
/// * Range: at least as many points as parameters, finite numbers, u above 0. * Outside: [`FitError`]; also where a
///   column depends on the ones before it to 14 digits.
/// * Source: any text on least squares; JCGM 100:2008 (GUM), H.3 for the straight line.
pub fn linear(design: &[f64], parameters: usize, y: &[f64], u: Option<&[f64]>) -> Result<Fit, FitError> {
    let observations = Observations::new(y, u, parameters)?;
    let n = y.len();
    let valid = "points times parameters";
    CHECK.count("count of design numbers", design.len(), Some(design.len()) == n.checked_mul(parameters), valid)?;
    CHECK.all_finite("design number", design)?;
    let x = DMatrix::from_fn(n, parameters, |i, j| design[i * parameters + j] * observations.weight(i));
    let right = DVector::from_fn(n, |i, _| y[i] * observations.weight(i));
    let qr = ScaledQr::new(&x)?;
    let mut b = qr.solve(&right)?;
    let correction = qr.solve(&(&right - &x * &b))?;
    b += correction;
    let residuals = &right - &x * &b;
    observations.finish(b.iter().copied().collect(), &residuals, &x)
}
