//! What the tests of this crate share: a layout, a manifest, entries of every kind.

use crate::disk::fake::MemoryDisk;
use crate::disk::{Disk, DiskError};
use crate::log::{LogError, LogOptions, LogReader, LogWriter};
use crate::manifest::{CaptureFile, ConfigFile, Cut, End, Ending, Manifest, NotRecorded, RunId, SourceEnd};
use crate::tables::Rows;
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use stream::*;

pub(crate) const RUN: RunId = RunId(0x0011_2233_4455_6677_8899_aabb_ccdd_eeff);
pub(crate) const FOLDER: &str = "rec";

pub(crate) fn folder() -> &'static Path {
    Path::new(FOLDER)
}

pub(crate) fn memory() -> (MemoryDisk, Arc<dyn Disk>) {
    let disk = MemoryDisk::default();
    (disk.clone(), Arc::new(disk))
}

pub(crate) fn layout() -> Layout {
    let column = |name: &str, unit: &str, origin| Column {
        name: name.to_owned(),
        unit: unit.to_owned(),
        ucum: unit.to_owned(),
        origin,
        provenance: "bench/t1".to_owned(),
        with_uncertainty: origin == Origin::Derived,
        about: vec![("sensors".to_owned(), "T-1".to_owned())],
    };
    Layout {
        run: "bench run".to_owned(),
        grid: Span::from_millis(100),
        sources: vec![
            SourceInfo {
                name: "bench".into(),
                kind: "serial".into(),
                devices: vec!["a".into(), "b".into()],
                simulated: false,
            },
            SourceInfo { name: "bus".into(), kind: "can".into(), devices: vec![], simulated: true },
        ],
        columns: vec![
            column("outlet.temperature", "K", Origin::Channel(SourceId(0))),
            column("outlet.pressure", "Pa", Origin::Channel(SourceId(1))),
            column("effectiveness", "1", Origin::Derived),
        ],
        limits: vec![LimitInfo { name: "hot".into(), column: ChannelId(0), source: "own, 1".into() }],
    }
}

pub(crate) fn manifest() -> Manifest {
    Manifest {
        program: "bise 0.1.0".into(),
        run_id: RUN,
        simulated: true,
        started: EventTime(1_700_000_000_000_000_001),
        lateness: Span::from_millis(50),
        anchor: Anchor { event_time: EventTime(1_700_000_000_000_000_001), wall_offset_ns: -7 },
        layout: layout(),
        files: vec![ConfigFile { role: "run".into(), path: "run.toml".into(), text: "a = \"\"\"x\"\"\"\n'\n".into() }],
        sensors: vec![crate::manifest::SensorState {
            serial: "T-1".into(),
            kind: "thermocouple K".into(),
            calibrated: Some("2026-01-31".into()),
            due: Some("2027-01-31".into()),
            certificate: "C 12".into(),
            state: "valid".into(),
            channels: vec!["outlet.temperature".into()],
        }],
        captures: vec![],
        end: None,
    }
}

pub(crate) fn end() -> End {
    End {
        how: Ending::Complete,
        ended: EventTime(1_700_000_060_000_000_000),
        entries: 7,
        rows: Rows { samples: 3, snapshots: 2, events: 1 },
        not_recorded: vec![NotRecorded { from: EventTime(1), to: EventTime(2), lost: 9 }],
        missing: vec![3..5, 9..10],
        sources: vec![SourceEnd { name: "bench".into(), records: 5, lost: 1, faults: 2, late: 3 }],
        cuts: vec![Cut {
            file: "log/000001.seg".into(),
            at: 36,
            bytes: 5,
            reason: "the file ends inside a block".into(),
            kept: "log/cut-000001.bin".into(),
        }],
        not_used: vec![crate::manifest::NotUsed { what: "bus: comments".into(), count: 3 }],
        tables_complete: true,
    }
}

pub(crate) fn capture() -> CaptureFile {
    let (source, path, clock) = ("bus".into(), "a.log".into(), "+1.5 s".into());
    CaptureFile { source, path, bytes: 12, sha256: "0".repeat(64), clock }
}

