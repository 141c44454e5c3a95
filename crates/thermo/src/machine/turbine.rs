//! Expansion turbines. Water condenses in them, so an efficiency has three names:
//!
//! * [`dry_efficiency`]: from temperatures alone, as in dry air; refused where water has condensed at the outlet
//! * [`wet_efficiency`]: actual enthalpy drop over the isentropic drop *with* equilibrium condensate
//! * [`dry_referenced_efficiency`]: actual enthalpy drop over the isentropic drop of *dry* air
//!
//! On a humid day the last two are some 3 points apart. At 273.16 K the share of ice is unknown to a thermometer:
//! [`efficiency_interval`] gives both ends. Condensation lags behind equilibrium in a real turbine (common practice, no
//! source); droplets that have not frozen are asked for by [`Condensate::Supercooled`].

use super::{State, check_efficiency, check_stations, power as to_power};
use crate::domain::{DomainError, check};
use crate::dry_air;
use crate::humid_air::humidity::is_supersaturated;
use crate::humid_air::mixture::{
    Function, Mixture, enthalpy_and_entropy, mixture_enthalpy, temperature_from_enthalpy, temperature_from_entropy,
};
use crate::humid_air::terms::{Terms, mole_fraction};
use crate::humid_air::{check_pressure, check_state, finished};
use crate::saturation::{Condensate, Phase, TRIPLE_POINT};
use units::Real;

/// Lowest and highest value of a figure that the readings leave open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval<R> {
    /// Everything condensed is water.
    pub low: R,
    /// Everything condensed is ice.
    pub high: R,
}

/// The isentropic drop an actual drop is held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// Humid air with equilibrium condensate: [`wet_efficiency`].
    Wet,
    /// Dry air: [`dry_referenced_efficiency`].
    Dry,
}

/// Isentropic efficiency from temperatures alone, the air taken for dry.
///
/// ```text
/// η = (h_a(T1, p1) − h_a(T2, p2))/(h_a(T1, p1) − h_a(T2s, p2)),  s_a(T2s, p2) = s_a(T1, p1)
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; dimensionless out, as measured.
/// * Range: as [`humid_air`](crate::humid_air); pressure falls; outlet not below its dew or frost point, else the
///   figure would be some 0.55 for a machine of 0.80.
/// * Outside: [`DomainError`].
/// * Source: definition; properties as in [`dry_air`].
///
/// ```
/// use thermo::machine::{State, turbine::dry_efficiency};
/// let eta = dry_efficiency(State::new(331.224, 447.176e3), State::new(238.8336, 105e3), 0.0)?;
/// assert!((eta - 0.82).abs() < 5e-4); // case AC-29, CoolProp
/// let wet = dry_efficiency(State::new(313.15, 350e3), State::new(264.5, 110e3), 0.012);
/// assert_eq!(wet.unwrap_err().argument, "humidity ratio");
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn dry_efficiency<R: Real>(inlet: State<R>, outlet: State<R>, w: R) -> Result<R, DomainError> {
    const NAME: &str = "turbine efficiency, dry formula";
    check_stations(NAME, inlet, outlet, w)?;
    if w > 0.0 && is_supersaturated(NAME, outlet.temperature.value(), outlet.pressure.value(), w.value())? {
        let valid = "such that the outlet is above its dew point: use the wet efficiency";
        return Err(DomainError { formula: NAME, argument: "humidity ratio", value: w.value(), valid });
    }
    let ideal = dry_drop(NAME, inlet, outlet.pressure)?;
    let actual =
        dry_air::enthalpy(inlet.temperature, inlet.pressure)? - dry_air::enthalpy(outlet.temperature, outlet.pressure)?;
    finished(NAME, actual / ideal)
}

