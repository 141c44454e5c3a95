//! Options of a `table` source.

use crate::when;
use decode::capture::table::{Decimal, Encoding, LongColumns, Pattern, TableOptions, TimeFormat, UnitsAt};
use plugin_api::{ConfigError, Options};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use stream::Reason;

/// Options of a `table` source. What is left out is found in the file, or is the default named.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TableSourceOptions {
    /// How text is stored: `utf-8` (default) or `windows-1252` (ISO 8859-1 is a part of it).
    #[serde(default)]
    encoding: Option<EncodingWord>,
    /// What separates cells: `comma`, `semicolon`, `tab`. Default: whichever the header line has most of.
    #[serde(default)]
    separator: Option<SeparatorWord>,
    /// What separates whole and fraction: `point` (default) or `comma`. Never guessed.
    #[serde(default)]
    decimal: Option<DecimalWord>,
    /// What stands between groups of three digits: `point`, `comma`, `apostrophe`, `blank`. Default: nothing.
    #[serde(default)]
    thousands: Option<ThousandsWord>,
    /// Lines that begin so are comments. Default: none are.
    #[serde(default)]
    comment: Option<String>,
    /// The number of the line that names the columns, from 1. Default: the first line that fits those beneath it.
    #[serde(default)]
    header_line: Option<usize>,
    /// How the line that names the columns begins.
    #[serde(default)]
    header_begins: Option<String>,
    /// A line that begins so ends the table.
    #[serde(default)]
    footer_begins: Option<String>,
    /// Where the units stand: `row` (beneath the names), `headers` (`T [degC]`, `T (degC)`), `suffix` (`T_degC`),
    /// `nowhere`. Default: in brackets in the headers if any are there, else in a row.
    #[serde(default)]
    units: Option<UnitsWord>,
    /// Names for columns by their number from 1, where the file has none or one name twice: `{ 4 = "T_left" }`.
    #[serde(default)]
    names: BTreeMap<String, String>,
    /// The column of the time, or those of date and time of day: `["Date", "Time"]`. Default: the first.
    #[serde(default)]
    time: Option<TimeNames>,
    /// How the time is written: `s`, `ms`, `us`, `ns`, `min`, `h`, `rfc3339`, or a pattern of YYYY, MM, MMM, DD, hh,
    /// mm, ss, AM: `DD.MM.YYYY hh:mm:ss`. Without a date it counts from the start. Default: as the file's unit says.
    #[serde(default)]
    time_format: Option<String>,
    /// How far the clock of dates without a zone was ahead of UTC: `+01:00` (summer time included).
    #[serde(default)]
    zone: Option<String>,
    /// What numbers in the time column count from, as RFC 3339 (`2026-03-01T08:00:00Z`). Default: 1970 in UTC.
    #[serde(default)]
    start: Option<String>,
    /// How the line before the table begins that states the start: `Started`.
    #[serde(default)]
    start_line: Option<String>,
    /// How the start is written there: a pattern as in time_format. Default: RFC 3339, or the same without zone.
    #[serde(default)]
    start_format: Option<String>,
    /// Words that stand for no number, with what they mean: `{ OVER = "range", "-" = "not-available" }`. Other words
    /// are no number, too: `not-a-number`, told with the place of the first.
    #[serde(default)]
    words: BTreeMap<String, String>,
    /// What an empty cell says: `not-available` (default), or `nothing-new` where not every row has a value for every
    /// column.
    #[serde(default)]
    empty: Option<EmptyWord>,
    /// What cells missing at a row's end are: `refused` (default), or `empty`.
    #[serde(default)]
    short_rows: Option<ShortWord>,
    /// For the long form, one reading a row: which columns hold its name, value, unit and quality.
    #[serde(default)]
    long: Option<LongOptions>,
}

macro_rules! words {
    ($($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $word:ident),* })*) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
        #[serde(rename_all = "kebab-case")]
        enum $name { $($(#[$vdoc])* $word),* }
    )* };
}

words! {
    /// How text is stored.
    EncodingWord {
        /// UTF-8.
        #[serde(rename = "utf-8")]
        Utf8,
        /// Windows' western code page.
        #[serde(rename = "windows-1252")]
        Windows1252
    }
    /// What separates cells.
    SeparatorWord { Comma, Semicolon, Tab }
    /// What separates whole and fraction.
    DecimalWord { Point, Comma }
    /// What stands between groups of three digits.
    ThousandsWord { Point, Comma, Apostrophe, Blank }
    /// Where the units stand.
    UnitsWord { Row, Headers, Suffix, Nowhere }
    /// What an empty cell says.
    EmptyWord { NotAvailable, NothingNew }
    /// What cells missing at a row's end are.
    ShortWord { Refused, Empty }
}

/// One column, or two.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
enum TimeNames {
    /// The column of the time.
    One(String),
    /// The columns of date and time of day.
    Two([String; 2]),
}

/// Which column of the long form holds what.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LongOptions {
    /// The name of the reading.
    channel: String,
    /// Its value.
    value: String,
    /// Its unit, if there is such a column.
    #[serde(default)]
    unit: Option<String>,
    /// Its quality, if there is such a column.
    #[serde(default)]
    quality: Option<String>,
    /// The words of the quality with which a value counts; with any other it is an `error-code`.
    #[serde(default)]
    good: Vec<String>,
}

