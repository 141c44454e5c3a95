//! Check vectors of the trade: exact inputs, results to the digits printed. Where a vector is arithmetic with constant
//! heat capacity it is met by the function of that kind, and the figure of variable heat capacity stands beside it.

use thermo::corrected::{humid_flow, humid_speed};
use thermo::exchanger::{Arrangement, Mixing, effectiveness};
use thermo::fresh_air::{CFR_25_831, CS_25_831, per_occupant, share_of};
use thermo::humid_air::{dew_point, humidity_ratio_from_relative_humidity, saturation_humidity_ratio};
use thermo::isentropic::{compression_efficiency, expansion_efficiency};
use thermo::machine::{State, compressor, turbine};
use thermo::mixing::{added_flow, share_by_enthalpy, share_by_temperature};
use thermo::saturation::Condensate::Equilibrium;
use thermo::stream::{Air, Stream, mixed};
use thermo::valve_flow::{Gas, mass_flow};
use thermo::{atmosphere, leak_down, nozzle_flow_function};
use units::find;

/// Half of the last digit printed.
#[track_caller]
fn printed(got: f64, expected: f64, half_digit: f64) {
    assert!((got - expected).abs() <= half_digit * 1.000_001, "{got} for {expected}");
}

fn celsius(t: f64) -> f64 {
    t + 273.15
}

#[test]
fn vectors_1_and_2_cross_flow() {
    let unmixed = Arrangement::CrossFlow(Mixing::BothUnmixed);
    printed(effectiveness(unmixed, 2.0, 0.5).unwrap(), 0.732_409_3, 5e-8);
    printed(effectiveness(unmixed, 1.5, 1.0).unwrap(), 0.560_172_9, 5e-8);
}

/// The gauge pressures of vector 4 give a wrong figure to recognise.
#[test]
fn vectors_3_to_5_efficiencies() {
    let constant = |p9: f64, p10: f64| expansion_efficiency(311.32, 262.0, p9 / p10, 1.4).unwrap();
    printed(constant(335.82, 111.0), 0.584_243, 5e-7);
    printed(constant(335.82 - 101.3, 111.0 - 101.3), 0.265_131, 5e-7);
    printed(compression_efficiency(382.39, 439.73, 371.57 / 254.68, 1.4).unwrap(), 0.759_989, 5e-7);
    // With s°(T) of an ideal gas, which real air at these pressures is to some tenths of a per cent.
    let at = |t: f64, kpa: f64| State::new(t, kpa * 1e3);
    let turbine =
        |scale: f64| turbine::dry_efficiency(at(311.32, 335.82 * scale), at(262.0, 111.0 * scale), 0.0).unwrap();
    let compressor =
        |scale: f64| compressor::efficiency(at(382.39, 254.68 * scale), at(439.73, 371.57 * scale), 0.0).unwrap();
    printed(turbine(1e-3), 0.584_058, 5e-6); // 0.584 054: another fit of the heat capacity
    printed(compressor(1e-3), 0.751_93, 1e-5);
    printed(turbine(1.0), 0.584_058, 0.01);
    printed(compressor(1.0), 0.751_93, 0.01);
}

#[test]
fn vectors_6_and_7_corrected() {
    printed(humid_flow(0.5, 468.15, 265.3e3, 0.0).unwrap(), 0.243_407, 5e-7);
    let rpm = find("rpm").unwrap();
    printed(rpm.from_si(humid_speed(rpm.to_si(40_000.0), 382.39, 0.0).unwrap()), 34_722.9, 0.05);
}

#[test]
fn vectors_8_to_10_pressure_altitude() {
    let foot = find("ft").unwrap();
    for (pressure, metres, feet) in [(75_262.0, 2_438.4, 8_000.0), (69_682.0, 3_048.0, 10_000.0)] {
        let altitude = atmosphere::pressure_altitude(pressure).unwrap();
        printed(altitude, metres, 0.1);
        printed(foot.from_si(altitude), feet, 0.5);
    }
    let altitude = atmosphere::pressure_altitude(95_000.0).unwrap();
    printed(altitude, 540.3, 0.05);
    printed(foot.from_si(altitude), 1_772.8, 0.05);
}

/// Real-gas figures of a humid-air property library.
#[test]
fn vectors_11_to_13_humidity() {
    let w = humidity_ratio_from_relative_humidity(celsius(38.0), 101_325.0, 0.4, Equilibrium).unwrap();
    printed(w * 1e3, 16.80, 0.005);
    printed(dew_point(101_325.0, w, Equilibrium).unwrap(), celsius(22.06), 0.006);
    for (pressure, t) in [(101_325.0, 24.03), (358.6e3, 46.78), (371.6e3, 47.48)] {
        printed(dew_point(pressure, 0.019, Equilibrium).unwrap(), celsius(t), 0.006);
    }
    // 0.02 % between the two programs, which is what they differ by at saturation.
    for (pressure, w) in [(358e3, 2.168), (101_325.0, 7.663)] {
        printed(saturation_humidity_ratio(celsius(10.0), pressure, Equilibrium).unwrap() * 1e3, w, 3e-4 * w);
    }
}

