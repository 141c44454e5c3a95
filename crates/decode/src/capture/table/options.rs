//! What the user says about a table beside what its head says.

use super::pattern::Pattern;
use std::collections::BTreeMap;
use stream::Reason;

/// How a table is written, as far as its head does not say. The default: UTF-8, decimal points, the separator, the
/// header line and the place of the units as found, the time in the first column.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableOptions {
    /// How text is stored.
    pub encoding: Encoding,
    /// What separates cells; `None` = comma, semicolon or tabulator, whichever the header line has most of.
    pub separator: Option<u8>,
    /// What separates whole and fraction.
    pub decimal: Decimal,
    /// What stands between groups of three digits; `None` = nothing.
    pub thousands: Option<u8>,
    /// Lines that begin so are comments.
    pub comment: Option<String>,
    /// Which line names the columns, from 1; `None` = the first that fits.
    pub header_line: Option<usize>,
    /// How the line that names the columns begins.
    pub header_begins: Option<String>,
    /// A line that begins so ends the table.
    pub footer_begins: Option<String>,
    /// Where the units stand.
    pub units: UnitsAt,
    /// Names of columns by their number from 1, instead of those in the file.
    pub names: BTreeMap<usize, String>,
    /// The column of the time, or those of date and time; empty = the first.
    pub time: Vec<String>,
    /// How the time is written; `None` = as its unit in the file says.
    pub time_format: Option<TimeFormat>,
    /// How far the clock of dates without a zone was ahead of UTC, ns.
    pub zone_ns: Option<i64>,
    /// What numbers in the time column count from, ns since 1970 UTC; `None` = from 1970 UTC itself.
    pub start_ns: Option<i64>,
    /// How the line before the table begins that states the start.
    pub start_line: Option<String>,
    /// How the start is written there; `None` = RFC 3339, or the same without a zone.
    pub start_format: Option<Pattern>,
    /// Words that stand for no number, with what they mean.
    pub words: BTreeMap<String, Reason>,
    /// Whether an empty cell says nothing at all, instead of "not available".
    pub empty_is_silence: bool,
    /// Whether cells missing at a row's end are empty ones, instead of a mistake.
    pub short_rows: bool,
    /// For the long form, one reading a row: which column holds what.
    pub long: Option<LongColumns>,
}

impl TableOptions {
    /// The bytes of a text in the table's encoding; what it cannot write stands there as it is in UTF-8.
    pub fn encoding_bytes(&self, text: &str) -> Vec<u8> {
        self.encoding.bytes(text).unwrap_or_else(|| text.as_bytes().to_vec())
    }
}

/// How text is stored.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8.
    #[default]
    Utf8,
    /// Windows' western code page; ISO 8859-1 is a part of it, but for control characters.
    Windows1252,
}

/// What separates whole and fraction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Decimal {
    /// `21.5`
    #[default]
    Point,
    /// `21,5`
    Comma,
}

impl Decimal {
    pub(super) fn mark(self) -> u8 {
        if self == Decimal::Point { b'.' } else { b',' }
    }
}

/// Where the units stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitsAt {
    /// In brackets in the headers if any are there, else in a row beneath.
    #[default]
    Found,
    /// In a row beneath the headers.
    Row,
    /// In brackets in the headers: `T [degC]`, `T (°C)`.
    Headers,
    /// Behind the last `_` of the headers: `T_degC`.
    Suffix,
    /// Nowhere.
    Nowhere,
}

/// How a time is written.
#[derive(Clone, Debug, PartialEq)]
pub enum TimeFormat {
    /// A decimal number of units of so many nanoseconds.
    Number(i64),
    /// Date and time with zone as in RFC 3339.
    Rfc3339,
    /// As a pattern says.
    Pattern(Pattern),
}

impl TimeFormat {
    /// `s`, `ms`, `us`, `ns`, `min`, `h`, `rfc3339`, or a pattern such as `DD.MM.YYYY hh:mm:ss`.
    ///
    /// # Errors
    /// What is wrong with the pattern.
    pub fn from_text(text: &str) -> Result<TimeFormat, String> {
        match (unit_ns(text), text) {
            (Some(ns), _) => Ok(TimeFormat::Number(ns)),
            (None, "rfc3339") => Ok(TimeFormat::Rfc3339),
            _ => Pattern::new(text).map(TimeFormat::Pattern),
        }
    }
}

/// The nanoseconds in a unit of time.
pub(super) fn unit_ns(word: &str) -> Option<i64> {
    Some(match word {
        "h" => 3_600_000_000_000,
        "min" => 60_000_000_000,
        "s" => 1_000_000_000,
        "ms" => 1_000_000,
        "us" | "µs" | "μs" => 1_000,
        "ns" => 1,
        _ => return None,
    })
}

/// Which column of the long form holds what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LongColumns {
    /// The name of the reading.
    pub channel: String,
    /// Its value.
    pub value: String,
    /// Its unit.
    pub unit: Option<String>,
    /// Its quality.
    pub quality: Option<String>,
    /// The words of the quality with which a value counts.
    pub good: Vec<String>,
}

impl Encoding {
    /// The text that bytes stand for; where they stand for none, the place of the first such byte.
    pub(super) fn text(self, bytes: &[u8]) -> Result<String, usize> {
        match self {
            Encoding::Utf8 => std::str::from_utf8(bytes).map(str::to_owned).map_err(|e| e.valid_up_to()),
            Encoding::Windows1252 => Ok(bytes.iter().map(|b| western(*b)).collect()),
        }
    }

    /// The bytes that stand for a text; `None` where there are none.
    pub(super) fn bytes(self, text: &str) -> Option<Vec<u8>> {
        match self {
            Encoding::Utf8 => Some(text.as_bytes().to_vec()),
            Encoding::Windows1252 => text.chars().map(|c| (0..=255).find(|b| western(*b) == c)).collect(),
        }
    }
}

/// What a byte stands for in Windows' western code page; the five that stand for nothing stay as they are.
fn western(byte: u8) -> char {
    const UPPER: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘',
        '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    if (0x80..0xa0).contains(&byte) { UPPER[usize::from(byte) - 0x80] } else { char::from(byte) }
}
