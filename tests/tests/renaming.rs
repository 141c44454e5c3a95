//! A recording under another configuration: sources and devices are found again by name.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::record::{RecordOptions, SEGMENT_BYTES, Session};
use assembly::rename::Renaming;
use assembly::replay::{ReplayOptions, recording};
use kit::{Step, assembled, quick, real_disk, wait_for};
use runtime::BootClock;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{
    EntryBody, EventTime, FaultKind, Gap, GapCause, Layout, Link, LinkState, LogEntry, Payload, RawRecord, RecordKind,
    Sample, SourceId, SourceInfo, Span,
};

fn layout(sources: &[(&str, &[&str])]) -> Layout {
    let info = |(name, devices): &(&str, &[&str])| SourceInfo {
        name: (*name).to_owned(),
        kind: "serial".to_owned(),
        devices: devices.iter().map(|d| (*d).to_owned()).collect(),
        simulated: false,
    };
    Layout { grid: Span::from_millis(100), sources: sources.iter().map(info).collect(), ..Layout::default() }
}

fn entry(body: EntryBody) -> LogEntry {
    LogEntry { ordinal: 7, logged_at: EventTime(9), body }
}

fn record(source: u16, kind: RecordKind, payload: &[u8]) -> EntryBody {
    let payload = Payload::from_slice(payload);
    EntryBody::Record(RawRecord { source: SourceId(source), sequence: 3, event_time: EventTime(8), kind, payload })
}

fn link(source: u16, device: Option<u16>) -> EntryBody {
    let (source, event_time) = (SourceId(source), EventTime(8));
    EntryBody::Link(Link { source, device, event_time, state: LinkState::Up, detail: String::new() })
}

fn gap(source: Option<u16>) -> EntryBody {
    let source = source.map(SourceId);
    EntryBody::Gap(Gap { source, lost: 4, from: EventTime(1), to: EventTime(2), cause: GapCause::QueueFull })
}

fn fault(source: u16, device: u16) -> EntryBody {
    record(source, RecordKind::Fault, &RawRecord::fault_payload(device, FaultKind::Noise, b"x"))
}

#[test]
fn every_number_is_found_again_by_name_and_what_has_no_place_is_a_tick() {
    use RecordKind::{CanFrame, ModbusAnswer, TextLine};
    let old = layout(&[("line", &["a", "b", "c"]), ("bus", &[]), ("gone", &["a"])]);
    let new = layout(&[("bus", &[]), ("new", &[]), ("line", &["c", "x", "a"])]);
    let mut renaming = Renaming::new(&old, &new);
    let cases = [
        (record(0, TextLine, b"\0\0t"), record(2, TextLine, b"\x02\0t")),
        (record(0, ModbusAnswer, b"\x02\0m"), record(2, ModbusAnswer, b"\0\0m")),
        (record(0, TextLine, b"\x01\0t"), EntryBody::Tick),
        (record(0, TextLine, b"\x09\0t"), EntryBody::Tick),
        (record(1, CanFrame, b"\0\0\x20\x01"), record(0, CanFrame, b"\0\0\x20\x01")),
        (record(2, TextLine, b"\0\0t"), EntryBody::Tick),
        (fault(0, 0), fault(2, 2)),
        (fault(0, 1), EntryBody::Tick),
        (fault(1, 0), fault(0, 0)),
        (link(0, None), link(2, None)),
        (link(0, Some(2)), link(2, Some(0))),
        (link(0, Some(1)), EntryBody::Tick),
        (link(2, None), EntryBody::Tick),
        (gap(Some(1)), gap(Some(0))),
        (gap(Some(2)), EntryBody::Tick),
        (gap(None), gap(None)),
        (EntryBody::Tick, EntryBody::Tick),
        (EntryBody::End, EntryBody::End),
    ];
    for (before, after) in cases {
        let mut e = entry(before.clone());
        renaming.apply(&mut e);
        assert_eq!(e, entry(after), "{before:?}");
    }
    assert_eq!(
        renaming.notes(),
        [
            "4 entries of line have no source or device in this configuration",
            "3 entries of gone have no source or device in this configuration"
        ]
    );
}

