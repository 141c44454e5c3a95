//! Case AC-29 through plan and evaluation: a dry two-wheel bootstrap machine computed with CoolProp 8.0.0 (dry air of
//! Lemmon et al. 2000) with closed shaft power balance. Not a publication: another program's figures.

#![allow(clippy::unwrap_used)]

use pack::{Architecture, Arrangement, Evaluator, Parameters, RamSide, WaterSeparation, plan};
use std::sync::Arc;
use stream::Reading;

/// Both exchangers have the coolant inlet of 40 degC, so the ram side is parallel. The case gives no instruments
/// between the exchangers and the compressor: neighbours stand in.
const STATIONS: [(&str, f64); 11] = [
    ("pack_in.temperature", 473.15),
    ("ram_in.temperature", 313.15),
    ("primary_out.temperature", 345.15),
    ("primary_out.pressure", 250_000.0 * 0.97),
    ("compressor_out.temperature", 433.643_920_005_491_45),
    ("secondary_in.pressure", 447_176.204_428_735_54 / 0.97),
    ("secondary_out.temperature", 331.224_088_000_823_7),
    ("turbine1_in.pressure", 447_176.204_428_735_54),
    ("turbine1_out.temperature", 238.833_554_184_943_95),
    ("turbine1_out.pressure", 105_000.0),
    ("pack_in.flow", 0.5),
];
/// Of both works, J/kg; the case makes the compressor's 0.97 of the turbine's.
const WORKS: [f64; 2] = [89_576.890_892_296_22, 92_347.310_198_243_59];

#[test]
fn effectiveness_ratios_efficiencies_powers_and_the_shaft() {
    let arrangement = Arrangement {
        name: "AC-29".into(),
        packs: vec![],
        architecture: Architecture::TwoWheel,
        separation: WaterSeparation::None,
        ram: RamSide::Parallel,
        parameters: Parameters { supply_humidity_ratio: Some(0.0), ..Parameters::default() },
    };
    let (names, values): (Vec<&str>, Vec<f64>) = STATIONS.into_iter().unzip();
    let readings: Vec<Reading> = values.into_iter().map(Reading::Good).collect();
    let planned = Arc::new(plan(&arrangement, &names, &[], &[]));
    let mut evaluator = Evaluator::new(Arc::clone(&planned), 0);
    evaluator.evaluate(&readings, &[None; STATIONS.len()]);
    let expected = [
        ("primary.effectiveness", 0.8, 1e-12),
        ("secondary.effectiveness", 0.85, 1e-12),
        ("compressor.pressure_ratio", 1.901_057_304_405_295_2, 1e-12),
        ("turbine1.pressure_ratio", 447_176.204_428_735_54 / 105_000.0, 1e-12),
        // Another equation of state: the tolerance is the case's, 0.05 %.
        ("compressor.isentropic_efficiency", 0.78, 5e-4),
        ("turbine1.dry_formula_efficiency", 0.82, 5e-4),
        ("turbine1.wet_efficiency", 0.82, 5e-4),
        ("compressor.power", 0.5 * WORKS[0], 5e-4 * 0.5 * WORKS[0]),
        ("turbine1.power", 0.5 * WORKS[1], 5e-4 * 0.5 * WORKS[1]),
        ("acm.shaft_balance_share", 0.03, 1e-3),
    ];
    for (name, value, within) in expected {
        let at = planned.derived.iter().position(|d| d.name == name).unwrap();
        match evaluator.readings()[names.len() + at] {
            Reading::Good(x) => assert!((x - value).abs() < within, "{name}: {x}"),
            reading => panic!("{name}: {reading:?}"),
        }
    }
    for name in ["pack_in.corrected_flow", "acm.corrected_speed"] {
        assert!(planned.absent.iter().any(|a| a.name == name), "{name}");
    }
}
