//! Tables (CSV): a time and one reading a column in every row; or, in the long form, one reading a row.

mod cells;
mod head;
mod options;
mod pattern;

pub use head::{Head, HeadError, HeadFault};
pub use options::{Decimal, Encoding, LongColumns, TableOptions, TimeFormat, UnitsAt};
pub use pattern::Pattern;

use super::LineError;
use super::time::{decimal_ns, local_ns, rfc3339_ns};
use crate::number;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit};
use cells::{Cells, count};
use smallvec::SmallVec;
use stream::Reason;

/// How the rows of a table are read, found from its head by [`Head::find`].
#[derive(Clone, Debug, PartialEq)]
pub struct TableFormat {
    separator: u8,
    decimal: Decimal,
    thousands: Option<u8>,
    /// Columns, that of the time included.
    columns: usize,
    /// The column of the time; that of the time of day, where date and time of day stand apart.
    time_at: (usize, Option<usize>),
    time: TimeColumn,
    body: Body,
    readings: Vec<ReadingInfo>,
    /// Words that stand for no number, sorted.
    words: Vec<(Vec<u8>, Reason)>,
    empty_is_silence: bool,
    short_rows: bool,
    encoding: Encoding,
}

/// What a row holds beside its time.
#[derive(Clone, Debug, PartialEq)]
enum Body {
    /// Time first, every other column a reading.
    Plain,
    /// For every column its reading.
    Wide(Vec<Option<u16>>),
    /// One reading.
    Long { channel: usize, value: usize, unit: Option<usize>, quality: Option<(usize, Vec<Vec<u8>>)> },
}

/// What the time of a row is.
#[derive(Clone, Debug, PartialEq)]
pub enum TimeColumn {
    /// A decimal number of units of so many nanoseconds, counted from `start_ns`.
    Number {
        /// Nanoseconds in a unit: 10⁹ for s, 10⁶ for ms, 10³ for us, 1 for ns.
        unit_ns: i64,
        /// What it counts from, ns since 1970 UTC.
        start_ns: i64,
    },
    /// Date and time with zone as in RFC 3339.
    Rfc3339,
    /// The same without zone, by a clock that was so far ahead of UTC.
    Local {
        /// ns.
        ahead_ns: i64,
    },
    /// Written as a pattern says, by a clock that is 1970 UTC `zero_ns` after its own zero.
    Pattern {
        /// How it is written.
        pattern: Pattern,
        /// Added to what the pattern gives: the start, or less the distance from UTC.
        zero_ns: i64,
    },
}

/// The reading that a row of the long form holds, for the list of all: its name, its unit, and where that stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LongRow {
    /// Name.
    pub name: String,
    /// Unit; `None` where the row says none.
    pub unit: Option<String>,
    /// Where the name begins, in bytes from 1.
    pub column: usize,
    /// Where the unit begins, in bytes from 1.
    pub unit_column: usize,
}

impl TableFormat {
    /// What the readings are called: the headers of the columns beside the time.
    pub fn readings(&self) -> &[ReadingInfo] {
        &self.readings
    }

    /// What separates cells.
    pub fn separator(&self) -> char {
        char::from(self.separator)
    }

    /// What separates whole and fraction.
    pub fn decimal(&self) -> Decimal {
        self.decimal
    }

    /// The column of the time alone, where it is one.
    pub fn single_time_column(&self) -> Option<usize> {
        self.time_at.1.is_none().then_some(self.time_at.0)
    }

    /// What the time of a row is.
    pub fn time_column(&self) -> &TimeColumn {
        &self.time
    }

    /// Whether every row holds one reading by name. Then [`TableFormat::long_row`] finds their names.
    pub fn is_long(&self) -> bool {
        matches!(self.body, Body::Long { .. })
    }

    /// Whether another table has the same columns, written the same; their times may count from another start.
    pub fn same_columns(&self, other: &TableFormat) -> bool {
        let time = TimeColumn::Rfc3339;
        TableFormat { time: time.clone(), ..self.clone() } == TableFormat { time, ..other.clone() }
            && std::mem::discriminant(&self.time) == std::mem::discriminant(&other.time)
    }

    /// The same table with these readings, for the long form.
    #[must_use]
    pub fn with_readings(self, mut readings: Vec<ReadingInfo>) -> TableFormat {
        readings.sort_by(|a, b| a.name.cmp(&b.name));
        TableFormat { readings, ..self }
    }

    /// The time of a row, ns since 1970 UTC; checks the row's number of cells, too. A terminator at its end does not
    /// matter here.
    ///
    /// # Errors
    /// Another number of cells than the head has, or no such time.
    pub fn row_time(&self, row: &[u8]) -> Result<i64, LineError> {
        let row = without_terminator(row);
        if let Err(Unfit::Cells { column, found, expected }) = self.check_count(row) {
            return Err(LineError::new(column, wrong_count(row, found, expected)));
        }
        let (at, first) = Cells::new(row, self.separator).nth(self.time_at.0).unwrap_or((row.len(), b""));
        let found = match self.time_at.1 {
            None => self.time.parse(first, self.decimal),
            Some(day) => {
                let second = Cells::new(row, self.separator).nth(day).map_or(&b""[..], |c| c.1);
                let mut both: SmallVec<[u8; 48]> = SmallVec::from_slice(first);
                both.push(b' ');
                both.extend_from_slice(second);
                self.time.parse(&both, self.decimal)
            }
        };
        found.ok_or_else(|| self.no_time(row, at, first))
    }