/// Isentropic efficiency with condensation in both the actual and the isentropic expansion.
///
/// ```text
/// η = (h1 − h(T2, p2, w))/(h1 − h(T2s, p2, w)),  s(T2s, p2, w) = s1;  h and s with equilibrium condensate
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; dimensionless out, as measured.
/// * Range: as [`mixture`](crate::humid_air::mixture); pressure falls. Free water at the inlet counts with the inlet.
///   Not at 273.16 K exactly with condensate: [`efficiency_interval`].
/// * Outside: [`DomainError`].
/// * Source: definition; properties as in [`mixture`](crate::humid_air::mixture).
///
/// ```
/// use thermo::{machine::{State, turbine::wet_efficiency}, saturation::Condensate};
/// let (inlet, outlet) = (State::new(313.15, 350e3), State::new(264.468, 110e3));
/// let eta = wet_efficiency(inlet, outlet, 0.012, Condensate::Supercooled)?;
/// assert!((eta - 0.80).abs() < 0.01); // case AC-30, ideal gas with constant heat capacities
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn wet_efficiency<R: Real>(
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "turbine efficiency, wet";
    check_outlet(NAME, inlet, outlet, w, condensate)?;
    let (h1, ideal) = wet_drop(NAME, inlet, outlet.pressure, w, condensate)?;
    let h2 = mixture_enthalpy(outlet.temperature, outlet.pressure, w, condensate)?;
    finished(NAME, (h1 - h2) / ideal)
}

/// Actual enthalpy drop, condensation included, over the isentropic drop of dry air.
///
/// ```text
/// η = (h1 − h(T2, p2, w))/(h_a(T1, p1) − h_a(T2s, p2)),  s_a(T2s, p2) = s_a(T1, p1)
/// ```
/// * Units, range, outside: as [`wet_efficiency`]; drops per kg of dry air.
/// * Source: definition (trade use, from memory).
///
/// ```
/// use thermo::{machine::{State, turbine::dry_referenced_efficiency}, saturation::Condensate};
/// let (inlet, outlet) = (State::new(313.15, 350e3), State::new(264.468, 110e3));
/// let eta = dry_referenced_efficiency(inlet, outlet, 0.012, Condensate::Supercooled)?;
/// assert!(eta > 0.82 && eta < 0.86);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn dry_referenced_efficiency<R: Real>(
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "turbine efficiency, dry-referenced";
    let actual = checked_drop(NAME, inlet, outlet, w, condensate)?;
    finished(NAME, actual / dry_drop(NAME, inlet, outlet.pressure)?)
}

/// Wet or dry-referenced efficiency where the outlet is within `half_width` of 273.16 K and the share of ice is open;
/// elsewhere both ends are the one value.
///
/// * Units: K, Pa absolute, kg of all water per kg of dry air, K in; dimensionless out.
/// * Range, outside: as [`wet_efficiency`]; half width 0…5 K (the thermometer's expanded uncertainty).
/// * Source: both ends of the plateau at 273.16 K.
///
/// ```
/// use thermo::machine::{State, turbine::{Reference, efficiency_interval}};
/// let (inlet, outlet) = (State::new(313.15, 350e3), State::new(273.3, 110e3));
/// let eta = efficiency_interval(inlet, outlet, 0.012, Reference::Wet, 0.5)?;
/// assert!(eta.high - eta.low > 0.02);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn efficiency_interval<R: Real>(
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    reference: Reference,
    half_width: f64,
) -> Result<Interval<R>, DomainError> {
    const NAME: &str = "turbine efficiency, interval";
    check(NAME, "half width", half_width, "within 0…5 K", |x| (0.0..=5.0).contains(&x))?;
    check_stations(NAME, inlet, outlet, w)?;
    let (h1, wet) = wet_drop(NAME, inlet, outlet.pressure, w, Condensate::Equilibrium)?;
    let ideal = if reference == Reference::Wet { wet } else { dry_drop(NAME, inlet, outlet.pressure)? };
    let near = (outlet.temperature.value() - TRIPLE_POINT).abs() <= half_width;
    if near && condenses_at_triple_point(NAME, outlet.pressure.value(), w.value())? {
        let terms = Terms::at(R::of(TRIPLE_POINT));
        let end = |phase| Function::Enthalpy.of_wet(NAME, &terms, outlet.pressure, w, phase);
        let (low, high) = ((h1 - end(Phase::Water)?) / ideal, (h1 - end(Phase::Ice)?) / ideal);
        return Ok(Interval { low: finished(NAME, low)?, high: finished(NAME, high)? });
    }
    let h2 = mixture_enthalpy(outlet.temperature, outlet.pressure, w, Condensate::Equilibrium)?;
    let eta = finished(NAME, (h1 - h2) / ideal)?;
    Ok(Interval { low: eta, high: eta })
}

