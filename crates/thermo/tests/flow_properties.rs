//! Flow meters, nozzles, valves, atmosphere: limits of use, round trips, bounds, the standard's own error propagation.

#![allow(clippy::disallowed_methods)]

use proptest::prelude::*;
use std::f64::consts::PI;
use thermo::DomainError;
use thermo::atmosphere::{
    altitude_rate, density, geometric_altitude, geopotential_altitude, pressure_altitude, standard_air, viscosity,
};
use thermo::critical_nozzle::{Stagnation, Throat, critical_flow_function, humid_critical_flow_function};
use thermo::flow_meter::{
    Convergent, Device, Limits, Meter, Tapping, Upstream, diameter_at, discharge_coefficient, expansibility, mass_flow,
    orifice_expansibility_1991, pressure_difference, pressure_loss, uncertainty,
};
use thermo::leak_down::{State, leak_rate, mean_leak_rate};
use thermo::pressure_drop::{corrected_pressure_drop, referred_pressure_drop};
use thermo::valve_flow::{self, Gas, critical_pressure_ratio, effective_area, flow_function};
use thermo::{corrected, critical_nozzle};
use units::{Dual, MassFlow};

const DEVICES: [Device; 9] = [
    Device::Orifice(Tapping::Corner),
    Device::Orifice(Tapping::DAndHalfD),
    Device::Orifice(Tapping::Flange),
    Device::Isa1932Nozzle,
    Device::LongRadiusNozzle,
    Device::VenturiNozzle,
    Device::VenturiTube(Convergent::AsCast),
    Device::VenturiTube(Convergent::Machined),
    Device::VenturiTube(Convergent::RoughWelded),
];

fn meter(device: Device, pipe_diameter: f64, ratio: f64) -> Meter<f64> {
    Meter { device, pipe_diameter, throat_diameter: pipe_diameter * ratio, limits: Limits::Enforced }
}

