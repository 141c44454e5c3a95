//! CAN frames as text.

use crate::lines::{CUT_OFF, Lines};
use decode::capture::candump::parse_line;
use plugin_api::{Capture, CaptureError, CaptureSetup, OpenError};
use schemars::JsonSchema;
use serde::Deserialize;
use stream::{EventTime, RawRecord, RecordKind, SourceId};

/// Options of a `candump` source.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CandumpOptions {
    /// Only frames of this interface, by its name in the file. Default: of all.
    #[serde(default)]
    interface: Option<String>,
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(CandumpOptions).to_value()
}

pub(crate) fn open(setup: &CaptureSetup) -> Result<Box<dyn Capture>, OpenError> {
    let options: CandumpOptions = setup.options.read()?;
    Ok(Box::new(Candump {
        source: setup.id,
        lines: Lines::open(&setup.files)?,
        interface: options.interface.map(String::into_bytes),
        interfaces: Vec::new(),
        sequence: 0,
        blank: 0,
        others: Vec::new(),
    }))
}

struct Candump {
    source: SourceId,
    lines: Lines,
    interface: Option<Vec<u8>>,
    /// Interfaces by their number in the records.
    interfaces: Vec<Vec<u8>>,
    sequence: u64,
    blank: u64,
    /// Frames of other interfaces, counted.
    others: Vec<(Vec<u8>, u64)>,
}

impl Capture for Candump {
    fn next_record(&mut self) -> Result<Option<RawRecord>, CaptureError> {
        loop {
            let Some(line) = self.lines.next_line()? else { return Ok(None) };
            let number = line.number;
            let frame = match parse_line(line.bytes) {
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
                    let (file, column, what) = (self.lines.file(), e.column as u64, e.what.to_string());
                    return Err(CaptureError::Line { file, line: number, column, what });
                }
            };
            if self.interface.as_ref().is_some_and(|i| i != frame.interface) {
                count(&mut self.others, frame.interface);
                continue;
            }
            let Some(interface) = numbered(&mut self.interfaces, frame.interface) else {
                let what = "more than 256 interfaces in one capture".to_owned();
                return Err(CaptureError::Line { file: self.lines.file(), line: number, column: 1, what });
            };
            let record = RawRecord {
                source: self.source,
                sequence: self.sequence,
                event_time: EventTime(frame.time_ns),
                kind: RecordKind::CanFrame,
                payload: frame.frame(interface).payload(),
            };
            self.sequence += 1;
            return Ok(Some(record));
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
}

fn numbered(known: &mut Vec<Vec<u8>>, name: &[u8]) -> Option<u8> {
    let i = known.iter().position(|k| k == name).unwrap_or_else(|| {
        known.push(name.to_vec());
        known.len() - 1
    });
    u8::try_from(i).ok()
}

fn count(all: &mut Vec<(Vec<u8>, u64)>, name: &[u8]) {
    match all.iter_mut().find(|(n, _)| n == name) {
        Some((_, n)) => *n += 1,
        None => all.push((name.to_vec(), 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugin_api::Options;

    fn capture(options: &str, text: &str) -> (tempfile::TempDir, Box<dyn Capture>) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("bus.log");
        std::fs::write(&file, text).unwrap();
        let options = Options::from_text(options);
        let setup = CaptureSetup { id: SourceId(2), name: "bus".to_owned(), options, files: vec![file] };
        let capture = open(&setup).unwrap();
        (folder, capture)
    }

    #[test]
    fn one_interface_of_two_and_the_rest_counted() {
        let text = "# heading\n(1.5) can0 123#01\n(1.6) can1 124#02\n\n(1.7) can0 00000125#03\n";
        let (_folder, mut c) = capture("interface = \"can0\"", text);
        let a = c.next_record().unwrap().unwrap();
        assert_eq!((a.event_time, a.sequence, a.source), (EventTime(1_500_000_000), 0, SourceId(2)));
        assert_eq!(c.next_record().unwrap().unwrap().sequence, 1);
        assert!(c.next_record().unwrap().is_none());
        let unused = [("blank lines and comments".to_owned(), 2), ("frames of can1".to_owned(), 1)];
        assert_eq!(c.unused(), unused);
    }

    #[test]
    fn a_bad_line_is_told_and_the_next_one_read() {
        let (_folder, mut c) = capture("", "(1.5) can0 12G#01\n(1.6) can0 123#02\n");
        let e = c.next_record().unwrap_err().to_string();
        assert!(e.contains("bus.log:1:"), "{e}");
        assert_eq!(c.next_record().unwrap().unwrap().sequence, 0);
    }

    #[test]
    fn a_last_frame_without_line_end_is_told_and_not_used() {
        for cut in ["(1.6) can0 12", "(1.6) can0 123#01", "(1.6) can0 123#0102"] {
            let (_folder, mut c) = capture("", &format!("(1.5) can0 123#01\n{cut}"));
            c.next_record().unwrap();
            let e = c.next_record().unwrap_err().to_string();
            assert!(e.contains(&format!("bus.log:2:{}: {CUT_OFF}", cut.len() + 1)), "{e}");
            assert!(c.next_record().unwrap().is_none());
        }
    }
}
