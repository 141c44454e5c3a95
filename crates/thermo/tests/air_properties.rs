//! What must hold of air whatever the figures: zeros, round trips, order, bounds, the second law.

#![allow(clippy::disallowed_methods)]

mod draw;

use draw::Draw;
use thermo::humid_air::humidity::{
    dew_point, humidity_ratio_from_relative_humidity, relative_humidity, saturation_humidity_ratio,
};
use thermo::humid_air::mixture::{
    mixture_enthalpy, mixture_entropy, temperature_from_enthalpy, temperature_from_entropy,
};
use thermo::humid_air::properties::{density, enthalpy, entropy, heat_capacity, properties};
use thermo::humid_air::wet_bulb::{humidity_ratio_from_wet_bulb, wet_bulb};
use thermo::machine::turbine::Reference;
use thermo::machine::{State, compressor, turbine};
use thermo::saturation::Condensate::{self, Equilibrium, Supercooled};
use thermo::saturation::{Phase, condensed_enthalpy, saturation_pressure, saturation_temperature};
use thermo::total_static::{from_probe, from_total};
use thermo::{dry_air, isentropic};
use units::{Dual, Real};

const TRIPLE: f64 = 273.16;

/// 233…523 K, 0.2…6 bar, humidity up to saturation or 0.03.
fn unsaturated(draw: &mut Draw) -> (f64, f64, f64) {
    let (t, p) = (233.15 + 290.0 * draw.share(), 2e4 * 30f64.powf(draw.share()));
    let most = saturation_humidity_ratio(t, p, Equilibrium).unwrap_or(0.03).min(0.03);
    (t, p, most * draw.share())
}

#[track_caller]
fn close(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} and {b} part by {:e}", a - b);
}

#[test]
fn zeros() {
    close(enthalpy(273.15, 101_325.0, 0.0).unwrap(), 0.0, 1e-4);
    close(entropy(273.15, 101_325.0, 0.0).unwrap(), 0.0, 1e-6);
    close(condensed_enthalpy(TRIPLE, Phase::Water).unwrap(), 0.0, 1.0);
    // One gram more water at the triple point is one gram of liquid: 0 J and 0 J/K, and the work of its volume.
    let h = |w| mixture_enthalpy(TRIPLE, 1e5, w, Equilibrium).unwrap();
    close((h(0.02) - h(0.019)) / 0.001, 1.0e-3 * 1e5, 2.0);
    let s = |w| mixture_entropy(TRIPLE, 1e5, w, Equilibrium).unwrap();
    close((s(0.02) - s(0.019)) / 0.001, 0.0, 0.01);
}

/// IAPWS-95 and IAPWS R10-06 (CoolProp 8.0.0, package iapws 1.5.5): enthalpy and entropy of vaporisation and fusion.
#[test]
fn water_and_ice_against_iapws() {
    let s = |t, w| mixture_entropy(t, 2e5, w, Equilibrium).unwrap();
    for (t, water) in [(278.15, 76.254), (298.15, 367.225), (323.15, 703.809), (353.15, 1075.578)] {
        close((s(t, 1.6) - s(t, 1.5)) / 0.1, water, 0.3);
    }
    for (t, ice) in [(200.0, -1787.043), (223.15, -1606.469), (253.15, -1374.556), (273.15, -1220.789)] {
        close((s(t, 0.06) - s(t, 0.05)) / 0.01, ice, 1.4);
    }
    let fusion = -condensed_enthalpy(TRIPLE, Phase::Ice).unwrap();
    close(fusion, 333_400.0, 100.0);
}

