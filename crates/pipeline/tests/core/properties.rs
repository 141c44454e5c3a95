//! Random logs: how results are handed over, and how often time is told, plays no part.

use crate::rig::{AIR, BOX, LINE, Log, ROOM, line, ms, plan};
use pipeline::{Core, Counts};
use proptest::prelude::*;
use stream::{
    Anchor, Batch, EntryBody, Event, EventKind, EventTime, FaultKind, Gap, GapCause, Link, LinkState, LogEntry,
    OperatorAction, OperatorContent, RawRecord, Reading, Reason, RecordKind, SourceId, Span,
};

const MS: i64 = 1_000_000;

/// One step of a random log: how long after the entry before it comes, and what it is.
fn step() -> impl Strategy<Value = (i64, EntryBody)> {
    // Mostly milliseconds; at times seconds, so that values become stale.
    let wait = prop_oneof![60 => 0..50 * MS, 6 => 0..2000 * MS, 1 => 59_000 * MS..70_000 * MS];
    (wait, body())
}

/// Times in a body are how long before the entry it happened; [`log`] makes moments of them.
fn body() -> impl Strategy<Value = EntryBody> {
    let before = || prop_oneof![10 => 0..30 * MS, 3 => 0..400 * MS, 1 => -1000 * MS..0].prop_map(EventTime);
    let text = |n: usize| {
        prop::collection::vec(
            prop_oneof![9 => (250..350i32).prop_map(|x| x.to_string()),
        1 => Just("---".to_owned()), 1 => Just("?".to_owned())],
            n,
        )
        .prop_map(|v| v.join(","))
    };
    let state = prop::sample::select(vec![LinkState::Down, LinkState::Up, LinkState::Degraded]);
    let record = |source, device, n| {
        (before(), text(n)).prop_map(move |(t, text)| EntryBody::Record(line(source, 0, t, device, &text)))
    };
    prop_oneof![
        8 => record(LINE, AIR, 2),
        8 => record(LINE, BOX, 2),
        4 => record(ROOM, 0, 1),
        2 => (before(), 0..2u16, prop::sample::select(FaultKind::ALL.to_vec())).prop_map(|(t, d, k)| {
            let payload = RawRecord::fault_payload(d, k, b"\xAA");
            EntryBody::Record(RawRecord { source: LINE, sequence: 0, event_time: t, kind: RecordKind::Fault, payload })
        }),
        4 => Just(EntryBody::Tick),
        1 => (before(), 0..2u16, prop::option::of(0..2u16), state).prop_map(|(t, s, device, state)| {
            EntryBody::Link(Link { source: SourceId(s), device, event_time: t, state, detail: "x".to_owned() })
        }),
        1 => (before(), prop::option::of(0..2u16), 0..9u64, prop::sample::select(GapCause::ALL.to_vec())).prop_map(
            |(t, s, lost, cause)| EntryBody::Gap(Gap { source: s.map(SourceId), lost, from: t, to: t, cause })
        ),
        1 => prop::sample::select(vec![-3_600_000 * MS, 0, 3_600_000 * MS])
            .prop_map(|o| EntryBody::Anchor(Anchor { event_time: EventTime(0), wall_offset_ns: o })),
        1 => before().prop_map(|t| EntryBody::Operator(OperatorAction {
            author: "lee".to_owned(), pressed_at: t, content: OperatorContent::Note("seen".to_owned()),
        })),
    ]
}

/// Steps put in one order, as the sequencer does it.
fn log(steps: Vec<(i64, EntryBody)>) -> Vec<LogEntry> {
    let mut log = Log::default();
    let mut now = ms(1000);
    let mut sequence = 0;
    log.push(now, EntryBody::Tick);
    for (wait, mut body) in steps {
        now = EventTime(now.0 + wait);
        let at = |before: EventTime| EventTime(now.0 - before.0);
        match &mut body {
            EntryBody::Record(r) => {
                (r.event_time, r.sequence) = (at(r.event_time), sequence);
                sequence += 1;
            }
            EntryBody::Link(l) => l.event_time = at(l.event_time),
            EntryBody::Gap(g) => (g.from, g.to) = (at(g.from), at(g.to)),
            EntryBody::Anchor(a) => a.event_time = now,
            EntryBody::Operator(o) => o.pressed_at = at(o.pressed_at),
            EntryBody::Tick | EntryBody::End => {}
        }
        log.push(now, body);
    }
    log.push(EventTime(now.0 + 300 * MS), EntryBody::End);
    log.entries
}

fn logs(longest: usize) -> impl Strategy<Value = Vec<LogEntry>> {
    prop::collection::vec(step(), 1..longest).prop_map(log)
}

