//! From the text somebody wrote to the row of the unit table.

use crate::{UNITS, Unit};
use thiserror::Error;

/// A text that stands for no unit, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum UnknownUnit {
    /// No row has this symbol, alias or UCUM code.
    #[error("unit '{text}' is not known; {}", suggestion(nearest))]
    NotInTable {
        /// What was written.
        text: String,
        /// The symbols closest to it, closest first.
        nearest: Vec<&'static str>,
    },
    /// The text leaves open what the number means.
    #[error("unit '{text}' is refused: {why}; {remedy}")]
    Ambiguous {
        /// What was written.
        text: String,
        /// What it leaves open.
        why: &'static str,
        /// What to write instead.
        remedy: &'static str,
    },
}

/// The unit written as `text`: its symbol, an alias or its UCUM code, to the letter (`mW` is not `MW`).
///
/// # Errors
/// [`UnknownUnit`] with the nearest symbols, or with the reason where the text is known and leaves open what it means.
pub fn find(text: &str) -> Result<&'static Unit, UnknownUnit> {
    let text = text.trim();
    if let Some((_, why, remedy)) = REFUSED.iter().find(|(words, ..)| words.contains(&text)) {
        return Err(UnknownUnit::Ambiguous { text: text.into(), why, remedy });
    }
    UNITS
        .iter()
        .find(|u| names(u).any(|n| n == text))
        .ok_or_else(|| UnknownUnit::NotInTable { text: text.into(), nearest: nearest(text) })
}

/// Everything a unit is found by. The UCUM code of a unit with a reference belongs to the bare unit.
pub(crate) fn names(unit: &Unit) -> impl Iterator<Item = &'static str> {
    let ucum = if unit.reference.is_none() { Some(unit.ucum) } else { None };
    std::iter::once(unit.symbol).chain(unit.aliases.iter().copied()).chain(ucum.filter(|u| *u != unit.symbol))
}

/// Texts that many write and that leave open what the number means: the texts, why, what to write.
pub(crate) const REFUSED: &[(&[&str], &str, &str)] = &[
    (
        &[
            "scfm", "SCFM", "Scfm", "scfh", "SCFH", "slpm", "SLPM", "slm", "SLM", "sl/min", "SL/min", "sL/min", "sccm",
            "SCCM", "nlpm", "NLPM", "nl/min", "Nl/min", "NL/min", "Nm3/h", "Nm³/h", "Sm3/h", "Sm³/h", "nm3/h",
        ],
        "a standard volume flow is a mass flow in disguise, and the state it refers to differs between makers: \
         between 0 and 20 degC the same number is 7 % more or less air",
        "have the instrument give kg/s, or convert with its own reference state and write kg/s, kg/min or lb/min",
    ),
    (
        &["cfm", "CFM", "lpm", "LPM"],
        "it leaves open whether the volume is at the state in the duct or at a reference state",
        "write ft3/min or l/min for the volume at the state in the duct; give a standard flow as kg/s",
    ),
    (
        &["inH2O", "inWC", "inH₂O", "in H2O", "in. H2O", "inWG", "\"H2O", "inwc", "in w.c."],
        "a water column depends on the temperature of the water: 0.2 % between 4 and 20 degC",
        "write inH2O(4degC) or inH2O(20degC) as the instrument's data sheet says",
    ),
    (
        &["mmH2O", "mmWC", "mmH₂O", "mm H2O", "mmWG", "mm w.c."],
        "a water column depends on the temperature of the water: 0.2 % between 4 and 20 degC",
        "write mmH2O(4degC) if the instrument's data sheet says so, or have it give Pa",
    ),
    (
        &["ppm", "PPM"],
        "it is pounds per minute to some and parts per million to others",
        "write lb/min for a mass flow; give a share as 1, % or g/kg",
    ),
    (
        &["kg/cm2", "kg/cm²", "kg/cm2a", "kg/cm2g", "ksc"],
        "a kilogram is a mass: the force of one per area is meant, and it leaves open against what it is measured",
        "write kgf/cm2, and say in the channel map whether it is absolute or gauge",
    ),
    (
        &["ton", "tons", "TR", "tonR"],
        "it is a mass, a force or a cooling power of 12 000 Btu/h",
        "write kW or Btu/h for a cooling power, kg or lb for a mass",
    ),
    (
        &["C", "F", "°", "R"],
        "one letter is a temperature scale to some and coulomb, farad, an angle or the gas constant to others",
        "write degC, degF or degR for a temperature, deg for an angle",
    ),
    (
        &["lbs", "pounds", "#"],
        "it leaves open whether mass or force is meant",
        "write lb for a mass, psi for a pressure",
    ),
];

/// The symbols closest to a text, closest first, at most three; none where nothing is close.
fn nearest(text: &str) -> Vec<&'static str> {
    let near = |u: &'static Unit| {
        names(u).map(|n| distance(&n.to_lowercase(), &text.to_lowercase())).min().map(|d| (d, u.symbol))
    };
    let mut all: Vec<_> = UNITS.iter().filter_map(near).collect();
    all.sort_by_key(|(d, _)| *d);
    let most = text.chars().count().div_ceil(3);
    all.into_iter().filter(|(d, _)| *d <= most).map(|(_, s)| s).take(3).collect()
}

/// How many letters must be put in, taken out or exchanged (Levenshtein) to get from one text to the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

fn suggestion(nearest: &[&str]) -> String {
    if nearest.is_empty() {
        "write its symbol as in the unit table, for example degC, kPa, psia, kg/s, rpm, %".into()
    } else {
        format!("nearest: {}", nearest.join(", "))
    }
}
