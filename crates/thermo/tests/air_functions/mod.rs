//! Every function of air, once, over the same eight arguments: what derivatives, odd inputs and bits are tried on.

use thermo::DomainError;
use thermo::humid_air::humidity::{
    dew_point, enhancement_factor, humidity_ratio_from_dew_point, humidity_ratio_from_relative_humidity,
    relative_humidity, saturation_humidity_ratio,
};
use thermo::humid_air::mixture::{
    Mixture, equilibrium, mixture_enthalpy, mixture_entropy, temperature_from_enthalpy, temperature_from_entropy,
};
use thermo::humid_air::properties;
use thermo::humid_air::wet_bulb::{humidity_ratio_from_wet_bulb, wet_bulb};
use thermo::machine::turbine::Reference;
use thermo::machine::{State, compressor, turbine};
use thermo::saturation::{Condensate, Phase, condensed_enthalpy, saturation_pressure, saturation_temperature};
use thermo::total_static::{Moving, brought_to_rest, from_probe, from_total, intake_pressure};
use thermo::{dry_air, isentropic};
use units::Real;

use crate::draw::Draw;

/// Names and results, in a fixed order.
pub(crate) type Results<R> = Vec<(String, Result<R, DomainError>)>;

/// Names of the arguments of [`evaluate`], with the range to draw them from.
pub(crate) const ARGUMENTS: [(&str, f64, f64); 8] = [
    ("t1", 240.0, 520.0),
    ("p1", 1e5, 6e5),
    ("t2", 225.0, 350.0),
    ("p2", 2e4, 2e5),
    ("w", 0.0002, 0.03),
    ("share", 0.05, 0.95),
    ("flow", 0.1, 1.0),
    ("area", 0.005, 0.02),
];

/// All functions at one set of arguments.
pub(crate) fn evaluate<R: Real>(a: [R; 8]) -> Results<R> {
    let mut list = Vec::new();
    plain(&mut list, a);
    for condensate in [Condensate::Equilibrium, Condensate::Supercooled] {
        wet(&mut list, a, condensate);
    }
    machines(&mut list, a);
    moving(&mut list, a);
    list
}

fn plain<R: Real>(list: &mut Results<R>, [t1, p1, t2, p2, w, share, ..]: [R; 8]) {
    let mut add = |name: &str, result| list.push((name.to_string(), result));
    for (name, phase) in [("water", Phase::Water), ("ice", Phase::Ice)] {
        add(&format!("saturation_pressure {name}"), saturation_pressure(t2, phase));
        add(&format!("saturation_temperature {name}"), saturation_temperature(share * 600.0, phase));
        add(&format!("condensed_enthalpy {name}"), condensed_enthalpy(t2, phase));
    }
    add("dry enthalpy", dry_air::enthalpy(t1, p1));
    add("dry entropy", dry_air::entropy(t1, p1));
    add("dry heat_capacity", dry_air::heat_capacity(t1, p1));
    add("dry density", dry_air::density(t1, p1));
    add("dry temperature_from_enthalpy", dry_air::temperature_from_enthalpy(share * 300e3 - 50e3, p1));
    add("dry temperature_from_entropy", dry_air::temperature_from_entropy(share * 400.0 - 200.0, p1));
    add("density", properties::density(t1, p1, w));
    add("enthalpy", properties::enthalpy(t1, p1, w));
    add("entropy", properties::entropy(t1, p1, w));
    add("heat_capacity", properties::heat_capacity(t1, p1, w));
    add("heat_capacity_ratio", properties::heat_capacity_ratio(t1, p1, w));
    add("speed_of_sound", properties::speed_of_sound(t1, p1, w));
    add("gas_constant", properties::gas_constant(w));
    add("properties", properties::properties(t1, p1, w).map(|x| x.density + x.entropy + x.speed_of_sound));
    add("isentropic temperature", isentropic::temperature(t1, p1, p2, w));
    add("isentropic pressure", isentropic::pressure(t1, p1, t2, w));
    add("temperature_ratio", isentropic::temperature_ratio(p1 / p2, share * 0.2 + 1.25));
    add("compression_efficiency", isentropic::compression_efficiency(t2, t1, p1 / p2, share * 0.2 + 1.25));
    add("expansion_efficiency", isentropic::expansion_efficiency(t1, t2, p1 / p2, share * 0.2 + 1.25));
}

