//! Formulas of the pack: balances close, shares stay in their bounds, inverses give back what went in.

#![allow(clippy::disallowed_methods)]

use proptest::prelude::*;
use thermo::capacity::cooling;
use thermo::coast_down::time;
use thermo::constant_heat_capacity::{compression_outlet, expansion_outlet, pressure_ratio};
use thermo::contaminant::{Stretch, exposure};
use thermo::exchanger::scaling::{Flows, Resistances, at_reference_flows, from_flows};
use thermo::exchanger::stations::{flow_from_heat, rating_of_sides, side, weighted_heat};
use thermo::exchanger::{Arrangement, Mixing};
use thermo::fan::{self, Point};
use thermo::flow_resistance::{corrected_drop, drop_at_reference_flow, flow, icing_index};
use thermo::isentropic::{compression_efficiency, expansion_efficiency, temperature_ratio};
use thermo::mixing::{added_flow, manifold_balance, share_by_enthalpy};
use thermo::moisture::{
    Sampling, coldest_surface, dew_point_margin, extraction_efficiency, free_water, icing_margin, left_after_drain,
    removed, seen,
};
use thermo::saturation::Condensate::Equilibrium;
use thermo::shaft::{Powers, balance};
use thermo::speed_work::{law_speed, work_per_speed_squared};
use thermo::stream::{Air, Stream, mixed};

fn air() -> impl Strategy<Value = Air<f64>> {
    (235.0..480.0, 0.0..0.03).prop_map(|(temperature, humidity_ratio)| Air {
        temperature,
        pressure: 1.1e5,
        humidity_ratio,
    })
}

fn stream() -> impl Strategy<Value = Stream<f64>> {
    (0.01..2.0, air()).prop_map(|(flow, air)| Stream { flow, air })
}

