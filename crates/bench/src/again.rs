//! A capture several times over, each time moved so that it follows on the time before: a long recording of a short
//! log.

use assembly::load::SourceSpec;
use assembly::registry;
use plugin_api::{Capture, CaptureError, CapturePlugin, CaptureSetup, Captures, Carries, OpenError, Options};
use std::collections::BTreeMap;
use stream::{EntryBody, EventTime, Span};

/// From the last record of one time to the first of the next.
const BETWEEN: Span = Span::from_millis(1);

static AGAIN: CapturePlugin = CapturePlugin {
    kind: "candump-again",
    summary: "CAN frames as text, several times over",
    carries: Carries::CanFrames,
    schema: || serde_json::Value::Null,
    open,
};

/// The source `times` times over; unchanged for 1.
pub(crate) fn again(source: SourceSpec, times: usize) -> SourceSpec {
    match source {
        SourceSpec::Capture { setup, .. } if times > 1 => {
            let options = Options::from_text(&format!("times = {times}"));
            SourceSpec::Capture { plugin: &AGAIN, setup: CaptureSetup { options, ..setup }, clock: None }
        }
        other => other,
    }
}

fn open(setup: &CaptureSetup) -> Result<Captures, OpenError> {
    let options: BTreeMap<String, usize> = setup.options.read()?;
    let times = options.get("times").copied().unwrap_or(1);
    let setup = CaptureSetup { options: Options::from_text(""), ..setup.clone() };
    let mut again = Again { setup, times, to_come: times, open: None, shift: Span::ZERO, last: None, sequence: 0 };
    again.once_more()?;
    Ok(vec![Box::new(again)])
}

struct Again {
    setup: CaptureSetup,
    times: usize,
    to_come: usize,
    open: Option<Box<dyn Capture>>,
    /// Added to the times of the open capture; unknown (zero) before its first record.
    shift: Span,
    last: Option<EventTime>,
    sequence: u64,
}

impl Again {
    fn once_more(&mut self) -> Result<(), OpenError> {
        let candump = registry::CAPTURES.iter().find(|c| c.kind == "candump");
        self.open = match candump.filter(|_| self.to_come > 0) {
            Some(candump) => (candump.open)(&self.setup)?.pop(),
            None => None,
        };
        self.to_come = self.to_come.saturating_sub(1);
        Ok(())
    }
}

impl Capture for Again {
    fn next_entry(&mut self) -> Result<Option<EntryBody>, CaptureError> {
        while let Some(open) = &mut self.open {
            let Some(EntryBody::Record(mut record)) = open.next_entry()? else {
                self.once_more().map_err(|e| match e {
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
            return Ok(Some(EntryBody::Record(record)));
        }
        Ok(None)
    }

    fn progress(&self) -> f64 {
        1.0 - (self.to_come + usize::from(self.open.is_some())) as f64 / self.times.max(1) as f64
    }

    fn unused(&self) -> Vec<(String, u64)> {
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use assembly::merge::Merge;
    use stream::SourceId;

    #[test]
    fn the_times_follow_on_one_another() {
        let folder = std::env::temp_dir().join(format!("bise-bench-again-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join("bus.log");
        std::fs::write(&file, "(1000000001.0) can0 123#01\n(1000000003.5) can0 123#02\n").unwrap();
        let plugin = registry::CAPTURES.iter().find(|c| c.kind == "candump").unwrap();
        let options = Options::from_text("");
        let setup = CaptureSetup { id: SourceId(0), name: "bus".to_owned(), options, files: vec![file] };
        let mut merge = Merge::open(&[again(SourceSpec::Capture { plugin, setup, clock: None }, 3)]).unwrap();
        let mut times = Vec::new();
        while let Some(EntryBody::Record(r)) = merge.next_entry().unwrap() {
            times.push((r.sequence, r.event_time.0 / 1_000_000 - 1_000_000_000_000));
        }
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!(times, [(0, 1000), (1, 3500), (2, 3501), (3, 6001), (4, 6002), (5, 8502)]);
    }
}
