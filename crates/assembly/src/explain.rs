//! What a derived quantity is: the text that stands beside its formula.

use pack::derived::{Scope, Site, Way};
use pack::{Architecture, Arrangement, DERIVED, Derived, PLACES, Parameters, RamSide, WaterSeparation};

/// A derived quantity in words.
pub struct Explained {
    /// Its name, without a pack's prefix.
    pub name: String,
    /// Its SI unit.
    pub unit: String,
    /// In one line.
    pub summary: String,
    /// How it is found, the best way first.
    pub ways: Vec<ExplainedWay>,
    /// What is refused, what is doubtful.
    pub validity: String,
    /// Where the formula comes from.
    pub source: String,
}

/// One way to find it.
#[derive(PartialEq)]
pub struct ExplainedWay {
    /// The formula.
    pub formula: String,
    /// Its inputs with their SI units.
    pub inputs: Vec<String>,
    /// What is taken for granted; empty where nothing is.
    pub assumes: String,
    /// Where it is so: `every arrangement`, `ram parallel`, `at turbine1_in`.
    pub applies: String,
}

/// Every derived quantity.
pub fn all() -> Vec<Explained> {
    DERIVED
        .iter()
        .map(|d| Explained {
            name: d.name.to_owned(),
            unit: d.quantity.si_symbol().to_owned(),
            summary: d.summary.to_owned(),
            ways: ways(d),
            validity: d.validity.to_owned(),
            source: d.source.to_owned(),
        })
        .collect()
}

/// The quantity with this name: a pack's prefix, a place or a zone in it says where, not what.
pub fn find(name: &str) -> Option<Explained> {
    let plain = name.split_once('.').filter(|(first, _)| pack::place::is_pack_prefix(first)).map_or(name, |(_, n)| n);
    let all = all();
    let found = DERIVED.iter().position(|d| pack::derived::at(d, plain).is_some() || d.name == plain)?;
    all.into_iter().nth(found)
}

/// The features of an arrangement that a way may depend on, in words.
type Features = [&'static str; 3];

/// Every way with the arrangements and places it holds for.
fn ways(d: &Derived) -> Vec<ExplainedWay> {
    let sites: Vec<&str> = match d.scope {
        Scope::Place => PLACES.iter().map(|p| p.name).filter(|p| !p.contains('<')).collect(),
        Scope::Zone => vec!["<id>"],
        Scope::Pack | Scope::Common => vec![""],
    };
    let mut found: Vec<(Way, Vec<(Features, &str)>)> = Vec::new();
    for (arrangement, features) in every_arrangement() {
        for at in &sites {
            for way in (d.ways)(&Site { arrangement: &arrangement, at, facts: pack::Facts::none(&arrangement) }) {
                let needs: Vec<String> = way.needs.iter().map(|n| general(n, at)).collect();
                let way = Way { needs, ..way };
                let same = |w: &Way| w.formula == way.formula && w.needs == way.needs && w.assumes == way.assumes;
                match found.iter_mut().find(|(w, _)| same(w)) {
                    Some((_, there)) => there.push((features, at)),
                    None => found.push((way, vec![(features, at)])),
                }
            }
        }
    }
    let everywhere = every_arrangement().len() * sites.len();
    found
        .into_iter()
        .map(|(way, there)| ExplainedWay {
            formula: way.formula.to_owned(),
            inputs: way.needs.iter().map(|n| with_unit(n)).collect(),
            assumes: way.assumes.to_owned(),
            applies: applies(&there, everywhere),
        })
        .collect()
}

/// A need as it stands for every place alike: the place's own instruments.
fn general(need: &str, at: &str) -> String {
    match need.strip_prefix(at) {
        Some(rest) if !at.is_empty() && rest.starts_with('.') => format!("<place>{rest}"),
        _ => need.to_owned(),
    }
}

/// What all the places and arrangements have in common, in words.
fn applies(there: &[(Features, &str)], everywhere: usize) -> String {
    if there.len() == everywhere {
        return "every arrangement".to_owned();
    }
    let mut words: Vec<String> = Vec::new();
    let all = every_arrangement();
    for feature in 0..3 {
        let mut had: Vec<&str> = there.iter().map(|(f, _)| f[feature]).collect();
        had.sort_unstable();
        had.dedup();
        let mut every: Vec<&str> = all.iter().map(|(_, f)| f[feature]).collect();
        every.sort_unstable();
        every.dedup();
        if had.len() < every.len() {
            words.push(had.join(" or "));
        }
    }
    let mut places: Vec<&str> = Vec::new();
    for (_, at) in there.iter().filter(|(_, at)| !at.is_empty()) {
        if !places.contains(at) {
            places.push(at);
        }
    }
    if !places.is_empty() && places.len() <= 12 {
        words.push(format!("at {}", places.join(", ")));
    }
    if words.is_empty() { "every arrangement".to_owned() } else { words.join("; ") }
}

fn with_unit(need: &str) -> String {
    let of_channel = units::quantity::of_name(need).map(|(_, q)| q);
    let quantity = of_channel.or_else(|| DERIVED.iter().find(|d| d.name == need).map(|d| d.quantity));
    quantity.map_or_else(|| need.to_owned(), |q| format!("{need} [{}]", q.si_symbol()))
}

fn every_arrangement() -> Vec<(Arrangement, Features)> {
    let mut all = Vec::new();
    for (architecture, a) in Architecture::WORDS {
        for (separation, s) in WaterSeparation::WORDS {
            for (ram, r) in RamSide::WORDS {
                let parameters = Parameters {
                    cabin_temperature: Some(300.0),
                    cabin_humidity_ratio: Some(0.01),
                    occupants: Some(100.0),
                    supply_humidity_ratio: Some(0.001),
                    ..Parameters::default()
                };
                let (name, packs) = (String::new(), Vec::new());
                let (architecture, separation, ram) = (*architecture, *separation, *ram);
                let arrangement = Arrangement { name, packs, architecture, separation, ram, parameters };
                all.push((arrangement, [*a, *s, *r]));
            }
        }
    }
    all
}
