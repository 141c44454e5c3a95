//! Pack file -> arrangement.

use super::Text;
use crate::config::{self, pack::PackFile, text};
use crate::files::{Files, beside};
use crate::problem::Problems;
use pack::{Architecture, Arrangement, ExchangerFlow, Parameters, RamSide, WaterSeparation};
use std::path::Path;
use toml::Spanned;
use units::Quantity;

pub(crate) fn load(files: &Files, run_path: &Path, run: &Text, at: &Spanned<String>) -> Result<Arrangement, Problems> {
    let path = beside(run_path, at.get_ref());
    let text = Text::open(files, &path).map_err(|p| run.problem(at, p.message, p.help))?;
    of_text(&path, &text)
}

/// The pack file at this path.
pub(crate) fn read(files: &Files, path: &Path) -> Result<Arrangement, Problems> {
    of_text(path, &Text::open(files, path)?)
}

fn of_text(path: &Path, text: &Text) -> Result<Arrangement, Problems> {
    let file: PackFile = config::read(&text.name, &text.text)?;
    let mut bad = Problems::default();
    let architecture = super::word(text, &file.arrangement, Architecture::WORDS, "arrangement", &mut bad);
    let separation = super::word(text, &file.water_separation, WaterSeparation::WORDS, "water separation", &mut bad);
    let ram = super::word(text, &file.ram, RamSide::WORDS, "ram side", &mut bad);
    let parameters = parameters(text, &file, &mut bad);
    let mut packs = Vec::new();
    for at in file.packs.into_iter().flatten() {
        if !at.get_ref().is_empty() && !pack::place::is_pack_prefix(at.get_ref()) {
            let message = format!("{:?} cannot stand before a place's name", at.get_ref());
            bad.0.push(text.problem(&at, message, "use left and right, or pack1, pack2, ..."));
        }
        packs.push(at.into_inner());
    }
    bad.none()?;
    let name = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
    match (architecture, separation, ram) {
        (Some(architecture), Some(separation), Some(ram)) => {
            Ok(Arrangement { name, packs, architecture, separation, ram, parameters })
        }
        _ => Err(Problems::default()),
    }
}

fn parameters(text: &Text, file: &PackFile, bad: &mut Problems) -> Parameters {
    let mut flow = |at: &Option<Spanned<String>>| {
        at.as_ref().and_then(|at| super::word(text, at, ExchangerFlow::WORDS, "flow through an exchanger", bad))
    };
    let e = &file.exchanger;
    let [primary, secondary, reheater, condenser] =
        [&e.primary, &e.secondary, &e.reheater, &e.condenser].map(&mut flow);
    let mut occupants = None;
    if let Some(n) = &file.cabin.occupants {
        if *n.get_ref() == 0 {
            bad.0.push(text.problem(n, "fresh air per occupant needs occupants", "write 1 or more, or leave it out"));
        }
        occupants = Some(f64::from(*n.get_ref()));
    }
    let mut humidity = |at| number(text, at, Quantity::HumidityRatio, (0.0, 0.1), bad);
    let supply_humidity_ratio = humidity(&file.supply.humidity_ratio);
    let cabin_humidity_ratio = humidity(&file.cabin.humidity_ratio);
    let cabin_temperature = number(text, &file.cabin.temperature, Quantity::Temperature, (250.0, 350.0), bad);
    Parameters {
        primary,
        secondary,
        reheater,
        condenser,
        cabin_temperature,
        cabin_humidity_ratio,
        occupants,
        supply_humidity_ratio,
    }
}

/// A quantity with its unit, in SI, within what such a thing can be.
fn number(
    text: &Text,
    at: &Option<Spanned<String>>,
    quantity: Quantity,
    (low, high): (f64, f64),
    bad: &mut Problems,
) -> Option<f64> {
    let at = at.as_ref()?;
    match text::quantity(at.get_ref()) {
        Err(e) => bad.0.push(text.problem(at, e, "")),
        Ok((_, unit)) if !unit.fits(quantity) => {
            let message = format!("{} is no unit of a {}", unit.symbol, quantity.name());
            bad.0.push(text.problem(at, message, format!("its SI unit is {}", quantity.si_symbol())));
        }
        Ok((x, unit)) if (low..=high).contains(&unit.to_si(x)) => return Some(unit.to_si(x)),
        Ok(_) => {
            let (low, high, si) = (low, high, quantity.si_symbol());
            bad.0.push(text.problem(at, format!("this {} is outside {low} to {high} {si}", quantity.name()), ""));
        }
    }
    None
}
