//! An exchanger from what is measured at its stations: heat and capacity flow of a side, and what follows from them.

use super::duty::{Rating, rating};
use super::{Arrangement, MIN_INLET_DIFFERENCE};
use crate::domain::{DomainError, check, finite, positive};
use crate::saturation::Condensate;
use crate::stream::{Air, Stream};
use units::Real;

/// Heat and capacity flow of one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side<R> {
    /// Heat given off (hot side) or taken up (cold side), W; above 0 either way.
    pub heat: R,
    /// Heat over change of temperature, W/K: with condensation it is greater than flow times heat capacity.
    pub capacity_flow: R,
}

/// Heat and capacity flow of one side from its stations.
///
/// ```text
/// q = ṁ/(1 + w)·|h_in − h_out|     C = q/|T_in − T_out|
/// ```
/// Where water condenses, C is the enthalpy drop over the temperature drop, and an effectiveness formed with it is an
/// apparent one.
///
/// * Units: inlet stream, outlet air, both with all their water (one humidity: what condenses is still there); W and
///   W/K out.
/// * Range: flow above 0 kg/s, as [`mixture`](crate::humid_air::mixture), temperatures at least 1 K apart, enthalpy
///   changing in the direction of temperature.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy.
pub fn side<R: Real>(inlet: Stream<R>, outlet: Air<R>, condensate: Condensate) -> Result<Side<R>, DomainError> {
    const NAME: &str = "exchanger side";
    let dry = positive(NAME, "flow of dry air", inlet.dry_air_flow()?, "above 0 kg/s")?;
    let drop = inlet.air.temperature - outlet.temperature;
    let least = MIN_INLET_DIFFERENCE.si();
    let drop = check(NAME, "inlet minus outlet temperature", drop, "at least 1 K, either way", |d| d.abs() >= least)?;
    let heat = dry * (inlet.air.enthalpy(condensate)? - outlet.enthalpy(condensate)?);
    let valid = "above 0 W/K: the enthalpy changes against the temperature (other humidity at the outlet?)";
    let capacity_flow = finite(NAME, positive(NAME, "capacity flow", heat / drop, valid)?)?;
    Ok(Side { heat: finite(NAME, heat.abs())?, capacity_flow })
}

/// Flow of the other side from the heat and its temperatures: ram flow where no meter is.
///
/// ```text
/// ṁ = q·(1 + w)/(h_out − h_in)
/// ```
/// A heat balance formed with this flow closes by construction and means nothing.
///
/// * Units: W, inlet and outlet air with all their water; kg/s of moist air out.
/// * Range: heat above 0 W, outlet at least 1 K warmer and above 0 J/kg richer than the inlet.
/// * Outside: [`DomainError`].
/// * Source: conservation of energy.
pub fn flow_from_heat<R: Real>(
    heat: R,
    inlet: Air<R>,
    outlet: Air<R>,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "flow from heat";
    let heat = positive(NAME, "heat", heat, "above 0 W")?;
    let rise = outlet.temperature - inlet.temperature;
    check(NAME, "temperature rise", rise, "at least 1 K", |d| d >= MIN_INLET_DIFFERENCE.si())?;
    let rise = outlet.enthalpy(condensate)? - inlet.enthalpy(condensate)?;
    let rise = positive(NAME, "enthalpy rise", rise, "above 0 J/kg")?;
    finite(NAME, heat * (inlet.humidity_ratio + 1.0) / rise)
}

/// Mean of both sides' heat, weighted by their uncertainties.
///
/// ```text
/// q = (q_h/u_h² + q_c/u_c²)/(1/u_h² + 1/u_c²)
/// ```
/// * Units: W; W out. The weights are plain numbers and carry no derivatives.
/// * Range: finite heats, standard uncertainties above 0 W.
/// * Outside: [`DomainError`].
/// * Source: weighted mean of independent values (JCGM 100, from memory).
pub fn weighted_heat<R: Real>(hot: R, hot_uncertainty: f64, cold: R, cold_uncertainty: f64) -> Result<R, DomainError> {
    const NAME: &str = "heat of both sides";
    const HEAT: &str = "a finite number in W";
    let hot = check(NAME, "heat of the hot side", hot, HEAT, |_| true)?;
    let cold = check(NAME, "heat of the cold side", cold, HEAT, |_| true)?;
    let u_hot = positive(NAME, "uncertainty of the hot side", hot_uncertainty, "above 0 W")?;
    let u_cold = positive(NAME, "uncertainty of the cold side", cold_uncertainty, "above 0 W")?;
    let ratio = u_hot / u_cold;
    let cold_weight =
        if ratio > 1.0 { 1.0 / (1.0 + 1.0 / (ratio * ratio)) } else { ratio * ratio / (1.0 + ratio * ratio) };
    finite(NAME, hot + (cold - hot) * cold_weight)
}

/// Effectiveness, transfer units and conductance from measured sides.
///
/// * Units: heat in W ([`weighted_heat`], or that of the hot side where the cold flow is not measured), sides, inlet
///   temperatures in K.
/// * Range, outside, source: as [`rating`].
pub fn rating_of_sides<R: Real>(
    arrangement: Arrangement,
    heat: R,
    hot: Side<R>,
    cold: Side<R>,
    hot_in: R,
    cold_in: R,
) -> Result<Rating<R>, DomainError> {
    rating(arrangement, heat, hot.capacity_flow, cold.capacity_flow, hot_in, cold_in)
}
