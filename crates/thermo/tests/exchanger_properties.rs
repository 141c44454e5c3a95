//! What every exchanger must fulfil, whatever its arrangement.

#![allow(clippy::disallowed_methods)]

use proptest::prelude::*;
use thermo::exchanger::duty::{
    duty, effectiveness_from_heat, fouling_resistance, heat_balance, log_mean_difference, overall_conductance, rating,
};
use thermo::exchanger::wet::{ColdSide, MoistSide, wet_duty};
use thermo::exchanger::{Arrangement, Mixing, effectiveness, transfer_units};
use thermo::{DomainError, exchanger};

fn mixing() -> impl Strategy<Value = Mixing> {
    prop_oneof![Just(Mixing::BothUnmixed), Just(Mixing::MinMixed), Just(Mixing::MaxMixed), Just(Mixing::BothMixed)]
}

fn any_arrangement() -> impl Strategy<Value = Arrangement> {
    prop_oneof![
        Just(Arrangement::CounterFlow),
        Just(Arrangement::ParallelFlow),
        mixing().prop_map(Arrangement::CrossFlow),
        (1..8_u32, mixing()).prop_map(|(passes, mixing)| Arrangement::CrossCounterFlow { passes, mixing }),
        (1..6_u32).prop_map(|shells| Arrangement::ShellAndTube { shells }),
    ]
}

fn falls_beyond_a_maximum(arrangement: Arrangement) -> bool {
    matches!(
        arrangement,
        Arrangement::CrossFlow(Mixing::BothMixed) | Arrangement::CrossCounterFlow { mixing: Mixing::BothMixed, .. }
    )
}

proptest! {
    #[test]
    fn between_parallel_and_counter_flow(
        arrangement in any_arrangement(), ntu in 0.0..40.0_f64, ratio in 0.0..=1.0_f64,
    ) {
        let e = effectiveness(arrangement, ntu, ratio).unwrap();
        let best = effectiveness(Arrangement::CounterFlow, ntu, ratio).unwrap();
        let worst = effectiveness(Arrangement::ParallelFlow, ntu, ratio).unwrap();
        prop_assert!((0.0..=1.0).contains(&e));
        prop_assert!(e <= best + 1e-14 && e >= worst - 1e-14, "{} {} {}", worst, e, best);
    }

    #[test]
    fn rises_with_transfer_units_and_falls_with_capacity_ratio(
        arrangement in any_arrangement(), ntu in 0.0..20.0_f64, ratio in 0.0..0.99_f64, step in 1e-4..1.0_f64,
    ) {
        let e = effectiveness(arrangement, ntu, ratio).unwrap();
        if !falls_beyond_a_maximum(arrangement) {
            prop_assert!(effectiveness(arrangement, ntu + step, ratio).unwrap() >= e - 1e-15);
        }
        let more = (ratio + step).min(1.0);
        prop_assert!(effectiveness(arrangement, ntu, more).unwrap() <= e + 1e-15);
    }
}

/// Cross-flow both unmixed by Bessel functions in 40 digits (mpmath), ε = 1 − e^(−(1+C)N)·(I0(z) + √C·I1(z) −
/// (1 − C)/C·Σ_{n≥2} C^(n/2)·In(z)), z = 2N√C.
#[test]
fn cross_flow_both_unmixed_to_the_last_places() {
    let rows = [
        (0.01, 0.5, 0.009_925_455_999_804_69),
        (0.3, 1e-3, 0.259_148_445_331_802_39),
        (1.0, 1.0, 0.476_222_388_197_391_3),
        (2.0, 0.5, 0.732_409_252_482_147_6),
        (3.7, 0.81, 0.767_034_113_420_479_3),
        (5.0, 0.7, 0.844_482_179_974_855),
        (12.0, 0.95, 0.856_651_032_238_238_8),
        (40.0, 0.3, 0.999_996_803_744_614),
        (40.0, 1.0, 0.910_933_508_159_627_3),
        (150.0, 0.99, 0.958_480_481_943_583_4),
        (500.0, 1.0, 0.974_771_829_287_180_1),
    ];
    for (ntu, ratio, expected) in rows {
        let e = effectiveness(Arrangement::CrossFlow(Mixing::BothUnmixed), ntu, ratio).unwrap();
        assert!((e / expected - 1.0).abs() < 1e-14, "{ntu} {ratio}: {e} for {expected}");
    }
}

