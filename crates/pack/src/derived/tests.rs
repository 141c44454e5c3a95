use super::*;
use crate::{Architecture, PLACES, Parameters, RamSide, WaterSeparation};
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
                    parameters: Parameters { supply_humidity_ratio: Some(0.001), ..Parameters::default() },
                });
            }
        }
    }
    all
}

/// What stands for `<place>` or `<id>`.
fn sites(scope: Scope) -> Vec<&'static str> {
    match scope {
        Scope::Pack | Scope::Common => vec![""],
        Scope::Zone => vec!["fwd"],
        Scope::Place => PLACES.iter().map(|p| p.name).filter(|p| !p.contains('<')).collect(),
    }
}

/// Every way to every quantity in every arrangement.
fn every_way() -> impl Iterator<Item = (Arrangement, &'static Derived, Way)> {
    every_arrangement().into_iter().flat_map(|a| {
        let mut ways = Vec::new();
        for d in DERIVED {
            for at in sites(d.scope) {
                ways.extend(
                    (d.ways)(&Site { arrangement: &a, at, facts: Facts::none(&a) })
                        .into_iter()
                        .map(|w| (a.clone(), *d, w)),
                );
            }
        }
        ways
    })
}

#[test]
fn every_quantity_is_described_and_named_once() {
    for (i, d) in DERIVED.iter().enumerate() {
        for text in [d.name, d.summary, d.validity, d.source] {
            assert!(!text.is_empty(), "{}", d.name);
        }
        assert!(DERIVED[..i].iter().all(|o| o.name != d.name), "{} twice", d.name);
        let plain = d.name.replace("<place>", "place").replace("<id>", "id");
        assert!(plain.split('.').all(|s| s.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')));
        assert_eq!(d.name.contains("<place>"), d.scope == Scope::Place, "{}", d.name);
        assert_eq!(d.name.contains("<id>"), d.scope == Scope::Zone, "{}", d.name);
    }
}

#[test]
fn every_need_is_a_channel_of_the_vocabulary_or_a_derived_quantity() {
    for (a, d, way) in every_way() {
        assert!(!way.formula.is_empty(), "{}", d.name);
        for need in &way.needs {
            let (place, quantity) = need.rsplit_once('.').expect("a place and a quantity");
            let known = crate::place::parse(&format!("{place}.temperature")).is_some();
            let channel = known && WORDS.iter().any(|(w, _)| *w == quantity);
            let derived = DERIVED.iter().any(|o| at(o, need).is_some());
            assert!(channel || derived, "{} of {:?} needs {need}", d.name, a.architecture);
        }
    }
}

#[test]
fn every_formula_takes_as_many_inputs_as_it_needs_and_gives_the_same_bits_with_derivatives() {
    for (a, d, way) in every_way() {
        assert!(way.needs.len() <= MAX_INPUTS, "{}", d.name);
        let Some(compute) = way.compute else {
            assert_eq!(way.needs.len(), 1, "{}", d.name);
            continue;
        };
        for count in (0..=MAX_INPUTS).filter(|n| *n != way.needs.len()) {
            let refused = (compute.plain)(&a, &[300.0; MAX_INPUTS][..count]).unwrap_err();
            assert_eq!(refused.argument, "the count of inputs", "{} {count}", d.name);
        }
        let x: Vec<f64> = way.needs.iter().map(|n| plausible(n)).collect();
        let variables: Vec<Sensitive> = x.iter().enumerate().map(|(i, x)| Dual::variable(*x, i)).collect();
        let (plain, dual) = ((compute.plain)(&a, &x), (compute.sensitive)(&a, &variables));
        match (&plain, &dual) {
            (Ok(plain), Ok(dual)) => assert_eq!(plain.to_bits(), dual.value.to_bits(), "{}", d.name),
            (Err(plain), Err(dual)) => assert_eq!(plain, dual),
            _ => panic!("{}: {plain:?} {dual:?}", d.name),
        }
    }
}

/// A value such as a ground run has: of the channel or derived quantity with this name.
fn plausible(need: &str) -> f64 {
    let of_place = [
        ("pack_in.temperature", 468.0),
        ("primary_out.temperature", 382.0),
        ("compressor_out.temperature", 440.0),
        ("compressor_out.pressure", 3.7e5),
        ("turbine1_in.pressure", 3.4e5),
        ("turbine2_in.pressure", 3.4e5),
        ("turbine1_out.temperature", 280.0),
        ("turbine2_out.temperature", 280.0),
        ("turbine1_out.pressure", 1.1e5),
        ("turbine2_out.pressure", 1.1e5),
        ("condenser_cold_in.temperature", 280.0),
        ("secondary_ram_out.temperature", 350.0),
        ("primary_ram_out.temperature", 380.0),
        ("fan_out.temperature", 386.0),
        ("discharge.temperature", 285.0),
        ("trim.temperature", 450.0),
        ("bypass.flow", 0.1),
        ("anti_ice.flow", 0.01),
        ("drain.flow", 1e-4),
        ("position", 0.0),
        ("power", 2e4),
        ("turbine1.power", 4e4),
        ("heat", 4e4),
        ("capacity_flow", 500.0),
    ];
    let of_quantity =
        [("humidity_ratio", 0.004), ("pressure", 2.0e5), ("flow", 0.5), ("speed", 4000.0), ("temperature", 310.0)];
    let named = of_place.iter().find(|(name, _)| *name == need);
    let kind = of_quantity.iter().find(|(q, _)| need.ends_with(q));
    named.or(kind).map_or(0.3, |(_, x)| *x)
}
