//! Tables (CSV): a time and one reading a column in every row.

use super::LineError;
use super::cells::{Cells, count};
pub use super::head::{HeadError, HeadFault};
use super::time::{decimal_ns, rfc3339_ns};
use crate::number;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit};
use stream::Reason;

/// How the rows of a table are read, found from its head by [`TableFormat::from_head`].
#[derive(Clone, Debug, PartialEq)]
pub struct TableFormat {
    pub(super) separator: u8,
    pub(super) time: TimeColumn,
    /// The columns after the first.
    pub(super) readings: Vec<ReadingInfo>,
}

/// What the user says about a table beside what its head says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TableOptions {
    /// What numbers in the time column count from, ns since 1970 UTC; `None` = from 1970 UTC itself. Of no account
    /// where the column holds dates.
    pub start_ns: Option<i64>,
}

/// What the first column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeColumn {
    /// A plain decimal number of units of so many nanoseconds, counted from `start_ns`.
    Number {
        /// Nanoseconds in a unit: 10⁹ for s, 10⁶ for ms, 10³ for us, 1 for ns.
        unit_ns: i64,
        /// What it counts from, ns since 1970 UTC.
        start_ns: i64,
    },
    /// Date and time with zone as in RFC 3339.
    Rfc3339,
}

impl TableFormat {
    /// What the readings are called: the headers of the columns after the first.
    pub fn readings(&self) -> &[ReadingInfo] {
        &self.readings
    }

    /// The separator that the head has.
    pub fn separator(&self) -> char {
        char::from(self.separator)
    }

    /// What the first column holds.
    pub fn time_column(&self) -> TimeColumn {
        self.time
    }

    /// The time of a row, ns since 1970 UTC; checks the row's number of cells, too. A terminator at its end does not
    /// matter here.
    ///
    /// # Errors
    /// Another number of cells than the head has, or a first cell that is no such time.
    pub fn row_time(&self, row: &[u8]) -> Result<i64, LineError> {
        let row = without_terminator(row);
        if let Err(Unfit::Cells { column, found, expected }) = self.check_count(row) {
            let what =
                format!("the row has {found} cells, the head has {expected}; check separators and quotation marks");
            return Err(LineError::new(column, what));
        }
        let (at, text) = Cells::new(row, self.separator).next().unwrap_or((0, b""));
        let found = || String::from_utf8_lossy(text).into_owned();
        match self.time {
            TimeColumn::Rfc3339 => rfc3339_ns(text).ok_or_else(|| {
                LineError::new(at + 1, format!("`{}` is no RFC 3339 time such as 2026-05-04T12:34:56.789Z", found()))
            }),
            TimeColumn::Number { unit_ns, start_ns } => {
                decimal_ns(text, unit_ns).and_then(|ns| ns.checked_add(start_ns)).ok_or_else(|| {
                    LineError::new(
                        at + 1,
                        format!("`{}` is no time: expected a plain decimal number, up to the year 2262", found()),
                    )
                })
            }
        }
    }

    /// Hands over every cell after the first. An empty cell is not available, a word is not a number; neither is
    /// skipped.
    #[inline]
    pub(crate) fn decode_row(&self, row: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let row = without_terminator(row);
        self.check_count(row)?;
        let mut cells = Cells::new(row, self.separator);
        cells.next();
        for index in (0u16..).take(self.readings.len()) {
            let raw = match cells.plain_number() {
                Some(x) => Raw::Number(x),
                None => cells.next().map_or(Raw::Nothing(Reason::NotAvailable), |(_, text)| cell(text)),
            };
            each(index, raw);
        }
        Ok(())
    }

    #[inline]
    fn check_count(&self, row: &[u8]) -> Result<(), Unfit> {
        let (found, expected) = (count(row, self.separator), self.readings.len() + 1);
        if found == expected {
            return Ok(());
        }
        let surplus = Cells::new(row, self.separator).nth(expected);
        let column = surplus.map_or(row.len(), |(at, _)| at) + 1;
        Err(Unfit::Cells { column, found, expected })
    }
}

#[inline]
fn cell(text: &[u8]) -> Raw {
    match number::parse(text) {
        Some(x) => Raw::Number(x),
        None if text.is_empty() => Raw::Nothing(Reason::NotAvailable),
        None => Raw::Nothing(Reason::NotANumber),
    }
}

pub(super) fn without_terminator(row: &[u8]) -> &[u8] {
    let row = row.strip_suffix(b"\n").unwrap_or(row);
    row.strip_suffix(b"\r").unwrap_or(row)
}