/// A case that once rounded to above 1.
#[test]
fn never_above_one() {
    let e = effectiveness(Arrangement::CounterFlow, 39.390_812_263_094_75, 0.014_837_576_798_637_809).unwrap();
    assert_eq!(e, 1.0);
}

proptest! {
    /// Where the curve is not yet flat: its slope divides the rounding of ε.
    #[test]
    fn inverse_returns_the_transfer_units(
        arrangement in any_arrangement(), ntu in 0.0..6.0_f64, ratio in 0.0..=1.0_f64,
    ) {
        let e = effectiveness(arrangement, ntu, ratio).unwrap();
        let slope = (effectiveness(arrangement, ntu + 1e-6, ratio).unwrap() - e) / 1e-6;
        prop_assume!(slope > 1e-4);
        let back = transfer_units(arrangement, e, ratio).unwrap();
        prop_assert!((back - ntu).abs() <= 1e-14 / slope * 10.0 + 1e-14 * ntu, "{} for {}", back, ntu);
    }

    #[test]
    fn without_a_step_at_the_ends_of_the_capacity_ratio(arrangement in any_arrangement(), ntu in 0.01..10.0_f64) {
        for (end, near) in [(0.0, 1e-9), (1.0, 1.0 - 1e-9)] {
            let a = effectiveness(arrangement, ntu, end).unwrap();
            let b = effectiveness(arrangement, ntu, near).unwrap();
            prop_assert!((a - b).abs() < 1e-8, "{} {}", a, b);
        }
        let limit = -(-ntu).exp_m1();
        use Arrangement::{CounterFlow, CrossFlow, ParallelFlow};
        if matches!(arrangement, CounterFlow | ParallelFlow | CrossFlow(_)) {
            prop_assert!((effectiveness(arrangement, ntu, 0.0).unwrap() - limit).abs() < 1e-15);
        }
    }

    /// More passes come closer to counter-flow.
    #[test]
    fn passes_approach_counter_flow(ntu in 0.1..8.0_f64, ratio in 0.0..=1.0_f64) {
        let e = |passes| {
            effectiveness(Arrangement::CrossCounterFlow { passes, mixing: Mixing::BothUnmixed }, ntu, ratio).unwrap()
        };
        let one = effectiveness(Arrangement::CrossFlow(Mixing::BothUnmixed), ntu, ratio).unwrap();
        let best = effectiveness(Arrangement::CounterFlow, ntu, ratio).unwrap();
        prop_assert!((e(1) - one).abs() < 1e-15);
        prop_assert!(e(2) >= e(1) - 1e-15 && e(4) >= e(2) - 1e-15 && e(64) <= best + 1e-14);
        prop_assert!(best - e(64) < 0.01 * best);
    }

    #[test]
    fn duty_and_rating_are_inverse_and_heat_balances(
        arrangement in any_arrangement(), hot in 100.0..3000.0_f64, cold in 100.0..3000.0_f64,
        ntu in 0.05..4.0_f64, hot_in in 350.0..600.0_f64, cold_in in 220.0..340.0_f64,
    ) {
        let ua = ntu * hot.min(cold);
        let d = duty(arrangement, ua, hot, cold, hot_in, cold_in).unwrap();
        prop_assert!((hot * (hot_in - d.hot_out) - d.heat).abs() < 1e-9 * d.heat);
        prop_assert!((cold * (d.cold_out - cold_in) - d.heat).abs() < 1e-9 * d.heat);
        prop_assert!(heat_balance(hot * (hot_in - d.hot_out), cold * (d.cold_out - cold_in)).unwrap().abs() < 1e-9);
        if !falls_beyond_a_maximum(arrangement) && d.effectiveness < 0.98 {
            let r = rating(arrangement, d.heat, hot, cold, hot_in, cold_in).unwrap();
            prop_assert!((r.conductance / ua - 1.0).abs() < 1e-7);
        }
    }

    /// Two ways to the same conductance of a counter-flow exchanger.
    #[test]
    fn log_mean_difference_gives_the_same_conductance(
        hot in 100.0..3000.0_f64, cold in 100.0..3000.0_f64, ntu in 0.05..4.0_f64,
    ) {
        let ua = ntu * hot.min(cold);
        let d = duty(Arrangement::CounterFlow, ua, hot, cold, 450.0, 300.0).unwrap();
        let mean = log_mean_difference(450.0 - d.cold_out, d.hot_out - 300.0).unwrap();
        prop_assert!((d.heat / mean / ua - 1.0).abs() < 1e-9);
    }

    /// Air whose saturation enthalpy is c_p·T: the wet exchanger is the dry one.
    #[test]
    fn wet_with_a_straight_saturation_line_is_dry(
        arrangement in any_arrangement(), air in 0.2..1.0_f64, cold in 200.0..2000.0_f64,
        hot_side in 200.0..3000.0_f64, cold_side in 200.0..3000.0_f64,
    ) {
        let cp = 1010.0;
        let moist = MoistSide {
            dry_air_flow: air, enthalpy_in: cp * 330.0, temperature_in: 330.0, heat_capacity: cp, conductance: hot_side,
        };
        let cooling = ColdSide { capacity_flow: cold, temperature_in: 280.0, conductance: cold_side };
        let wet = wet_duty(arrangement, moist, cooling, |t: f64| Ok(cp * t)).unwrap();
        let ua = overall_conductance(hot_side, cold_side, 0.0).unwrap();
        let dry = duty(arrangement, ua, air * cp, cold, 330.0, 280.0).unwrap();
        prop_assert!((wet.heat / dry.heat - 1.0).abs() < 1e-9, "{:?} {:?}", wet, dry);
        prop_assert!((wet.temperature_out - dry.hot_out).abs() < 1e-7 && (wet.cold_out - dry.cold_out).abs() < 1e-7);
    }

    #[test]
    fn wet_exchanger_conserves_energy_and_transfers_more_than_a_dry_one(
        air in 0.2..1.0_f64, cold in 200.0..2000.0_f64, side in 300.0..3000.0_f64, humidity in 0.014..0.03_f64,
    ) {
        let (hot_in, cold_in, cp) = (303.15, 275.15, 1006.0 + 1860.0 * humidity);
        let moist = MoistSide {
            dry_air_flow: air, enthalpy_in: enthalpy(hot_in, humidity), temperature_in: hot_in, heat_capacity: cp,
            conductance: side,
        };
        let cooling = ColdSide { capacity_flow: cold, temperature_in: cold_in, conductance: side };
        let cross = Arrangement::CrossFlow(Mixing::BothUnmixed);
        let wet = wet_duty(cross, moist, cooling, |t| Ok(saturated(t))).unwrap();
        prop_assert!((air * (moist.enthalpy_in - wet.enthalpy_out) / wet.heat - 1.0).abs() < 1e-9);
        prop_assert!((cold * (wet.cold_out - cold_in) / wet.heat - 1.0).abs() < 1e-9);
        prop_assert!(wet.surface_temperature > cold_in && wet.temperature_out < hot_in);
        prop_assert!(wet.temperature_out >= wet.surface_temperature);
        let dry = duty(cross, side / 2.0, air * cp, cold, hot_in, cold_in).unwrap();
        // Where the surface is well below the dew point everywhere; else parts of it are dry.
        if saturated(wet.surface_temperature + 6.0) < enthalpy(wet.surface_temperature + 6.0, humidity) {
            prop_assert!(wet.heat > dry.heat * 0.999, "{:?} {:?}", wet, dry);
        }
    }

    #[test]
    fn fouling_is_what_was_added(clean in 50.0..5000.0_f64, added in 0.0..0.01_f64) {
        let now = overall_conductance(2.0 * clean, 2.0 * clean, added).unwrap();
        prop_assert!((fouling_resistance(now, clean).unwrap() - added).abs() < 1e-15 + 1e-12 * added);
    }
}

