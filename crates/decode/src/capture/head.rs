//! The head of a table: names, units, separator, kind of time.

use super::cells::{Cell, Cells};
use super::table::{TableFormat, TableOptions, TimeColumn, without_terminator};
use super::time::rfc3339_ns;
use crate::number;
use crate::reading::ReadingInfo;

/// Why a table's head is refused, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {fault}")]
pub struct HeadError {
    /// Line, from 1.
    pub line: usize,
    /// Column, in bytes from 1.
    pub column: usize,
    /// What is wrong and what to do.
    pub fault: HeadFault,
}

/// What is wrong with a head.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HeadFault {
    /// No line at all, or an empty one.
    #[error("the table is empty; its first line must name the columns")]
    Empty,
    /// Not text.
    #[error("this is not UTF-8 text; convert the file")]
    Encoding,
    /// One column.
    #[error("only one column: neither a comma nor a semicolon separates this line")]
    OneColumn,
    /// Too many.
    #[error("{0} columns; at most 65535 are possible")]
    TooMany(usize),
    /// A column without a name.
    #[error("the column has no name")]
    NoName,
    /// One name twice.
    #[error("column `{name}` is there twice, first at column {first}; rename one of them")]
    Duplicate {
        /// Name.
        name: String,
        /// Where the first begins.
        first: usize,
    },
    /// The file ends before its units.
    #[error("the table ends where its second line should state the units (or write headers as `name [unit]`)")]
    NoUnits,
    /// Data where units should be.
    #[error("`{0}` is data where units are expected: the second line must state them, or the headers as `name [unit]`")]
    DataForUnits(String),
    /// Another number of units than columns.
    #[error("{found} units for {expected} columns; leave a cell empty where there is none")]
    UnitCount {
        /// Columns.
        expected: usize,
        /// Units.
        found: usize,
    },
    /// A time unit that is none.
    #[error("`{0}` is no unit for the time column: s, ms, us, ns, or RFC 3339 (also UTC, or nothing) for dates")]
    TimeUnit(String),
}

impl TableFormat {
    /// Finds out how a table is written from its first lines (two suffice; more do no harm): names in the first
    /// line, units in the second, or both in the first as `name [unit]`. The first column is the time. Gives the
    /// number of lines that the head takes, so that `lines[n]` is the first row. A byte order mark is passed over.
    ///
    /// # Errors
    /// See [`HeadFault`].
    pub fn from_head(lines: &[&[u8]], options: TableOptions) -> Result<(TableFormat, usize), HeadError> {
        let names = lines.first().map_or(&b""[..], |l| without_terminator(l));
        let mark = if names.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
        let first = Line { number: 1, before: mark, text: &names[mark..] };
        if first.text.trim_ascii().is_empty() {
            return Err(first.error(0, HeadFault::Empty));
        }
        let separator = separator(first.text).ok_or_else(|| first.error(0, HeadFault::OneColumn))?;
        let headers = first.cells(separator)?;
        if headers.len() > usize::from(u16::MAX) {
            return Err(first.error(0, HeadFault::TooMany(headers.len())));
        }
        let split: Vec<(usize, String, Option<String>)> =
            headers.into_iter().map(|(at, text)| with_unit(at, text)).collect();
        let in_headers = split.iter().any(|(_, _, unit)| unit.is_some());
        check_names(&first, &split)?;
        let (line, units) = if in_headers {
            (first, split.iter().map(|(at, _, unit)| (*at, unit.clone().unwrap_or_default())).collect())
        } else {
            let second = lines.get(1).map(|l| Line { number: 2, before: 0, text: without_terminator(l) });
            let second = second.ok_or_else(|| {
                let end = Line { number: 2, before: 0, text: b"" };
                end.error(0, HeadFault::NoUnits)
            })?;
            let units = units(&second, separator, split.len())?;
            (second, units)
        };
        let time = time_column(&units[0].1, options).map_err(|fault| line.error(units[0].0, fault))?;
        let readings = split.into_iter().zip(units).skip(1);
        let readings =
            readings.map(|((_, name, _), (_, unit))| ReadingInfo { name, unit: Some(unit).filter(|u| !u.is_empty()) });
        Ok((TableFormat { separator, time, readings: readings.collect() }, line.number))
    }
}

