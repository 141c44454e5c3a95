//! The file of readings.
//!
//! ```text
//! point, pack_in.temperature, pack_in.temperature.u, pack_in.pressure, ambient.pressure
//!      ,                degC,                     K,             psig,              hPa
//! 1    ,                 195,                   0.8,             23.8,             1013
//! ```
//! A header of channel names and a row of units; then one line a point. `<channel>.u` is the standard uncertainty of
//! that channel; in `%` it is a share of the value, but for a ratio of the whole range. A gauge pressure takes
//! `ambient.pressure` of its line. Words behind a channel's name say how its probe stands: `vapour` or `total-water` of
//! a humidity, `total` or `static` of a temperature or pressure, with `recovery=0.9` and `area=0.005` (m2). Lines that
//! begin with `#` are comments. An empty cell is a reading not taken.

use super::head;
use crate::files::Files;
use crate::load::Text;
use crate::problem::{Problem, Problems};
use pack::{Fact, Uncertain};
use std::ops::Range;
use std::path::Path;
use stream::{Reading, Reason};
use units::{AbsolutePressure, GaugePressure, Quantity, Unit};

/// The points of a file, in SI.
#[derive(Debug)]
pub struct Readings {
    /// The channels' names, in the order of the columns.
    pub channels: Vec<String>,
    /// What each measures.
    pub quantities: Vec<Quantity>,
    /// What the header says of each probe.
    pub facts: Vec<Fact>,
    /// For a gauge pressure the column of the barometer.
    pub barometers: Vec<Option<usize>>,
    /// The points.
    pub points: Vec<HandPoint>,
    /// What a person should know and is no error.
    pub notes: Vec<String>,
}

/// One point.
#[derive(Debug)]
pub struct HandPoint {
    /// What it is called: its cell in the column `point`, else its place in the file.
    pub label: String,
    /// The line of the file.
    pub line: usize,
    /// By channel.
    pub readings: Vec<Reading>,
    /// By channel; `None` where none is stated.
    pub uncertain: Vec<Option<Uncertain>>,
    /// By channel why its reading is in doubt; empty where it is not.
    pub doubts: Vec<String>,
}

pub(super) const BAROMETER: &str = "ambient.pressure";
pub(super) const LABEL: &str = "point";
/// The file of readings is one person's work; a longer one is a recording.
const MOST_POINTS: usize = 100_000;

#[derive(Clone, Copy)]
pub(super) enum Column {
    Label,
    Value { channel: usize, quantity: Quantity, unit: &'static Unit },
    Uncertainty { channel: usize, quantity: Quantity, unit: &'static Unit },
    Nothing,
}

pub(super) fn read(files: &Files, path: &Path) -> Result<Readings, Problems> {
    let text = Text::open(files, path)?;
    let table = Table::of(&text)?;
    let mut bad = Problems::default();
    let mut found = Readings {
        channels: Vec::new(),
        quantities: Vec::new(),
        facts: Vec::new(),
        barometers: Vec::new(),
        points: Vec::new(),
        notes: Vec::new(),
    };
    let columns = head::head(&table, &mut found, &mut bad);
    bad.none()?;
    let mut bad = Problems::default();
    for row in &table.rows[2..] {
        point(&table, row, &columns, &mut found, &mut bad);
        if bad.0.len() > 50 {
            break;
        }
    }
    bad.none()?;
    Ok(found)
}

/// The cells of the file with their places in it.
pub(super) struct Table<'a> {
    text: &'a Text,
    pub(super) rows: Vec<Row>,
    decimal_comma: bool,
}

pub(super) struct Row {
    line: usize,
    pub(super) cells: Vec<(String, Range<usize>)>,
}

impl Table<'_> {
    fn of(text: &Text) -> Result<Table<'_>, Problems> {
        let whole = text.text.strip_prefix('\u{feff}').unwrap_or(&text.text);
        let before = text.text.len() - whole.len();
        let first = whole.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or_default();
        let count = |c: char| first.matches(c).count();
        let separator = [';', '\t', ','].into_iter().find(|c| count(*c) > 0).unwrap_or(',');
        let mut rows = Vec::new();
        let mut offset = before;
        for (i, line) in whole.split_inclusive('\n').enumerate() {
            let content = line.trim_end_matches(['\n', '\r']);
            if !content.trim().is_empty() && !content.starts_with('#') {
                rows.push(Row { line: i + 1, cells: cells(text, content, offset, separator)? });
            }
            offset += line.len();
        }
        if rows.len() < 3 {
            let message = "a header of channel names, a row of units and at least one point are needed";
            let help = "point, pack_in.temperature / , degC / 1, 195";
            return Err(Problem::at(&text.name, &text.text, None, message, help).into());
        }
        if rows.len() > MOST_POINTS {
            let message = format!("more than {MOST_POINTS} points");
            return Err(Problem::at(&text.name, &text.text, None, message, "replay it as a capture").into());
        }
        Ok(Table { text, rows, decimal_comma: separator != ',' })
    }

    pub(super) fn problem(&self, at: &Range<usize>, message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem::at(&self.text.name, &self.text.text, Some(at.clone()), message, help)
    }

    fn number(&self, cell: &str) -> Option<f64> {
        let cell = if self.decimal_comma { cell.replacen(',', ".", 1) } else { cell.to_owned() };
        let plain = cell.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
        cell.parse().ok().filter(|x: &f64| plain && x.is_finite())
    }
}

