//! Water in the pack: what a hygrometer sees of it, what the extractor takes out, what is left free, how far it is from
//! freezing.

use crate::domain::{DomainError, check, finite, positive};
use crate::humid_air::{dew_point, equilibrium, saturation_humidity_ratio};
use crate::saturation::Condensate;
use crate::shaft::dry_air_flow;
use units::Real;

/// What a hygrometer gets to see.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sampling {
    /// A mirror or a sensor in the duct: vapour only. Droplets and ice pass it by.
    Vapour,
    /// A sample drawn through a heated line: everything has evaporated, all water is seen.
    Total,
}

/// Water at a place as far as a hygrometer tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen<R> {
    /// Vapour, kg per kg of dry air.
    pub vapour: R,
    /// All water, kg per kg of dry air; none where a vapour reading is of saturated air, which may carry any amount
    /// more.
    pub total: Option<R>,
}

/// What a humidity ratio says of vapour and of all water, by the way of sampling.
///
/// ```text
/// vapour seen:  w_v = w     w_tot = w where w < s·w_sat(T, p), else open
/// total seen:   w_tot = w   w_v = min(w, w_sat(T, p))
/// ```
/// * Units: kg/kg as read, K and Pa absolute **at the place** (not at the mirror), share; kg/kg out.
/// * Range: as [`saturation_humidity_ratio`], s 0.5…1: from which share of saturation air counts as saturated, by the
///   hygrometer's expanded uncertainty.
/// * Outside: [`DomainError`].
/// * Source: common practice, no source.
///
/// ```
/// use thermo::{moisture::{Sampling, seen}, saturation::Condensate};
/// let fog = seen(Sampling::Total, 0.012, 283.15, 358e3, Condensate::Equilibrium, 0.97)?;
/// assert!((fog.vapour - 0.002168).abs() < 2e-6 && fog.total == Some(0.012));
/// let mirror = seen(Sampling::Vapour, fog.vapour, 283.15, 358e3, Condensate::Equilibrium, 0.97)?;
/// assert_eq!(mirror.total, None);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn seen<R: Real>(
    sampling: Sampling,
    w: R,
    temperature: R,
    pressure: R,
    condensate: Condensate,
    saturated_from: f64,
) -> Result<Seen<R>, DomainError> {
    const NAME: &str = "water a hygrometer sees";
    let w = check(NAME, "humidity ratio", w, "within 0…10", |x| (0.0..=10.0).contains(&x))?;
    check(NAME, "share of saturation", saturated_from, "within 0.5…1", |x| (0.5..=1.0).contains(&x))?;
    let saturated = saturation_humidity_ratio(temperature, pressure, condensate)?;
    Ok(match sampling {
        Sampling::Vapour => Seen { vapour: w, total: (w < saturated * saturated_from).then_some(w) },
        Sampling::Total => Seen { vapour: w.min(saturated), total: Some(w) },
    })
}

/// Water taken out between two places, from the humidity at both.
///
/// ```text
/// ṁ_w = ṁ/(1 + w_1)·(w_1 − w_2)
/// ```
/// * Units: kg/s of moist air at the first place, kg of all water per kg of dry air, twice; kg/s out. A result below 0
///   is returned as it is: one of the readings did not see all water, or is wrong.
/// * Range: flow 0 kg/s or more, w 0…10.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn removed<R: Real>(flow: R, w_before: R, w_after: R) -> Result<R, DomainError> {
    const NAME: &str = "water removed";
    let dry = dry_air_flow(flow, w_before)?;
    let after = check(NAME, "humidity ratio after", w_after, "within 0…10", |x| (0.0..=10.0).contains(&x))?;
    finite(NAME, dry * (w_before - after))
}

