//! Case AC-29 through plan and evaluation: a dry two-wheel bootstrap machine computed with CoolProp 8.0.0 (dry air of
//! Lemmon et al. 2000) with closed shaft power balance. Not a publication: another program's figures.

#![allow(clippy::unwrap_used)]

use pack::{Architecture, Arrangement, Evaluator, Parameters, RamSide, WaterSeparation, plan};
use std::sync::Arc;
use stream::Reading;

/// Both exchangers have the coolant inlet of 40 degC, so the ram side is parallel. The case gives no instruments
/// between the exchangers and the compressor: neighbours stand in.
const STATIONS: [(&str, f64); 8] = [
    ("pack_in.temperature", 473.15),
    ("ram_in.temperature", 313.15),
    ("primary_out.temperature", 345.15),
    ("primary_out.pressure", 250_000.0 * 0.97),
    ("compressor_out.temperature", 433.643_920_005_491_45),
    ("secondary_in.pressure", 447_176.204_428_735_54 / 0.97),
    ("secondary_out.temperature", 331.224_088_000_823_7),
    ("turbine1_in.pressure", 447_176.204_428_735_54),
];

#[test]
fn effectiveness_and_pressure_ratio() {
    let arrangement = Arrangement {
        name: "AC-29".into(),
        packs: vec![],
        architecture: Architecture::TwoWheel,
        separation: WaterSeparation::None,
        ram: RamSide::Parallel,
        parameters: Parameters::default(),
    };
    let (names, values): (Vec<&str>, Vec<f64>) = STATIONS.into_iter().unzip();
    let readings: Vec<Reading> = values.into_iter().map(Reading::Good).collect();
    let planned = Arc::new(plan(&arrangement, &names, &[]));
    let mut evaluator = Evaluator::new(Arc::clone(&planned), 0);
    evaluator.evaluate(&readings, &[None; STATIONS.len()]);
    let expected = [
        ("primary.effectiveness", 0.8),
        ("secondary.effectiveness", 0.85),
        ("compressor.pressure_ratio", 1.901_057_304_405_295_2),
    ];
    for (name, value) in expected {
        let at = planned.derived.iter().position(|d| d.name == name).unwrap();
        match evaluator.readings()[names.len() + at] {
            Reading::Good(x) => assert!((x - value).abs() < 1e-12, "{name}: {x}"),
            reading => panic!("{name}: {reading:?}"),
        }
    }
    for name in ["turbine1.pressure_ratio", "pack_in.corrected_flow", "acm.corrected_speed"] {
        assert!(planned.absent.iter().any(|a| a.name == name), "{name}");
    }
}