fn near(a: f64, b: f64, tolerance: f64) -> bool {
    (a - b).abs() <= tolerance * a.abs().max(b.abs()).max(1e-12)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Mass, water and energy before and after; the state lies between the streams' enthalpies; it balances itself.
    #[test]
    fn mixing_closes(streams in prop::collection::vec(stream(), 1..5)) {
        let m = mixed(&streams, 1.1e5, Equilibrium).unwrap();
        let sum = |f: &dyn Fn(&Stream<f64>) -> f64| streams.iter().map(f).sum::<f64>();
        prop_assert!(near(m.flow, sum(&|s| s.flow), 1e-12));
        let water = sum(&|s| s.dry_air_flow().unwrap() * s.air.humidity_ratio);
        prop_assert!(near(m.dry_air_flow * m.air.humidity_ratio, water, 1e-12));
        let h: Vec<f64> = streams.iter().map(|s| s.air.enthalpy(Equilibrium).unwrap()).collect();
        let (low, high) = h.iter().fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(*x), b.max(*x)));
        prop_assert!(m.enthalpy >= low - 1e-6 && m.enthalpy <= high + 1e-6);
        let water = m.mixture.vapour + m.mixture.water + m.mixture.ice;
        prop_assert!(near(water, m.air.humidity_ratio, 1e-9), "{m:?}");
        let residual = manifold_balance(&streams, m.air, Equilibrium).unwrap();
        prop_assert!(residual.temperature.abs() < 1e-9 && residual.power.abs() < 1e-3, "{residual:?}");
    }

    /// Cold and warm wet air that meet on the plateau: the balance closes there, and stays open by what is missing.
    #[test]
    fn mixing_on_the_plateau_closes(cold in 255.0..268.0, w in 0.02..0.03, extra in 0.0..1e4) {
        let at = |flow, temperature| Stream { flow, air: Air { temperature, pressure: 1e5, humidity_ratio: w } };
        let (low, high) = (at(1.0, cold), at(1.0, 283.0));
        let h = |s: &Stream<f64>| s.air.enthalpy(Equilibrium).unwrap();
        let plateau = |share: f64| at(1.0, 273.16 - (1.0 - share) * 1e-7);
        let (frozen, thawed) = (h(&plateau(0.0)), h(&plateau(1.0)));
        let flow = (0.5 * (frozen + thawed) - h(&low)) / (h(&high) - 0.5 * (frozen + thawed));
        let streams = [low, at(flow, 283.0)];
        let m = mixed(&streams, 1e5, Equilibrium).unwrap();
        prop_assert!(m.mixture.is_on_plateau() && m.air.temperature == 273.16, "{m:?}");
        prop_assert_eq!(manifold_balance(&streams, m.air, Equilibrium).unwrap().enthalpy, 0.0);
        // Streams warmer, colder than the plateau: the residual counts from its end.
        let warm = [at(1.0, 274.0 + extra / 1e3)];
        let residual = manifold_balance(&warm, m.air, Equilibrium).unwrap().enthalpy;
        prop_assert!(near(residual, thawed - h(&warm[0]), 1e-9));
        let frost = [at(1.0, 272.0 - extra / 1e3)];
        let residual = manifold_balance(&frost, m.air, Equilibrium).unwrap().enthalpy;
        prop_assert!((residual - (frozen - h(&frost[0]))).abs() < 0.01, "{residual}");
    }

    /// The share of the added stream comes back from the mixture, and its flow from the share.
    #[test]
    fn shares_come_back(base in 0.1..2.0, added in 0.01..2.0, w in 0.0..0.004) {
        let at = |flow, temperature| Stream { flow, air: Air { temperature, pressure: 1e5, humidity_ratio: w } };
        let (cold, hot) = (at(base, 285.0), at(added, 450.0));
        let m = mixed(&[cold, hot], 1e5, Equilibrium).unwrap();
        let share = share_by_enthalpy(cold.air, hot.air, m.air, Equilibrium).unwrap();
        prop_assert!(near(share, added / (base + added), 1e-9));
        prop_assert!(near(added_flow(base, share).unwrap(), added, 1e-8));
    }

    #[test]
    fn capacity_splits(supply in stream(), cabin in air()) {
        let q = cooling(supply, cabin, Equilibrium).unwrap();
        prop_assert!(near(q.total, q.sensible + q.latent, 1e-9));
        prop_assert!((q.sensible >= 0.0) == (cabin.temperature >= supply.air.temperature), "{q:?}");
        // Air of the cabin's state takes up nothing.
        let same = cooling(Stream { flow: supply.flow, air: cabin }, cabin, Equilibrium).unwrap();
        prop_assert!(same.total == 0.0);
        // Drier air of the same temperature takes up vapour and nothing else; what a cabin had of ice would cost it.
        let free = free_water(cabin.temperature, cabin.pressure, cabin.humidity_ratio, Equilibrium).unwrap();
        let dry = Air { humidity_ratio: 0.0, ..cabin };
        let latent = cooling(Stream { flow: supply.flow, air: dry }, cabin, Equilibrium).unwrap();
        prop_assert!(latent.sensible == 0.0 && (latent.latent >= 0.0 || free > 0.0));
    }

    #[test]
    fn water_adds_up(w in 0.004..0.03, t in 275.0..300.0, share in 0.0..1.0, flow in 0.1..1.0) {
        let p = 3.5e5;
        let free = free_water(t, p, w, Equilibrium).unwrap();
        prop_assert!((0.0..=w).contains(&free));
        prop_assert!((free > 0.0) == (dew_point_margin(t, p, w, Equilibrium).unwrap() < 0.0));
        let drain = share * free * flow / (1.0 + w);
        let left = left_after_drain(w, drain, flow).unwrap();
        prop_assert!(near(removed(flow, w, left).unwrap(), drain, 1e-9) || drain < 1e-12);
        match extraction_efficiency(drain, flow, w, t, p, Equilibrium) {
            Ok(eta) => prop_assert!(near(eta, share, 1e-9)),
            Err(_) => prop_assert!(free == 0.0),
        }
        let line = seen(Sampling::Total, w, t, p, Equilibrium, 0.97).unwrap();
        prop_assert!(near(line.vapour + free, w, 1e-12));
        let mirror = seen(Sampling::Vapour, line.vapour, t, p, Equilibrium, 0.97).unwrap();
        prop_assert!(mirror.total.is_none_or(|total| total == w && free == 0.0));
    }

    #[test]
    fn ice_needs_cold_and_water(t in 235.0..300.0, w in 1e-5..0.02) {
        let margin = icing_margin(t, 1.1e5, w).unwrap();
        prop_assert!(margin >= t - 273.15 - 1e-9);
        if margin < -0.01 {
            prop_assert!(t < 273.15 && free_water(t, 1.1e5, w, Equilibrium).unwrap() > 0.0);
        } else if margin > 0.01 {
            prop_assert!(t > 273.15 || free_water(t, 1.1e5, w, Equilibrium).unwrap() == 0.0);
        }
        let surface = coldest_surface(t, 310.0, 0.5).unwrap();
        prop_assert!(surface > t && surface < 310.0);
    }

    #[test]
    fn shaft_closes(turbines in 1e3..1e5_f64, compressor in 0.0..1e5_f64, fan in 0.0..1e4_f64, motor in 0.0..1e4_f64) {
        let b = balance(Powers { turbines, compressor, fan, motor }).unwrap();
        prop_assert!(near(b.residual + compressor + fan, turbines + motor, 1e-12));
        prop_assert!((b.share + b.mechanical_efficiency - 1.0).abs() < 1e-9);
    }

    #[test]
    fn efficiencies_come_back(t in 200.0..500.0, ratio in 1.1..8.0, eta in 0.2..1.0, gamma in 1.2..1.5) {
        let hot = compression_outlet(t, ratio, eta, gamma).unwrap();
        prop_assert!(near(compression_efficiency(t, hot, ratio, gamma).unwrap(), eta, 1e-9));
        let cold = expansion_outlet(t, ratio, eta, gamma).unwrap();
        prop_assert!(near(expansion_efficiency(t, cold, ratio, gamma).unwrap(), eta, 1e-9));
        prop_assert!(near(pressure_ratio(temperature_ratio(ratio, gamma).unwrap(), gamma).unwrap(), ratio, 1e-12));
    }

    #[test]
    fn laws_come_back(m in 0.05..3.0, k in 10.0..1e4, n in 1.0..2.0, reference in 0.05..3.0) {
        let drop = corrected_drop(m, k, n).unwrap();
        prop_assert!(near(flow(drop, k, n).unwrap(), m, 1e-12));
        prop_assert!(near(drop_at_reference_flow(drop, m, reference, n).unwrap(),
            corrected_drop(reference, k, n).unwrap(), 1e-12));
        let clean = corrected_drop(reference, k, n).unwrap();
        prop_assert!(icing_index(drop, m, clean, reference, n).unwrap().abs() < 1e-12);
        prop_assert!(near(icing_index(4.0 * drop, m, clean, reference, n).unwrap(), 3.0, 1e-11));
        let speed = 1000.0 * m;
        let coefficient = work_per_speed_squared(drop, speed).unwrap();
        prop_assert!(near(law_speed(drop, coefficient, 2.0 * speed).unwrap().measured_over_law, 2.0, 1e-12));
    }

    /// There and back by the fan laws; the efficiency stays.
    #[test]
    fn fans_come_back(flow in 0.1..3.0, rise in 100.0..5e3, power in 1e3..1e4, speed in 1e3..5e3, rho in 0.8..1.4) {
        let point = Point { volume_flow: flow, pressure_rise: rise, power, speed, density: rho };
        let there = fan::reduced(point, 2500.0, 1.225).unwrap();
        let back = fan::reduced(there, speed, rho).unwrap();
        prop_assert!(near(back.volume_flow, flow, 1e-12) && near(back.power, power, 1e-12));
        let eta = |p: Point<f64>| fan::efficiency(p.volume_flow, p.pressure_rise, p.power).unwrap();
        prop_assert!(near(eta(point), eta(there), 1e-12));
    }

    /// Ram flow found from the heat gives that heat; the rating lies within the inlets.
    #[test]
    fn exchangers_close(m in 0.2..0.6, t_out in 375.0..400.0, ram_out in 372.0..410.0) {
        let at = |temperature, pressure| Air { temperature, pressure, humidity_ratio: 0.015 };
        let hot = side(Stream { flow: m, air: at(468.0, 2.6e5) }, at(t_out, 2.5e5), Equilibrium).unwrap();
        let ram = flow_from_heat(hot.heat, at(354.0, 1e5), at(ram_out, 1e5), Equilibrium).unwrap();
        let cold = side(Stream { flow: ram, air: at(354.0, 1e5) }, at(ram_out, 1e5), Equilibrium).unwrap();
        prop_assert!(near(hot.heat, cold.heat, 1e-12));
        prop_assert!(near(weighted_heat(hot.heat, 1.0, cold.heat, 3.0).unwrap(), hot.heat, 1e-12));
        let cross = Arrangement::CrossFlow(Mixing::BothUnmixed);
        if let Ok(r) = rating_of_sides(cross, hot.heat, hot, cold, 468.0, 354.0) {
            prop_assert!((0.0..1.0).contains(&r.effectiveness) && r.conductance > 0.0);
        }
    }

    /// More flow conducts more; at the reference nothing changes.
    #[test]
    fn conductance_rises_with_flow(h in 0.1..1.0, c in 0.2..3.0, x in 0.3..0.5, y in 0.3..0.5) {
        let here = Flows { hot: h, cold: c };
        prop_assert!(near(at_reference_flows(800.0, here, here, x, y).unwrap(), 800.0, 1e-15));
        let more = Flows { hot: 1.2 * h, cold: c };
        prop_assert!(at_reference_flows(800.0, here, more, x, y).unwrap() > 800.0);
        let learned = Resistances { hot: 5e-4, cold: 6e-4, wall: 1e-4 };
        prop_assert!(from_flows(learned, more).unwrap() > from_flows(learned, here).unwrap());
    }

    #[test]
    fn mean_is_within(shares in prop::collection::vec((0.0..1e-6, 1.0..1e4), 1..8)) {
        let all: Vec<_> = shares.iter().map(|&(share, seconds)| Stretch { share, seconds }).collect();
        let e = exposure(&all).unwrap();
        let least = shares.iter().fold(1.0_f64, |a, s| a.min(s.0));
        prop_assert!(e.mean >= least * (1.0 - 1e-12) && e.mean <= e.peak * (1.0 + 1e-12));
    }

    /// A decay of known time constant, sampled anywhere: right to the resolution it states, and better.
    #[test]
    fn coast_down_of_a_decay(tau in 3.0..30.0_f64, period in 0.05..1.0, phase in 0.0..1.0) {
        let times: Vec<f64> = (0..2000).map(|i| (f64::from(i) + phase) * period).collect();
        let speeds: Vec<f64> = times.iter().map(|t| 4000.0 * (-t / tau).exp()).collect();
        let result = time(&times, &speeds, 4000.0, (0.9, 0.1));
        let expected = tau * 9.0_f64.ln();
        match result {
            Ok(c) => {
                prop_assert!((c.seconds - expected).abs() <= c.resolution && near(c.resolution, period, 1e-9));
                prop_assert!((c.seconds - expected).abs() <= 0.3 * period * period / tau);
            }
            // The first sample lies below 90 %, or the last above 10 %.
            Err(_) => prop_assert!(speeds[0] < 3600.0 || speeds[1999] >= 400.0),
        }
    }
}

