//! The effectiveness method for a wet exchanger against the same exchanger cut into many small pieces, with humid air as
//! a real gas. The method takes the saturation line as straight between the cold side's ends; the pieces do not.
//!
//! The pieces are ours: this is a regression test that shows what the method neglects. The figures from outside are in
//! the published checks (Mitchell & Braun, example SM2-1).

#![allow(clippy::unwrap_used)]

use thermo::exchanger::Arrangement;
use thermo::exchanger::wet::{ColdSide, MoistSide, WetDuty, saturated_enthalpy, wet_duty};
use thermo::humid_air::humidity::{dew_point, humidity_ratio_from_relative_humidity};
use thermo::humid_air::properties::enthalpy;
use thermo::saturation::Condensate;

fn h_s(t: f64, pressure: f64) -> f64 {
    saturated_enthalpy(t, pressure, Condensate::Equilibrium).unwrap()
}

/// Counter-flow from the cold outlet to the cold inlet: the moist inlet and a supposed cold outlet temperature are known.
/// In each piece (h − h_s(T_s))·hA/c_p = (T_s − T_c)·(hA)_c, all wet. Returns heat and the cold inlet that follows.
fn march(pieces: u32, moist: &MoistSide<f64>, cold: &ColdSide<f64>, pressure: f64, cold_out: f64) -> (f64, f64) {
    let (air, fluid) = (moist.conductance / f64::from(pieces), cold.conductance / f64::from(pieces));
    let (mut h, mut t_c, mut heat) = (moist.enthalpy_in, cold_out, 0.0);
    for _ in 0..pieces {
        let (mut low, mut high) = (t_c, t_c + 80.0);
        for _ in 0..30 {
            let t_s = 0.5 * (low + high);
            if (h - h_s(t_s, pressure)) * air / moist.heat_capacity > (t_s - t_c) * fluid {
                low = t_s;
            } else {
                high = t_s;
            }
        }
        let q = (0.5 * (low + high) - t_c) * fluid;
        heat += q;
        h -= q / moist.dry_air_flow;
        t_c -= q / cold.capacity_flow;
    }
    (heat, t_c)
}

fn by_pieces(pieces: u32, moist: &MoistSide<f64>, cold: &ColdSide<f64>, pressure: f64) -> f64 {
    let (mut low, mut high) = (cold.temperature_in, moist.temperature_in);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if march(pieces, moist, cold, pressure, middle).1 < cold.temperature_in {
            low = middle;
        } else {
            high = middle;
        }
    }
    march(pieces, moist, cold, pressure, 0.5 * (low + high)).0
}

struct Case {
    pressure: f64,
    hot: f64,
    humidity: f64,
    cold: f64,
    capacity: f64,
    conductances: (f64, f64),
}

fn run(case: &Case) -> (WetDuty<f64>, f64, f64) {
    let w =
        humidity_ratio_from_relative_humidity(case.hot, case.pressure, case.humidity, Condensate::Equilibrium).unwrap();
    let moist = MoistSide {
        dry_air_flow: 0.5,
        enthalpy_in: enthalpy(case.hot, case.pressure, w).unwrap(),
        temperature_in: case.hot,
        heat_capacity: 1006.0 + 1860.0 * w,
        conductance: case.conductances.0,
    };
    let cold = ColdSide { capacity_flow: case.capacity, temperature_in: case.cold, conductance: case.conductances.1 };
    let wet = wet_duty(Arrangement::CounterFlow, moist, cold, |t| {
        saturated_enthalpy(t, case.pressure, Condensate::Equilibrium)
    })
    .unwrap();
    let dew = dew_point(case.pressure, w, Condensate::Equilibrium).unwrap();
    // The pieces' error falls with their size: extrapolated to none.
    let [coarse, fine] = [16, 32].map(|pieces| by_pieces(pieces, &moist, &cold, case.pressure));
    (wet, 2.0 * fine - coarse, dew)
}

/// Nearly saturated inlets, so that the whole surface is wet: the method gives 0.5 to 5.5 % more heat than the pieces do,
/// the more the colder the cold side is than the surface.
#[test]
fn heat_of_a_wet_exchanger_cut_into_pieces() {
    let case = |pressure, hot, humidity, cold, capacity, conductances| Case {
        pressure,
        hot,
        humidity,
        cold,
        capacity,
        conductances,
    };
    let cases = [
        (case(101_325.0, 300.15, 0.9, 279.15, 2000.0, (900.0, 1500.0)), 0.052),
        (case(101_325.0, 300.15, 0.9, 279.15, 700.0, (900.0, 1500.0)), 0.018),
        (case(350e3, 318.15, 0.95, 275.15, 520.0, (1500.0, 1500.0)), 0.006),
        (case(350e3, 318.15, 0.95, 275.15, 520.0, (500.0, 700.0)), 0.049),
    ];
    for (case, expected) in cases {
        let (wet, pieces, dew) = run(&case);
        let more = wet.heat / pieces - 1.0;
        assert!((more - expected).abs() < 0.003, "{more}, {wet:?}");
        assert!(wet.surface_temperature < dew);
    }
}