/// A line of the head.
struct Line<'a> {
    number: usize,
    /// Bytes before `text` that are no cell.
    before: usize,
    text: &'a [u8],
}

impl Line<'_> {
    fn error(&self, at: usize, fault: HeadFault) -> HeadError {
        HeadError { line: self.number, column: self.before + at + 1, fault }
    }

    /// The cells as text, quotation marks taken off, doubled ones made single.
    fn cells(&self, separator: u8) -> Result<Vec<(usize, String)>, HeadError> {
        let text = |(at, bytes): Cell<'_>| match std::str::from_utf8(bytes) {
            Ok(text) => Ok((at, text.replace("\"\"", "\"").trim().to_owned())),
            Err(e) => Err(self.error(at + e.valid_up_to(), HeadFault::Encoding)),
        };
        Cells::new(self.text, separator).map(text).collect()
    }
}

/// Comma or semicolon, whichever there is more of outside quotation marks; `None` where there is neither.
fn separator(line: &[u8]) -> Option<u8> {
    let (mut commas, mut semicolons, mut quoted) = (0, 0, false);
    for b in line {
        match b {
            b'"' => quoted = !quoted,
            b',' if !quoted => commas += 1,
            b';' if !quoted => semicolons += 1,
            _ => {}
        }
    }
    if commas + semicolons == 0 {
        return None;
    }
    Some(if semicolons > commas { b';' } else { b',' })
}

/// `name [unit]` taken apart.
fn with_unit(at: usize, text: String) -> (usize, String, Option<String>) {
    let parts = text.strip_suffix(']').and_then(|t| t.split_once('['));
    match parts.map(|(name, unit)| (name.trim_end().to_owned(), unit.trim().to_owned())) {
        Some((name, unit)) => (at, name, Some(unit)),
        None => (at, text, None),
    }
}

fn check_names(line: &Line<'_>, columns: &[(usize, String, Option<String>)]) -> Result<(), HeadError> {
    let mut known: Vec<(&str, usize)> = columns.iter().map(|(at, name, _)| (name.as_str(), *at)).collect();
    known.sort_unstable();
    if let Some((_, at)) = known.iter().find(|(name, _)| name.is_empty()) {
        return Err(line.error(*at, HeadFault::NoName));
    }
    match known.windows(2).find(|w| w[0].0 == w[1].0) {
        Some(pair) => {
            let first = line.before + pair[0].1 + 1;
            Err(line.error(pair[1].1, HeadFault::Duplicate { name: pair[0].0.to_owned(), first }))
        }
        None => Ok(()),
    }
}

fn units(line: &Line<'_>, separator: u8, columns: usize) -> Result<Vec<(usize, String)>, HeadError> {
    let units = line.cells(separator)?;
    let data = |t: &str| number::parse(t.as_bytes()).is_some() || rfc3339_ns(t.as_bytes()).is_some();
    if let Some((at, text)) = units.first().filter(|(_, text)| data(text)) {
        return Err(line.error(*at, HeadFault::DataForUnits(text.clone())));
    }
    if units.len() != columns {
        return Err(line.error(0, HeadFault::UnitCount { expected: columns, found: units.len() }));
    }
    // A column without dimension may say 1; any other number is data.
    match units[1..].iter().find(|(_, text)| text != "1" && data(text)) {
        Some((at, text)) => Err(line.error(*at, HeadFault::DataForUnits(text.clone()))),
        None => Ok(units),
    }
}

fn time_column(unit: &str, options: TableOptions) -> Result<TimeColumn, HeadFault> {
    let unit_ns = match unit {
        "s" => 1_000_000_000,
        "ms" => 1_000_000,
        "us" | "µs" | "μs" => 1_000,
        "ns" => 1,
        "" | "UTC" | "RFC 3339" | "RFC3339" => return Ok(TimeColumn::Rfc3339),
        other => return Err(HeadFault::TimeUnit(other.to_owned())),
    };
    Ok(TimeColumn::Number { unit_ns, start_ns: options.start_ns.unwrap_or(0) })
}