    #[cold]
    fn no_time(&self, row: &[u8], at: usize, text: &[u8]) -> LineError {
        let mut found = String::from_utf8_lossy(text).into_owned();
        if let Some(day) = self.time_at.1 {
            let second = Cells::new(row, self.separator).nth(day).map_or(&b""[..], |c| c.1);
            found = format!("{found} {}", String::from_utf8_lossy(second));
        }
        let expected = match &self.time {
            TimeColumn::Rfc3339 if local_ns(text).is_some() => {
                let what = format!("`{found}` has no zone: write zone = \"+01:00\", what its clock was ahead of UTC");
                return LineError::new(at + 1, what);
            }
            TimeColumn::Rfc3339 => "no RFC 3339 time such as 2026-05-04T12:34:56.789Z".to_owned(),
            TimeColumn::Local { .. } => "no date and time such as 2026-05-04 12:34:56.789".to_owned(),
            TimeColumn::Number { .. } => "no time: expected a decimal number, up to the year 2262".to_owned(),
            TimeColumn::Pattern { pattern, .. } => format!("no time written as {}", pattern.text()),
        };
        LineError::new(at + 1, format!("`{found}` is {expected}"))
    }

    /// Hands over every cell beside the time. An empty cell is not available, a word is what the user said of it or
    /// not a number; neither is skipped.
    #[inline]
    pub(crate) fn decode_row(&self, row: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let row = without_terminator(row);
        self.check_count(row)?;
        let mut cells = Cells::new(row, self.separator);
        if matches!(self.body, Body::Plain) {
            cells.next();
            for index in (0u16..).take(self.readings.len()) {
                let raw = match cells.plain_number() {
                    Some(x) => Some(Raw::Number(x)),
                    None => self.cell(cells.next().map_or(&b""[..], |(_, text)| text)),
                };
                if let Some(raw) = raw {
                    each(index, raw);
                }
            }
            return Ok(());
        }
        self.decode_other(row, each);
        Ok(())
    }

    fn decode_other(&self, row: &[u8], each: &mut impl FnMut(u16, Raw)) {
        let mut cells = Cells::new(row, self.separator);
        match &self.body {
            Body::Long { channel, value, quality, .. } => {
                let cell = |i: usize| Cells::new(row, self.separator).nth(i).map_or(&b""[..], |c| c.1);
                let name = self.encoding.text(cell(*channel)).unwrap_or_default();
                let found = self.readings.binary_search_by(|r| r.name.as_str().cmp(&name));
                let Some(index) = found.ok().and_then(|i| u16::try_from(i).ok()) else { return };
                let bad = quality.as_ref().is_some_and(|(q, good)| !good.iter().any(|g| g == cell(*q)));
                let raw = if bad { Some(Raw::Nothing(Reason::ErrorCode)) } else { self.cell(cell(*value)) };
                if let Some(raw) = raw {
                    each(index, raw);
                }
            }
            Body::Wide(targets) => {
                for target in targets {
                    let text = cells.next().map_or(&b""[..], |c| c.1);
                    if let (Some(index), Some(raw)) = (target, self.cell(text)) {
                        each(*index, raw);
                    }
                }
            }
            Body::Plain => {}
        }
    }

    /// What a cell says; `None` where it says nothing at all.
    #[inline]
    fn cell(&self, text: &[u8]) -> Option<Raw> {
        if let Some(x) = self.number(text) {
            return Some(Raw::Number(x));
        }
        if text.is_empty() {
            return (!self.empty_is_silence).then_some(Raw::Nothing(Reason::NotAvailable));
        }
        let declared = self.words.binary_search_by(|(w, _)| w.as_slice().cmp(text));
        Some(Raw::Nothing(declared.map_or(Reason::NotANumber, |i| self.words[i].1)))
    }

    #[inline]
    fn number(&self, text: &[u8]) -> Option<f64> {
        if self.decimal == Decimal::Point && self.thousands.is_none() {
            return number::parse(text);
        }
        let mut plain: SmallVec<[u8; 32]> = SmallVec::new();
        grouped(text, self.decimal.mark(), self.thousands, &mut plain).then(|| number::parse(&plain))?
    }

    /// The cells of a row that are neither number, nor empty, nor a declared word: where each begins, from 1, and its
    /// text.
    pub fn strange_cells(&self, row: &[u8], each: &mut impl FnMut(usize, &[u8])) {
        let row = without_terminator(row);
        let reading = |i: usize| match &self.body {
            Body::Plain => i > 0,
            Body::Wide(targets) => targets.get(i).is_some_and(Option::is_some),
            Body::Long { value, .. } => i == *value,
        };
        let cells = Cells::new(row, self.separator).take(self.columns).enumerate();
        for (_, (at, text)) in cells.filter(|(i, _)| reading(*i)) {
            let declared = || self.words.iter().any(|(w, _)| w.as_slice() == text);
            if self.cell(text) == Some(Raw::Nothing(Reason::NotANumber)) && !declared() {
                each(at + 1, text);
            }
        }
    }