/// An inlet far above saturation has no outlet state in the range: refused, not held at its end.
#[test]
fn an_inlet_far_above_saturation_is_refused() {
    let moist = MoistSide {
        dry_air_flow: 0.5,
        enthalpy_in: h_s(303.15, 101_325.0) + 200e3,
        temperature_in: 303.15,
        heat_capacity: 1030.0,
        conductance: 900.0,
    };
    let cold = ColdSide { capacity_flow: 700.0, temperature_in: 279.15, conductance: 1500.0 };
    let saturated = |t| saturated_enthalpy(t, 101_325.0, Condensate::Equilibrium);
    let refused = wet_duty(Arrangement::CounterFlow, moist, cold, saturated).unwrap_err();
    assert_eq!((refused.argument, refused.value), ("inlet enthalpy", moist.enthalpy_in));
    let foggy = MoistSide { enthalpy_in: h_s(304.15, 101_325.0), ..moist };
    assert!(wet_duty(Arrangement::CounterFlow, foggy, cold, saturated).is_ok());
}

/// Hot bleed air, far above the boiling point of its pressure: saturated air ends on the way there, the exchanger does
/// not.
#[test]
fn an_inlet_above_boiling_has_an_outlet() {
    let pressure = 101_325.0;
    let saturated = |t| saturated_enthalpy(t, pressure, Condensate::Equilibrium);
    let cold = ColdSide { capacity_flow: 900.0, temperature_in: 279.15, conductance: 1500.0 };
    let at = |hot| {
        let moist = MoistSide {
            dry_air_flow: 0.5,
            enthalpy_in: enthalpy(hot, pressure, 0.1).unwrap(),
            temperature_in: hot,
            heat_capacity: 1190.0,
            conductance: 900.0,
        };
        (moist, wet_duty(Arrangement::CounterFlow, moist, cold, saturated).unwrap())
    };
    let mut before = 0.0;
    for hot in [360.0, 369.0, 371.0, 373.0, 374.0, 380.0, 400.0, 450.0, 471.0, 480.0] {
        let (moist, wet) = at(hot);
        assert!((wet.heat - 0.5 * (moist.enthalpy_in - wet.enthalpy_out)).abs() < 1e-6 * wet.heat, "{hot}: {wet:?}");
        assert!((wet.heat - 900.0 * (wet.cold_out - 279.15)).abs() < 1e-6 * wet.heat, "{hot}: {wet:?}");
        assert!(wet.heat > before && wet.cold_out < hot && wet.surface_temperature < hot, "{hot}: {wet:?}");
        before = wet.heat;
    }
}

/// A saturation enthalpy that ends below the inlet's own enthalpy leaves no bracket: refused as what it is.
#[test]
fn a_saturation_enthalpy_that_ends_too_early_is_refused() {
    let ends = thermo::DomainError { formula: "test", argument: "temperature", value: 0.0, valid: "at most 290 K" };
    let short = |t: f64| if t <= 290.0 { Ok(h_s(t, 101_325.0)) } else { Err(ends) };
    let moist = MoistSide {
        dry_air_flow: 0.5,
        enthalpy_in: h_s(303.15, 101_325.0),
        temperature_in: 303.15,
        heat_capacity: 1030.0,
        conductance: 900.0,
    };
    let cold = ColdSide { capacity_flow: 700.0, temperature_in: 279.15, conductance: 1500.0 };
    let refused = wet_duty(Arrangement::CounterFlow, moist, cold, short).unwrap_err();
    assert_eq!(
        refused.to_string(),
        format!(
            "wet exchanger: inlet enthalpy is {}, must be at most that of air saturated where the given saturation \
             enthalpy ends, in J/kg of dry air",
            moist.enthalpy_in
        )
    );
    // Below it: as with one that does not end. At the cold inlet: its own error.
    let cool = MoistSide { enthalpy_in: h_s(289.0, 101_325.0), ..moist };
    let whole = wet_duty(Arrangement::CounterFlow, cool, cold, |t| Ok(h_s(t, 101_325.0))).unwrap();
    let same = wet_duty(Arrangement::CounterFlow, cool, cold, short).unwrap();
    assert!((same.heat / whole.heat - 1.0).abs() < 1e-9);
    let warm = ColdSide { temperature_in: 295.0, ..cold };
    assert_eq!(wet_duty(Arrangement::CounterFlow, moist, warm, short), Err(ends));
}