/// The cells of a line; quotation marks around one may hold the separator.
fn cells(text: &Text, line: &str, offset: usize, separator: char) -> Result<Vec<(String, Range<usize>)>, Problem> {
    let mut cells = Vec::new();
    let mut start = 0;
    let mut quoted = false;
    for (i, c) in line.char_indices().chain([(line.len(), separator)]) {
        if c == '"' {
            quoted = !quoted;
        } else if c == separator && (!quoted || i == line.len()) {
            let cell = &line[start..i];
            let trimmed = cell.trim();
            let from = offset + start + (cell.len() - cell.trim_start().len());
            let at = from..from + trimmed.len().max(1);
            if quoted {
                let help = "a quotation mark is missing; a cell stands on one line";
                return Err(Problem::at(&text.name, &text.text, Some(at), "the quotation does not end", help));
            }
            let inner = trimmed.strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or(trimmed);
            cells.push((inner.replace("\"\"", "\"").trim().to_owned(), at));
            start = i + c.len_utf8();
        }
    }
    Ok(cells)
}

fn point(table: &Table, row: &Row, columns: &[Column], found: &mut Readings, bad: &mut Problems) {
    let n = found.channels.len();
    let mut p = HandPoint {
        label: (found.points.len() + 1).to_string(),
        line: row.line,
        readings: vec![Reading::Missing(Reason::NotYet); n],
        uncertain: vec![None; n],
        doubts: vec![String::new(); n],
    };
    if row.cells.len() > columns.len() {
        let extra = &row.cells[columns.len()].1;
        let message = format!("this line has {} cells, the header {}", row.cells.len(), columns.len());
        bad.0.push(table.problem(extra, message, "a decimal comma needs ; between the cells"));
        return;
    }
    let mut values = vec![None; n];
    let mut shares = vec![None; n];
    for ((cell, at), column) in row.cells.iter().zip(columns) {
        if cell.is_empty() {
            continue;
        }
        match *column {
            Column::Label => p.label.clone_from(cell),
            Column::Nothing => {}
            Column::Value { channel, quantity, unit } => match table.number(cell) {
                Some(x) => values[channel] = Some((to_si(quantity, unit, x), at.clone(), unit)),
                None => bad.0.push(not_a_number(table, cell, at)),
            },
            Column::Uncertainty { channel, quantity, unit } => match table.number(cell).filter(|u| *u >= 0.0) {
                Some(u) if unit.symbol == "%" && quantity != Quantity::Ratio => shares[channel] = Some(0.01 * u),
                Some(u) => p.uncertain[channel] = Some(Uncertain { u: unit.difference_to_si(u), shared: None }),
                None => bad.0.push(not_a_number(table, cell, at)),
            },
        }
    }
    for (channel, value) in values.iter().enumerate() {
        let Some((si, at, unit)) = value else { continue };
        let absolute = match found.barometers[channel].map(|b| &values[b]) {
            None => *si,
            Some(Some((air, ..))) => GaugePressure::from_si(*si).absolute(AbsolutePressure::from_si(*air)).si(),
            Some(None) => {
                let help = format!("fill {BAROMETER} in this line");
                bad.0.push(table.problem(at, "a gauge pressure, and no barometer reading in its line", help));
                continue;
            }
        };
        let from_zero = matches!(found.quantities[channel], Quantity::Temperature | Quantity::Pressure);
        if from_zero && absolute <= 0.0 {
            let message = format!("{absolute} {} is not above absolute zero", found.quantities[channel].si_symbol());
            bad.0.push(table.problem(at, message, format!("is {} the unit?", unit.symbol)));
            continue;
        }
        p.readings[channel] = Reading::Good(absolute);
        if let Some(share) = shares[channel] {
            p.uncertain[channel] = Some(Uncertain { u: share * si.abs(), shared: None });
        }
    }
    found.points.push(p);
}

fn to_si(quantity: Quantity, unit: &Unit, x: f64) -> f64 {
    match quantity {
        Quantity::TemperatureDifference | Quantity::PressureDifference => unit.difference_to_si(x),
        _ => unit.to_si(x),
    }
}

fn not_a_number(table: &Table, cell: &str, at: &Range<usize>) -> Problem {
    let comma = cell.contains(',') && !table.decimal_comma;
    let help =
        if comma { "a decimal comma needs ; between the cells" } else { "leave the cell empty where nothing was read" };
    table.problem(at, format!("{cell:?} is not a number that can stand here"), help)
}