/// The results, handed over after every `block` entries.
fn in_blocks(entries: &[LogEntry], block: usize) -> (Batch, Counts) {
    let mut core = Core::new(plan());
    let (mut all, mut part) = (Batch::default(), Batch::default());
    for entries in entries.chunks(block) {
        entries.iter().for_each(|e| core.push(e, &mut part));
        all.samples.append(&mut part.samples);
        all.snapshots.append(&mut part.snapshots);
        all.events.append(&mut part.events);
        part.clear();
    }
    (all, core.counts().clone())
}

/// Whether results are the same to the bit; `PartialEq` of floats would take 0 for -0.
fn same_bits(a: &Batch, b: &Batch) -> bool {
    let number = |r: &Reading| r.number().map(f64::to_bits);
    let samples = |b: &Batch| b.samples.iter().map(|s| number(&s.reading)).collect::<Vec<_>>();
    let snapshots = |b: &Batch| b.snapshots.iter().flat_map(|s| s.readings.iter().map(number)).collect::<Vec<_>>();
    let events = |b: &Batch| b.events.iter().map(|e| e.value.map(f64::to_bits)).collect::<Vec<_>>();
    a == b && samples(a) == samples(b) && snapshots(a) == snapshots(b) && events(a) == events(b)
}

/// Events without the entry that brought them about, and without those that only a pause makes.
fn what_happened(events: &[Event]) -> Vec<Event> {
    events.iter().map(|e| Event { ordinal: 0, ..e.clone() }).collect()
}

/// Without the ticks after which the next entry comes so soon that no pause is made by leaving them out.
fn without_ticks(entries: &[LogEntry]) -> Vec<LogEntry> {
    let mut kept: Vec<LogEntry> = Vec::new();
    for (i, e) in entries.iter().enumerate() {
        let next = entries.get(i + 1);
        let bridged =
            |last: &LogEntry, next: &LogEntry| next.logged_at - last.logged_at <= pipeline::core::LONGEST_PAUSE;
        let needed = match (kept.last(), next) {
            (Some(last), Some(next)) => !bridged(last, next),
            _ => true,
        };
        if e.body != EntryBody::Tick || needed {
            kept.push(e.clone());
        }
    }
    kept
}

/// What happened to a channel, as the definition of a snapshot sees it: when, what, and nothing else.
#[derive(Clone, Copy)]
enum Told {
    Value(Reading),
    Down,
    Up,
    Spoiled(Reason),
}

/// The readings of every snapshot by their definition, from the whole log each time: newest sample by event time of
/// what was not late, none where the link was lost after it, none where it is too old.
fn by_definition(entries: &[LogEntry]) -> Vec<(EventTime, Vec<Reading>)> {
    let plan = plan();
    let mut core = Core::new(plan.clone());
    let mut told: Vec<Vec<(EventTime, Told)>> = vec![Vec::new(); plan.channels.len()];
    let mut all = Vec::new();
    for e in entries {
        let late = |c: &Core| c.counts().sources.iter().map(|s| s.late).sum::<u64>();
        let (mut out, before) = (Batch::default(), late(&core));
        core.push(e, &mut out);
        for s in &out.snapshots {
            let reading =
                |(c, told): (&pipeline::ChannelPlan, &Vec<_>)| defined(told, s.time, c.channel.spec().stale_after);
            all.push((s.time, plan.channels.iter().zip(&told).map(reading).collect()));
        }
        for s in out.samples.iter().filter(|_| late(&core) == before) {
            told[usize::from(s.channel.0)].push((s.time, Told::Value(s.reading)));
        }
        match &e.body {
            EntryBody::Link(l) => {
                for (i, c) in plan.channels.iter().enumerate() {
                    let source = plan.layout.columns[i].origin == stream::Origin::Channel(l.source);
                    if source && (l.device.is_none() || l.device == c.device) {
                        let what = if l.state == LinkState::Down { Told::Down } else { Told::Up };
                        told[i].push((l.event_time.min(e.logged_at), what));
                    }
                }
            }
            EntryBody::Record(r) => {
                let Some((device, kind, _)) = r.fault() else { continue };
                let reason = match kind {
                    FaultKind::Checksum => Reason::Crc,
                    FaultKind::LateAnswer => Reason::Late,
                    FaultKind::Exception => Reason::ErrorCode,
                    FaultKind::Malformed => Reason::NotANumber,
                    _ => continue,
                };
                for (i, c) in plan.channels.iter().enumerate() {
                    if plan.layout.columns[i].origin == stream::Origin::Channel(r.source) && c.device == Some(device) {
                        told[i].push((r.event_time.min(e.logged_at), Told::Spoiled(reason)));
                    }
                }
            }
            EntryBody::Gap(g) if g.cause == GapCause::NotRecorded => told.iter_mut().for_each(Vec::clear),
            _ => {}
        }
    }
    all
}