/// All water left behind an extractor, from its drain.
///
/// ```text
/// w_2 = w_1 − ṁ_drain·(1 + w_1)/ṁ
/// ```
/// * Units: kg of all water per kg of dry air, kg/s, kg/s of moist air before the extractor; kg/kg out.
/// * Range: flow above 0, drain 0 kg/s or more and not more than the water that comes; steady for two minutes and more,
///   since a sump fills (common practice, no source).
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
///
/// ```
/// let left = thermo::moisture::left_after_drain(0.019, 6.4e-3, 0.5)?;
/// assert!((left - 0.005_957).abs() < 1e-6);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn left_after_drain<R: Real>(w_before: R, drain: R, flow: R) -> Result<R, DomainError> {
    const NAME: &str = "water left after the extractor";
    let drain = check(NAME, "drain", drain, "0 kg/s or more", |x| x >= 0.0)?;
    let dry = positive(NAME, "flow of dry air", dry_air_flow(flow, w_before)?, "above 0 kg/s")?;
    let left = w_before - drain / dry;
    finite(NAME, check(NAME, "water left", left, "0 or more: more is drained than comes", |x| x >= 0.0)?)
}

/// Moist flow behind a place where water was taken out, or had not been: the dry air is the same.
///
/// ```text
/// ṁ_2 = ṁ_1·(1 + w_2)/(1 + w_1)
/// ```
/// * Units: kg/s of moist air, kg of all water per kg of dry air, twice; kg/s out.
/// * Range: flow 0 kg/s or more, w 0…10.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn flow_after<R: Real>(flow: R, w_before: R, w_after: R) -> Result<R, DomainError> {
    const NAME: &str = "flow behind an extractor";
    let after = check(NAME, "humidity ratio after", w_after, "within 0…10", |x| (0.0..=10.0).contains(&x))?;
    finite(NAME, dry_air_flow(flow, w_before)? * (after + 1.0))
}

/// All water where a part of a flow, whose humidity has changed, joins the rest again.
///
/// ```text
/// w = w_0 + (ṁ_part/ṁ)·(w_part − w_0)
/// ```
/// * Units: kg of all water per kg of dry air of the whole and of the part, kg/s of moist air before they part, of the
///   whole and of the part; kg/kg out.
/// * Range: whole above 0 kg/s, part 0 kg/s or more and not above the whole, w 0…10.
/// * Outside: [`DomainError`].
/// * Source: conservation of mass.
pub fn joined_humidity<R: Real>(w: R, w_part: R, whole: R, part: R) -> Result<R, DomainError> {
    const NAME: &str = "humidity of joined flows";
    for x in [w, w_part] {
        check(NAME, "humidity ratio", x, "within 0…10", |x| (0.0..=10.0).contains(&x))?;
    }
    let share = part / positive(NAME, "whole flow", whole, "above 0 kg/s")?;
    let share = check(NAME, "share of the flow", share, "within 0…1", |x| (0.0..=1.0).contains(&x))?;
    finite(NAME, w + share * (w_part - w))
}

/// Extraction efficiency: water drained over the free water that comes to the extractor.
///
/// ```text
/// η = ṁ_drain/(ṁ/(1 + w)·(w − w_sat(T, p)))
/// ```
/// * Units: kg/s, kg/s of moist air, kg of all water per kg of dry air, K and Pa absolute before the extractor; ratio
///   out, as measured.
/// * Range: drain 0 kg/s or more, flow above 0 kg/s, w above saturation; as [`saturation_humidity_ratio`].
/// * Outside: [`DomainError`]: without free water there is no efficiency.
/// * Source: common practice, no source.
///
/// ```
/// use thermo::{moisture::extraction_efficiency, saturation::Condensate};
/// let eta = extraction_efficiency(6.4e-3, 0.5, 0.019, 297.05, 346e3, Condensate::Equilibrium)?;
/// assert!(eta > 0.9 && eta < 1.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn extraction_efficiency<R: Real>(
    drain: R,
    flow: R,
    w: R,
    temperature: R,
    pressure: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "extraction efficiency";
    let drain = check(NAME, "drain", drain, "0 kg/s or more", |x| x >= 0.0)?;
    let dry = positive(NAME, "flow of dry air", dry_air_flow(flow, w)?, "above 0 kg/s")?;
    let free = w - saturation_humidity_ratio(temperature, pressure, condensate)?;
    let free = positive(NAME, "free water", free, "above 0: the air before the extractor is not saturated")?;
    finite(NAME, drain / (dry * free))
}