/// The options as the decoder takes them.
pub(super) fn read(options: &Options) -> Result<TableOptions, ConfigError> {
    let o: TableSourceOptions = options.read()?;
    let pattern = |key: &str, e: String| {
        let help = "write a pattern such as DD.MM.YYYY hh:mm:ss, or s, ms, us, ns, min, h, rfc3339";
        ConfigError::new(format!("{key}: {e}"), help, options.span_of(key))
    };
    let time_format = o.time_format.as_deref().map(TimeFormat::from_text).transpose();
    let start_format = o.start_format.as_deref().map(Pattern::new).transpose();
    Ok(TableOptions {
        encoding: match o.encoding {
            Some(EncodingWord::Windows1252) => Encoding::Windows1252,
            _ => Encoding::Utf8,
        },
        separator: o.separator.map(|s| match s {
            SeparatorWord::Comma => b',',
            SeparatorWord::Semicolon => b';',
            SeparatorWord::Tab => b'\t',
        }),
        decimal: if o.decimal == Some(DecimalWord::Comma) { Decimal::Comma } else { Decimal::Point },
        thousands: thousands(&o, options)?,
        units: match o.units {
            None => UnitsAt::Found,
            Some(UnitsWord::Row) => UnitsAt::Row,
            Some(UnitsWord::Headers) => UnitsAt::Headers,
            Some(UnitsWord::Suffix) => UnitsAt::Suffix,
            Some(UnitsWord::Nowhere) => UnitsAt::Nowhere,
        },
        names: names(&o, options)?,
        time_format: time_format.map_err(|e| pattern("time_format", e))?,
        zone_ns: o.zone.as_deref().map(|z| when::zone("zone", z, options)).transpose()?,
        start_ns: start(&o, options)?,
        start_format: start_format.map_err(|e| pattern("start_format", e))?,
        words: words(&o, options)?,
        empty_is_silence: o.empty == Some(EmptyWord::NothingNew),
        short_rows: o.short_rows == Some(ShortWord::Empty),
        long: long(o.long, options)?,
        time: match o.time {
            None => Vec::new(),
            Some(TimeNames::One(name)) => vec![name],
            Some(TimeNames::Two(names)) => names.to_vec(),
        },
        comment: not_empty("comment", o.comment, options)?,
        header_line: o.header_line,
        header_begins: not_empty("header_begins", o.header_begins, options)?,
        footer_begins: not_empty("footer_begins", o.footer_begins, options)?,
        start_line: not_empty("start_line", o.start_line, options)?,
    })
}

/// Every line begins with nothing.
fn not_empty(key: &str, text: Option<String>, options: &Options) -> Result<Option<String>, ConfigError> {
    match text {
        Some(t) if t.trim().is_empty() => {
            Err(ConfigError::new(format!("{key} is empty"), "write how the line begins", options.span_of(key)))
        }
        t => Ok(t),
    }
}

fn thousands(o: &TableSourceOptions, options: &Options) -> Result<Option<u8>, ConfigError> {
    let byte = o.thousands.map(|t| match t {
        ThousandsWord::Point => b'.',
        ThousandsWord::Comma => b',',
        ThousandsWord::Apostrophe => b'\'',
        ThousandsWord::Blank => b' ',
    });
    let mark = if o.decimal == Some(DecimalWord::Comma) { b',' } else { b'.' };
    if byte == Some(mark) {
        let message = "thousands and decimal are the same";
        return Err(ConfigError::new(
            message,
            "write decimal = \"comma\" with points between groups",
            options.span_of("thousands"),
        ));
    }
    Ok(byte)
}

fn names(o: &TableSourceOptions, options: &Options) -> Result<BTreeMap<usize, String>, ConfigError> {
    let mut names = BTreeMap::new();
    for (number, name) in &o.names {
        let Some(n) = number.parse().ok().filter(|n| *n > 0) else {
            let message = format!("names: {number:?} is no number of a column");
            return Err(ConfigError::new(message, "count the columns from 1", options.span_of("names")));
        };
        names.insert(n, name.clone());
    }
    Ok(names)
}

fn start(o: &TableSourceOptions, options: &Options) -> Result<Option<i64>, ConfigError> {
    if o.start.is_some() && o.start_line.is_some() {
        let help = "leave one of them out";
        return Err(ConfigError::new(
            "both start and start_line say what times count from",
            help,
            options.span_of("start"),
        ));
    }
    if o.start_format.is_some() && o.start_line.is_none() {
        let help = "write start_line = \"Started\", or leave start_format out";
        return Err(ConfigError::new("start_format is for start_line", help, options.span_of("start_format")));
    }
    o.start.as_deref().map(|s| when::moment("start", s, options)).transpose()
}

fn words(o: &TableSourceOptions, options: &Options) -> Result<BTreeMap<String, Reason>, ConfigError> {
    const MEANINGS: [Reason; 9] = [
        Reason::NotAvailable,
        Reason::Range,
        Reason::Open,
        Reason::Short,
        Reason::Rail,
        Reason::ErrorCode,
        Reason::Stale,
        Reason::NotCalibrated,
        Reason::NotANumber,
    ];
    let mut all = BTreeMap::new();
    for (word, meaning) in &o.words {
        let Some(reason) = MEANINGS.iter().find(|r| r.word() == meaning) else {
            let known: Vec<&str> = MEANINGS.iter().map(|r| r.word()).collect();
            let message = format!("words: {meaning:?} is not known");
            return Err(ConfigError::new(message, format!("one of: {}", known.join(", ")), options.span_of("words")));
        };
        all.insert(word.clone(), *reason);
    }
    Ok(all)
}

fn long(o: Option<LongOptions>, options: &Options) -> Result<Option<LongColumns>, ConfigError> {
    let Some(LongOptions { channel, value, unit, quality, good }) = o else { return Ok(None) };
    if quality.is_some() == good.is_empty() {
        let help = "write quality = \"COLUMN\" and good = [\"ok\"], or neither";
        return Err(ConfigError::new("long: quality and good belong together", help, options.span_of("long")));
    }
    Ok(Some(LongColumns { channel, value, unit, quality, good }))
}