/// dh = T ds + v dp, to rounding in the gas; beside condensate to the 0.1 % by which enthalpies and pressures of
/// Hyland and Wexler agree with each other.
#[test]
fn first_and_second_law_agree() {
    let mut draw = Draw(1);
    for _ in 0..300 {
        let (t, p, w) = unsaturated(&mut draw);
        let [td, pd] = Dual::variables([t, p]);
        let wd = Dual::<2>::of(w);
        let (h, s) = (enthalpy(td, pd, wd).unwrap(), entropy(td, pd, wd).unwrap());
        close(h.partials[0], t * s.partials[0], 1e-8 * h.partials[0]);
        let volume = (1.0 + w) / density(t, p, w).unwrap();
        close(h.partials[1] - t * s.partials[1], volume, 1e-9 * volume);
        close(h.partials[0] / (1.0 + w), heat_capacity(t, p, w).unwrap(), 1e-9 * h.partials[0]);
        let t = 235.0 + 60.0 * draw.share();
        let td = Dual::<1>::variable(t, 0);
        for condensate in [Equilibrium, Supercooled] {
            let h = mixture_enthalpy(td, Dual::of(p), Dual::of(0.1), condensate).unwrap();
            let s = mixture_entropy(td, Dual::of(p), Dual::of(0.1), condensate).unwrap();
            close(h.partials[0] / (t * s.partials[0]), 1.0, 0.006);
        }
    }
}

#[test]
fn round_trips() {
    let mut draw = Draw(2);
    for i in 0..1000 {
        let (t, p, w) = unsaturated(&mut draw);
        let w = w.max(1e-6);
        let condensate = if i % 2 == 0 { Equilibrium } else { Supercooled };
        if let Ok(dew) = dew_point(p, w, condensate) {
            let back = saturation_humidity_ratio(dew, p, condensate).unwrap();
            close(back / w, 1.0, 1e-11);
            if let Ok(rh) = relative_humidity(t, p, w, condensate)
                && rh <= 1.0
            {
                let back = humidity_ratio_from_relative_humidity(t, p, rh, condensate).unwrap();
                close(back / w, 1.0, 1e-12);
                assert!(dew <= t + 1e-9);
            }
        }
        if let Ok(wet) = wet_bulb(t, p, w, condensate) {
            let back = humidity_ratio_from_wet_bulb(t, wet, p, condensate).unwrap();
            close(back, w, 1e-12 + 1e-9 * w);
        }
        close(dry_air::temperature_from_enthalpy(dry_air::enthalpy(t, p).unwrap(), p).unwrap(), t, 1e-9);
        close(dry_air::temperature_from_entropy(dry_air::entropy(t, p).unwrap(), p).unwrap(), t, 1e-9);
        let p2 = p * (0.3 + draw.share());
        let t2 = isentropic::temperature(t, p, p2, w).unwrap();
        close(isentropic::pressure(t, p, t2, w).unwrap() / p2, 1.0, 1e-11);
        let phase = if i % 2 == 0 { Phase::Ice } else { Phase::Water };
        let t = 240.0 + 33.0 * draw.share();
        close(saturation_temperature(saturation_pressure(t, phase).unwrap(), phase).unwrap(), t, 1e-9);
    }
}

/// Gas, fog, ice and the plateau: any amount of water at any temperature.
#[test]
fn temperature_from_enthalpy_and_entropy_everywhere() {
    let mut draw = Draw(3);
    let mut plateau = 0;
    for i in 0..1000 {
        let (t, p, w) = (235.0 + 120.0 * draw.share(), 2e4 * 30f64.powf(draw.share()), 0.06 * draw.share());
        let condensate = if i % 3 == 0 { Supercooled } else { Equilibrium };
        let Ok(h) = mixture_enthalpy(t, p, w, condensate) else { continue };
        let s = mixture_entropy(t, p, w, condensate).unwrap();
        for m in [temperature_from_enthalpy(h, p, w, condensate), temperature_from_entropy(s, p, w, condensate)] {
            let m = m.unwrap();
            close(m.temperature, t, 2e-9);
            close(m.vapour + m.water + m.ice, w, 1e-12);
            assert!(m.vapour >= 0.0 && m.water >= 0.0 && m.ice >= 0.0, "{m:?}");
        }
        // Any enthalpy between the ends of the plateau, by its share.
        let ends = [TRIPLE - 1e-9, TRIPLE].map(|t| mixture_enthalpy(t, p, w, Equilibrium).unwrap());
        let share = draw.share();
        if ends[1] - ends[0] > 10.0 && share > 0.0 {
            let m = temperature_from_enthalpy(ends[1] + (ends[0] - ends[1]) * share, p, w, Equilibrium).unwrap();
            assert!(m.temperature == TRIPLE && m.is_on_plateau(), "{m:?}");
            close(m.ice / (m.ice + m.water), share, 1e-3);
            plateau += 1;
        }
    }
    assert!(plateau > 300, "{plateau}");
}