    /// The reading that a row of the long form names; `None` for a table that is not of that form.
    ///
    /// # Errors
    /// A row without a name, or with one that is no text.
    pub fn long_row(&self, row: &[u8]) -> Result<Option<LongRow>, LineError> {
        let Body::Long { channel, unit, .. } = &self.body else { return Ok(None) };
        let row = without_terminator(row);
        let cell = |i: usize| Cells::new(row, self.separator).nth(i).unwrap_or((row.len(), b""));
        let text = |(at, bytes): (usize, &[u8])| {
            self.encoding
                .text(bytes)
                .map_err(|n| LineError::new(at + n + 1, "this is no text in the declared encoding"))
        };
        let (at, bytes) = cell(*channel);
        let name = text((at, bytes))?;
        if name.is_empty() {
            return Err(LineError::new(at + 1, "the row names no channel"));
        }
        let (unit_at, unit) = match unit {
            Some(u) => (cell(*u).0, Some(text(cell(*u))?).filter(|u| !u.is_empty())),
            None => (0, None),
        };
        Ok(Some(LongRow { name, unit, column: at + 1, unit_column: unit_at + 1 }))
    }

    #[inline]
    fn check_count(&self, row: &[u8]) -> Result<(), Unfit> {
        let (found, expected) = (count(row, self.separator), self.columns);
        if found == expected {
            return Ok(());
        }
        self.other_count(row, found, expected)
    }

    /// One separator too many at the end is none; cells that are missing there are allowed if the user says so.
    #[cold]
    fn other_count(&self, row: &[u8], found: usize, expected: usize) -> Result<(), Unfit> {
        let trailing = found == expected + 1 && row.trim_ascii_end().last() == Some(&self.separator);
        if trailing || self.short_rows && found < expected {
            return Ok(());
        }
        let surplus = Cells::new(row, self.separator).nth(expected);
        let column = surplus.map_or(row.len(), |(at, _)| at) + 1;
        Err(Unfit::Cells { column, found, expected })
    }
}

impl TimeColumn {
    fn parse(&self, text: &[u8], decimal: Decimal) -> Option<i64> {
        match self {
            TimeColumn::Rfc3339 => rfc3339_ns(text),
            TimeColumn::Local { ahead_ns } => local_ns(text)?.checked_sub(*ahead_ns),
            TimeColumn::Pattern { pattern, zero_ns } => pattern.parse(text)?.checked_add(*zero_ns),
            TimeColumn::Number { unit_ns, start_ns } => {
                let ns = match decimal {
                    Decimal::Point => decimal_ns(text, *unit_ns),
                    Decimal::Comma => {
                        let mut plain: SmallVec<[u8; 32]> = SmallVec::new();
                        grouped(text, b',', None, &mut plain).then(|| decimal_ns(&plain, *unit_ns))?
                    }
                };
                ns?.checked_add(*start_ns)
            }
        }
    }
}

fn wrong_count(row: &[u8], found: usize, expected: usize) -> String {
    if row.iter().filter(|b| **b == b'"').count() % 2 == 1 {
        return "a quotation mark is opened and not closed; a cell may not go over several lines".to_owned();
    }
    format!("the row has {found} cells, the head has {expected}; check separators and quotation marks")
}

/// Writes a number with a decimal point and without marks between groups of three; false where the marks stand wrong.
fn grouped(text: &[u8], mark: u8, thousands: Option<u8>, plain: &mut SmallVec<[u8; 32]>) -> bool {
    let whole_ends = text.iter().position(|b| *b == mark || matches!(b, b'e' | b'E')).unwrap_or(text.len());
    let (whole, rest) = text.split_at(whole_ends);
    let groups = thousands.filter(|t| whole.contains(t));
    let digits_begin = usize::from(matches!(whole.first(), Some(b'+' | b'-')));
    for (i, group) in whole[digits_begin..].split(|b| Some(*b) == groups).enumerate() {
        let fits = if i == 0 { (1..=3).contains(&group.len()) } else { group.len() == 3 };
        if groups.is_some() && !(fits && group.iter().all(u8::is_ascii_digit)) {
            return false;
        }
        // A point in the whole part is no part of a number whose mark is a comma.
        if group.contains(&b'.') {
            return false;
        }
        if i == 0 {
            plain.extend_from_slice(&whole[..digits_begin]);
        }
        plain.extend_from_slice(group);
    }
    match rest.split_first() {
        Some((m, fraction)) if *m == mark => {
            plain.push(b'.');
            plain.extend_from_slice(fraction);
            !fraction.contains(&b'.')
        }
        _ => {
            plain.extend_from_slice(rest);
            !rest.contains(&b'.')
        }
    }
}

fn without_terminator(row: &[u8]) -> &[u8] {
    let row = row.strip_suffix(b"\n").unwrap_or(row);
    row.strip_suffix(b"\r").unwrap_or(row)
}