#[test]
fn vectors_14_and_15_leaks() {
    let t = celsius(25.0);
    let leak = leak_down::leak_rate(0.5, 287.05, 250e3, t, -10e3 / 60.0, 0.0).unwrap();
    printed(leak * 1e3, 0.9737, 5e-5);
    let gas = Gas { pressure: 300e3, temperature: 293.0, gas_constant: 287.05, isentropic_exponent: 1.4 };
    printed(mass_flow(0.8e-6, gas, 100e3).unwrap() * 1e3, 0.5667, 5e-5);
}

/// On temperature, on enthalpy as an ideal gas, and the trim flow for a mix flow of 0.5 kg/s.
#[test]
fn vector_17_hot_air_share() {
    let [mix, trim, duct] = [12.0, 180.0, 16.0].map(celsius);
    let share = share_by_temperature(mix, trim, duct).unwrap();
    printed(share, 0.023_810, 5e-7);
    let dry = |t| Air { temperature: t, pressure: 100.0, humidity_ratio: 0.0 };
    printed(share_by_enthalpy(dry(mix), dry(trim), dry(duct), Equilibrium).unwrap(), 0.023_653, 5e-7);
    // m_hot·(T_hot − T_duct) = m_mix·(T_duct − T_mix)
    printed(added_flow(0.5, share).unwrap() * (trim - duct), 0.5 * (duct - mix), 1e-9);
}

#[test]
fn vector_18_mix_of_equal_flows() {
    let at = |t| Stream { flow: 0.5, air: Air { temperature: celsius(t), pressure: 101_325.0, humidity_ratio: 0.0 } };
    let mixture = mixed(&[at(13.0), at(26.0)], 101_325.0, Equilibrium).unwrap();
    printed(mixture.air.temperature, celsius(19.5), 0.005);
    printed(mixture.flow, 1.0, 1e-12);
}

#[test]
fn vector_19_fresh_air() {
    let each = per_occupant(1.0, 180.0).unwrap();
    printed(each * 1e3, 5.556, 5e-4);
    printed(share_of(each, CFR_25_831.si()).unwrap(), 1.3361, 5e-5);
    printed(CFR_25_831.si(), find("lb/min").unwrap().to_si(0.55), 1e-12);
    printed(CS_25_831.si(), find("kg/min").unwrap().to_si(0.25), 1e-12);
    printed(CS_25_831.si() / CFR_25_831.si(), 1.0021, 5e-5);
}

/// V²/(2 cp) with cp 1005; the first law with the air's own heat capacity.
#[test]
fn vector_22_velocity_error() {
    for (velocity, rise) in [(30.0, 0.448), (60.0, 1.791), (90.0, 4.030)] {
        printed(velocity * velocity / 2010.0, rise, 5e-4);
        let (t, _) = thermo::total_static::brought_to_rest(300.0, 1e5, velocity, 0.0).unwrap();
        printed(t - 300.0, rise, 0.002 * rise);
    }
}

/// Core flow, total state: no figure of its own but the definition's.
#[test]
fn nozzle_flow_function_of_humid_air() {
    let dry = nozzle_flow_function::humid_flow_function(0.5, 311.0, 336e3, 0.0).unwrap();
    let plain = nozzle_flow_function::flow_function(0.5, 311.0, 336e3).unwrap();
    // γ of real air at 3.4 bar is 1.408: ψ 0.2 % above that of 1.4
    assert!(dry < plain && dry > 0.997 * plain, "{dry} {plain}");
    // The same nozzle in humid air passes less, and shows the same function.
    let gas = |w: f64| Gas {
        pressure: 336e3,
        temperature: 311.0,
        gas_constant: thermo::humid_air::gas_constant(w).unwrap(),
        isentropic_exponent: thermo::humid_air::heat_capacity_ratio(311.0, 336e3, w).unwrap(),
    };
    let flow = |w: f64| mass_flow(6e-4, gas(w), 100e3).unwrap();
    let function = |w: f64| nozzle_flow_function::humid_flow_function(flow(w), 311.0, 336e3, w).unwrap();
    assert!(flow(0.01) < 0.998 * flow(0.0));
    printed(function(0.01) / function(0.0), 1.0, 1e-12);
}

/// With w 0.02: one kg of dry air and 0.02 kg of vapour have 1/28.9646 + 0.02/18.0153 mol/g, so R is
/// 8.314463·(0.0345249 + 0.0011102)/1.02·1000 = 290.477 J/(kg K), 1.19 % above 287.053 J/(kg K): flow up, speed down by
/// the root of that, 1.005 95.
#[test]
fn humidity_in_corrected_flow_and_speed() {
    let ratio = units::math::sqrt(290.477 / 287.053);
    printed(ratio, 1.005_95, 5e-6);
    printed(humid_flow(0.5, 288.15, 101_325.0, 0.02).unwrap(), 0.5 * ratio, 5e-6);
    printed(humid_flow(0.5, 468.15, 265.3e3, 0.02).unwrap(), 0.243_407 * ratio, 3e-6);
    printed(humid_speed(4000.0, 288.15, 0.02).unwrap(), 4000.0 / ratio, 0.03);
}
