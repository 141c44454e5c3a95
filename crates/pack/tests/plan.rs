//! Which channels a quantity is computed from, what is said about it, and what becomes of readings.

#![allow(clippy::unwrap_used)]

use pack::{Architecture, Arrangement, PlannedDerived, RamSide, WaterSeparation, plan};
use stream::{Reading, Reason};

fn arrangement(packs: &[&str]) -> Arrangement {
    Arrangement {
        name: "own example".into(),
        packs: packs.iter().map(ToString::to_string).collect(),
        architecture: Architecture::ThreeWheel,
        separation: WaterSeparation::HighPressure,
        ram: RamSide::SecondaryFirst,
    }
}

fn find<'a>(planned: &'a [PlannedDerived], name: &str) -> &'a PlannedDerived {
    planned.iter().find(|p| p.name == name).unwrap()
}

/// The inputs' names, or what is missing.
fn inputs(arrangement: &Arrangement, channels: &[&str], name: &str) -> String {
    let planned = plan(arrangement, channels);
    let p = find(&planned, name);
    assert_eq!(p.inputs.is_empty(), !p.missing.is_empty());
    match p.missing.is_empty() {
        true => p.inputs.iter().map(|i| channels[*i]).collect::<Vec<_>>().join(" "),
        false => format!("missing: {}", p.missing.join(" ")),
    }
}

#[test]
fn two_packs_share_what_is_common_and_miss_what_is_not_there() {
    let channels = [
        "ambient.temperature",
        "left.pack_in.temperature",
        "left.pack_in.pressure",
        "left.pack_in.flow",
        "left.compressor_in.temperature",
        "left.secondary_ram_out.temperature",
        "right.pack_in.temperature",
        "right.primary_out.temperature",
        "right.acm.speed",
    ];
    let planned = plan(&arrangement(&["left", "right"]), &channels);
    let text: Vec<String> = planned
        .iter()
        .map(|p| {
            format!("{} {:?}\n  {}", p.name, p.inputs, p.provenance.replace("; ", "\n  ").replace(", ", ",\n    "))
        })
        .collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    left.primary.effectiveness [1, 4, 5]
      (T pack_in - T primary_out) / (T pack_in - T its own cold inlet)
      from left.pack_in.temperature,
        left.compressor_in.temperature (stands for left.primary_out.temperature),
        left.secondary_ram_out.temperature
    left.secondary.effectiveness []
      (T secondary_in - T secondary_out) / (T secondary_in - T ram_in)
      missing: left.secondary_in.temperature,
        left.secondary_out.temperature,
        left.ram_in.temperature
    left.compressor.pressure_ratio []
      p compressor_out / p compressor_in,
        both absolute
      missing: left.compressor_out.pressure,
        left.compressor_in.pressure
    left.turbine1.pressure_ratio []
      p turbine1_in / p turbine1_out,
        both absolute
      missing: left.turbine1_in.pressure,
        left.turbine1_out.pressure
    left.pack_in.corrected_flow [3, 1, 2]
      W·sqrt(theta)/delta,
        theta = T pack_in / 288.15 K,
        delta = p pack_in / 101 325 Pa
      from left.pack_in.flow,
        left.pack_in.temperature,
        left.pack_in.pressure
    left.acm.corrected_speed []
      N/sqrt(theta),
        theta = T compressor_in / 288.15 K
      missing: left.acm.speed
    right.primary.effectiveness []
      (T pack_in - T primary_out) / (T pack_in - T its own cold inlet)
      missing: right.secondary_ram_out.temperature
    right.secondary.effectiveness []
      (T secondary_in - T secondary_out) / (T secondary_in - T ram_in)
      missing: right.secondary_in.temperature,
        right.secondary_out.temperature,
        right.ram_in.temperature
    right.compressor.pressure_ratio []
      p compressor_out / p compressor_in,
        both absolute
      missing: right.compressor_out.pressure,
        right.compressor_in.pressure
    right.turbine1.pressure_ratio []
      p turbine1_in / p turbine1_out,
        both absolute
      missing: right.turbine1_in.pressure,
        right.turbine1_out.pressure
    right.pack_in.corrected_flow []
      W·sqrt(theta)/delta,
        theta = T pack_in / 288.15 K,
        delta = p pack_in / 101 325 Pa
      missing: right.pack_in.flow,
        right.pack_in.pressure
    right.acm.corrected_speed [8, 7]
      N/sqrt(theta),
        theta = T compressor_in / 288.15 K
      from right.acm.speed,
        right.primary_out.temperature (stands for right.compressor_in.temperature)
    ");
}

#[test]
fn the_primary_never_takes_the_ram_inlet_where_the_ram_side_is_in_series() {
    let channels = [
        "pack_in.temperature",
        "primary_out.temperature",
        "ram_in.temperature",
        "ambient.temperature",
        "secondary_ram_out.temperature",
    ];
    let name = "primary.effectiveness";
    let series = arrangement(&[]);
    let all = "pack_in.temperature primary_out.temperature secondary_ram_out.temperature";
    assert_eq!(inputs(&series, &channels, name), all);
    assert_eq!(inputs(&series, &channels[..4], name), "missing: secondary_ram_out.temperature");
    let parallel = Arrangement { ram: RamSide::Parallel, ..series };
    let all = "pack_in.temperature primary_out.temperature ram_in.temperature";
    assert_eq!(inputs(&parallel, &channels, name), all);
}