#[test]
fn dew_point_below_wet_bulb_below_dry_bulb() {
    let mut draw = Draw(4);
    for _ in 0..1000 {
        let (t, p, w) = unsaturated(&mut draw);
        for condensate in [Equilibrium, Supercooled] {
            let (Ok(dew), Ok(wet)) = (dew_point(p, w, condensate), wet_bulb(t, p, w, condensate)) else { continue };
            assert!(dew <= wet + 1e-8 && wet <= t + 1e-8, "{dew} {wet} {t} at {p} Pa, {w}, {condensate:?}");
        }
    }
    // Saturated: all three are one.
    let w = saturation_humidity_ratio(300.0, 1e5, Equilibrium).unwrap();
    close(dew_point(1e5, w, Equilibrium).unwrap(), 300.0, 1e-9);
    close(wet_bulb(300.0, 1e5, w, Equilibrium).unwrap(), 300.0, 1e-9);
}

/// Enthalpy and entropy rise with temperature through all phases; saturation rises with temperature and falls with
/// pressure; what is drier has the lower dew point.
#[test]
fn monotony() {
    let mut draw = Draw(5);
    for _ in 0..12 {
        let (p, w) = (2e4 * 30f64.powf(draw.share()), 0.06 * draw.share());
        let mut last = [f64::NEG_INFINITY; 3];
        for i in 0..800 {
            let t = 200.0 + 0.25 * f64::from(i);
            let h = mixture_enthalpy(t, p, w, Equilibrium).unwrap();
            let s = mixture_entropy(t, p, w, Equilibrium).unwrap();
            let saturated = saturation_humidity_ratio(t, p, Equilibrium).unwrap_or(f64::MAX);
            assert!(h > last[0] && s > last[1] && (saturated > last[2] || saturated == f64::MAX), "{t} {p} {w}");
            last = [h, s, saturated];
            let denser = saturation_humidity_ratio(t, p * 1.01, Equilibrium).unwrap_or(f64::MAX);
            assert!(denser < saturated || saturated == f64::MAX);
        }
        let mut last = 0.0;
        for i in 1..400 {
            let dew = dew_point(p, 1e-5 * 1.02f64.powi(i), Equilibrium).unwrap();
            assert!(dew > last, "{dew} {last} at {p}");
            last = dew;
        }
    }
}

/// Entropy never falls across an adiabatic machine, and stays where the efficiency is 1.
#[test]
fn second_law_across_machines() {
    let mut draw = Draw(6);
    for i in 0..600 {
        let (t, p, w) = unsaturated(&mut draw);
        let eta = if i % 5 == 0 { 1.0 } else { 0.6 + 0.4 * draw.share() };
        let inlet = State::new(t, p);
        let p2 = p * (1.05 + 2.0 * draw.share());
        let out = State::new(compressor::outlet_temperature(inlet, p2, w, eta).unwrap(), p2);
        let gain = entropy(out.temperature, p2, w).unwrap() - entropy(t, p, w).unwrap();
        assert!(gain >= -1e-7 && (eta < 1.0 || gain < 1e-7), "{gain} at {eta}");
        close(compressor::efficiency(inlet, out, w).unwrap(), eta, 1e-9);

        let p2 = (p / (1.05 + 3.0 * draw.share())).max(5e3);
        let w = 0.02 * draw.share();
        let condensate = if i % 2 == 0 { Equilibrium } else { Supercooled };
        let (Ok(s1), true) = (mixture_entropy(t, p, w, condensate), p2 < p) else { continue };
        let Ok(m) = turbine::outlet(inlet, p2, w, eta, condensate) else { continue };
        if m.is_on_plateau() {
            let ends = turbine::efficiency_interval(inlet, State::new(m.temperature, p2), w, Reference::Wet, 0.1);
            let ends = ends.unwrap();
            assert!(ends.low <= eta && eta <= ends.high, "{ends:?} {eta}");
            continue;
        }
        let gain = mixture_entropy(m.temperature, p2, w, condensate).unwrap() - s1;
        assert!(gain >= -1e-6 && (eta < 1.0 || gain < 1e-6), "{gain} at {eta}");
        let back = turbine::wet_efficiency(inlet, State::new(m.temperature, p2), w, condensate).unwrap();
        close(back, eta, 1e-8);
    }
}