/// An entry that is like those of a run.
pub(crate) fn entry(ordinal: u64) -> LogEntry {
    let at = EventTime(1_700_000_000_000_000_000 + ordinal as i64 * 1_000_003);
    let record = RawRecord {
        source: SourceId((ordinal % 2) as u16),
        sequence: ordinal / 2,
        event_time: at - Span(1_234_567),
        kind: RecordKind::CanFrame,
        payload: ordinal.to_le_bytes().iter().chain(&[9; 8]).copied().collect(),
    };
    let body = match ordinal % 11 {
        3 => EntryBody::Tick,
        5 => EntryBody::Gap(Gap { source: None, lost: 3, from: at, to: at, cause: GapCause::QueueFull }),
        7 => EntryBody::Operator(OperatorAction {
            author: "A. Tester".into(),
            pressed_at: at,
            content: OperatorContent::Note("steady".into()),
        }),
        _ => EntryBody::Record(record),
    };
    LogEntry { ordinal, logged_at: at, body }
}

/// A log of segment 1, `blocks` blocks of `each` entries; all is flushed, nothing closed.
pub(crate) fn write_log(disk: &Arc<dyn Disk>, blocks: u64, each: u64) -> LogWriter {
    let mut log = LogWriter::create(disk.clone(), folder(), LogOptions::new(RUN)).unwrap();
    for b in 0..blocks {
        for i in 0..each {
            log.append(&entry(b * each + i)).unwrap();
        }
        log.flush().unwrap();
    }
    log
}

pub(crate) fn read_log(disk: &Arc<dyn Disk>) -> Result<Vec<LogEntry>, LogError> {
    LogReader::open(disk, folder(), RUN)?.collect()
}

pub(crate) fn is_full(e: &LogError) -> bool {
    let full = |e: &DiskError| e.is_full();
    match e {
        LogError::Disk(e) | LogError::NotWritten { source: e, .. } | LogError::NotSynced { source: e, .. } => full(e),
        _ => false,
    }
}

fn time() -> impl Strategy<Value = EventTime> {
    any::<i64>().prop_map(EventTime)
}

fn source() -> impl Strategy<Value = SourceId> {
    any::<u16>().prop_map(SourceId)
}

pub(crate) fn body() -> impl Strategy<Value = EntryBody> {
    let record = (source(), any::<u64>(), time(), 1..=5u8, proptest::collection::vec(any::<u8>(), 0..90)).prop_map(
        |(source, sequence, event_time, kind, payload)| {
            EntryBody::Record(RawRecord {
                source,
                sequence,
                event_time,
                kind: RecordKind::from_id(kind).unwrap(),
                payload: Payload::from_vec(payload),
            })
        },
    );
    let gap = (proptest::option::of(source()), any::<u64>(), time(), time(), 1..=5u8).prop_map(
        |(source, lost, from, to, cause)| {
            EntryBody::Gap(Gap { source, lost, from, to, cause: GapCause::from_id(cause).unwrap() })
        },
    );
    let link = (source(), any::<Option<u16>>(), time(), 0..=2u8, any::<String>()).prop_map(
        |(source, device, event_time, state, detail)| {
            EntryBody::Link(Link { source, device, event_time, state: LinkState::from_id(state).unwrap(), detail })
        },
    );
    let anchor = (time(), any::<i64>())
        .prop_map(|(event_time, wall_offset_ns)| EntryBody::Anchor(Anchor { event_time, wall_offset_ns }));
    let operator = (any::<String>(), time(), 0..6u8, any::<String>()).prop_map(|(author, pressed_at, what, text)| {
        let content = match what {
            0 => OperatorContent::Note(text),
            1 => OperatorContent::TestBegin(text),
            2 => OperatorContent::Acknowledge(text),
            3 => OperatorContent::Shelve { limit: "hot".into(), length: Span(1), reason: text },
            4 => OperatorContent::InService(text),
            _ => OperatorContent::TestEnd,
        };
        EntryBody::Operator(OperatorAction { author, pressed_at, content })
    });
    prop_oneof![4 => record, 1 => Just(EntryBody::Tick), 1 => gap, 1 => link, 1 => anchor, 1 => operator,
        1 => Just(EntryBody::End)]
}

