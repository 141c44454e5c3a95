//! Expanded uncertainty.

use crate::domain::{Checks, DomainError};
use crate::standard::two_sided_factor;

/// A value with an interval that holds with a stated probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// Best estimate.
    pub value: f64,
    /// Coverage factor k.
    pub k: f64,
    /// Expanded uncertainty U = k·u.
    pub expanded: f64,
    /// Lower end, value − U.
    pub low: f64,
    /// Upper end, value + U.
    pub high: f64,
}

impl Coverage {
    /// Expanded uncertainty for a coverage probability.
    ///
    /// ```text
    /// U = k·u        k = t_p(ν)
    /// ```
    /// * Units: of the value. * Range: finite value, u 0 or above, 0 < p < 1, ν 1 or above (infinite: normal). ν is
    ///   used as it is; JCGM 100 cuts it to a whole number first, `dof.floor()`, which gives the wider interval.
    /// * Outside: [`DomainError`]. * Source: JCGM 100:2008 (GUM), G.4.
    pub fn of(value: f64, u: f64, probability: f64, dof: f64) -> Result<Self, DomainError> {
        Self::with_factor(value, u, two_sided_factor(probability, dof)?)
    }

    /// Expanded uncertainty for a given coverage factor (k = 2 as common).
    ///
    /// * Range: finite value, u 0 or above, k above 0. * Outside: [`DomainError`].
    /// * Source: JCGM 100:2008 (GUM), 6.2.1.
    pub fn with_factor(value: f64, u: f64, k: f64) -> Result<Self, DomainError> {
        let check = Checks("expanded uncertainty");
        let value = check.finite("value", value)?;
        let k = check.positive("coverage factor k", k)?;
        let expanded = check.result(check.uncertainty(u)? * k)?;
        let (low, high) = (check.result(value - expanded)?, check.result(value + expanded)?);
        Ok(Self { value, k, expanded, low, high })
    }
}