/// In dry air the three efficiencies are one, the dry-air-rated temperature is the outlet's; on a humid day the wet and
/// the dry-referenced one are some three points apart.
#[test]
fn three_efficiencies() {
    let (inlet, outlet) = (State::new(313.15, 350e3), State::new(245.0, 110e3));
    let dry = turbine::dry_efficiency(inlet, outlet, 0.0).unwrap();
    close(turbine::wet_efficiency(inlet, outlet, 0.0, Equilibrium).unwrap(), dry, 1e-9);
    close(turbine::dry_referenced_efficiency(inlet, outlet, 0.0, Equilibrium).unwrap(), dry, 1e-9);
    close(turbine::dry_air_rated_temperature(inlet, outlet, 0.0, Equilibrium).unwrap(), 245.0, 1e-8);

    let outlet = State::new(264.5, 110e3);
    let wet = turbine::wet_efficiency(inlet, outlet, 0.012, Supercooled).unwrap();
    let referenced = turbine::dry_referenced_efficiency(inlet, outlet, 0.012, Supercooled).unwrap();
    assert!(referenced - wet > 0.02 && referenced - wet < 0.06, "{wet} {referenced}");
    let exactly = State::new(TRIPLE, 110e3);
    assert_eq!(turbine::wet_efficiency(inlet, exactly, 0.012, Equilibrium).unwrap_err().argument, "outlet temperature");
    let away = turbine::efficiency_interval(inlet, outlet, 0.012, Reference::Dry, 0.5).unwrap();
    assert_eq!(away.low, away.high);
}

#[test]
fn total_and_static() {
    let mut draw = Draw(8);
    let mut fast = 0;
    for _ in 0..600 {
        let (t, p, w) = unsaturated(&mut draw);
        let (t, p) = (t + 20.0, p.max(5e4));
        let area = 0.005;
        let flow = density(t, p, w).unwrap() * area * 300.0 * draw.share();
        let Ok(m) = from_total(t, p, flow, area, w) else {
            fast += 1;
            continue;
        };
        assert!(m.mach < 1.0 && m.static_pressure <= p && m.static_temperature <= t);
        close(m.total_pressure / p, 1.0, 1e-9);
        let air = properties(m.static_temperature, m.static_pressure, w).unwrap();
        let kinetic = 0.5 * m.velocity * m.velocity;
        close(enthalpy(t, p, w).unwrap(), air.enthalpy + kinetic * (1.0 + w), 1e-5 * kinetic + 1e-4);
        close(air.density * m.velocity * area / flow, 1.0, 1e-9);
        // A probe that recovers a part of the rise leads back to the same totals.
        let r = 0.6 + 0.4 * draw.share();
        let probe = m.static_temperature + r * (t - m.static_temperature);
        let back = from_probe(probe, m.static_pressure, flow, area, r, w).unwrap();
        close(back.total_temperature, t, 1e-6);
        close(back.total_pressure / p, 1.0, 1e-7);
        close(back.mach, m.mach, 1e-7);
    }
    assert!(fast > 20 && fast < 300, "{fast} choked");
    let still = from_probe(300.0, 1e5, 0.0, 0.01, 0.9, 0.0).unwrap();
    assert!(still.mach == 0.0 && still.total_pressure == 1e5);
}