/// Free water: droplets and ice.
///
/// ```text
/// w_f = w_tot − w_sat(T, p) where that is above 0, else 0
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air; kg/kg out. At the dew point the slope breaks; a
///   difference of similar numbers, to be read with its uncertainty.
/// * Range: as [`equilibrium`].
/// * Outside: [`DomainError`].
/// * Source: as [`equilibrium`].
pub fn free_water<R: Real>(temperature: R, pressure: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    let mixture = equilibrium(temperature, pressure, w, condensate)?;
    finite("free water", mixture.water + mixture.ice)
}

/// Dew-point margin: how far the air may cool before something condenses; below 0 where it has.
///
/// ```text
/// ΔT = T − T_d(p, w)
/// ```
/// * Units: K, Pa absolute, kg/kg; K out. With all water it goes below 0, with vapour alone it stops at 0.
/// * Range: as [`dew_point`], T above 0 K; dry air has no dew point.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn dew_point_margin<R: Real>(temperature: R, pressure: R, w: R, condensate: Condensate) -> Result<R, DomainError> {
    const NAME: &str = "dew-point margin";
    let temperature = positive(NAME, "temperature", temperature, "above 0 K")?;
    finite(NAME, temperature - dew_point(pressure, w, condensate)?)
}

/// Weight of the cold side in [`coldest_surface`], from what both films conduct.
///
/// ```text
/// g = α_cold A_cold/(α_cold A_cold + α_hot A_hot)
/// ```
/// * Units: W/K, W/K; ratio out.
/// * Range: both above 0 W/K.
/// * Outside: [`DomainError`].
/// * Source: two resistances in series.
pub fn cold_weight<R: Real>(cold_film: R, hot_film: R) -> Result<R, DomainError> {
    const NAME: &str = "weight of the cold side";
    let cold = positive(NAME, "conductance of the cold film", cold_film, "above 0 W/K")?;
    let hot = positive(NAME, "conductance of the hot film", hot_film, "above 0 W/K")?;
    finite(NAME, cold / (cold + hot))
}

/// Estimate of the coldest wetted surface of a condenser, from the air on both sides of it.
///
/// ```text
/// T_s = g·T_cold + (1 − g)·T_hot
/// ```
/// * Units: K of the air on the cold side (its inlet, the turbine's outlet), K of the hot side (its outlet), weight of
///   the cold side ([`cold_weight`]); K out.
/// * Range: temperatures above 0 K, weight 0…1; 0.5 where the film coefficients are not known (common practice, no
///   source).
/// * Outside: [`DomainError`].
/// * Source: two resistances in series.
pub fn coldest_surface<R: Real>(cold: R, hot: R, cold_weight: R) -> Result<R, DomainError> {
    const NAME: &str = "coldest wetted surface";
    let cold = positive(NAME, "temperature of the cold side", cold, "above 0 K")?;
    let hot = positive(NAME, "temperature of the hot side", hot, "above 0 K")?;
    let weight = check(NAME, "weight of the cold side", cold_weight, "within 0…1", |x| (0.0..=1.0).contains(&x))?;
    finite(NAME, hot + weight * (cold - hot))
}

/// 0 °C in K.
const FREEZING: f64 = 273.15;

/// Margin to icing: how far a place may cool before ice can form there; below 0 where it can.
///
/// ```text
/// ΔT = T − min(0 °C, T_f(p, w))
/// ```
/// Ice needs cold and water: air without free water may be far below 0 °C and leave none.
///
/// * Units: K of the surface ([`coldest_surface`]) or of the air at the turbine's outlet, Pa absolute and kg of all
///   water per kg of dry air of the air that wets it; K out.
/// * Range: as [`dew_point`], T above 0 K; dry air has no frost point, and no ice.
/// * Outside: [`DomainError`].
/// * Source: common practice, no source; frost point as [`dew_point`].
pub fn icing_margin<R: Real>(temperature: R, pressure: R, w: R) -> Result<R, DomainError> {
    const NAME: &str = "icing margin";
    let temperature = positive(NAME, "temperature", temperature, "above 0 K")?;
    let frost = dew_point(pressure, w, Condensate::Equilibrium)?;
    finite(NAME, temperature - frost.min(R::of(FREEZING)))
}
