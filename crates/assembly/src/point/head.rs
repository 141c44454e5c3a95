//! The header of a file of readings: channels, what is said of their probes, units.

use super::readings::{BAROMETER, Column, LABEL, Readings, Row, Table};
use crate::nearest;
use crate::problem::Problems;
use pack::Fact;
use std::ops::Range;
use units::{PressureReference, Quantity, Unit};

/// The channel's name, and the words behind it.
fn split(cell: &str) -> (&str, &str) {
    cell.split_once(char::is_whitespace).map_or((cell, ""), |(name, words)| (name, words.trim()))
}

/// What the words behind a name say of the probe.
fn fact(words: &str, quantity: Quantity) -> Result<Fact, (String, &'static str)> {
    let humidity = matches!(quantity, Quantity::Ratio | Quantity::HumidityRatio | Quantity::Temperature);
    let state = matches!(quantity, Quantity::Temperature | Quantity::Pressure);
    let mut all = words.split_whitespace();
    let Some(kind) = all.next() else { return Ok(Fact::Unsaid) };
    let (mut recovery, mut area) = (None, None);
    for word in all {
        let number = |t: &str| t.parse::<f64>().ok().filter(|x| x.is_finite() && *x > 0.0);
        match word.split_once('=').map(|(key, x)| (key, number(x))) {
            Some(("recovery", Some(x))) if (0.5..=1.0).contains(&x) => recovery = Some(x),
            Some(("area", Some(x))) => area = Some(x),
            _ => return Err((format!("{word:?} says nothing of a probe"), "recovery=0.9 (0.5 to 1), area=0.005 (m2)")),
        }
    }
    let help = "vapour or total-water of a humidity; total or static of a temperature or pressure, with recovery=0.9, \
                area=0.005";
    match (kind, recovery, area) {
        ("vapour", None, None) if humidity => Ok(Fact::Vapour),
        ("total-water", None, None) if humidity => Ok(Fact::TotalWater),
        ("total", None, area) if state => Ok(Fact::Total { area }),
        ("static", recovery, area) if state => Ok(Fact::Static { recovery, area }),
        _ => Err((format!("{words:?} is nothing that can be said of a {}'s probe", quantity.name()), help)),
    }
}

pub(super) fn head(table: &Table, found: &mut Readings, bad: &mut Problems) -> Vec<Column> {
    let (names, units) = (&table.rows[0], &table.rows[1]);
    let mut columns = Vec::new();
    let mut gauges = Vec::new();
    for (i, (cell, at)) in names.cells.iter().enumerate() {
        let (name, words) = split(cell);
        if name == LABEL || name.is_empty() {
            columns.push(if name == LABEL { Column::Label } else { Column::Nothing });
            continue;
        }
        let (channel, of_u) = name.strip_suffix(".u").map_or((name, false), |n| (n, true));
        if names.cells[..i].iter().any(|(n, _)| split(n).0 == name) {
            bad.0.push(table.problem(at, format!("two columns are called {name:?}"), "take one of them out"));
        }
        let Some((_, quantity)) = units::quantity::of_name(channel) else {
            let words = units::quantity::WORDS.map(|(w, _)| w);
            let known = nearest::list(channel.rsplit('.').next().unwrap_or_default(), words.into_iter());
            let help = format!("a name ends in one of: {known}");
            bad.0.push(table.problem(at, format!("{name:?} does not say what it measures"), help));
            columns.push(Column::Nothing);
            continue;
        };
        if pack::place::parse(channel).is_none() {
            found.notes.push(format!("{channel} is at no place of the pack: it is kept and feeds nothing"));
        }
        let Some(unit) = unit(table, units, i, quantity, of_u, bad) else {
            columns.push(Column::Nothing);
            continue;
        };
        if of_u {
            let of = names.cells.iter().map(|(n, _)| split(n).0).filter(|n| units::quantity::of_name(n).is_some());
            let Some(at_channel) = of.clone().position(|n| n == channel) else {
                let known = nearest::list(channel, of);
                bad.0.push(table.problem(at, format!("there is no column {channel:?}"), format!("there are: {known}")));
                columns.push(Column::Nothing);
                continue;
            };
            columns.push(Column::Uncertainty { channel: at_channel, quantity, unit });
        } else {
            gauges.push((unit.reference == Some(PressureReference::Gauge), at.clone()));
            columns.push(Column::Value { channel: found.channels.len(), quantity, unit });
            found.channels.push(channel.to_owned());
            found.quantities.push(quantity);
            found.facts.push(match fact(words, quantity) {
                Ok(fact) => fact,
                Err((message, help)) => {
                    bad.0.push(table.problem(at, message, help));
                    Fact::Unsaid
                }
            });
        }
    }
    barometers(table, &gauges, found, bad);
    if found.channels.is_empty() && bad.0.is_empty() {
        bad.0.push(table.problem(
            &names.cells[0].1,
            "no column holds a reading",
            "name columns pack_in.temperature, ...",
        ));
    }
    columns
}

fn barometers(table: &Table, gauges: &[(bool, Range<usize>)], found: &mut Readings, bad: &mut Problems) {
    let barometer = found.channels.iter().position(|c| c == BAROMETER);
    for (gauge, at) in gauges {
        if *gauge && barometer.is_none_or(|b| gauges[b].0) {
            let help = format!("add a column {BAROMETER} with the barometer's absolute reading (hPa), or give psia");
            bad.0.push(table.problem(at, "a gauge pressure needs the pressure of the surrounding air", help));
        }
        found.barometers.push(barometer.filter(|_| *gauge));
    }
}

/// The unit of a column, where it fits.
fn unit(
    table: &Table,
    row: &Row,
    column: usize,
    quantity: Quantity,
    of_u: bool,
    bad: &mut Problems,
) -> Option<&'static Unit> {
    let nowhere = (String::new(), table.rows[0].cells[column].1.clone());
    let (written, at) = row.cells.get(column).unwrap_or(&nowhere);
    let si = quantity.si_symbol();
    if written.is_empty() {
        bad.0.push(table.problem(at, "no unit stands under this name", format!("the SI unit is {si} (1 for a ratio)")));
        return None;
    }
    let unit = match units::find(written) {
        Ok(unit) => unit,
        Err(e) => {
            bad.0.push(table.problem(at, e.to_string(), ""));
            return None;
        }
    };
    let share = of_u && unit.symbol == "%";
    let difference = of_u && (unit.quantity == quantity || unit.fits(quantity) || same_scale(unit, quantity));
    if !(share || difference || unit.fits(quantity)) {
        let message = format!("{} is no unit of a {}", unit.symbol, quantity.name());
        bad.0.push(table.problem(at, message, format!("its SI unit is {si}")));
        return None;
    }
    if !of_u && quantity == Quantity::Pressure && unit.reference.is_none() {
        let message = format!("{} leaves open what the pressure is measured against", unit.symbol);
        let help = "write psia or psig, kPa(a) or kPa(g), bar(a) or bar(g)";
        if table.rows[0].cells[column].0 != BAROMETER {
            bad.0.push(table.problem(at, message, help));
            return None;
        }
    }
    Some(unit)
}

/// Whether a difference in this unit is one of the quantity.
fn same_scale(unit: &Unit, quantity: Quantity) -> bool {
    matches!(
        (unit.quantity, quantity),
        (Quantity::TemperatureDifference | Quantity::Temperature, Quantity::Temperature)
            | (Quantity::PressureDifference | Quantity::Pressure, Quantity::Pressure | Quantity::PressureDifference)
    )
}