#[test]
fn a_neighbour_stands_in_only_where_the_place_has_no_instrument() {
    let a = arrangement(&[]);
    let name = "compressor.pressure_ratio";
    let own = ["compressor_in.pressure", "compressor_out.pressure", "primary_out.pressure", "secondary_in.pressure"];
    assert_eq!(inputs(&a, &own, name), "compressor_out.pressure compressor_in.pressure");
    assert_eq!(inputs(&a, &own[1..], name), "compressor_out.pressure primary_out.pressure");
    assert_eq!(inputs(&a, &own[2..], name), "secondary_in.pressure primary_out.pressure");
    assert_eq!(inputs(&a, &own[3..], name), "missing: compressor_in.pressure");
    let planned = plan(&a, &own[2..]);
    assert_eq!(
        find(&planned, name).provenance,
        "p compressor_out / p compressor_in, both absolute; from secondary_in.pressure (stands for \
         compressor_out.pressure), primary_out.pressure (stands for compressor_in.pressure)"
    );
}

/// Without a reheater the turbine's inlet is the secondary's outlet; with one it is not.
#[test]
fn the_turbine_inlet_has_a_neighbour_where_there_is_no_reheater() {
    let channels = ["secondary_out.pressure", "turbine1_out.pressure"];
    let low = Arrangement { separation: WaterSeparation::LowPressure, ..arrangement(&[]) };
    let name = "turbine1.pressure_ratio";
    assert_eq!(inputs(&low, &channels, name), "secondary_out.pressure turbine1_out.pressure");
    assert_eq!(inputs(&arrangement(&[]), &channels, name), "missing: turbine1_in.pressure");
}

#[test]
fn one_pack_needs_no_prefix_and_takes_no_other_packs_channels() {
    let channels = ["left.compressor_in.pressure", "left.compressor_out.pressure"];
    let name = "compressor.pressure_ratio";
    assert_eq!(inputs(&arrangement(&[]), &channels, name), "missing: compressor_out.pressure compressor_in.pressure");
    let planned = plan(&arrangement(&["left"]), &channels);
    assert_eq!(find(&planned, "left.compressor.pressure_ratio").inputs, [1, 0]);
}

const TEMPERATURES: [&str; 3] = ["secondary_in.temperature", "secondary_out.temperature", "ram_in.temperature"];

fn secondary(readings: &[Reading]) -> Reading {
    find(&plan(&arrangement(&[]), &TEMPERATURES), "secondary.effectiveness").evaluate(readings)
}

#[test]
fn readings_become_a_reading() {
    let good = Reading::Good;
    assert_eq!(secondary(&[good(400.0), good(320.0), good(300.0)]), good(0.8));
    let doubt = |x| Reading::Uncertain(x, Reason::Range);
    assert_eq!(secondary(&[good(400.0), doubt(320.0), good(300.0)]), Reading::Uncertain(0.8, Reason::InputUncertain));
    let missing = Reading::Missing(Reason::InputMissing);
    for lost in [Reading::Bad(Reason::Open), Reading::Stale, Reading::Missing(Reason::NotYet)] {
        for place in 0..3 {
            let mut readings = [good(400.0), good(320.0), good(300.0)];
            readings[place] = lost;
            assert_eq!(secondary(&readings), missing);
        }
    }
    assert_eq!(secondary(&[good(400.0), good(320.0)]), missing, "a column that is not there");
}

#[test]
fn what_the_formula_refuses_is_not_valid() {
    let good = Reading::Good;
    assert_eq!(secondary(&[good(300.0), good(300.0), good(299.5)]), Reading::Bad(Reason::NotValid));
    assert_eq!(secondary(&[good(400.0), good(0.0), good(300.0)]), Reading::Bad(Reason::NotValid));
    assert_eq!(secondary(&[good(f64::NAN), good(320.0), good(300.0)]), Reading::Bad(Reason::NotValid));
}

/// Two probes swapped: the number is kept, and marked as out of the order that physics allows.
#[test]
fn swapped_probes_are_marked() {
    let good = Reading::Good;
    assert_eq!(secondary(&[good(400.0), good(440.0), good(300.0)]), Reading::Uncertain(-0.4, Reason::Order));
    assert_eq!(secondary(&[good(400.0), good(280.0), good(300.0)]), Reading::Uncertain(1.2, Reason::Order));
    let doubt = Reading::Uncertain(440.0, Reason::Range);
    assert_eq!(secondary(&[good(400.0), doubt, good(300.0)]).reason(), Reason::Order);
}

#[test]
fn what_was_missing_when_planned_stays_missing() {
    let planned = plan(&arrangement(&[]), &TEMPERATURES);
    let readings = [Reading::Good(400.0); 3];
    assert_eq!(find(&planned, "primary.effectiveness").evaluate(&readings), Reading::Missing(Reason::InputMissing));
}