fn wet<R: Real>(list: &mut Results<R>, [t1, p1, t2, p2, w, share, ..]: [R; 8], condensate: Condensate) {
    let mut add = |name: &str, result| list.push((format!("{name} {condensate:?}"), result));
    add("enhancement_factor", enhancement_factor(t2, p1, condensate));
    add("saturation_humidity_ratio", saturation_humidity_ratio(t2, p1, condensate));
    add("humidity_ratio_from_dew_point", humidity_ratio_from_dew_point(t2, p1, condensate));
    add("relative_humidity", relative_humidity(t2, p1, w, condensate));
    let from_rh = humidity_ratio_from_relative_humidity(t2, p1, share, condensate);
    add("humidity_ratio_from_relative_humidity", from_rh);
    add("dew_point", dew_point(p2, w, condensate));
    add("wet_bulb", wet_bulb(t1, p2, w, condensate));
    add("humidity_ratio_from_wet_bulb", humidity_ratio_from_wet_bulb(t2, t2 - share * 3.0, p2, condensate));
    add("mixture_enthalpy", mixture_enthalpy(t2, p2, w, condensate));
    add("mixture_entropy", mixture_entropy(t2, p2, w, condensate));
    let mut mixture = |name: &str, m: Result<Mixture<R>, DomainError>| {
        list.push((format!("{name} temperature {condensate:?}"), m.map(|m| m.temperature)));
        list.push((format!("{name} vapour {condensate:?}"), m.map(|m| m.vapour)));
        list.push((format!("{name} water {condensate:?}"), m.map(|m| m.water)));
        list.push((format!("{name} ice {condensate:?}"), m.map(|m| m.ice)));
    };
    mixture("equilibrium", equilibrium(t2, p2, w, condensate));
    mixture("from_enthalpy", temperature_from_enthalpy(share * 120e3 - 30e3, p2, w, condensate));
    mixture("from_entropy", temperature_from_entropy(share * 500.0 - 100.0, p2, w, condensate));
    mixture("turbine outlet", turbine::outlet(State::new(t1, p1), p2, w, share, condensate));
}

fn machines<R: Real>(list: &mut Results<R>, [t1, p1, t2, p2, w, share, flow, _]: [R; 8]) {
    let mut add = |name: &str, result| list.push((name.to_string(), result));
    let (hot, cold) = (State::new(t1, p1), State::new(t2, p2));
    add("compressor efficiency", compressor::efficiency(cold, hot, w));
    add("compressor work", compressor::specific_work(cold, hot, w));
    add("compressor power", compressor::power(flow, cold, hot, w));
    add("compressor outlet", compressor::outlet_temperature(cold, p1, w, share));
    add("turbine dry_efficiency", turbine::dry_efficiency(hot, cold, w));
    for c in [Condensate::Equilibrium, Condensate::Supercooled] {
        add(&format!("turbine wet_efficiency {c:?}"), turbine::wet_efficiency(hot, cold, w, c));
        add(&format!("turbine dry_referenced {c:?}"), turbine::dry_referenced_efficiency(hot, cold, w, c));
        add(&format!("turbine work {c:?}"), turbine::specific_work(hot, cold, w, c));
        add(&format!("turbine power {c:?}"), turbine::power(flow, hot, cold, w, c));
        add(&format!("dry_air_rated {c:?}"), turbine::dry_air_rated_temperature(hot, cold, w, c));
    }
    for reference in [Reference::Wet, Reference::Dry] {
        let interval = turbine::efficiency_interval(hot, State::new(share + 272.6, p2), w, reference, 1.0);
        add(&format!("turbine interval low {reference:?}"), interval.map(|i| i.low));
        add(&format!("turbine interval high {reference:?}"), interval.map(|i| i.high));
    }
}

fn moving<R: Real>(list: &mut Results<R>, [t1, p1, t2, p2, w, share, flow, area]: [R; 8]) {
    let mut add = |name: &str, m: Result<Moving<R>, DomainError>| {
        list.push((format!("{name} static_temperature"), m.map(|m| m.static_temperature)));
        list.push((format!("{name} total_temperature"), m.map(|m| m.total_temperature)));
        list.push((format!("{name} static_pressure"), m.map(|m| m.static_pressure)));
        list.push((format!("{name} total_pressure"), m.map(|m| m.total_pressure)));
        list.push((format!("{name} mach"), m.map(|m| m.mach)));
    };
    add("from_probe", from_probe(t1, p1, flow, area, share * 0.4 + 0.6, w));
    add("from_total", from_total(t1, p1, flow, area, w));
    list.push(("rest temperature".into(), brought_to_rest(t2, p2, share * 300.0, w).map(|x| x.0)));
    list.push(("rest pressure".into(), brought_to_rest(t2, p2, share * 300.0, w).map(|x| x.1)));
    list.push(("intake_pressure".into(), intake_pressure(p2, p1, share)));
}

/// Arguments within their ranges.
pub(crate) fn arguments(draw: &mut Draw) -> [f64; 8] {
    ARGUMENTS.map(|(_, low, high)| low + (high - low) * draw.share())
}