/// Each limit of each part of ISO 5167:2003: just inside is taken, just outside refused by the name of the quantity.
#[test]
fn limits_of_use() {
    const D: &str = "pipe diameter D";
    const THROAT: &str = "throat diameter d";
    const RATIO: &str = "diameter ratio d/D";
    const RE: &str = "Reynolds number Re_D";
    let [corner, d_half, flange, isa, long, venturi_nozzle, cast, machined, welded] = DEVICES;
    // device, (D, β, Re) inside, what to change: argument, inside, outside
    let edges: [(Device, [f64; 3], &str, f64, f64); 48] = [
        (corner, [0.1, 0.5, 1e5], D, 0.05, 0.0499),
        (corner, [0.1, 0.5, 1e5], D, 1.0, 1.001),
        (flange, [0.06, 0.22, 1e5], THROAT, 0.0125, 0.0124),
        (d_half, [0.2, 0.5, 1e5], RATIO, 0.1, 0.0999),
        (d_half, [0.1, 0.5, 1e5], RATIO, 0.75, 0.7501),
        (corner, [0.1, 0.5, 1e5], RE, 5000.0, 4999.0),
        (corner, [0.1, 0.56, 1e5], RE, 5000.0, 4999.0),
        (d_half, [0.1, 0.7, 1e5], RE, 7840.1, 7839.0),
        (flange, [0.3, 0.5, 1e5], RE, 12_751.0, 12_749.0),
        (flange, [0.06, 0.5, 1e5], RE, 5000.0, 4999.0),
        (isa, [0.1, 0.5, 1e5], D, 0.05, 0.0499),
        (isa, [0.1, 0.5, 1e5], D, 0.5, 0.501),
        (isa, [0.1, 0.5, 1e5], RATIO, 0.3, 0.299),
        (isa, [0.1, 0.5, 1e5], RATIO, 0.8, 0.801),
        (isa, [0.1, 0.43, 1e5], RE, 7e4, 6.9e4),
        (isa, [0.1, 0.44, 1e5], RE, 2e4, 1.9e4),
        (isa, [0.1, 0.5, 1e5], RE, 1e7, 1.1e7),
        (long, [0.1, 0.5, 1e5], D, 0.63, 0.631),
        (long, [0.1, 0.5, 1e5], RATIO, 0.2, 0.199),
        (long, [0.1, 0.5, 1e5], RE, 1e4, 9.9e3),
        (venturi_nozzle, [0.2, 0.5, 2e5], D, 0.5, 0.51),
        (venturi_nozzle, [0.2, 0.775, 2e5], D, 0.065, 0.0649),
        (cast, [0.2, 0.5, 3e5], D, 0.8, 0.801),
        (cast, [0.2, 0.5, 3e5], RATIO, 0.75, 0.751),
        (cast, [0.2, 0.5, 3e5], RE, 2e5, 1.9e5),
        (machined, [0.1, 0.5, 3e5], D, 0.05, 0.049),
        (machined, [0.1, 0.5, 3e5], RATIO, 0.75, 0.751),
        (machined, [0.1, 0.5, 3e5], RE, 2e5, 1.9e5),
        (welded, [0.3, 0.5, 3e5], D, 1.2, 1.21),
        (welded, [0.3, 0.5, 3e5], RATIO, 0.4, 0.399),
        (welded, [0.3, 0.5, 3e5], RE, 2e6, 2.1e6),
        (long, [0.1, 0.5, 1e5], D, 0.05, 0.049),
        (long, [0.1, 0.5, 1e5], RATIO, 0.8, 0.801),
        (long, [0.1, 0.5, 1e5], RE, 1e7, 1.1e7),
        (venturi_nozzle, [0.065, 0.774, 2e5], THROAT, 0.05, 0.0499),
        (venturi_nozzle, [0.2, 0.5, 2e5], RATIO, 0.316, 0.315),
        (venturi_nozzle, [0.2, 0.5, 2e5], RATIO, 0.775, 0.776),
        (venturi_nozzle, [0.2, 0.5, 2e5], RE, 1.5e5, 1.49e5),
        (venturi_nozzle, [0.2, 0.5, 2e5], RE, 2e6, 2.01e6),
        (cast, [0.2, 0.5, 3e5], D, 0.1, 0.099),
        (cast, [0.2, 0.5, 3e5], RATIO, 0.3, 0.299),
        (cast, [0.2, 0.5, 3e5], RE, 2e6, 2.1e6),
        (machined, [0.1, 0.5, 3e5], D, 0.25, 0.251),
        (machined, [0.1, 0.5, 3e5], RATIO, 0.4, 0.399),
        (machined, [0.1, 0.5, 3e5], RE, 1e6, 1.1e6),
        (welded, [0.3, 0.5, 3e5], D, 0.2, 0.199),
        (welded, [0.3, 0.5, 3e5], RATIO, 0.7, 0.701),
        (welded, [0.3, 0.5, 3e5], RE, 2e5, 1.9e5),
    ];
    for (device, [pipe, ratio, reynolds], argument, inside, outside) in edges {
        let result = |x: f64| {
            let m = match argument {
                D => meter(device, x, ratio),
                RATIO => meter(device, pipe, x),
                THROAT => Meter { throat_diameter: x, ..meter(device, pipe, ratio) },
                _ => meter(device, pipe, ratio),
            };
            discharge_coefficient(&m, if argument == RE { x } else { reynolds })
        };
        assert!(result(inside).is_ok(), "{device:?} {argument} {inside}: {:?}", result(inside));
        let refused = result(outside).unwrap_err();
        assert_eq!((refused.argument, refused.formula), (argument, "discharge coefficient"), "{device:?} {outside}");
        assert!(refused.valid.contains("ISO 5167-"), "{refused}");
        let m = Meter { limits: Limits::Extrapolated, ..meter(device, pipe, ratio) };
        assert!(discharge_coefficient(&m, reynolds).is_ok());
    }
}

/// The Reynolds number is found by iteration and then held against the limits too.
#[test]
fn mass_flow_below_the_least_reynolds_number() {
    let nozzle = meter(Device::LongRadiusNozzle, 0.1, 0.5);
    let air = Upstream { pressure: 1e5, density: 1.19, viscosity: 1.82e-5, isentropic_exponent: Some(1.4) };
    let refused = mass_flow(&nozzle, &air, 10.0).unwrap_err();
    assert_eq!((refused.formula, refused.argument), ("flow from pressure difference", "Reynolds number Re_D"));
    assert!(refused.value > 6000.0 && refused.value < 1e4, "{refused}");
    let beyond = Meter { limits: Limits::Extrapolated, ..nozzle };
    assert_eq!(mass_flow(&beyond, &air, 10.0).unwrap().reynolds, refused.value);
}

