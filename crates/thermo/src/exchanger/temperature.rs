//! Temperature effectiveness: what three thermometers tell of an exchanger.

use crate::domain::{DomainError, check, finite, positive};
use units::{Ratio, Real, Temperature, TemperatureDifference};

/// The smallest difference of the inlets at which an effectiveness is formed. With less the result is noise: with
/// probes good to 0.5 K it is then uncertain by more than 70 %. Our own choice, no source.
pub const MIN_INLET_DIFFERENCE: TemperatureDifference = TemperatureDifference::from_si(1.0);

/// Temperature effectiveness of the hot side of an exchanger.
///
/// ```text
/// ε = (T_hot,in − T_hot,out) / (T_hot,in − T_cold,in)
/// ```
/// It equals the effectiveness of the ε–NTU method only where the hot side has the smaller capacity flow and no
/// water condenses.
///
/// * Units: K in, ratio out.
/// * Range: temperatures above 0 K, hot inlet above cold inlet by at least [`MIN_INLET_DIFFERENCE`].
/// * Outside: [`DomainError`]. A result outside 0…1 is returned as it is: the hot outlet then lies outside the two
///   inlets, which steady adiabatic operation forbids and a transient or a swapped probe does not; the caller judges.
/// * Source: definition as in Kays & London, Compact Heat Exchangers (from memory); used so in Nag, Basic and Applied
///   Thermodynamics, example 14.12.
///
/// ```
/// use units::Temperature;
/// let k = Temperature::from_si;
/// let e = thermo::exchanger::temperature_effectiveness(k(473.15), k(345.15), k(313.15))?;
/// assert!((e.si() - 0.8).abs() < 1e-12);
/// # Ok::<(), thermo::DomainError>(())
/// ```
#[inline]
pub fn temperature_effectiveness(
    hot_in: Temperature,
    hot_out: Temperature,
    cold_in: Temperature,
) -> Result<Ratio, DomainError> {
    hot_side_effectiveness(hot_in.si(), hot_out.si(), cold_in.si()).map(Ratio::from_si)
}

/// [`temperature_effectiveness`] of plain or dual numbers in K: formula, range, what is outside and source as there.
#[inline]
pub fn hot_side_effectiveness<R: Real>(hot_in: R, hot_out: R, cold_in: R) -> Result<R, DomainError> {
    const NAME: &str = "temperature effectiveness";
    const ABOVE_ZERO: &str = "above 0 K";
    let hot_in = positive(NAME, "hot inlet temperature", hot_in, ABOVE_ZERO)?;
    let hot_out = positive(NAME, "hot outlet temperature", hot_out, ABOVE_ZERO)?;
    let cold_in = positive(NAME, "cold inlet temperature", cold_in, ABOVE_ZERO)?;
    let valid = "at least 1 K (inlets swapped, or no bleed air?)";
    let inlets = check(NAME, "hot minus cold inlet", hot_in - cold_in, valid, |d| d >= MIN_INLET_DIFFERENCE.si())?;
    finite(NAME, (hot_in - hot_out) / inlets)
}
