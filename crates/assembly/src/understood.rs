//! How captures are taken to be written, with their first record in SI: for a person to confirm before a replay.

use crate::error::Error;
use crate::load::{Assembled, SourceSpec};
use decode::Raw;
use pipeline::{Core, Sequencer};
use plugin_api::CaptureError;
use std::sync::Arc;
use stream::{Batch, EntryBody, Reading};

/// One file of a capture.
pub struct Understood {
    /// The source that reads it.
    pub source: String,
    /// The file.
    pub file: String,
    /// How it is taken to be written, and its first record.
    pub lines: Vec<String>,
}

/// Every capture of a run.
///
/// # Errors
/// A file that cannot be read.
pub fn captures(a: &Assembled) -> Result<Vec<Understood>, Error> {
    let mut all = Vec::new();
    for s in &a.sources {
        let SourceSpec::Capture { plugin, setup, clock } = s else { continue };
        for (file, mut capture) in setup.files.iter().zip((plugin.open)(setup)?) {
            let mut lines = capture.understood();
            if let Some(clock) = clock {
                lines.push(format!("its times are corrected: {clock}"));
            }
            lines.extend(first(a, &mut || capture.next_entry(), clock.as_ref())?);
            all.push(Understood { source: setup.name.clone(), file: file.display().to_string(), lines });
        }
    }
    Ok(all)
}

type Next<'a> = dyn FnMut() -> Result<Option<EntryBody>, CaptureError> + 'a;

/// The first record: when it came, what it reads, what becomes of that.
fn first(a: &Assembled, next: &mut Next<'_>, clock: Option<&crate::clock::ClockFix>) -> Result<Vec<String>, Error> {
    let mut lines = Vec::new();
    let mut entry = loop {
        match next() {
            Ok(Some(e @ EntryBody::Record(_))) => break e,
            Ok(Some(_)) => {}
            Ok(None) => {
                lines.push("no record in it".to_owned());
                return Ok(lines);
            }
            Err(e @ CaptureError::Line { .. }) if lines.len() < 3 => lines.push(format!("not read: {e}")),
            Err(CaptureError::Line { .. }) => {}
            Err(e) => return Err(e.into()),
        }
    };
    if let Some(clock) = clock {
        clock.correct(&mut entry);
    }
    let EntryBody::Record(record) = &entry else { return Ok(lines) };
    let time = record.event_time;
    let count =
        if time.0.abs() < 10 * 365 * 86_400_000_000_000 { ": counted from 1970, is a start missing?" } else { "" };
    let decoder = a.plan.sources.get(usize::from(record.source.0)).map(|s| &s.decoder);
    let mut cells = Vec::new();
    if let Some(decoder) = decoder {
        let mut each = |i: u16, raw: Raw| {
            let Some(info) = decoder.readings().get(usize::from(i)) else { return };
            let unit = info.unit.as_deref().map_or_else(String::new, |u| format!(" {u}"));
            cells.push(match raw {
                Raw::Number(x) => format!("{} = {x}{unit}", info.name),
                Raw::Nothing(reason) => format!("{} = {}", info.name, reason.word()),
            });
        };
        if let Err(e) = decoder.decode(record, &mut each) {
            cells.push(e.to_string());
        }
    }
    lines.push(format!("first record at {time}{count}: {}", shown(&cells)));
    let (mut core, mut batch) = (Core::new(Arc::clone(&a.plan)), Batch::default());
    core.push(&Sequencer::new(a.plan.layout.grid).push(entry, time), &mut batch);
    let columns = &a.plan.layout.columns;
    let in_si = batch.samples.iter().filter_map(|s| {
        let column = columns.get(usize::from(s.channel.0))?;
        Some(match s.reading {
            Reading::Good(x) => format!("{} = {x} {}", column.name, column.unit),
            Reading::Uncertain(x, why) => format!("{} = {x} {} ({})", column.name, column.unit, why.word()),
            other => format!("{} = {}", column.name, other.reason().word()),
        })
    });
    let in_si: Vec<String> = in_si.collect();
    lines.push(if in_si.is_empty() {
        "nothing of it is mapped".to_owned()
    } else {
        format!("mapped: {}", shown(&in_si))
    });
    Ok(lines)
}

/// The first ones, and how many more there are.
fn shown(all: &[String]) -> String {
    const MOST: usize = 12;
    let first = all[..all.len().min(MOST)].join(", ");
    if all.len() > MOST { format!("{first}, and {} more", all.len() - MOST) } else { first }
}