/// Work given off, per kg of dry air: the drop of enthalpy, condensate included.
///
/// ```text
/// Δh = h(T1, p1, w) − h(T2, p2, w)
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; J per kg of dry air out.
/// * Range, outside: as [`wet_efficiency`]; pressure falls: a rise is refused. Heat from the outside neglected.
/// * Source: first law.
///
/// ```
/// use thermo::{machine::{State, turbine::specific_work}, saturation::Condensate};
/// let (inlet, outlet) = (State::new(331.224, 447.176e3), State::new(238.8336, 105e3));
/// let work = specific_work(inlet, outlet, 0.0, Condensate::Equilibrium)?;
/// assert!((work / 92_347.0 - 1.0).abs() < 5e-4); // case AC-29, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn specific_work<R: Real>(
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "turbine work";
    finished(NAME, checked_drop(NAME, inlet, outlet, w, condensate)?)
}

/// Power given off.
///
/// ```text
/// P = ṁ/(1 + w) · Δh
/// ```
/// * Units: kg/s of moist air, water and ice included, K, Pa absolute, kg/kg in; W out.
/// * Range, outside: as [`specific_work`]; flow 0 or more.
/// * Source: first law.
///
/// ```
/// use thermo::{machine::{State, turbine::power}, saturation::Condensate};
/// let (inlet, outlet) = (State::new(331.224, 447.176e3), State::new(238.8336, 105e3));
/// assert!((power(0.5, inlet, outlet, 0.0, Condensate::Equilibrium)? / 46_174.0 - 1.0).abs() < 5e-4);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn power<R: Real>(
    flow: R,
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    to_power("turbine power", flow, specific_work(inlet, outlet, w, condensate)?, w)
}

/// Outlet temperature and condensate from the wet efficiency: the inverse of [`wet_efficiency`].
///
/// ```text
/// h2 = h1 − η (h1 − h(T2s, p2, w))
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air, dimensionless in.
/// * Range: as [`wet_efficiency`]; efficiency above 0 up to 1. Through 273.16 K, with the share of ice.
/// * Outside: [`DomainError`].
/// * Source: as [`wet_efficiency`].
///
/// ```
/// use thermo::{machine::{State, turbine::outlet}, saturation::Condensate};
/// let cold = outlet(State::new(313.15, 350e3), 110e3, 0.012, 0.8, Condensate::Supercooled)?;
/// assert!((cold.temperature - 264.468).abs() < 1.0); // case AC-30, ideal gas with constant heat capacities
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn outlet<R: Real>(
    inlet: State<R>,
    outlet_pressure: R,
    w: R,
    efficiency: R,
    condensate: Condensate,
) -> Result<Mixture<R>, DomainError> {
    const NAME: &str = "turbine outlet";
    check_state(NAME, inlet.temperature.value(), inlet.pressure.value(), w.value())?;
    check_pressure(NAME, "outlet pressure", outlet_pressure.value())?;
    check_efficiency(NAME, efficiency)?;
    let (h1, ideal) = wet_drop(NAME, inlet, outlet_pressure, w, condensate)?;
    temperature_from_enthalpy(h1 - efficiency * ideal, outlet_pressure, w, condensate)
}

/// Dry-air-rated temperature: that at which dry air would have the same enthalpy drop from the turbine inlet.
///
/// ```text
/// T_dar: h_a(T1, p1) − h_a(T_dar, p2) = h(T1, p1, w) − h(T2, p2, w)
/// ```
/// * Units: K, Pa absolute, kg of all water per kg of dry air in; K out.
/// * Range, outside: as [`wet_efficiency`]. Not the temperature the machine would reach in dry air, and meaningless at
///   a place where the condensate has evaporated again.
/// * Source: definition from memory of trade use; other definitions of the name are met.
///
/// ```
/// use thermo::{machine::{State, turbine::dry_air_rated_temperature}, saturation::Condensate};
/// let (inlet, outlet) = (State::new(313.15, 350e3), State::new(264.468, 110e3));
/// let t = dry_air_rated_temperature(inlet, outlet, 0.012, Condensate::Supercooled)?;
/// assert!(t > 235.0 && t < 242.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn dry_air_rated_temperature<R: Real>(
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    const NAME: &str = "dry-air-rated temperature";
    let drop = checked_drop(NAME, inlet, outlet, w, condensate)?;
    let h = dry_air::enthalpy(inlet.temperature, inlet.pressure)? - drop;
    dry_air::temperature_from_enthalpy(h, outlet.pressure)
}

