//! CAN frames as text.

use crate::lines::{CUT_OFF, Lines};
use crate::when;
use decode::capture::LineError;
use decode::capture::candump::{CanLine, Form, parse_line, parse_terminal_line, stamp};
use plugin_api::{Capture, CaptureError, CaptureSetup, Captures, ConfigError, OpenError};
use schemars::JsonSchema;
use serde::Deserialize;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use stream::{EntryBody, EventTime, RawRecord, RecordKind, SourceId};

/// Lines that are looked at for a first frame.
const LOOKED_AT: u64 = 10_000;
/// The end of 2001-09-08: no stamp that counts from 1970 is earlier, and one that counts from the start is.
const ABSOLUTE_FROM_NS: i64 = 1_000_000_000_000_000_000;

/// Options of a `candump` source.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CandumpOptions {
    /// Only frames of this interface, by its name in the file. Default: of all.
    #[serde(default)]
    interface: Option<String>,
    /// What the time stamps are. Default `absolute`: seconds since 1970, or dates (then with `zone`).
    #[serde(default)]
    times: Times,
    /// When a capture whose stamps do not say so began, as RFC 3339 (`2026-03-01T08:00:00Z`).
    #[serde(default)]
    start: Option<String>,
    /// For dates (`candump -t A`): how far the clock of the computer was ahead of UTC, `+01:00`.
    #[serde(default)]
    zone: Option<String>,
}

/// What the time stamps are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Times {
    /// Seconds since 1970, or dates.
    #[default]
    Absolute,
    /// Seconds since the capture began (`candump -t z`).
    FromStart,
    /// Seconds since the frame before (`candump -t d`).
    Differences,
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(CandumpOptions).to_value()
}

pub(crate) fn open(setup: &CaptureSetup) -> Result<Captures, OpenError> {
    let options: CandumpOptions = setup.options.read()?;
    let wrong = |key: &str, message: &str, help: &str| ConfigError::new(message, help, setup.options.span_of(key));
    let start_ns = options.start.as_deref().map(|s| when::moment("start", s, &setup.options)).transpose()?;
    let zone_ns = options.zone.as_deref().map(|z| when::zone("zone", z, &setup.options)).transpose()?;
    let relative = options.times != Times::Absolute;
    if relative && start_ns.is_none() {
        let help = "write start = \"2026-03-01T08:00:00Z\", when the capture began";
        return Err(wrong("times", "these time stamps do not say when the capture began", help).into());
    }
    if !relative && start_ns.is_some() {
        let help = "leave start out, or write times = \"from-start\" or \"differences\"";
        return Err(wrong("start", "absolute time stamps need no start", help).into());
    }
    if relative && setup.files.len() > 1 {
        let help = "make a source of each file, each with its own start";
        return Err(wrong("start", "several files cannot have begun at one moment", help).into());
    }
    let interfaces = Arc::new(Mutex::new(Vec::new()));
    let mut all: Captures = Vec::with_capacity(setup.files.len());
    for file in &setup.files {
        let form = look(file, relative, zone_ns)?;
        all.push(Box::new(Candump {
            source: setup.id,
            lines: Lines::open(file)?,
            form,
            times: options.times,
            start_ns: start_ns.unwrap_or(0) - zone_ns.unwrap_or(0),
            passed_ns: 0,
            interface: options.interface.clone().map(String::into_bytes),
            known: Vec::new(),
            interfaces: Arc::clone(&interfaces),
            sequence: 0,
            blank: 0,
            others: Vec::new(),
        }));
    }
    Ok(all)
}

/// The form of a file, by its first frame, whose stamp must fit what is declared.
fn look(file: &Path, relative: bool, zone_ns: Option<i64>) -> Result<Form, CaptureError> {
    let mut lines = Lines::open(file)?;
    let mut seen = None;
    while let Some(line) = lines.next_line()?.filter(|l| l.number <= LOOKED_AT) {
        let Some(form) = Form::of(line.bytes) else { continue };
        seen = seen.or(Some(form));
        let Ok(Some(frame)) = parse(form, line.bytes) else { continue };
        let what = match (relative, frame.dated, zone_ns) {
            (true, true, _) => "the time stamps are dates: leave out `times` and `start`, write zone = \"+00:00\"",
            (false, true, None) => {
                "the time stamps are local dates: write zone = \"+01:00\", what the clock was ahead of UTC"
            }
            (_, false, Some(_)) => "the time stamps are no dates: leave `zone` out",
            (false, false, None) if frame.time_ns < ABSOLUTE_FROM_NS => {
                "the time stamps do not count from 1970: write times = \"from-start\" (candump -t z) or times = \
                 \"differences\" (-t d), and start = \"2026-03-01T08:00:00Z\", when the capture began; the next time \
                 record with candump -L"
            }
            _ => return Ok(form),
        };
        let (line, column) = (line.number, 1);
        return Err(CaptureError::Line { file: lines.file(), line, column, what: what.to_owned() });
    }
    Ok(seen.unwrap_or(Form::Log))
}

#[inline(always)]
fn parse(form: Form, line: &[u8]) -> Result<Option<CanLine<'_>>, LineError> {
    match form {
        Form::Log => parse_line(line),
        Form::Terminal => parse_terminal_line(line),
    }
}