#[test]
fn refusals_name_argument_value_and_range() {
    let plate = meter(Device::Orifice(Tapping::Corner), 0.1, 0.5);
    let air = Upstream { pressure: 2e5, density: 2.378, viscosity: 1.82e-5, isentropic_exponent: Some(1.4) };
    let gas = Gas { pressure: 1e5, temperature: 290.0, gas_constant: 287.05, isentropic_exponent: 1.4 };
    let refused: Vec<Result<f64, DomainError>> = vec![
        mass_flow(&plate, &air, 60e3).map(|r| r.mass_flow),
        mass_flow(&plate, &air, -10.0).map(|r| r.mass_flow),
        discharge_coefficient(&plate, 4000.0),
        mass_flow(&plate, &Upstream { viscosity: 0.0, ..air }, 1e3).map(|r| r.mass_flow),
        discharge_coefficient(&meter(Device::Isa1932Nozzle, 0.1, 0.9), 1e5),
        pressure_difference(&plate, &air, 1.0),
        valve_flow::mass_flow(1e-4, gas, 1.1e5),
        effective_area(1e-3, gas, 1e5),
        standard_air(90_000.0).map(|a| a.pressure),
        pressure_altitude(-3.0),
        critical_flow_function(5e6, 300.0),
        leak_rate(0.0, 287.05, 1e5, 300.0, -10.0, 0.0),
    ];
    let text: Vec<String> = refused.into_iter().map(|r| r.unwrap_err().to_string()).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    expansibility factor: pressure ratio p2/p1 is 0.7, must be at least 0.75 (ISO 5167:2003, expansibility factor)
    flow from pressure difference: pressure difference is -10, must be above 0 Pa
    discharge coefficient: Reynolds number Re_D is 4000, must be at least 5000 for β up to 0.56 (ISO 5167-2:2003, 5.3.1)
    flow from pressure difference: viscosity is 0, must be above 0 Pa·s
    discharge coefficient: diameter ratio d/D is 0.9, must be 0.30 to 0.80 (ISO 5167-3:2003, ISA 1932 nozzle)
    pressure difference from flow: mass flow is 1, must be a flow that needs less than the upstream pressure as pressure difference
    flow function: pressure ratio p2/p1 is 1.1, must be 0 to 1: the downstream pressure is above the upstream one
    effective area: flow per area is 0, must be above 0: the downstream pressure must be below the upstream one
    standard atmosphere: geopotential altitude is 90000, must be -5 000 to 80 000 m
    pressure altitude: pressure is -3, must be 0.8863 to 177 687 Pa absolute, the pressures of 80 km and -5 km
    critical flow function of air: pressure is 5000000, must be 20 000 to 1 000 000 Pa absolute
    leak rate: volume is 0, must be above 0 m³
    ");
}

/// ISO 5167-2:2003, 5.3.3, worked by hand from its formulas.
#[test]
fn uncertainties_of_the_standard() {
    let air = Upstream { pressure: 2e5, density: 2.378, viscosity: 1.82e-5, isentropic_exponent: Some(1.4) };
    let of = |device, pipe, ratio, reynolds| {
        uncertainty(&meter(device, pipe, ratio), reynolds, &air, 1e4).unwrap().expect("within the limits of use")
    };
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    let [corner, .., machined, welded] = DEVICES;
    near(of(corner, 0.1, 0.15, 1e5).discharge_coefficient, 0.0055);
    near(of(corner, 0.1, 0.4, 1e5).discharge_coefficient, 0.005);
    near(of(corner, 0.1, 0.7, 1e5).discharge_coefficient, 0.006_669);
    near(of(corner, 0.1, 0.55, 9e3).discharge_coefficient, 0.01);
    near(of(corner, 0.0508, 0.5, 1e5).discharge_coefficient, 0.005 + 0.009 * 0.25 * 0.8);
    near(of(corner, 0.1, 0.4, 1e5).expansibility, 0.035 * 0.05 / 1.4);
    near(of(Device::Isa1932Nozzle, 0.1, 0.7, 1e5).discharge_coefficient, 0.01);
    near(of(Device::LongRadiusNozzle, 0.1, 0.5, 1e5).expansibility, 0.001);
    near(of(Device::VenturiNozzle, 0.2, 0.5, 2e5).discharge_coefficient, 0.012_937_5);
    near(of(machined, 0.1, 0.5, 3e5).discharge_coefficient, 0.01);
    near(of(welded, 0.3, 0.5, 3e5).expansibility, (0.04 + 1.0 / 256.0) * 0.05);
}

