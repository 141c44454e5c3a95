//! Which channels a quantity is computed from, what is said about it, and what becomes of readings.

#![allow(clippy::disallowed_methods, clippy::unwrap_used)]

use pack::{
    Architecture, Arrangement, Evaluator, PackPlan, Parameters, PlannedDerived, RamSide, Uncertain, WaterSeparation,
    Why, plan,
};
use std::sync::Arc;
use stream::{Reading, Reason};

fn arrangement(packs: &[&str]) -> Arrangement {
    Arrangement {
        name: "own example".into(),
        packs: packs.iter().map(ToString::to_string).collect(),
        architecture: Architecture::ThreeWheel,
        separation: WaterSeparation::HighPressure,
        ram: RamSide::SecondaryFirst,
        parameters: Parameters::default(),
    }
}

fn find<'a>(planned: &'a PackPlan, name: &str) -> &'a PlannedDerived {
    planned.derived.iter().find(|p| p.name == name).unwrap()
}

/// The inputs' names, or what is missing.
fn inputs(arrangement: &Arrangement, channels: &[&str], name: &str) -> String {
    let planned = plan(arrangement, channels, &[], &[]);
    let input = |i: &usize| {
        channels.get(*i).map_or_else(|| planned.derived[i - channels.len()].name.clone(), |c| c.to_string())
    };
    match planned.absent.iter().find(|a| a.name == name) {
        None => find(&planned, name).inputs.iter().map(input).collect::<Vec<_>>().join(" "),
        Some(absent) => format!("missing: {}", absent.missing.join(" ")),
    }
}

/// Every quantity, readably.
fn told(planned: &PackPlan) -> String {
    let there = planned
        .derived
        .iter()
        .map(|p| format!("{}\n  {}", p.name, p.provenance.replace("; ", "\n  ").replace(", ", ",\n    ")));
    let absent = planned.absent.iter().map(|a| format!("{} missing:\n  {}", a.name, a.missing.join(",\n  ")));
    there.chain(absent).collect::<Vec<_>>().join("\n")
}