/// Entries with rising ordinals, otherwise of any content.
pub(crate) fn entries(most: usize) -> impl Strategy<Value = Vec<LogEntry>> {
    let one = (prop_oneof![9 => Just(1u64), 1 => 1..1000u64], time(), body());
    (0..u64::MAX / 2, proptest::collection::vec(one, 0..most)).prop_map(|(first, rows)| {
        let mut ordinal = first;
        let entry = |(step, logged_at, body)| {
            ordinal += step;
            LogEntry { ordinal, logged_at, body }
        };
        rows.into_iter().map(entry).collect()
    })
}

fn reading() -> impl Strategy<Value = Reading> {
    // Any finite number to the bit, zeros of both signs and subnormal numbers included.
    let number = any::<u64>().prop_map(f64::from_bits).prop_filter("finite", |x| x.is_finite());
    let reason = (0..Reason::WORDS.len() as u8).prop_map(|i| Reason::from_id(i).unwrap());
    prop_oneof![
        number.clone().prop_map(Reading::Good),
        (number, reason.clone()).prop_map(|(x, r)| Reading::Uncertain(x, r)),
        reason.clone().prop_map(Reading::Bad),
        Just(Reading::Stale),
        reason.prop_map(Reading::Missing),
        Just(Reading::Good(-0.0)),
    ]
}

/// Batches that fit [`layout`].
pub(crate) fn batch() -> impl Strategy<Value = Batch> {
    let sample =
        (time(), 0..3u16, reading()).prop_map(|(time, c, reading)| Sample { time, channel: ChannelId(c), reading });
    let state = (0..LimitState::ALL.len()).prop_map(|i| LimitState::ALL[i]);
    let u = any::<Option<f64>>();
    let snapshot = (time(), proptest::array::uniform3(reading()), u, state).prop_map(|(time, readings, u, limit)| {
        let (readings, uncertainties, limits) = (readings.into(), [u].into(), [limit].into());
        Snapshot { time, readings, uncertainties, limits, alarms: Box::default() }
    });
    let value = any::<Option<u64>>().prop_map(|v| v.map(f64::from_bits));
    let event = (
        time(),
        any::<u64>(),
        0..EventKind::WORDS.len(),
        any::<Option<bool>>(),
        any::<String>(),
        value,
        any::<String>(),
    )
        .prop_map(|(time, ordinal, kind, source, subject, value, text)| Event {
            time,
            ordinal,
            kind: EventKind::WORDS[kind].0,
            source: source.map(|s| SourceId(s.into())),
            subject,
            value,
            text,
        });
    use proptest::collection::vec;
    (vec(sample, 0..40), vec(snapshot, 0..20), vec(event, 0..10)).prop_map(|(samples, snapshots, events)| Batch {
        samples,
        snapshots,
        events,
    })
}

/// A batch without surprises: `n` samples and snapshots from row `from` on.
pub(crate) fn plain_batch(from: u64, n: u64) -> Batch {
    let time = |i: u64| EventTime(1_700_000_000_000_000_000 + i as i64 * 100_000_000);
    let reading = |i: u64| match i % 10 {
        8 => Reading::Uncertain(i as f64, Reason::Range),
        9 => Reading::Stale,
        _ => Reading::Good(280.0 + (i % 97) as f64 * 0.125),
    };
    let rows = from..from + n;
    Batch {
        samples: rows
            .clone()
            .map(|i| Sample { time: time(i), channel: ChannelId((i % 3) as u16), reading: reading(i) })
            .collect(),
        snapshots: rows
            .clone()
            .map(|i| Snapshot {
                time: time(i),
                readings: [reading(i), reading(i + 1), Reading::Missing(Reason::InputMissing)].into(),
                uncertainties: [(i % 3 > 0).then_some(i as f64)].into(),
                limits: [LimitState::Inside].into(),
                alarms: Box::default(),
            })
            .collect(),
        events: rows
            .filter(|i| i % 50 == 0)
            .map(|i| Event {
                time: time(i),
                ordinal: i,
                kind: EventKind::LimitCrossed,
                source: Some(SourceId(0)),
                subject: "hot".into(),
                value: Some(300.0),
                text: "above its limit".into(),
            })
            .collect(),
    }
}