/// Outside the limits of use the standard states no uncertainty, whether diameter, Reynolds number or pressure ratio is
/// outside; inside them it does, extrapolation allowed or not.
#[test]
fn no_uncertainty_outside_the_limits_of_use() {
    let air = Upstream { pressure: 2e5, density: 2.378, viscosity: 1.82e-5, isentropic_exponent: Some(1.4) };
    let orifice =
        |pipe, ratio| Meter { limits: Limits::Extrapolated, ..meter(Device::Orifice(Tapping::Corner), pipe, ratio) };
    let inside = mass_flow(&orifice(0.1, 0.5), &air, 1e4).unwrap();
    let enforced = Meter { limits: Limits::Enforced, ..orifice(0.1, 0.5) };
    assert!(inside.uncertainty.is_some());
    assert_eq!(inside, mass_flow(&enforced, &air, 1e4).unwrap());

    let outside = [
        (orifice(0.04, 0.5), 1e4, "pipe of 40 mm"),
        (orifice(0.1, 0.8), 1e4, "diameter ratio of 0.8"),
        (orifice(0.1, 0.5), 6e4, "p2/p1 of 0.7"),
        (orifice(0.06, 0.3), 0.5, "too slow a flow"),
    ];
    for (meter, difference, what) in outside {
        let reading = mass_flow(&meter, &air, difference).unwrap();
        assert_eq!(reading.uncertainty, None, "{what}: {reading:?}");
        assert_eq!(uncertainty(&meter, reading.reynolds, &air, difference), Ok(None), "{what}");
        let enforced = Meter { limits: Limits::Enforced, ..meter };
        assert!(mass_flow(&enforced, &air, difference).is_err(), "{what}");
    }
    // A liquid has no pressure ratio to be outside of.
    let water = Upstream { pressure: 2e5, density: 998.0, viscosity: 1e-3, isentropic_exponent: None };
    assert!(mass_flow(&orifice(0.1, 0.5), &water, 6e4).unwrap().uncertainty.is_some());
}

/// ISO 5167-1:2003, 8.2.2.1: the sensitivities of the flow to D, d, Δp and ρ, where C and ε are taken as constant:
/// 2β⁴/(1 − β⁴), 2/(1 − β⁴), 1/2, 1/2. A Venturi tube has a constant C, a liquid has none of ε: the dual numbers must give
/// the standard's figures.
#[test]
fn dual_numbers_give_the_standards_error_propagation() {
    let x = [0.1, 0.06, 20e3, 998.0];
    let [pipe_diameter, throat_diameter, difference, density] = Dual::<4>::variables(x);
    let device = Device::VenturiTube(Convergent::Machined);
    let meter = Meter { device, pipe_diameter, throat_diameter, limits: Limits::Enforced };
    let water = Upstream {
        pressure: Dual::constant(3e5),
        density,
        viscosity: Dual::constant(1.0e-3),
        isentropic_exponent: None,
    };
    let flow = mass_flow(&meter, &water, difference).unwrap().mass_flow;
    let b4 = 0.6_f64.powi(4);
    let expected = [-2.0 * b4 / (1.0 - b4), 2.0 / (1.0 - b4), 0.5, 0.5];
    for ((partial, x), expected) in flow.partials.iter().zip(x).zip(expected) {
        assert!((partial * x / flow.value - expected).abs() < 1e-12, "{partial} {expected}");
    }
}

/// An ideal gas of γ = 1.4 has 0.68473; for dry air near room state about 0.685 is tabulated (ISO 9300, from memory).
#[test]
fn critical_flow_function_of_known_states() {
    assert!((flow_function(0.2, 1.4).unwrap() - 0.684_731_5).abs() < 1e-7);
    assert!((critical_pressure_ratio(1.4).unwrap() - 0.528_281_8).abs() < 1e-7);
    let c = critical_flow_function(101_325.0, 293.15).unwrap();
    assert!((c - 0.685).abs() < 2e-4, "{c}");
}