#[test]
fn two_packs_share_what_is_common_and_miss_what_is_not_there() {
    let channels = [
        "ambient.temperature",
        "ambient.relative_humidity",
        "ambient.pressure",
        "left.pack_in.temperature",
        "left.pack_in.pressure",
        "left.pack_in.flow",
        "left.compressor_in.temperature",
        "left.secondary_ram_out.temperature",
        "right.pack_in.temperature",
        "right.primary_out.temperature",
        "right.acm.speed",
    ];
    let planned = plan(&arrangement(&["left", "right"]), &channels, &[], &[]);
    insta::assert_snapshot!(told(&planned));
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
    let planned = plan(&a, &own[2..], &[], &[]);
    assert_eq!(
        find(&planned, name).provenance,
        "p compressor_out / p compressor_in, both absolute and total; from secondary_in.pressure (stands for \
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
    assert_eq!(inputs(&arrangement(&[]), &channels, name), "missing: compressor_in.pressure compressor_out.pressure");
    let planned = plan(&arrangement(&["left"]), &channels, &[], &[]);
    assert_eq!(find(&planned, "left.compressor.pressure_ratio").inputs, [1, 0]);
}

const TEMPERATURES: [&str; 3] = ["secondary_in.temperature", "secondary_out.temperature", "ram_in.temperature"];

fn secondary(readings: &[Reading]) -> Reading {
    let mut evaluator = Evaluator::new(Arc::new(plan(&arrangement(&[]), &TEMPERATURES, &[], &[])), 0);
    evaluator.evaluate(readings, &[None; 3]);
    assert_eq!(evaluator.uncertainty(0), None, "none is declared");
    evaluator.readings()[3]
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

/// One effectiveness, its uncertainty and what makes it up: as by hand.
#[test]
fn uncertainty_goes_with_the_value() {
    let mut evaluator = Evaluator::new(Arc::new(plan(&arrangement(&[]), &TEMPERATURES, &[], &[])), 1);
    let readings = [400.0, 320.0, 300.0].map(Reading::Good);
    let u = |u| Some(Uncertain { u, shared: None });
    evaluator.evaluate(&readings, &[u(0.5), u(0.5), u(0.5)]);
    let slopes = [0.2 / 100.0, -1.0 / 100.0, 0.8 / 100.0];
    let by_hand = slopes.iter().map(|c: &f64| (c * 0.5).powi(2)).sum::<f64>().sqrt();
    assert!((evaluator.uncertainty(0).unwrap() - by_hand).abs() < 1e-15);
    let parts = evaluator.contributions(0, &[u(0.5), u(0.5), u(0.5)]);
    assert_eq!(parts.iter().map(|p| p.channel).collect::<Vec<_>>(), [1, 2, 0]);
    assert!((parts.iter().map(|p| p.share).sum::<f64>() - 1.0).abs() < 1e-12);
    // What all three have in common cancels: only differences count.
    let common = Some(Uncertain { u: 0.5, shared: Some((0, 0.5)) });
    evaluator.evaluate(&readings, &[common; 3]);
    assert!(evaluator.uncertainty(0).unwrap() < 1e-15);
    // One input without: none for the result, the value stands.
    evaluator.evaluate(&readings, &[u(0.5), None, u(0.5)]);
    assert_eq!((evaluator.uncertainty(0), evaluator.readings()[3]), (None, Reading::Good(0.8)));
    evaluator.evaluate(&[readings[0], Reading::Stale, readings[2]], &[u(0.5); 3]);
    assert_eq!((evaluator.uncertainty(0), evaluator.why(0)), (None, Some(Why::Input(1))));
}

/// Two gauge pressures with one barometer: its error moves both, and what is left of it in their ratio counts once.
#[test]
fn the_barometers_error_is_in_every_gauge_pressure() {
    let channels = ["compressor_in.pressure", "compressor_out.pressure", "ambient.pressure"];
    let planned = plan(&arrangement(&[]), &channels, &[Some(2), Some(2)], &[]);
    let mut evaluator = Evaluator::new(Arc::new(planned), 0);
    let u = |u| Some(Uncertain { u, shared: None });
    evaluator.evaluate(&[200e3, 300e3, 100e3].map(Reading::Good), &[u(100.0), u(100.0), u(400.0)]);
    let (by_in, by_out) = (-1.5 / 200e3, 1.0 / 200e3);
    let by_hand: f64 = (by_in * 100.0f64).powi(2) + (by_out * 100.0f64).powi(2) + ((by_in + by_out) * 400.0f64).powi(2);
    assert!((evaluator.uncertainty(0).unwrap() / by_hand.sqrt() - 1.0).abs() < 1e-12);
}

/// A quantity that comes by way of another one carries the channels' uncertainties through both, common causes too:
/// as if it were one formula.
#[test]
fn uncertainty_passes_through_quantities_between() {
    let channels = [
        "turbine1_in.temperature",
        "turbine1_in.pressure",
        "turbine1_out.temperature",
        "turbine1_out.pressure",
        "extractor_out.dew_point",
        "extractor_out.pressure",
        "extractor_out.temperature",
    ];
    let x = [311.0, 336e3, 280.0, 111e3, 285.0, 341e3, 290.0];
    let u = [0.5, 350.0, 0.5, 350.0, 0.3, 350.0, 0.5];
    let planned = Arc::new(plan(&arrangement(&[]), &channels, &[], &[]));
    let at = |name: &str| planned.derived.iter().position(|d| d.name == name).unwrap();
    let shared = |i: usize| (i % 2 == 1).then_some((0, 300.0));
    let uncertain: Vec<Option<Uncertain>> =
        (0..7).map(|i| Some(Uncertain { u: u[i], shared: shared(i).filter(|_| i != 4) })).collect();
    let mut evaluator = Evaluator::new(Arc::clone(&planned), 1);
    let mut at_x = |x: &[f64]| {
        let readings: Vec<Reading> = x.iter().copied().map(Reading::Good).collect();
        evaluator.evaluate(&readings, &uncertain);
        let d = at("turbine1.wet_efficiency");
        (evaluator.readings()[7 + d].number().unwrap(), evaluator.uncertainty(d).unwrap())
    };
    let (_, found) = at_x(&x);
    let slope = |i: usize| {
        let step = 1e-6 * x[i];
        let moved = |by: f64| {
            let mut moved = x;
            moved[i] += by;
            moved
        };
        (moved(step), moved(-step), step)
    };
    let slopes: Vec<f64> = (0..7)
        .map(|i| {
            let (up, down, step) = slope(i);
            (at_x(&up).0 - at_x(&down).0) / (2.0 * step)
        })
        .collect();
    let own: f64 = (0..7).map(|i| (slopes[i] * u[i]).powi(2)).sum();
    let pressures = [1, 3, 5];
    let alone: f64 = pressures.iter().map(|i| (slopes[*i] * 300.0).powi(2)).sum();
    let together: f64 = pressures.iter().map(|i| slopes[*i] * 300.0).sum();
    let by_hand = (own - alone + together * together).sqrt();
    assert!((found / by_hand - 1.0).abs() < 1e-5, "{found} {by_hand}");
}

/// On the plateau at 0 °C the share of ice is unknown: the middle of what is possible, marked, and the rest as
/// uncertainty.
#[test]
fn an_open_share_of_ice_gives_an_interval() {
    let channels = [
        "turbine1_in.temperature",
        "turbine1_in.pressure",
        "turbine1_out.temperature",
        "turbine1_out.pressure",
        "turbine1_in.humidity_ratio",
    ];
    let planned = Arc::new(plan(&arrangement(&[]), &channels, &[], &[]));
    let mut evaluator = Evaluator::new(Arc::clone(&planned), 0);
    let u = |u| Some(Uncertain { u, shared: None });
    let uncertain = [u(0.3), u(300.0), u(0.3), u(300.0), u(0.0003)];
    let readings = [313.15, 350e3, 273.3, 110e3, 0.012].map(Reading::Good);
    evaluator.evaluate(&readings, &uncertain);
    let wet = planned.derived.iter().position(|d| d.name == "turbine1.wet_efficiency").unwrap();
    let Some(Why::Between(low, high)) = evaluator.why(wet) else { panic!("{:?}", evaluator.why(wet)) };
    assert!(high - low > 0.02);
    assert_eq!(evaluator.readings()[5 + wet], Reading::Uncertain(0.5 * (low + high), Reason::NotValid));
    assert!(evaluator.uncertainty(wet).unwrap() > (high - low) / 12f64.sqrt());
    let dry = planned.derived.iter().position(|d| d.name == "turbine1.dry_formula_efficiency").unwrap();
    let Some(Why::Refused(refusal)) = evaluator.why(dry) else { panic!() };
    assert_eq!(refusal.argument, "humidity ratio");
}
