//! Pressure ratios of compressors and turbines.

use crate::domain::{DomainError, finite, positive};
use units::{AbsolutePressure, Ratio, Real};

/// Ratio of two absolute pressures, the higher one first by custom: outlet over inlet of a compressor, inlet over
/// outlet of a turbine.
///
/// ```text
/// π = p_high / p_low
/// ```
/// * Units: Pa absolute in, ratio out. Total pressures belong here; wall taps read static ones.
/// * Range: both above 0 Pa. A ratio below 1 is returned as it is: a machine at rest or driven backwards gives one.
/// * Outside: [`DomainError`].
/// * Source: definition.
///
/// ```
/// use units::AbsolutePressure;
/// let pa = AbsolutePressure::from_si;
/// assert_eq!(thermo::pressure_ratio::pressure_ratio(pa(400_000.0), pa(100_000.0))?.si(), 4.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
#[inline]
pub fn pressure_ratio(high: AbsolutePressure, low: AbsolutePressure) -> Result<Ratio, DomainError> {
    ratio(high.si(), low.si()).map(Ratio::from_si)
}

/// [`pressure_ratio`] of plain or dual numbers in Pa: formula, range, what is outside and source as there.
#[inline]
pub fn ratio<R: Real>(high: R, low: R) -> Result<R, DomainError> {
    const NAME: &str = "pressure ratio";
    const VALID: &str = "above 0 Pa absolute (a gauge pressure taken for an absolute one?)";
    let high = positive(NAME, "high pressure", high, VALID)?;
    let low = positive(NAME, "low pressure", low, VALID)?;
    finite(NAME, high / low)
}