/// Actual drop, with the stations checked.
fn checked_drop<R: Real>(
    formula: &'static str,
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    check_outlet(formula, inlet, outlet, w, condensate)?;
    let h1 = mixture_enthalpy(inlet.temperature, inlet.pressure, w, condensate)?;
    Ok(h1 - mixture_enthalpy(outlet.temperature, outlet.pressure, w, condensate)?)
}

/// The stations, that pressure falls, and that the outlet's temperature determines its enthalpy.
fn check_outlet<R: Real>(
    formula: &'static str,
    inlet: State<R>,
    outlet: State<R>,
    w: R,
    condensate: Condensate,
) -> Result<(), DomainError> {
    check_stations(formula, inlet, outlet, w)?;
    let expansion = (inlet.pressure / outlet.pressure).value();
    let valid = "above 1: a turbine's outlet pressure is below its inlet pressure (stations swapped?)";
    check(formula, "inlet over outlet pressure", expansion, valid, |x| x > 1.0)?;
    let freezing = condensate == Condensate::Equilibrium && outlet.temperature == TRIPLE_POINT;
    if freezing && condenses_at_triple_point(formula, outlet.pressure.value(), w.value())? {
        let valid = "not 273.16 K exactly, where the share of ice is open: use the interval";
        return Err(DomainError { formula, argument: "outlet temperature", value: TRIPLE_POINT, valid });
    }
    Ok(())
}

/// Enthalpy at the inlet, and the isentropic drop with equilibrium condensate, above 0.
fn wet_drop<R: Real>(
    formula: &'static str,
    inlet: State<R>,
    outlet_pressure: R,
    w: R,
    condensate: Condensate,
) -> Result<(R, R), DomainError> {
    let (h1, s1) = enthalpy_and_entropy(formula, inlet.temperature, inlet.pressure, w, condensate)?;
    let ideal = temperature_from_entropy(s1, outlet_pressure, w, condensate)?;
    let h2 = enthalpy_of(formula, &ideal, outlet_pressure, w, condensate)?;
    Ok((h1, positive_drop(formula, h1 - h2)?))
}

/// Isentropic drop of dry air, above 0.
fn dry_drop<R: Real>(formula: &'static str, inlet: State<R>, outlet_pressure: R) -> Result<R, DomainError> {
    let s1 = dry_air::entropy(inlet.temperature, inlet.pressure)?;
    let ideal = dry_air::temperature_from_entropy(s1, outlet_pressure)?;
    let drop = dry_air::enthalpy(inlet.temperature, inlet.pressure)? - dry_air::enthalpy(ideal, outlet_pressure)?;
    positive_drop(formula, drop)
}

fn positive_drop<R: Real>(formula: &'static str, drop: R) -> Result<R, DomainError> {
    let valid = "above 0: a turbine's outlet pressure is below its inlet pressure (stations swapped?)";
    check(formula, "isentropic enthalpy drop", drop.value(), valid, |x| x > 0.0)?;
    finished(formula, drop)
}

/// Enthalpy of a mixture whose shares are known, on the plateau too.
fn enthalpy_of<R: Real>(
    formula: &'static str,
    mixture: &Mixture<R>,
    p: R,
    w: R,
    condensate: Condensate,
) -> Result<R, DomainError> {
    if !mixture.is_on_plateau() {
        return mixture_enthalpy(mixture.temperature, p, w, condensate);
    }
    let terms = Terms::at(mixture.temperature);
    let thawed = Function::Enthalpy.of_wet(formula, &terms, p, w, Phase::Water)?;
    let frozen = Function::Enthalpy.of_wet(formula, &terms, p, w, Phase::Ice)?;
    let ice_share = mixture.ice_share(formula, p, w)?;
    Ok(thawed + (frozen - thawed) * ice_share)
}

/// True if some water is condensed at 273.16 K.
fn condenses_at_triple_point(formula: &'static str, p: f64, w: f64) -> Result<bool, DomainError> {
    let saturated = Terms::at(TRIPLE_POINT).saturated(formula, p, Phase::Water)?;
    Ok(saturated.is_some_and(|s| mole_fraction(w) > s.x))
}