/// Humid over dry from the heat capacities of CoolProp 8.0.0's ideal gases, which vary with temperature, the greatest
/// flux sought along the isentrope: K, kg/kg, change. Ours has constant heat capacities: 1e-4.
#[test]
fn critical_flow_function_of_humid_air() {
    let rows = [
        (303.15, 0.01, -3.324e-4),
        (303.15, 0.02, -6.527e-4),
        (303.15, 0.04, -1.2592e-3),
        (423.15, 0.01, -3.579e-4),
        (423.15, 0.02, -7.026e-4),
        (423.15, 0.04, -1.3552e-3),
    ];
    for (t, w, expected) in rows {
        let dry = critical_flow_function(1e5, t).unwrap();
        assert_eq!(humid_critical_flow_function(1e5, t, 0.0), Ok(dry));
        let change = humid_critical_flow_function(1e5, t, w).unwrap() / dry - 1.0;
        assert!((change - expected).abs() < 1e-4, "{t} {w}: {change}");
    }
}

#[test]
fn critical_nozzle_limits() {
    let upstream = Stagnation {
        pressure: 1e5,
        temperature: 293.15,
        gas_constant: 287.05,
        viscosity: 1.82e-5,
        critical_flow_function: 0.685,
    };
    let small = critical_nozzle::mass_flow(Throat::Cylindrical, 0.01, upstream).unwrap_err();
    assert_eq!(small.argument, "Reynolds number of the throat");
    let toroidal = critical_nozzle::mass_flow(Throat::Toroidal, 0.01, upstream).unwrap();
    let c = 0.9959 - 2.720 / toroidal.reynolds.sqrt();
    assert!((toroidal.discharge_coefficient - c).abs() < 1e-14);
    let ideal = PI / 4.0 * 1e-4 * 0.685 * 1e5 / (287.05_f64 * 293.15).sqrt();
    assert!((toroidal.mass_flow / ideal - c).abs() < 1e-14);
    assert!(critical_nozzle::mass_flow(Throat::ToroidalAccurate, 0.2, upstream).is_err());
}

/// 1 K of cooling in 60 s looks like a leak of 0.84 kPa in 250: with the temperature's rate there is none.
#[test]
fn cooling_is_no_leak() {
    let (t, p) = (298.15, 250e3);
    let rate = -1.0 / 60.0;
    assert!(leak_rate(0.5, 287.05, p, t, p / t * rate, rate).unwrap().abs() < 1e-18);
    let end = State { pressure: p * (t - 1.0) / t, temperature: t - 1.0 };
    assert!(mean_leak_rate(0.5, 287.05, State { pressure: p, temperature: t }, end, 60.0).unwrap().abs() < 1e-15);
}

#[test]
fn straight_line_to_zero_flow() {
    let at = |r: f64| flow_function(r, 1.4).unwrap();
    assert_eq!(at(1.0), 0.0);
    assert!((at(0.9995) - at(0.999) / 2.0).abs() < 1e-12);
    assert!((at(0.999 + 1e-12) - at(0.999)).abs() < 1e-9);
    let slope = flow_function(Dual::<1>::variable(1.0, 0), Dual::constant(1.4)).unwrap().partials[0];
    assert!((slope + at(0.999) * 1000.0).abs() < 1e-6);
}

#[test]
fn small_functions() {
    assert!((diameter_at(0.1, 16e-6, 393.15, 293.15).unwrap() - 0.100_16).abs() < 1e-15);
    assert!((viscosity(288.15).unwrap() - 1.7894e-5).abs() < 1e-9);
    assert!((density(101_325.0, 288.15).unwrap() - 1.225).abs() < 1e-5);
    assert_eq!(corrected_pressure_drop(1000.0, 1.225, 1.225), Ok(1000.0));
    assert_eq!(corrected_pressure_drop(1000.0, 2.45, 4.9), Ok(3000.0));
    assert_eq!(referred_pressure_drop(1000.0, 202_650.0), Ok(500.0));
    assert_eq!(corrected::REFERENCE_PRESSURE.si(), 101_325.0);
    assert_eq!(MassFlow::from_si(1.0).si(), 1.0);
    assert!((orifice_expansibility_1991(0.5, 1e5, 1e4, 1.4).unwrap() - (1.0 - 0.431_875 / 14.0)).abs() < 1e-14);
}

