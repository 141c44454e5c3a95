//! A recording's entries under another configuration: sources and devices are found again by name, not by number.

use stream::{EntryBody, Layout, LogEntry, NO_DEVICE, RecordKind, SourceId};

/// No source of the new configuration has this name.
const NOWHERE: u16 = u16::MAX;

/// From the numbers of the stored layout to those of another.
pub struct Renaming {
    /// For each stored source: its new number and, for each of its devices, the new number.
    sources: Vec<(String, u16, Vec<u16>)>,
    dropped: Vec<u64>,
}

impl Renaming {
    /// From `old` to `new`, by name.
    pub fn new(old: &Layout, new: &Layout) -> Renaming {
        let source = |s: &stream::SourceInfo| {
            let i = new.sources.iter().position(|n| n.name == s.name);
            let devices = i.map(|i| new.sources[i].devices.as_slice()).unwrap_or_default();
            let device = |d: &String| devices.iter().position(|n| n == d).map_or(NOWHERE, |i| i as u16);
            (s.name.clone(), i.map_or(NOWHERE, |i| i as u16), s.devices.iter().map(device).collect())
        };
        let sources: Vec<_> = old.sources.iter().map(source).collect();
        Renaming { dropped: vec![0; sources.len()], sources }
    }

    /// Gives an entry its new numbers. What the new configuration has no place for becomes a tick, and is counted.
    pub fn apply(&mut self, entry: &mut LogEntry) {
        let old = match &entry.body {
            EntryBody::Record(r) => r.source,
            EntryBody::Link(l) => l.source,
            EntryBody::Gap(g) => match g.source {
                Some(s) => s,
                None => return,
            },
            _ => return,
        };
        let i = usize::from(old.0);
        let Some((_, source, devices)) = self.sources.get(i) else { return };
        let device_of = |d: u16| devices.get(usize::from(d)).copied().unwrap_or(NOWHERE);
        let mut kept = *source != NOWHERE;
        match &mut entry.body {
            EntryBody::Record(r) => {
                r.source = SourceId(*source);
                let on_device = !matches!(r.kind, RecordKind::CanFrame | RecordKind::Row);
                if on_device
                    && !devices.is_empty()
                    && let [low, high, ..] = r.payload.as_mut_slice()
                    && [*low, *high] != NO_DEVICE.to_le_bytes()
                {
                    let new = device_of(u16::from_le_bytes([*low, *high]));
                    kept &= new != NOWHERE;
                    [*low, *high] = new.to_le_bytes();
                }
            }
            EntryBody::Link(l) => {
                l.source = SourceId(*source);
                if let Some(d) = l.device {
                    l.device = Some(device_of(d));
                    kept &= l.device != Some(NOWHERE);
                }
            }
            EntryBody::Gap(g) => g.source = Some(SourceId(*source)),
            _ => {}
        }
        if !kept {
            self.dropped[i] += 1;
            entry.body = EntryBody::Tick;
        }
    }

    /// What had no place.
    pub fn notes(&self) -> Vec<String> {
        let told = self.sources.iter().zip(&self.dropped).filter(|(_, n)| **n > 0);
        told.map(|((name, ..), n)| format!("{n} entries of {name} have no source or device in this configuration"))
            .collect()
    }
}
