//! A capture's files one after the other, each moved in time so that it follows on the one before: one log several
//! times over is a long recording.

use assembly::load::SourceSpec;
use assembly::registry;
use plugin_api::{Capture, CaptureError, CapturePlugin, CaptureSetup, Carries, OpenError};
use std::path::PathBuf;
use stream::{EventTime, RawRecord, Span};

/// From the last record of one file to the first of the next.
const BETWEEN: Span = Span::from_millis(1);

static AGAIN: CapturePlugin = CapturePlugin {
    kind: "candump-again",
    summary: "CAN frames as text, the files one after the other in time",
    carries: Carries::CanFrames,
    schema: || serde_json::Value::Null,
    open,
};

/// The source with its files named `times` times; unchanged for 1.
pub(crate) fn again(source: SourceSpec, times: usize) -> SourceSpec {
    match source {
        SourceSpec::Capture { setup, .. } if times > 1 => {
            let files = std::iter::repeat_n(setup.files, times).flatten().collect();
            SourceSpec::Capture { plugin: &AGAIN, setup: CaptureSetup { files, ..setup } }
        }
        other => other,
    }
}

fn open(setup: &CaptureSetup) -> Result<Box<dyn Capture>, OpenError> {
    let mut rest: Vec<PathBuf> = setup.files.clone();
    rest.reverse();
    let mut again = Again { setup: setup.clone(), rest, open: None, shift: Span::ZERO, last: None, sequence: 0 };
    again.next_file()?;
    Ok(Box::new(again))
}

struct Again {
    setup: CaptureSetup,
    rest: Vec<PathBuf>,
    open: Option<Box<dyn Capture>>,
    /// Added to the times of the open file; unknown (zero) before its first record.
    shift: Span,
    last: Option<EventTime>,
    sequence: u64,
}

impl Again {
    fn next_file(&mut self) -> Result<(), OpenError> {
        self.open = None;
        let Some(file) = self.rest.pop() else { return Ok(()) };
        let Some(candump) = registry::CAPTURES.iter().find(|c| c.kind == "candump") else { return Ok(()) };
        let setup = CaptureSetup { files: vec![file], ..self.setup.clone() };
        self.open = Some((candump.open)(&setup)?);
        Ok(())
    }
}

impl Capture for Again {
    fn next_record(&mut self) -> Result<Option<RawRecord>, CaptureError> {
        while let Some(open) = &mut self.open {
            let Some(mut record) = open.next_record()? else {
                self.next_file().map_err(|e| match e {
                    OpenError::Capture(e) => e,
                    OpenError::Options(e) => CaptureError::File { file: String::new(), what: e.to_string() },
                })?;
                continue;
            };
            if record.sequence == 0
                && let Some(last) = &self.last
            {
                self.shift = *last + BETWEEN - record.event_time;
            }
            record.event_time = record.event_time + self.shift;
            record.sequence = self.sequence;
            self.sequence += 1;
            self.last = Some(record.event_time);
            return Ok(Some(record));
        }
        Ok(None)
    }

    fn progress(&self) -> f64 {
        let files = self.setup.files.len().max(1) as f64;
        1.0 - self.rest.len() as f64 / files
    }

    fn unused(&self) -> Vec<(String, u64)> {
        Vec::new()
    }
}
