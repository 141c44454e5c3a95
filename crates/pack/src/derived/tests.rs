use super::*;
use crate::{Architecture, PLACES, RamSide, WaterSeparation};
use units::quantity::WORDS;

fn every_arrangement() -> Vec<Arrangement> {
    let mut all = Vec::new();
    for (architecture, _) in Architecture::WORDS {
        for (separation, _) in WaterSeparation::WORDS {
            for (ram, _) in RamSide::WORDS {
                all.push(Arrangement {
                    name: "own example".into(),
                    packs: vec![],
                    architecture: *architecture,
                    separation: *separation,
                    ram: *ram,
                });
            }
        }
    }
    all
}

#[test]
fn every_quantity_is_described_and_named_once() {
    for (i, d) in DERIVED.iter().enumerate() {
        for text in [d.name, d.summary, d.formula, d.validity, d.source] {
            assert!(!text.is_empty(), "{}", d.name);
        }
        assert!(DERIVED[..i].iter().all(|o| o.name != d.name), "{} twice", d.name);
        assert!(
            d.name.split('.').all(|s| s.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_'))
        );
        assert_eq!(crate::place::parse(d.name), None, "{} is a channel's name", d.name);
    }
}

#[test]
fn every_need_is_in_the_vocabulary() {
    for arrangement in every_arrangement() {
        for d in DERIVED {
            for need in (d.needs)(&arrangement).unwrap_or_default() {
                assert!(PLACES.iter().any(|p| p.name == need.place), "{}: {}", d.name, need.place);
                assert!(WORDS.iter().any(|(w, _)| *w == need.quantity), "{}: {}", d.name, need.quantity);
            }
        }
    }
}

#[test]
fn every_formula_takes_as_many_inputs_as_it_needs() {
    const PLAUSIBLE: [f64; MAX_INPUTS] = [500.0, 400.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0];
    for arrangement in every_arrangement() {
        for d in DERIVED {
            let Some(needs) = (d.needs)(&arrangement) else { continue };
            assert!(!needs.is_empty() && needs.len() <= MAX_INPUTS, "{}", d.name);
            for count in 0..=MAX_INPUTS {
                assert_eq!((d.compute)(&PLAUSIBLE[..count]).is_ok(), count == needs.len(), "{} {count}", d.name);
            }
        }
    }
}

#[test]
fn what_an_arrangement_has_not_is_not_planned() {
    let names = |architecture| {
        let arrangement = every_arrangement().into_iter().find(|a| a.architecture == architecture).unwrap();
        let has = DERIVED.iter().filter(|d| (d.needs)(&arrangement).is_some());
        has.map(|d| d.name).collect::<Vec<_>>().join(" ")
    };
    let common = "primary.effectiveness secondary.effectiveness";
    assert_eq!(names(Architecture::Simple), format!("{common} turbine1.pressure_ratio pack_in.corrected_flow"));
    let bootstrap = format!("{common} compressor.pressure_ratio turbine1.pressure_ratio");
    assert_eq!(names(Architecture::TwoWheel), format!("{bootstrap} pack_in.corrected_flow acm.corrected_speed"));
    assert_eq!(names(Architecture::ThreeWheel), format!("{bootstrap} pack_in.corrected_flow acm.corrected_speed"));
    let four = format!("{bootstrap} turbine2.pressure_ratio pack_in.corrected_flow acm.corrected_speed");
    assert_eq!(names(Architecture::FourWheel), four);
}