/// J/kg of dry air, ideal, for the tests alone.
fn enthalpy(t: f64, humidity: f64) -> f64 {
    1006.0 * (t - 273.15) + humidity * (2.501e6 + 1860.0 * (t - 273.15))
}

/// Of saturated air at 101 325 Pa by Magnus' formula, for the tests alone.
fn saturated(t: f64) -> f64 {
    let c = t - 273.15;
    let p = 611.2 * (17.62 * c / (243.12 + c)).exp();
    enthalpy(t, 0.622 * p / (101_325.0 - p))
}

#[test]
fn an_inlet_below_the_cold_side_is_refused() {
    let moist = MoistSide {
        dry_air_flow: 0.5,
        enthalpy_in: 30e3,
        temperature_in: 303.15,
        heat_capacity: 1010.0,
        conductance: 800.0,
    };
    let cold = ColdSide { capacity_flow: 500.0, temperature_in: 290.0, conductance: 800.0 };
    let refused = wet_duty(Arrangement::CounterFlow, moist, cold, |t| Ok(saturated(t))).unwrap_err();
    assert_eq!(refused.argument, "inlet enthalpy above that of air saturated at the cold inlet temperature");
}

#[test]
fn refusals_name_argument_value_and_range() {
    let cross = Arrangement::CrossFlow(Mixing::BothUnmixed);
    let both_mixed = Arrangement::CrossFlow(Mixing::BothMixed);
    let refused: Vec<Result<f64, DomainError>> = vec![
        effectiveness(cross, -0.1, 0.5),
        effectiveness(cross, 501.0, 0.5),
        effectiveness(cross, 1.0, 1.01),
        effectiveness(cross, f64::NAN, 0.5),
        effectiveness(Arrangement::ShellAndTube { shells: 0 }, 1.0, 0.5),
        transfer_units(Arrangement::ParallelFlow, 0.51, 1.0),
        transfer_units(both_mixed, 0.6, 1.0),
        transfer_units(cross, 0.99, 1.0),
        transfer_units(cross, -0.01, 1.0),
        effectiveness_from_heat(1e4, 500.0, 300.0, 299.5),
        duty(cross, 100.0, 0.0, 500.0, 400.0, 300.0).map(|d| d.heat),
        heat_balance(0.0, 1.0),
    ];
    let text: Vec<String> = refused.into_iter().map(|r| r.unwrap_err().to_string()).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    exchanger effectiveness: transfer units is -0.1, must be 0 to 500
    exchanger effectiveness: transfer units is 501, must be 0 to 500
    exchanger effectiveness: capacity ratio is 1.01, must be 0 to 1 (the smaller capacity flow over the greater)
    exchanger effectiveness: transfer units is NaN, must be 0 to 500
    exchanger effectiveness: number of passes is 0, must be 1 to 64
    transfer units from effectiveness: effectiveness is 0.51, must be below the arrangement's highest at this capacity ratio
    transfer units from effectiveness: effectiveness is 0.6, must be below the arrangement's highest at this capacity ratio
    transfer units from effectiveness: effectiveness is 0.99, must be below the arrangement's highest at this capacity ratio
    transfer units from effectiveness: effectiveness is -0.01, must be 0 to below 1
    effectiveness from heat: hot minus cold inlet is 0.5, must be at least 1 K
    exchanger duty: hot capacity flow is 0, must be above 0 W/K
    heat balance: heat of the hot side is 0, must be a finite number other than 0 W
    ");
    assert_eq!(exchanger::MAX_TRANSFER_UNITS, 500.0);
}
