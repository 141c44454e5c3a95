//! J.W. Mitchell and J.E. Braun, Principles of Heating, Ventilation, and Air Conditioning in Buildings, Wiley 2012,
//! supplementary material to chapter 2 ("Heat Exchangers for Cooling Applications"), example SM2-1: a cooling coil in
//! cross-flow. The book's figures as tabulated, converted to SI, in the documentation of the Modelica Buildings library
//! (`Buildings.Fluid.HeatExchangers.BaseClasses.Examples.DryWetCalcs`, commit 107daf64).

use thermo::exchanger::wet::{ColdSide, MoistSide, WetDuty, saturated_enthalpy, wet_duty};
use thermo::exchanger::{Arrangement, Mixing, duty::duty};
use thermo::humid_air::properties::enthalpy;
use thermo::humid_air::wet_bulb::wet_bulb;
use thermo::saturation::Condensate;

const PRESSURE: f64 = 101_352.93;
const AIR_IN: f64 = 299.816_666_67; // 80 degF
const WATER_IN: f64 = 278.705_555_56; // 42 degF
const HUMIDITY: f64 = 0.008_975_7 / (1.0 - 0.008_975_7); // given per kg of moist air
const AIR_FLOW: f64 = 2.646;
const AIR_CP: f64 = 1021.5792;
const WATER_CAPACITY: f64 = 15_866.98;
const CONDUCTANCE: f64 = 9495.5; // of each side

/// The air has the smaller capacity flow and is not mixed, the water is.
const COIL: Arrangement = Arrangement::CrossFlow(Mixing::MaxMixed);

#[track_caller]
fn near(what: &str, got: f64, book: f64, relative: f64) {
    assert!((got / book - 1.0).abs() <= relative, "{what}: {got}, book {book} ± {relative}");
}

/// All dry. The figures have four digits or more; tolerance 1e-4.
#[test]
fn sm2_1_dry() {
    let d = duty(COIL, CONDUCTANCE / 2.0, AIR_FLOW * AIR_CP, WATER_CAPACITY, AIR_IN, WATER_IN).unwrap();
    near("C*", d.capacity_ratio, 0.1704, 3e-4);
    near("NTU", d.transfer_units, 1.756, 3e-4);
    near("effectiveness", d.effectiveness, 0.7717, 1e-4);
    near("heat, W", d.heat, 44_035.97, 1e-4);
    near("air out, degC", d.hot_out - 273.15, 10.38, 1e-3);
    near("water out, degC", d.cold_out - 273.15, 8.33, 1e-3);
}

fn all_wet() -> WetDuty<f64> {
    let moist = MoistSide {
        dry_air_flow: AIR_FLOW,
        enthalpy_in: enthalpy(AIR_IN, PRESSURE, HUMIDITY).unwrap(),
        temperature_in: AIR_IN,
        heat_capacity: AIR_CP,
        conductance: CONDUCTANCE,
    };
    let cold = ColdSide { capacity_flow: WATER_CAPACITY, temperature_in: WATER_IN, conductance: CONDUCTANCE };
    wet_duty(COIL, moist, cold, |t| saturated_enthalpy(t, PRESSURE, Condensate::Equilibrium)).unwrap()
}

/// All wet. The book's air is an ideal gas with its own zero of enthalpy, so differences are compared: 0.1 % for those
/// of the properties alone, 0.4 % where the slope of the saturation line is in it.
#[test]
fn sm2_1_wet() {
    let wet = all_wet();
    let h_s = |t| saturated_enthalpy(t, PRESSURE, Condensate::Equilibrium).unwrap();
    let wet_bulb = wet_bulb(AIR_IN, PRESSURE, HUMIDITY, Condensate::Equilibrium).unwrap();
    near("wet bulb, K", wet_bulb, 273.15 + 17.78, 2e-4);
    let potential = enthalpy(AIR_IN, PRESSURE, HUMIDITY).unwrap() - h_s(WATER_IN);
    near("h_a,in - h_w,in, J/kg", potential, 67_709.86 - 37_518.38, 1e-3);
    near("c_s, J/(kg·K)", (h_s(wet.cold_out) - h_s(WATER_IN)) / (wet.cold_out - WATER_IN), 2104.70, 4e-3);
    near("effectiveness", wet.effectiveness, 0.6071, 4e-3);
    near("heat, W", wet.heat, 48_505.90, 2e-3);
    near("enthalpy drop, J/kg", wet.heat / AIR_FLOW, 67_709.86 - 49_380.98, 4e-3);
    near("water out, degC", wet.cold_out - 273.15, 8.61, 4e-3);
    near("surface, degC", wet.surface_temperature - 273.15, 10.73, 4e-3);
    near("h_s,eff - h_w,in, J/kg", h_s(wet.surface_temperature) - h_s(WATER_IN), 48_822.74 - 37_518.38, 4e-3);
}

/// The book's coil is in fact 36 % dry; reckoned in two parts it moves 50 405 W. The greater of the dry and the wet heat
/// is to be within 5 % of that; both are below it.
#[test]
fn sm2_1_partly_wet() {
    let dry = duty(COIL, CONDUCTANCE / 2.0, AIR_FLOW * AIR_CP, WATER_CAPACITY, AIR_IN, WATER_IN).unwrap();
    let greater = all_wet().heat.max(dry.heat);
    assert!(greater < 50_404.71 && greater > 0.95 * 50_404.71, "{greater}");
}