/// Supercooled water holds more vapour than ice: 3 % at −3 °C, 21 % at −20 °C.
#[test]
fn supercooled_and_ice_must_be_told_apart() {
    let w = |t: f64, c: Condensate| saturation_humidity_ratio(t, 1e5, c).unwrap();
    close(w(270.15, Supercooled) / w(270.15, Equilibrium), 1.03, 0.005);
    close(w(253.15, Supercooled) / w(253.15, Equilibrium), 1.21, 0.01);
    close(w(280.0, Supercooled), w(280.0, Equilibrium), 0.0);
}

/// Over the whole nominal range: what is returned is a gas; what is refused names the humidity. Dry air is never refused.
#[test]
fn no_state_is_returned_that_no_gas_has() {
    let mut draw = Draw(9);
    let (mut kept, mut refused) = (0, 0);
    for i in 0..20_000 {
        let mut log = |low: f64, high: f64| low * (high / low).powf(draw.share());
        let (t, p, w) = (log(150.0, 1000.0), log(100.0, 2e6), if i % 8 == 0 { 0.0 } else { log(1e-6, 10.0) });
        match properties(t, p, w) {
            Ok(air) => {
                kept += 1;
                let (ok, cp) = (air.density > 0.0 && air.heat_capacity_ratio > 1.0, air.heat_capacity);
                let ideal = p * (1.0 + w) / (287.05 + 461.52 * w) / t;
                assert!(ok && cp > 900.0 && cp < 4500.0 && (air.density / ideal - 1.0).abs() < 0.2, "{t} {p} {w}");
            }
            Err(e) => {
                refused += 1;
                assert!(e.argument == "humidity ratio" && e.value == w && w > 0.0, "{e} at {t} {p}");
            }
        }
    }
    assert!(kept > 15_000 && refused > 500, "{kept} kept, {refused} refused");
    // What the range is for: -40…+250 °C, 0.2…6 bar, w to 0.03; saturated air up to w 0.34.
    for (t, p, w) in
        [(233.15, 6e5, 0.03), (233.15, 2e4, 0.03), (523.15, 6e5, 0.03), (200.0, 1e5, 0.03), (233.15, 8e5, 0.03)]
    {
        assert!(properties(t, p, w).is_ok(), "{t} {p} {w}");
    }
    for i in 0..2000 {
        let (t, p) = (150.0 + 323.0 * draw.share(), 100.0 * 2e4f64.powf(draw.share()));
        if let Ok(w) = saturation_humidity_ratio(t, p, Equilibrium)
            && w <= 0.34
        {
            assert!(properties(t, p, w).is_ok(), "{i}: {t} {p} {w}");
        }
    }
    for (t, p, w) in [(150.0, 2e6, 0.5), (230.0, 2e6, 0.5), (280.0, 2e6, 2.0), (150.0, 6e5, 0.03)] {
        assert_eq!(density(t, p, w).unwrap_err().argument, "humidity ratio");
    }
}

/// Where the saturation curve ends the enthalpy does not jump: beyond, vapour that may condense is refused.
#[test]
fn above_the_end_of_the_saturation_curve() {
    let h = |t: f64, w: f64| mixture_enthalpy(t, 2e6, w, Equilibrium);
    // Nearly steam, condensing or not.
    for t in [473.0, 473.2] {
        assert_eq!(h(t, 10.0).unwrap_err().argument, "humidity ratio");
    }
    let dry = h(473.15 + 1e-6, 0.3).unwrap();
    close(h(473.15, 0.3).unwrap(), dry, 0.1);
    assert!(temperature_from_enthalpy(28.2e6, 2e6, 10.0, Equilibrium).is_err());
}
