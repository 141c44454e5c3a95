//! Rows of a table (CSV).

mod options;
mod words;

use crate::lines::{CUT_OFF, Lines};
use decode::ReadingInfo;
use decode::capture::LineError;
use decode::capture::table::{Decimal, Encoding, Head, TableFormat, TableOptions, TimeColumn};
use options::TableSourceOptions;
use plugin_api::{Capture, CaptureError, CaptureSetup, Captures, OpenError};
use std::collections::BTreeMap;
use std::path::Path;
use stream::{EntryBody, EventTime, Payload, RawRecord, RecordKind, SourceId};
use words::Words;

/// Readings told one by one where a person confirms what was understood.
const SHOWN: usize = 12;

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(TableSourceOptions).to_value()
}

/// What the heads of a source's files say.
pub struct Heads {
    /// How the rows are read.
    pub format: TableFormat,
    /// Where each reading's unit stands, as `file:line:column`.
    pub unit_places: Vec<Option<String>>,
}

/// What the files' heads say; for the long form the names and units in all rows, too. All files of a source must have
/// the same columns.
///
/// # Errors
/// Options, files that cannot be read, heads that are none or differ.
pub fn heads(setup: &CaptureSetup) -> Result<Heads, OpenError> {
    let options = options::read(&setup.options)?;
    let all = all_heads(setup, &options)?;
    let Some(first) = all.first() else {
        return Err(CaptureError::File { file: setup.name.clone(), what: "no file is named".to_owned() }.into());
    };
    if first.format.is_long() {
        return Ok(long_readings(setup, &all)?);
    }
    let name = setup.files.first().map(|f| f.display().to_string()).unwrap_or_default();
    let places = first.unit_places.iter().map(|p| p.map(|(line, column)| format!("{name}:{line}:{column}")));
    Ok(Heads { format: first.format.clone(), unit_places: places.collect() })
}

pub(crate) fn open(setup: &CaptureSetup) -> Result<Captures, OpenError> {
    let options = options::read(&setup.options)?;
    let heads = all_heads(setup, &options)?;
    let mut all: Captures = Vec::with_capacity(heads.len());
    for (file, head) in setup.files.iter().zip(heads) {
        all.push(Box::new(Table {
            source: setup.id,
            lines: Lines::open(file)?,
            words: Words::new(&head.format),
            comment: stored(&options, options.comment.as_deref()),
            footer: stored(&options, options.footer_begins.as_deref()),
            encoding: options.encoding,
            head,
            ended: false,
            sequence: 0,
            blank: 0,
            comments: 0,
            after: 0,
        }));
    }
    Ok(all)
}

fn stored(options: &TableOptions, text: Option<&str>) -> Option<Vec<u8>> {
    text.map(|t| options.encoding_bytes(t))
}

/// The head of each file.
fn all_heads(setup: &CaptureSetup, options: &TableOptions) -> Result<Vec<Head>, CaptureError> {
    let mut all: Vec<Head> = Vec::new();
    for file in &setup.files {
        let head = head(file, options)?;
        if let Some(first) = all.first()
            && !head.format.same_columns(&first.format)
        {
            let what = "has other columns, units or separator than the first file of this source".to_owned();
            return Err(CaptureError::File { file: file.display().to_string(), what });
        }
        all.push(head);
    }
    Ok(all)
}

fn head(file: &Path, options: &TableOptions) -> Result<Head, CaptureError> {
    let mut lines = Lines::open(file)?;
    let mut first: Vec<Vec<u8>> = Vec::new();
    while first.len() < Head::LINES
        && let Some(l) = lines.next_line()?
    {
        first.push(l.bytes.to_vec());
    }
    let first: Vec<&[u8]> = first.iter().map(Vec::as_slice).collect();
    Head::find(&first, options).map_err(|e| {
        let (file, line, column) = (lines.file(), e.line as u64, e.column as u64);
        CaptureError::Line { file, line, column, what: e.fault.to_string() }
    })
}

/// Names and units in all rows of tables of the long form.
fn long_readings(setup: &CaptureSetup, heads: &[Head]) -> Result<Heads, CaptureError> {
    let mut found: BTreeMap<String, (Option<String>, String)> = BTreeMap::new();
    let mut format = None;
    for (file, head) in setup.files.iter().zip(heads) {
        let format = format.get_or_insert_with(|| head.format.clone());
        let mut lines = Lines::open(file)?;
        let name = lines.file();
        while let Some(l) = lines.next_line()? {
            // A row that is none is told when it is read.
            if l.number <= head.lines as u64 || l.unterminated || head.format.row_time(l.bytes).is_err() {
                continue;
            }
            let at = |column: usize| format!("{name}:{}:{column}", l.number);
            let Ok(Some(row)) = format.long_row(l.bytes) else { continue };
            match found.get(&row.name) {
                None => {
                    found.insert(row.name, (row.unit, at(row.unit_column)));
                }
                Some((unit, place)) if *unit != row.unit => {
                    let say = |u: &Option<String>| u.clone().unwrap_or_else(|| "no unit".to_owned());
                    let what = format!("{} is in {} here, in {} at {place}", row.name, say(&row.unit), say(unit));
                    let (line, column) = (l.number, row.unit_column as u64);
                    return Err(CaptureError::Line { file: name.clone(), line, column, what });
                }
                Some(_) => {}
            }
        }
    }
    let Some(format) = format else {
        return Err(CaptureError::File { file: setup.name.clone(), what: "no file is named".to_owned() });
    };
    let unit_places = found.values().map(|(unit, place)| unit.as_ref().map(|_| place.clone())).collect();
    let readings = found.into_iter().map(|(name, (unit, _))| ReadingInfo { name, unit }).collect();
    Ok(Heads { format: format.with_readings(readings), unit_places })
}

