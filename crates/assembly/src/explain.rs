//! What a derived quantity is: the text that stands beside its formula.

use pack::{Architecture, Arrangement, DERIVED, RamSide, WaterSeparation};

/// A derived quantity in words.
pub struct Explained {
    /// Its name, without a pack's prefix.
    pub name: String,
    /// Its SI unit.
    pub unit: String,
    /// In one line.
    pub summary: String,
    /// The formula.
    pub formula: String,
    /// Its inputs with their SI units, for each group of arrangements that needs the same.
    pub inputs: Vec<(String, Vec<String>)>,
    /// What is refused, what is doubtful.
    pub validity: String,
    /// Where the formula comes from.
    pub source: String,
}

/// Every derived quantity.
pub fn all() -> Vec<Explained> {
    DERIVED
        .iter()
        .map(|d| Explained {
            name: d.name.to_owned(),
            unit: d.quantity.si_symbol().to_owned(),
            summary: d.summary.to_owned(),
            formula: d.formula.to_owned(),
            inputs: inputs(d.needs),
            validity: d.validity.to_owned(),
            source: d.source.to_owned(),
        })
        .collect()
}

/// What each arrangement needs; arrangements that need the same are told together.
fn inputs(needs: fn(&Arrangement) -> Option<Vec<pack::Need>>) -> Vec<(String, Vec<String>)> {
    let mut groups: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    for (architecture, a) in Architecture::WORDS {
        for (ram, r) in RamSide::WORDS {
            let separation = WaterSeparation::HighPressure;
            let (name, packs) = (String::new(), Vec::new());
            let arrangement = Arrangement { name, packs, architecture: *architecture, separation, ram: *ram };
            let Some(needs) = needs(&arrangement) else { continue };
            let wanted: Vec<String> = needs
                .iter()
                .map(|n| {
                    let channel = format!("{}.{}", n.place, n.quantity);
                    let unit = units::quantity::of_name(&channel).map_or("", |(_, q)| q.si_symbol());
                    format!("{channel} [{unit}]")
                })
                .collect();
            let word = format!("{a}, ram {r}");
            match groups.iter_mut().find(|(_, w)| *w == wanted) {
                Some((words, _)) => words.push(word),
                None => groups.push((vec![word], wanted)),
            }
        }
    }
    let everywhere = groups.len() == 1;
    groups
        .into_iter()
        .map(|(words, wanted)| {
            let all = Architecture::WORDS.len() * RamSide::WORDS.len();
            let where_ =
                if everywhere && words.len() == all { "every arrangement".to_owned() } else { words.join("; ") };
            (where_, wanted)
        })
        .collect()
}
