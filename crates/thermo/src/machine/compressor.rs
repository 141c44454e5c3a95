//! Compressors and fans: no water condenses, all of it is vapour.

use super::{State, check_efficiency, check_stations, power as to_power};
use crate::domain::{DomainError, check};
use crate::humid_air::humidity::is_supersaturated;
use crate::humid_air::mixture::temperature_from_enthalpy;
use crate::humid_air::terms::Terms;
use crate::humid_air::{check_pressure, check_state, finished, gas_terms};
use crate::isentropic::temperature as isentropic_temperature;
use crate::saturation::Condensate;
use units::Real;

/// Isentropic efficiency, total to total.
///
/// ```text
/// η = (h(T2s, p2) − h1)/(h2 − h1),  s(T2s, p2) = s1
/// ```
/// * Units: K, Pa absolute, kg/kg in; dimensionless out, as measured: a result above 1 says that a reading is wrong.
/// * Range: as [`humid_air`](crate::humid_air); pressure and enthalpy rise; no free water at the inlet.
/// * Outside: [`DomainError`].
/// * Source: definition; properties as in [`humid_air`](crate::humid_air).
///
/// ```
/// use thermo::machine::{State, compressor::efficiency};
/// let eta = efficiency(State::new(345.15, 242.5e3), State::new(433.644, 461.006e3), 0.0)?;
/// assert!((eta - 0.78).abs() < 5e-4); // case AC-29, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn efficiency<R: Real>(inlet: State<R>, outlet: State<R>, w: R) -> Result<R, DomainError> {
    const NAME: &str = "compressor efficiency";
    check_stations(NAME, inlet, outlet, w)?;
    check_rise(NAME, inlet.pressure, outlet.pressure)?;
    let work = rise(NAME, inlet, outlet, w)?;
    let valid = "above 0: a compressor's outlet is warmer than its inlet";
    check(NAME, "enthalpy rise", work.value(), valid, |x| x > 0.0)?;
    let ideal =
        State::new(isentropic_temperature(inlet.temperature, inlet.pressure, outlet.pressure, w)?, outlet.pressure);
    finished(NAME, rise(NAME, inlet, ideal, w)? / work)
}

/// Work taken up, per kg of dry air: the rise of enthalpy.
///
/// ```text
/// Δh = h(T2, p2, w) − h(T1, p1, w)
/// ```
/// * Units: K, Pa absolute, kg/kg in; J per kg of dry air out.
/// * Range: as [`humid_air`](crate::humid_air); no free water at the inlet; heat to the outside neglected.
/// * Outside: [`DomainError`].
/// * Source: first law.
///
/// ```
/// use thermo::machine::{State, compressor::specific_work};
/// let work = specific_work(State::new(345.15, 242.5e3), State::new(433.644, 461.006e3), 0.0)?;
/// assert!((work / 89_577.0 - 1.0).abs() < 5e-4); // case AC-29, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn specific_work<R: Real>(inlet: State<R>, outlet: State<R>, w: R) -> Result<R, DomainError> {
    const NAME: &str = "compressor work";
    check_stations(NAME, inlet, outlet, w)?;
    finished(NAME, rise(NAME, inlet, outlet, w)?)
}

/// Power taken up.
///
/// ```text
/// P = ṁ/(1 + w) · Δh
/// ```
/// * Units: kg/s of moist air, K, Pa absolute, kg/kg in; W out.
/// * Range: as [`specific_work`]; flow 0 or more.
/// * Outside: [`DomainError`].
/// * Source: first law.
///
/// ```
/// use thermo::machine::{State, compressor::power};
/// let power = power(9.5, State::new(300.0, 110e3), State::new(473.8, 550e3), 0.0)?;
/// assert!((power / 1.671_12e6 - 1.0).abs() < 5e-4); // case AC-32, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn power<R: Real>(flow: R, inlet: State<R>, outlet: State<R>, w: R) -> Result<R, DomainError> {
    to_power("compressor power", flow, specific_work(inlet, outlet, w)?, w)
}

/// Outlet temperature from the efficiency: the inverse of [`efficiency`].
///
/// ```text
/// h2 = h1 + (h(T2s, p2) − h1)/η
/// ```
/// * Units: K, Pa absolute, kg/kg, dimensionless in; K out.
/// * Range: as [`efficiency`]; efficiency above 0 up to 1.
/// * Outside: [`DomainError`].
/// * Source: as [`efficiency`].
///
/// ```
/// use thermo::machine::{State, compressor::outlet_temperature};
/// let t2 = outlet_temperature(State::new(345.15, 242.5e3), 461.006e3, 0.0, 0.78)?;
/// assert!((t2 - 433.644).abs() < 0.05); // case AC-29, CoolProp
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn outlet_temperature<R: Real>(inlet: State<R>, outlet_pressure: R, w: R, efficiency: R) -> Result<R, DomainError> {
    const NAME: &str = "compressor outlet temperature";
    check_state(NAME, inlet.temperature.value(), inlet.pressure.value(), w.value())?;
    check_pressure(NAME, "outlet pressure", outlet_pressure.value())?;
    check_rise(NAME, inlet.pressure, outlet_pressure)?;
    check_efficiency(NAME, efficiency)?;
    let ideal =
        State::new(isentropic_temperature(inlet.temperature, inlet.pressure, outlet_pressure, w)?, outlet_pressure);
    let ideal_rise = rise(NAME, inlet, ideal, w)?;
    let h2 = Terms::at(inlet.temperature).enthalpy(inlet.pressure, w) + ideal_rise / efficiency;
    Ok(temperature_from_enthalpy(h2, outlet_pressure, w, Condensate::Equilibrium)?.temperature)
}

/// Rise of the enthalpy of the gas.
fn rise<R: Real>(formula: &'static str, inlet: State<R>, outlet: State<R>, w: R) -> Result<R, DomainError> {
    if w > 0.0 && is_supersaturated(formula, inlet.temperature.value(), inlet.pressure.value(), w.value())? {
        let valid = "at most that of saturated air at the inlet: free water before a compressor is not covered";
        return Err(DomainError { formula, argument: "humidity ratio", value: w.value(), valid });
    }
    let h = |s: State<R>| Ok(gas_terms(formula, s.temperature, s.pressure, w)?.enthalpy(s.pressure, w));
    Ok(h(outlet)? - h(inlet)?)
}

fn check_rise<R: Real>(formula: &'static str, inlet: R, outlet: R) -> Result<(), DomainError> {
    let valid = "above 1 (stations swapped?)";
    check(formula, "outlet over inlet pressure", (outlet / inlet).value(), valid, |x| x > 1.0).map(|_| ())
}