struct Candump {
    source: SourceId,
    lines: Lines,
    form: Form,
    times: Times,
    /// What the stamps count from, ns since 1970 UTC.
    start_ns: i64,
    /// The sum of the differences so far.
    passed_ns: i64,
    interface: Option<Vec<u8>>,
    /// Interfaces met in this file, with their numbers.
    known: Vec<(Vec<u8>, u8)>,
    /// The names of all interfaces of the source, by number: one name is one bus, whichever file it stands in.
    interfaces: Arc<Mutex<Vec<Vec<u8>>>>,
    sequence: u64,
    blank: u64,
    /// Frames of other interfaces, counted.
    others: Vec<(Vec<u8>, u64)>,
}

impl Capture for Candump {
    fn next_entry(&mut self) -> Result<Option<EntryBody>, CaptureError> {
        loop {
            let Some(line) = self.lines.next_line()? else { return Ok(None) };
            let number = line.number;
            let frame = match parse(self.form, line.bytes) {
                // Data of a frame may have lost its last bytes and still be a frame.
                Ok(Some(_)) | Err(_) if line.unterminated => {
                    let (column, what) = (line.bytes.len() as u64 + 1, CUT_OFF.to_owned());
                    return Err(CaptureError::Line { file: self.lines.file(), line: number, column, what });
                }
                Ok(Some(frame)) => frame,
                Ok(None) => {
                    self.blank += 1;
                    continue;
                }
                Err(e) => {
                    let passed = stamp(line.bytes);
                    return Err(self.bad_line(number, e, passed));
                }
            };
            let stamp_ns = if self.times == Times::Differences {
                self.passed_ns = self.passed_ns.saturating_add(frame.time_ns);
                self.passed_ns
            } else {
                frame.time_ns
            };
            if self.interface.as_ref().is_some_and(|i| i != frame.interface) {
                count(&mut self.others, frame.interface);
                continue;
            }
            let Some(interface) = numbered(&mut self.known, &self.interfaces, frame.interface) else {
                let what = "more than 256 interfaces in one source".to_owned();
                return Err(CaptureError::Line { file: self.lines.file(), line: number, column: 1, what });
            };
            let record = RawRecord {
                source: self.source,
                sequence: self.sequence,
                event_time: EventTime(stamp_ns.saturating_add(self.start_ns)),
                kind: RecordKind::CanFrame,
                payload: frame.frame(interface).payload(),
            };
            self.sequence += 1;
            return Ok(Some(EntryBody::Record(record)));
        }
    }

    fn progress(&self) -> f64 {
        self.lines.progress()
    }

    fn unused(&self) -> Vec<(String, u64)> {
        let mut all: Vec<(String, u64)> = Vec::new();
        if self.blank > 0 {
            all.push(("blank lines and comments".to_owned(), self.blank));
        }
        let other = |(name, n): &(Vec<u8>, u64)| (format!("frames of {}", String::from_utf8_lossy(name)), *n);
        all.extend(self.others.iter().map(other));
        all
    }

    fn understood(&self) -> Vec<String> {
        let form = match self.form {
            Form::Log => "as candump -L writes it",
            Form::Terminal => "as candump shows it on a terminal",
        };
        let times = match self.times {
            Times::Absolute => "absolute".to_owned(),
            Times::FromStart => format!("seconds from {}", EventTime(self.start_ns)),
            Times::Differences => format!("differences, summed up from {}", EventTime(self.start_ns)),
        };
        vec![format!("CAN frames {form}; time stamps: {times}")]
    }
}

impl Candump {
    /// A line that is no frame. Where stamps are differences its own still counts; where it has none, every later time
    /// would be wrong.
    #[cold]
    fn bad_line(&mut self, line: u64, e: LineError, passed: Option<i64>) -> CaptureError {
        let file = self.lines.file();
        if self.times == Times::Differences {
            let Some(ns) = passed else {
                let what = format!(
                    "line {line}, column {}: {}; stamps are differences, so no time after this line is known",
                    e.column, e.what
                );
                return CaptureError::File { file, what };
            };
            self.passed_ns = self.passed_ns.saturating_add(ns);
        }
        CaptureError::Line { file, line, column: e.column as u64, what: e.what }
    }
}

#[inline]
fn numbered(known: &mut Vec<(Vec<u8>, u8)>, all: &Mutex<Vec<Vec<u8>>>, name: &[u8]) -> Option<u8> {
    if let Some((_, number)) = known.iter().find(|(k, _)| k == name) {
        return Some(*number);
    }
    let mut all = all.lock().unwrap_or_else(PoisonError::into_inner);
    let i = all.iter().position(|k| k == name).unwrap_or_else(|| {
        all.push(name.to_vec());
        all.len() - 1
    });
    let number = u8::try_from(i).ok()?;
    known.push((name.to_vec(), number));
    Some(number)
}

fn count(all: &mut Vec<(Vec<u8>, u64)>, name: &[u8]) {
    match all.iter_mut().find(|(n, _)| n == name) {
        Some((_, n)) => *n += 1,
        None => all.push((name.to_vec(), 1)),
    }
}

#[cfg(test)]
mod tests;
