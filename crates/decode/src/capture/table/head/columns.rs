//! Names and units of the columns.

use super::super::cells::{Cell, Cells};
use super::super::options::{TableOptions, UnitsAt, unit_ns};
use super::{HeadError, HeadFault, Line};
use crate::capture::time::rfc3339_ns;
use crate::number;

/// A column.
pub(super) struct Column {
    pub(super) name: String,
    pub(super) unit: String,
    /// Where the unit stands: line and column from 1.
    pub(super) unit_at: Option<(usize, usize)>,
    /// Where the name stands.
    pub(super) at: (usize, usize),
}

/// The columns that a line names. A separator at its end is followed by no column.
pub(super) fn named(header: &Line<'_>, separator: u8, options: &TableOptions) -> Result<Vec<Column>, HeadError> {
    let mut cells = texts(header, separator, options)?;
    if cells.len() > 2 && cells.last().is_some_and(|(_, t)| t.is_empty()) && !options.names.contains_key(&cells.len()) {
        cells.pop();
    }
    if cells.len() > usize::from(u16::MAX) {
        return Err(header.error(0, HeadFault::TooMany(cells.len())));
    }
    if let Some(n) = options.names.keys().find(|n| **n == 0 || **n > cells.len()) {
        return Err(header.error(0, HeadFault::NoSuchColumn { number: *n, columns: cells.len() }));
    }
    let mut columns = Vec::with_capacity(cells.len());
    for (i, (at, text)) in cells.into_iter().enumerate() {
        let (name, unit) = parts(&text, i == 0, options);
        let name = options.names.get(&(i + 1)).cloned().unwrap_or(name);
        let place = (header.number, header.before + at + 1);
        let (unit_at, unit) = (unit.is_some().then_some(place), unit.unwrap_or_default());
        columns.push(Column { name, unit, unit_at, at: place });
    }
    check_names(header, &columns)?;
    Ok(columns)
}

/// Whether the headers state the units; only then they count.
pub(super) fn units_in_headers(columns: &mut [Column], options: &TableOptions) -> bool {
    let declared = matches!(options.units, UnitsAt::Headers | UnitsAt::Suffix);
    declared || options.units == UnitsAt::Found && columns.iter().any(|c| c.unit_at.is_some())
}

/// Takes the units from a line of them.
pub(super) fn units_row(
    row: &Line<'_>,
    separator: u8,
    columns: &mut [Column],
    options: &TableOptions,
) -> Result<(), HeadError> {
    let mut units = texts(row, separator, options)?;
    let data = |t: &str| number::parse(t.as_bytes()).is_some() || rfc3339_ns(t.as_bytes()).is_some();
    if let Some((at, text)) = units.first().filter(|(_, text)| data(text)) {
        return Err(row.error(*at, HeadFault::DataForUnits(text.clone())));
    }
    if units.len() == columns.len() + 1 && units.last().is_some_and(|(_, t)| t.is_empty()) {
        units.pop();
    }
    if units.len() != columns.len() {
        return Err(row.error(0, HeadFault::UnitCount { expected: columns.len(), found: units.len() }));
    }
    // A column without dimension may say 1; any other number is data.
    if let Some((at, text)) = units[1..].iter().find(|(_, text)| text != "1" && data(text)) {
        return Err(row.error(*at, HeadFault::DataForUnits(text.clone())));
    }
    for (column, (at, unit)) in columns.iter_mut().zip(units) {
        column.unit_at = Some((row.number, row.before + at + 1));
        // `[degC]` and `(degC)` in a row of units are units in brackets.
        let bare = |open, close| unit.strip_prefix(open).and_then(|u: &str| u.strip_suffix(close));
        column.unit = bare('[', ']').or_else(|| bare('(', ')')).map_or(unit.clone(), |u| u.trim().to_owned());
    }
    Ok(())
}

/// The cells as text, quotation marks taken off, doubled ones made single.
fn texts(line: &Line<'_>, separator: u8, options: &TableOptions) -> Result<Vec<(usize, String)>, HeadError> {
    let text = |(at, bytes): Cell<'_>| match options.encoding.text(bytes) {
        Ok(text) => Ok((at, text.replace("\"\"", "\"").trim().to_owned())),
        Err(n) => Err(line.error(at + n, HeadFault::Encoding)),
    };
    Cells::new(line.text, separator).map(text).collect()
}

/// A header taken apart into name and unit. Square brackets always hold a unit, round ones where a unit is known by
/// that text (or the user says so), what stands behind the last `_` only if the user says so.
fn parts(text: &str, time: bool, options: &TableOptions) -> (String, Option<String>) {
    let whole = || (text.to_owned(), None);
    let known = |u: &str| units::find(u).is_ok() || time && unit_ns(u).is_some();
    let bracket = |open, close| text.strip_suffix(close).and_then(|t: &str| t.split_once(open));
    let taken = match options.units {
        UnitsAt::Row | UnitsAt::Nowhere => None,
        UnitsAt::Suffix => text.rsplit_once('_').filter(|(_, u)| known(u)),
        UnitsAt::Headers => bracket('[', ']').or_else(|| bracket('(', ')')),
        UnitsAt::Found => bracket('[', ']').or_else(|| bracket('(', ')').filter(|(_, u)| known(u.trim()))),
    };
    taken.map_or_else(whole, |(name, unit)| (name.trim_end().to_owned(), Some(unit.trim().to_owned())))
}

fn check_names(header: &Line<'_>, columns: &[Column]) -> Result<(), HeadError> {
    let mut known: Vec<(&str, usize)> = columns.iter().map(|c| (c.name.as_str(), c.at.1)).collect();
    known.sort_unstable();
    let wrong = |column: usize, fault| HeadError { line: header.number, column, fault };
    if let Some((_, at)) = known.iter().find(|(name, _)| name.is_empty()) {
        return Err(wrong(*at, HeadFault::NoName));
    }
    match known.windows(2).find(|w| w[0].0 == w[1].0) {
        Some(pair) => Err(wrong(pair[1].1, HeadFault::Duplicate { name: pair[0].0.to_owned(), first: pair[0].1 })),
        None => Ok(()),
    }
}