fn defined(told: &[(EventTime, Told)], g: EventTime, stale_after: Span) -> Reading {
    let until: Vec<&(EventTime, Told)> = told.iter().filter(|t| t.0 <= g).collect();
    let newest = |of: fn(&Told) -> bool| {
        // `max_by_key` takes the last of equals, as the log's order demands.
        until.iter().filter(|t| of(&t.1)).max_by_key(|t| t.0).map(|t| **t)
    };
    let value = newest(|t| matches!(t, Told::Value(_)));
    let lost = newest(|t| matches!(t, Told::Down)).map(|t| t.0);
    let link = newest(|t| matches!(t, Told::Down | Told::Up));
    let value = value.filter(|v| lost.is_none_or(|l| v.0 > l));
    let spoiled = newest(|t| matches!(t, Told::Spoiled(_)))
        .filter(|s| g - s.0 <= stale_after && lost.is_none_or(|l| s.0 > l) && value.is_none_or(|v| s.0 > v.0));
    match (value, spoiled) {
        (Some((t, Told::Value(r))), _) if g - t <= stale_after => r,
        (None, _) if matches!(link, Some((_, Told::Down))) => Reading::Missing(Reason::SourceDown),
        (_, Some((_, Told::Spoiled(reason)))) => Reading::Bad(reason),
        (Some(_), _) => Reading::Stale,
        (None, _) => Reading::Missing(Reason::NotYet),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn handing_over_plays_no_part(entries in logs(400)) {
        let one_by_one = in_blocks(&entries, 1);
        for block in [7, 64, 10_000] {
            let (out, counts) = in_blocks(&entries, block);
            prop_assert!(same_bits(&out, &one_by_one.0), "blocks of {}", block);
            prop_assert_eq!(&counts, &one_by_one.1);
        }
    }

    #[test]
    fn ticks_change_when_results_come_and_nothing_in_them(entries in logs(400)) {
        let fewer = without_ticks(&entries);
        let ((with, a), (without, b)) = (in_blocks(&entries, 64), in_blocks(&fewer, 64));
        prop_assert_eq!(&with.snapshots, &without.snapshots);
        prop_assert_eq!(&with.samples, &without.samples);
        prop_assert_eq!(what_happened(&with.events), what_happened(&without.events));
        prop_assert_eq!((a.sources, a.snapshots, a.events, a.limits), (b.sources, b.snapshots, b.events, b.limits));
    }

    #[test]
    fn more_ticks_change_nothing_either(entries in logs(200)) {
        let mut more = Vec::new();
        for pair in entries.windows(2) {
            more.push(pair[0].clone());
            let (from, to) = (pair[0].logged_at, pair[1].logged_at);
            if to - from <= pipeline::core::LONGEST_PAUSE {
                for i in 1..4 {
                    let logged_at = EventTime(from.0 + (to.0 - from.0) / 4 * i);
                    more.push(LogEntry { ordinal: pair[0].ordinal, logged_at, body: EntryBody::Tick });
                }
            }
        }
        more.extend(entries.last().cloned());
        let ((few, _), (many, _)) = (in_blocks(&entries, 64), in_blocks(&more, 64));
        prop_assert_eq!(&few.snapshots, &many.snapshots);
        prop_assert_eq!(&few.samples, &many.samples);
        prop_assert_eq!(what_happened(&few.events), what_happened(&many.events));
    }

    #[test]
    fn snapshots_are_what_their_definition_says(entries in logs(300)) {
        let (out, _) = in_blocks(&entries, 64);
        let snapshots: Vec<_> = out.snapshots.iter().map(|s| (s.time, s.readings.to_vec())).collect();
        prop_assert_eq!(snapshots, by_definition(&entries));
    }

    #[test]
    fn what_is_certain_of_every_log(entries in logs(400)) {
        let (out, counts) = in_blocks(&entries, 64);
        // Snapshots: on the grid, rising, complete but for pauses and what was not recorded.
        prop_assert!(out.snapshots.is_sorted_by(|a, b| a.time < b.time));
        prop_assert!(out.snapshots.iter().all(|s| s.time.0 % (100 * MS) == 0 && s.readings.len() == 4));
        prop_assert_eq!(counts.snapshots, out.snapshots.len() as u64);
        prop_assert_eq!(counts.events, out.events.len() as u64);
        prop_assert_eq!(counts.entries, entries.len() as u64);
        let sum = |f: fn(&pipeline::SourceCounts) -> u64| counts.sources.iter().map(f).sum::<u64>();
        prop_assert_eq!(sum(|s| s.samples), out.samples.len() as u64);
        let records = entries.iter().filter(|e| matches!(e.body, EntryBody::Record(_))).count();
        prop_assert_eq!(sum(|s| s.records), records as u64);
        // No number that is none, and nothing that looks like a number without being one.
        prop_assert!(out.samples.iter().filter_map(|s| s.reading.number()).all(f64::is_finite));
        let crossed = out.events.iter().filter(|e| e.kind == EventKind::LimitCrossed).count() as u64;
        prop_assert_eq!(counts.limits.iter().map(|l| l.crossed).sum::<u64>(), crossed);
        let last = out.events.last();
        prop_assert!(last.is_some_and(|e| e.kind == EventKind::End));
    }
}
