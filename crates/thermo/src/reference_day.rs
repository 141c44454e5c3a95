//! A discharge temperature carried to the conditions of a reference day by published or learned sensitivities.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// One boundary condition: in which unit does not matter, as long as it is one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Condition<R> {
    /// Change of the temperature per unit of this condition, K per unit.
    pub sensitivity: R,
    /// As it was.
    pub actual: R,
    /// On the reference day.
    pub reference: R,
}

/// Temperature corrected to the reference day.
///
/// ```text
/// T_ref = T + Σ ∂T/∂x_i·(x_i,ref − x_i)
/// ```
/// * Units: K; each condition in its own unit.
/// * Range: T above 0 K, any finite conditions, result above 0 K. For small moves only, and on one side of a change of
///   phase: near 0 °C with condensate the slope breaks.
/// * Outside: [`DomainError`].
/// * Source: first-order expansion; common practice, no source for any sensitivity.
///
/// ```
/// use thermo::reference_day::{Condition, corrected_temperature};
/// // 5 K warmer outside than on the reference day, 1 K/K
/// let t = corrected_temperature(286.0, &[Condition { sensitivity: 1.0, actual: 308.0, reference: 303.0 }])?;
/// assert_eq!(t, 281.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn corrected_temperature<R: Real>(temperature: R, conditions: &[Condition<R>]) -> Result<R, DomainError> {
    const NAME: &str = "temperature on the reference day";
    const FINITE: &str = "a finite number";
    let mut corrected = positive(NAME, "temperature", temperature, "above 0 K")?;
    for condition in conditions {
        let sensitivity = check(NAME, "sensitivity", condition.sensitivity, FINITE, |_| true)?;
        let actual = check(NAME, "actual condition", condition.actual, FINITE, |_| true)?;
        let reference = check(NAME, "reference condition", condition.reference, FINITE, |_| true)?;
        corrected += sensitivity * (reference - actual);
    }
    positive(NAME, "the result", corrected, "above 0 K: too large a move for a straight line")?;
    finite(NAME, corrected)
}