/// A second of two sources, recorded.
fn recorded(folder: &Path) -> PathBuf {
    let script = || vec![vec![Step::Up, Step::Lines(300), Step::Stay]];
    let a = assembled(folder, &[("rename_a", script()), ("rename_b", script())]);
    let options = RecordOptions {
        clock: Arc::new(BootClock::start(1.0)),
        disk: real_disk(),
        simulated: true,
        segment_bytes: SEGMENT_BYTES,
        timing: quick(),
    };
    let session = Session::start(a, options).unwrap();
    let records = |i: usize| session.counters().sources[i].records.load(std::sync::atomic::Ordering::Relaxed);
    wait_for("the lines of both sources", || records(0) == 300 && records(1) == 300);
    session.stop().folder
}

/// A run file with these sources in this order, and the channel of each.
fn run_file(folder: &Path, sources: &[&str]) -> PathBuf {
    let mut run = "[run]\nname = \"anew\"\nchannels = [\"map.toml\"]\n".to_owned();
    let mut map = "[channel]\n".to_owned();
    for name in sources {
        run += &format!(
            "[[source]]\nname = \"{name}\"\nkind = \"serial\"\nport = \"/dev/none-{name}\"\nbaud = 9600\nparity = \"none\"\n\
             [[source.device]]\nname = \"line\"\ninstrument = \"line.toml\"\n"
        );
        map += &format!("\"{name}\" = {{ from = \"{name}/line/value\", unit = \"degC\" }}\n");
    }
    let instrument = "framing = \"text-line\"\n[[reading]]\nname = \"value\"\nposition = 1\nlabel = \"V=\"\n\
                      unit = \"degC\"\nunit_text = \"C\"\n";
    for (name, text) in [("run.toml", run.as_str()), ("map.toml", &map), ("line.toml", instrument)] {
        fs::write(folder.join(name), text).unwrap();
    }
    folder.join("run.toml")
}

#[test]
fn a_recording_replays_with_its_sources_in_another_order_and_without_some() {
    let dir = tempfile::tempdir().unwrap();
    let folder = recorded(dir.path());
    let replay = |sources: &[&str]| {
        let with = Some(run_file(dir.path(), sources));
        let out = Some(dir.path().join("out"));
        let options = ReplayOptions { disk: real_disk(), with, out, compare: false, progress: &mut |_| {} };
        let replayed = recording(&folder, options).unwrap_or_else(|e| panic!("{e}"));
        let tables = recording::Stored::open(&recording::RealDisk, replayed.folder.as_ref().unwrap()).unwrap();
        let all: Result<Vec<Sample>, _> = tables.tables(&real_disk()).samples().unwrap().collect();
        (all.unwrap(), replayed)
    };
    let of = |all: &[Sample], channel: u16| -> Vec<_> {
        all.iter().filter(|s| s.channel.0 == channel).map(|s| (s.time, s.reading)).collect()
    };
    let (ab, _) = replay(&["rename_a", "rename_b"]);
    let (ba, replayed) = replay(&["rename_b", "rename_a"]);
    assert_eq!((of(&ab, 0).len(), of(&ab, 0), of(&ab, 1)), (300, of(&ba, 1), of(&ba, 0)));
    assert_eq!(replayed.notes, Vec::<String>::new());
    let (only_b, replayed) = replay(&["rename_b"]);
    assert_eq!(of(&only_b, 0), of(&ab, 1));
    // The lines, and the link that came up and went down.
    let note = &replayed.notes[0];
    assert!(note.ends_with("entries of rename_a have no source or device in this configuration"), "{note}");
    assert_eq!(replayed.counts.sources.len(), 1);
}