struct Table {
    source: SourceId,
    lines: Lines,
    head: Head,
    words: Words,
    comment: Option<Vec<u8>>,
    footer: Option<Vec<u8>>,
    encoding: Encoding,
    /// The line that ends the table was there.
    ended: bool,
    sequence: u64,
    blank: u64,
    comments: u64,
    after: u64,
}

impl Capture for Table {
    fn next_entry(&mut self) -> Result<Option<EntryBody>, CaptureError> {
        loop {
            let Some(line) = self.lines.next_line()? else { return Ok(None) };
            let (number, bytes) = (line.number, line.bytes);
            let begins =
                |with: &Option<Vec<u8>>| with.as_ref().is_some_and(|w| bytes.trim_ascii_start().starts_with(w));
            if number <= self.head.lines as u64 {
                // Between names and units, blank lines and comments count like those further down.
                let before = number <= self.head.header_line as u64 || Some(number as usize) == self.head.units_line;
                self.comments += u64::from(!before && begins(&self.comment));
                self.blank += u64::from(!before && bytes.trim_ascii().is_empty());
                continue;
            }
            if self.ended || begins(&self.footer) {
                self.ended = true;
                self.after += 1;
                continue;
            }
            if bytes.trim_ascii().is_empty() {
                self.blank += 1;
                continue;
            }
            if begins(&self.comment) {
                self.comments += 1;
                continue;
            }
            let time = match self.head.format.row_time(bytes) {
                _ if line.unterminated => Err(LineError { column: bytes.len() + 1, what: CUT_OFF.to_owned() }),
                Ok(t) => self.head.format.long_row(bytes).map(|_| t),
                Err(e) => Err(e),
            };
            let event_time = match time {
                Ok(t) => EventTime(t),
                Err(LineError { column, what }) => {
                    let (file, column) = (self.lines.file(), column as u64);
                    return Err(CaptureError::Line { file, line: number, column, what });
                }
            };
            self.words.look(&self.head.format, bytes, number);
            let (source, sequence, payload) = (self.source, self.sequence, Payload::from_slice(bytes));
            self.sequence += 1;
            let record = RawRecord { source, sequence, event_time, kind: RecordKind::Row, payload };
            return Ok(Some(EntryBody::Record(record)));
        }
    }

    fn progress(&self) -> f64 {
        self.lines.progress()
    }

    fn unused(&self) -> Vec<(String, u64)> {
        let counted = [
            ("lines before the table", self.head.preamble as u64),
            ("lines after the table", self.after),
            ("blank lines", self.blank),
            ("comments", self.comments),
        ];
        let mut all: Vec<_> = counted.into_iter().filter(|(_, n)| *n > 0).map(|(w, n)| (w.to_owned(), n)).collect();
        all.extend(self.words.told());
        all
    }

    fn understood(&self) -> Vec<String> {
        let (head, format) = (&self.head, &self.head.format);
        let separator = match format.separator() {
            '\t' => "tabulators".to_owned(),
            c => format!("`{c}`"),
        };
        let decimal = if format.decimal() == Decimal::Comma { "decimal comma" } else { "decimal point" };
        let encoding = if self.encoding == Encoding::Utf8 { "UTF-8" } else { "windows-1252" };
        let units = head.units_line.map_or_else(String::new, |n| format!(", units in line {n}"));
        let mut all = vec![
            format!("columns named in line {}{units}, rows from line {}", head.header_line, head.lines + 1),
            format!("cells apart by {separator}, {decimal}, {encoding}"),
            format!("time: {}", time(format.time_column())),
        ];
        let named = |r: &ReadingInfo| format!("{} [{}]", r.name, r.unit.as_deref().unwrap_or("no unit"));
        match format.is_long() {
            true => all.push("one reading a row, named in it".to_owned()),
            false => {
                let names: Vec<String> = format.readings().iter().map(named).take(SHOWN).collect();
                let more = format.readings().len() - names.len();
                let more = if more > 0 { format!(", and {more} more") } else { String::new() };
                all.push(format!("readings: {}{more}", names.join(", ")));
            }
        }
        all
    }
}

fn time(column: &TimeColumn) -> String {
    match column {
        TimeColumn::Rfc3339 => "date and time with zone (RFC 3339)".to_owned(),
        TimeColumn::Number { unit_ns, start_ns } => {
            let unit = match unit_ns {
                3_600_000_000_000 => "h",
                60_000_000_000 => "min",
                1_000_000_000 => "s",
                1_000_000 => "ms",
                1_000 => "us",
                _ => "ns",
            };
            format!("{unit} from {}", EventTime(*start_ns))
        }
        TimeColumn::Local { ahead_ns } => format!("date and time, {}", zone(*ahead_ns)),
        TimeColumn::Pattern { pattern, zero_ns } if pattern.has_date() => {
            format!("{}, {}", pattern.text(), zone(-zero_ns))
        }
        TimeColumn::Pattern { pattern, zero_ns } => format!("{} from {}", pattern.text(), EventTime(*zero_ns)),
    }
}

fn zone(ahead_ns: i64) -> String {
    let (sign, minutes) = (if ahead_ns < 0 { '-' } else { '+' }, ahead_ns.abs() / 60_000_000_000);
    format!("its clock {sign}{:02}:{:02} ahead of UTC", minutes / 60, minutes % 60)
}

#[cfg(test)]
mod tests;