/// Speed held before the coast-down, noise at both levels, a record that ends too soon.
#[test]
fn coast_downs_that_are_no_decay() {
    let at = |speeds: &[f64]| {
        let times: Vec<f64> = (0..speeds.len()).map(|i| i as f64).collect();
        time(&times, speeds, 1000.0, (0.9, 0.1))
    };
    // The start is the last fall through 900 before the first through 100.
    let c = at(&[1000.0, 890.0, 910.0, 890.0, 500.0, 110.0, 90.0, 110.0, 90.0]).unwrap();
    assert!((c.seconds - 3.0).abs() < 1e-12, "{c:?}");
    assert_eq!(at(&[1000.0, 800.0, 500.0, 200.0]).unwrap_err().argument, "last speed");
    assert_eq!(at(&[800.0, 500.0, 50.0]).unwrap_err().argument, "first speed");
    assert_eq!(at(&[]).unwrap_err().argument, "last speed");
    assert_eq!(at(&[1000.0, f64::NAN, 50.0]).unwrap_err().argument, "speed");
    assert_eq!(time(&[0.0, 0.0], &[1000.0, 50.0], 1000.0, (0.9, 0.1)).unwrap_err().argument, "time");
    assert_eq!(time(&[0.0], &[1000.0, 50.0], 1000.0, (0.9, 0.1)).unwrap_err().argument, "number of speeds");
}

/// A rise of pressure is no expansion, in none of a turbine's figures.
#[test]
fn a_turbine_expands() {
    use thermo::machine::{State, turbine};
    let (low, high) = (State::new(313.0, 1.1e5), State::new(290.0, 3.5e5));
    for refused in [
        turbine::specific_work(low, high, 0.0, Equilibrium),
        turbine::power(0.5, low, high, 0.0, Equilibrium),
        turbine::wet_efficiency(low, high, 0.0, Equilibrium),
        turbine::dry_referenced_efficiency(low, high, 0.0, Equilibrium),
        turbine::dry_air_rated_temperature(low, high, 0.0, Equilibrium),
    ] {
        assert_eq!(refused.unwrap_err().argument, "inlet over outlet pressure");
    }
    assert!(turbine::dry_efficiency(low, high, 0.0).is_err());
}
