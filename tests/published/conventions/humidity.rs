//! Water and ice, real and ideal mixtures, and what a humidity is per kilogram of.

use crate::{near, within};
use thermo::humid_air::humidity::{dew_point, humidity_ratio_from_dew_point, saturation_humidity_ratio};
use thermo::humid_air::properties::{density, enthalpy, heat_capacity};
use thermo::machine::{State, turbine};
use thermo::saturation::{Condensate::Equilibrium, Condensate::Supercooled, Phase, saturation_pressure};
use thermo::shaft::dry_air_flow;

/// CV-10, first half (HA-01): below 0 °C saturation over water exceeds that over ice, by 3 % at −3 °C and 21 % at −20
/// °C (21.66 % here, cut off): a frost point taken for a dew point is that much too humid.
#[test]
fn cv_10_dew_point_and_frost_point() {
    for (celsius, excess, colder) in [(-3.0, 0.0297, -3.391), (-20.0, 0.2166, -22.256)] {
        let t = celsius + 273.15;
        let over = |phase| saturation_pressure(t, phase).unwrap();
        within("pressure", over(Phase::Water) / over(Phase::Ice) - 1.0, excess, 0.0005);
        let w = |condensate| humidity_ratio_from_dew_point(t, 101_325.0, condensate).unwrap();
        within("humidity ratio", w(Supercooled) / w(Equilibrium) - 1.0, excess, 0.0005);
        // The same air: its dew point lies below its frost point.
        let dew = dew_point(101_325.0, w(Equilibrium), Supercooled).unwrap();
        within("dew point", dew - 273.15, colder, 0.001);
    }
}

/// CV-10, second half (HA-03, HA-11): ideal formulas put saturated air 0.4 to 0.5 % too dry at 1 bar, 1.5 to 1.8 % at 5
/// bar.
#[test]
fn cv_10_enhancement_factor() {
    for (celsius, kpa, low) in
        [(5.0, 101.325, 0.0042), (40.0, 101.325, 0.0053), (5.0, 500.0, 0.0176), (40.0, 500.0, 0.0153)]
    {
        let (t, p) = (celsius + 273.15, kpa * 1e3);
        let vapour = saturation_pressure(t, Phase::Water).unwrap();
        let ideal = 0.621_945 * vapour / (p - vapour);
        let real = saturation_humidity_ratio(t, p, Equilibrium).unwrap();
        within(&format!("{celsius} degC, {kpa} kPa"), 1.0 - ideal / real, low, 0.0005);
    }
}

/// CV-15: a flow meter sees moist air, an enthalpy is per kilogram of dry air. HA-09 (40 °C, 101.325 kPa, w 0.02): the
/// mixture's density, and 2 % too much power where the moist flow is taken times the enthalpy drop. HA-07 (w 0.0065):
/// the handbook's 0.896 m³ are per kilogram of dry air.
#[test]
fn cv_15_per_kilogram_of_what() {
    let w = 0.02;
    let moist = density(313.15, 101_325.0, w).unwrap();
    near("mixture", moist, 1.114_292, 0.0005);
    near("enthalpy per kg of dry air", enthalpy(313.15, 101_325.0, w).unwrap(), 91_730.77, 0.001);
    let volume = 1.0 + 0.0065;
    let per_dry = volume / density(313.15, 101_325.0, 0.0065).unwrap();
    within("HA-07", per_dry, 0.896, 0.001);

    let (inlet, outlet) = (State::new(353.15, 25e3), State::new(318.15, 15e3));
    let drop = turbine::specific_work(inlet, outlet, w, Equilibrium).unwrap();
    let right = turbine::power(0.5, inlet, outlet, w, Equilibrium).unwrap();
    near("dry flow times drop", right, dry_air_flow(0.5, w).unwrap() * drop, 1e-12);
    // Moist flow goes with what is per kilogram of moist air: its heat capacity, at the middle of the expansion.
    let moist_capacity = heat_capacity(335.65, 20e3, w).unwrap();
    near("moist flow times moist heat capacity", right, 0.5 * moist_capacity * 35.0, 0.001);
    near("moist flow times drop is too much", 0.5 * drop, 1.02 * 0.5 * moist_capacity * 35.0, 0.001);
}