proptest! {
    #[test]
    fn pressure_difference_is_the_inverse_of_mass_flow(
        which in 0..9_usize, pipe in 0.2..0.25_f64, ratio in 0.4..0.7_f64, share in 0.001..0.24_f64,
        pressure in 0.8e5..3e5_f64, temperature in 250.0..450.0_f64,
    ) {
        let m = Meter { limits: Limits::Extrapolated, ..meter(DEVICES[which], pipe, ratio) };
        let air = Upstream {
            pressure, density: density(pressure, temperature).unwrap(), viscosity: viscosity(temperature).unwrap(),
            isentropic_exponent: Some(1.4),
        };
        let r = mass_flow(&m, &air, share * pressure).unwrap();
        let back = pressure_difference(&m, &air, r.mass_flow).unwrap();
        prop_assert!((back / pressure / share - 1.0).abs() < 1e-12);
        prop_assert!(r.expansibility > 0.7 && r.expansibility < 1.0);
        let more = mass_flow(&m, &air, share * pressure * 1.01).unwrap();
        prop_assert!(more.mass_flow > r.mass_flow && more.expansibility < r.expansibility);
        let loss = pressure_loss(&m, r.discharge_coefficient, share * pressure).unwrap();
        prop_assert!(0.0 < loss.low && loss.low <= loss.high && loss.high < share * pressure);
    }

    /// ε falls from 1 with the pressure drop, and has no step at Δp = 0 or κ = 1.
    #[test]
    fn expansibility_is_smooth_at_its_ends(which in 0..9_usize, ratio in 0.4..0.7_f64, drop in 0.0..0.25_f64) {
        let m = Meter { limits: Limits::Extrapolated, ..meter(DEVICES[which], 0.2, ratio) };
        let e = |d: f64, k: f64| expansibility(&m, 1e5, d * 1e5, k).unwrap();
        prop_assert!((e(0.0, 1.4) - 1.0).abs() < 1e-15);
        prop_assert!((e(1e-9, 1.4) - 1.0).abs() < 2e-9);
        prop_assert!((e(drop, 1.0) - e(drop, 1.0 + 1e-9)).abs() < 1e-9);
        prop_assert!(e(drop, 1.4) <= 1.0 && e(drop, 1.4) > 0.6);
    }

    /// A choked nozzle's flow rises with pressure more than in proportion (its coefficient rises too), and falls with
    /// temperature; C* stays near that of an ideal gas.
    #[test]
    fn critical_nozzle_flow(
        pressure in 1e5..9e5_f64, temperature in 230.0..500.0_f64, throat in 0.01..0.05_f64, more in 1.001..1.1_f64,
    ) {
        let at = |p: f64, t: f64| Stagnation {
            pressure: p, temperature: t, gas_constant: 287.05, viscosity: viscosity(t).unwrap(),
            critical_flow_function: critical_flow_function(p, t).unwrap(),
        };
        prop_assert!((0.67..0.70).contains(&at(pressure, temperature).critical_flow_function));
        let flow = |p, t| critical_nozzle::mass_flow(Throat::Toroidal, throat, at(p, t)).map(|n| n.mass_flow);
        if let (Ok(here), Ok(higher), Ok(warmer)) =
            (flow(pressure, temperature), flow(pressure * more, temperature), flow(pressure, temperature * more))
        {
            prop_assert!(higher >= here * more, "{} {}", here, higher);
            prop_assert!(warmer < here, "{} {}", here, warmer);
        }
    }

    /// A volume that empties as e^(−t/τ) at constant temperature: the rate at a moment is the mass left over τ, and the
    /// mean rate between two moments lies between theirs and accounts for the mass lost.
    #[test]
    fn leak_of_a_decay(
        volume in 0.01..2.0_f64, pressure in 1e5..6e5_f64, t in 250.0..350.0_f64, tau in 30.0..3000.0_f64,
        share in 0.01..2.0_f64,
    ) {
        let (r, seconds) = (287.05, share * tau);
        let later = pressure * (-share).exp();
        let rate = |p: f64| leak_rate(volume, r, p, t, -p / tau, 0.0).unwrap();
        let mass = |p: f64| p * volume / (r * t);
        prop_assert!((rate(pressure) * tau / mass(pressure) - 1.0).abs() < 1e-12);
        let state = |pressure| State { pressure, temperature: t };
        let mean = mean_leak_rate(volume, r, state(pressure), state(later), seconds).unwrap();
        prop_assert!(rate(later) < mean && mean < rate(pressure));
        prop_assert!((mean * seconds / (mass(pressure) - mass(later)) - 1.0).abs() < 1e-9);
    }

    /// Corrected and referred pressure drops are proportional to the drop, and a drop in air of the reference density, or
    /// at the reference pressure, stays as it is.
    #[test]
    fn pressure_drops_keep_their_proportion(drop in 1.0..2e4_f64, a in 0.5..4.0_f64, b in 0.5..4.0_f64, k in 0.1..10.0_f64) {
        let corrected = |d: f64| corrected_pressure_drop(d, a, b).unwrap();
        prop_assert!((corrected(k * drop) / corrected(drop) / k - 1.0).abs() < 1e-14);
        prop_assert!((corrected_pressure_drop(drop, b, a).unwrap() / corrected(drop) - 1.0).abs() < 1e-14);
        let referred = referred_pressure_drop(drop, a * 1e5).unwrap();
        prop_assert!((referred_pressure_drop(k * drop, a * 1e5).unwrap() / referred / k - 1.0).abs() < 1e-14);
        prop_assert!((referred_pressure_drop(drop, 101_325.0).unwrap() / drop - 1.0).abs() < 1e-15);
    }

    #[test]
    fn altitude_round_trips(altitude in -5000.0..80_000.0_f64) {
        let air = standard_air(altitude).unwrap();
        prop_assert!((pressure_altitude(air.pressure).unwrap() - altitude).abs() < 1e-7);
        prop_assert!((geopotential_altitude(geometric_altitude(altitude).unwrap()).unwrap() - altitude).abs() < 1e-9);
        prop_assert!((air.density * 287.052_87 * air.temperature / air.pressure - 1.0).abs() < 1e-15);
        prop_assert!(standard_air((altitude - 1.0).max(-5000.0)).unwrap().pressure >= air.pressure);
        let rate = altitude_rate(air.pressure, -1.0).unwrap();
        prop_assert!((rate * air.pressure * 9.806_65 / (287.052_87 * air.temperature) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn valve_flow_and_area(
        p1 in 1e5..6e5_f64, ratio in 0.0..0.9999_f64, t in 220.0..500.0_f64, area in 1e-6..1e-2_f64,
        kappa in 1.1..1.67_f64,
    ) {
        let gas = Gas { pressure: p1, temperature: t, gas_constant: 287.05, isentropic_exponent: kappa };
        let flow = valve_flow::mass_flow(area, gas, ratio * p1).unwrap();
        prop_assert!((effective_area(flow, gas, ratio * p1).unwrap() / area - 1.0).abs() < 1e-12);
        let choked = valve_flow::mass_flow(area, gas, 0.0).unwrap();
        prop_assert!(flow <= choked * (1.0 + 1e-15));
        prop_assert!(ratio > critical_pressure_ratio(kappa).unwrap() || flow == choked);
        let less = valve_flow::mass_flow(area, gas, (ratio + 0.0001).min(1.0) * p1).unwrap();
        prop_assert!(less <= flow * (1.0 + 1e-12));
    }
}

/// The layers' base pressures are the ones the formula gives at the end of the layer below.
#[test]
fn layers_join() {
    for base in [11_000.0, 20_000.0, 32_000.0, 47_000.0, 51_000.0, 71_000.0_f64] {
        let (below, above) = (standard_air(base - 1e-7).unwrap(), standard_air(base).unwrap());
        assert!((below.pressure / above.pressure - 1.0).abs() < 1e-9, "{base}");
        assert!((below.temperature - above.temperature).abs() < 1e-8, "{base}");
    }
    assert!((standard_air(-5000.0).unwrap().pressure - 177_687.046).abs() < 1e-3);
    assert!((standard_air(80_000.0).unwrap().pressure - 0.886_272_238_6).abs() < 1e-9);
}
