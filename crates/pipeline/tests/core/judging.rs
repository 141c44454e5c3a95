//! Limits on snapshots and on every sample, events of quality, faults and lateness, counts.

use crate::rig::{AIR, BOX, FLOW, GAUGE, LINE, Log, ON_GRID, ON_SAMPLE, T, line, ms};
use stream::{EventKind, FaultKind, GapCause, LimitState, LinkState, OperatorContent, Reading, Reason, RecordKind};

/// Time (ms), limit and kind of every event of a limit.
fn limit_events(log: &Log) -> Vec<(i64, String, EventKind)> {
    let run = log.run();
    let kinds = [EventKind::LimitCrossed, EventKind::LimitReturned, EventKind::LimitNotJudged];
    let of = run.out.events.iter().filter(|e| kinds.contains(&e.kind));
    of.map(|e| (e.time.0 / 1_000_000, e.subject.clone(), e.kind)).collect()
}

fn of(events: &[(i64, String, EventKind)], limit: &str) -> Vec<(i64, EventKind)> {
    events.iter().filter(|e| e.1 == limit).map(|e| (e.0, e.2)).collect()
}

/// A sample every 20 ms from `from` to `to` (ms).
fn samples(log: &mut Log, from: i64, to: i64, kelvin: f64) {
    for t in (from..=to).step_by(20) {
        log.t(t, kelvin);
    }
}

#[test]
fn a_spike_between_grid_times_crosses_only_the_limit_on_every_sample() {
    let mut log = Log::default();
    samples(&mut log, 0, 100, 290.0);
    // Outside from 110 to 310; the value at 100, 200, 300 and 400 is forced back inside just before the grid time.
    for t in (110..=320).step_by(10) {
        let before_grid = t % 100 == 0;
        if !before_grid {
            log.t(t, 310.0);
        }
    }
    samples(&mut log, 330, 900, 290.0);
    let events = limit_events(&log);
    assert_eq!(of(&events, "on-sample"), [(310, EventKind::LimitCrossed), (530, EventKind::LimitReturned)]);
    // On the grid: outside at 200 and 300, inside at 400: 200 ms are never served (200 -> 300 is 100 ms).
    assert_eq!(of(&events, "on-grid"), []);
    let run = log.run();
    assert_eq!(run.counts.limits.iter().map(|l| l.crossed).collect::<Vec<_>>(), [0, 1]);
}

#[test]
fn a_limit_on_snapshots_crosses_and_returns_at_grid_times() {
    let mut log = Log::default();
    samples(&mut log, 0, 400, 290.0);
    samples(&mut log, 420, 1000, 310.0);
    samples(&mut log, 1020, 2000, 294.0);
    let events = limit_events(&log);
    assert_eq!(of(&events, "on-grid"), [(700, EventKind::LimitCrossed), (1300, EventKind::LimitReturned)]);
    assert_eq!(of(&events, "on-sample"), [(620, EventKind::LimitCrossed), (1220, EventKind::LimitReturned)]);
    let run = log.run();
    let states: Vec<LimitState> = run.out.snapshots.iter().map(|s| s.limits[ON_GRID]).collect();
    assert_eq!(states[4], LimitState::Inside);
    assert_eq!(&states[5..8], [LimitState::Pending, LimitState::Pending, LimitState::Outside]);
    assert_eq!(&states[11..14], [LimitState::Returning, LimitState::Returning, LimitState::Inside]);
    let crossed = run.events(EventKind::LimitCrossed);
    assert!(crossed.iter().all(|e| e.value == Some(310.0)));
}

#[test]
fn in_the_dead_band_a_crossed_limit_stays_crossed() {
    let mut log = Log::default();
    samples(&mut log, 0, 1000, 310.0);
    samples(&mut log, 1020, 3000, 296.0);
    let run = log.run();
    assert_eq!(run.events(EventKind::LimitReturned).len(), 0);
    assert_eq!(run.out.snapshots.last().unwrap().limits[ON_SAMPLE], LimitState::Outside);
}

#[test]
fn a_limit_whose_value_goes_says_so_and_counts_from_the_start_again() {
    let mut log = Log::default();
    samples(&mut log, 0, 100, 310.0);
    // Silence: at 1200 the value is stale, for both limits; the delay of 200 ms had been served by neither.
    log.ticks(200, 1500);
    let events = limit_events(&log);
    assert_eq!(of(&events, "on-sample"), [(1200, EventKind::LimitNotJudged)]);
    assert_eq!(of(&events, "on-grid"), [(200, EventKind::LimitCrossed), (1200, EventKind::LimitNotJudged)]);
    let states = |log: &Log| log.run().out.snapshots.last().unwrap().limits.clone();
    assert_eq!(*states(&log), [LimitState::OutsideNotJudged, LimitState::NotJudged]);
    // Back outside: the delay counts from the first new value, not from before the silence.
    samples(&mut log, 1510, 2400, 310.0);
    let events = limit_events(&log);
    let after: Vec<_> = of(&events, "on-sample").into_iter().filter(|e| e.0 > 1200).collect();
    assert_eq!(after, [(1510, EventKind::LimitNotJudged), (1710, EventKind::LimitCrossed)]);
    assert!(log.run().out.events.iter().any(|e| e.text.contains("judged again")));
}

#[test]
fn a_bad_sample_neither_raises_nor_hides_a_limit_on_every_sample() {
    let mut log = Log::default();
    samples(&mut log, 0, 300, 310.0);
    log.line(310, 310, LINE, AIR, "---,1").t(320, 290.0).t(330, 310.0).tick(1000);
    let run = log.run();
    let events = limit_events(&log);
    assert_eq!(
        of(&events, "on-sample"),
        [(200, EventKind::LimitCrossed), (310, EventKind::LimitNotJudged), (320, EventKind::LimitNotJudged)]
    );
    assert_eq!(run.at(300, T), Reading::Good(310.0));
    assert!(run.samples(T).iter().any(|s| s.reading == Reading::Bad(Reason::NotAvailable)));
}

#[test]
fn a_sample_older_than_one_already_judged_is_not_judged_on_every_sample() {
    let mut log = Log::default();
    samples(&mut log, 0, 100, 290.0);
    log.t(430, 290.0);
    for (i, t) in (205..=425).step_by(20).enumerate() {
        log.line(431 + i as i64, t, LINE, AIR, "310,1");
    }
    let run = log.run();
    assert_eq!((run.samples(T).len(), run.counts.sources[0].late), (19, 0));
    assert_eq!(of(&limit_events(&log), "on-sample"), []);
}

#[test]
fn a_change_of_quality_is_told_and_a_flicker_is_not_a_flood() {
    let mut log = Log::default();
    // Good and out of range in turn, every 100 ms for 20 s.
    for i in 0..200 {
        let flow = if i % 2 == 0 { "1" } else { "3" };
        log.line(i * 100 + 50, i * 100 + 50, LINE, AIR, &format!("290,{flow}"));
    }
    let run = log.tick(20_500).run();
    assert_eq!(run.at(100, FLOW), Reading::Good(1.0));
    assert_eq!(run.at(200, FLOW), Reading::Uncertain(3.0, Reason::Range));
    let told: Vec<_> = run.events(EventKind::Quality).into_iter().filter(|e| e.subject == "a.flow").collect();
    assert!((2..=5).contains(&told.len()), "{told:#?}");
    for pair in told.windows(2) {
        assert!((pair[1].time - pair[0].time).as_secs_f64() >= 4.9, "{told:#?}");
    }
    assert_eq!((told[0].time, told[0].text.as_str()), (ms(100), "good"));
    // What stays is told however it began: the last state is never left untold.
    let steady: Vec<_> = run.events(EventKind::Quality).into_iter().filter(|e| e.subject == "a.temperature").collect();
    assert_eq!(steady.len(), 1);
}

#[test]
fn a_quality_that_stays_is_told_in_the_end() {
    let mut log = Log::default();
    log.t(50, 290.0).line(150, 150, LINE, AIR, "290,3");
    for t in (250..8000).step_by(100) {
        log.line(t, t, LINE, AIR, "290,3");
    }
    let run = log.run();
    let texts: Vec<_> = run.events(EventKind::Quality).into_iter().filter(|e| e.subject == "a.flow").collect();
    assert_eq!(texts.len(), 2);
    assert_eq!((texts[1].time, texts[1].text.as_str()), (ms(200), "uncertain: range"));
}

#[test]
fn faults_are_counted_by_kind_and_told_once_each() {
    let mut log = Log::default();
    for i in 0..5 {
        log.fault(10 + i, AIR, FaultKind::Checksum, b"\x01\x02");
        log.fault(20 + i, BOX, FaultKind::TimeOut, b"");
    }
    log.fault(30, BOX, FaultKind::Checksum, &[0xAB; 40]);
    let run = log.tick(400).run();
    let counts = &run.counts.sources[0];
    assert_eq!(counts.faults().collect::<Vec<_>>(), [(FaultKind::Checksum, 6), (FaultKind::TimeOut, 5)]);
    assert_eq!((counts.records, counts.samples, counts.undecodable), (11, 0, 0));
    let told: Vec<(&str, &str)> =
        run.events(EventKind::Fault).iter().map(|e| (e.subject.as_str(), e.text.as_str())).collect();
    assert_eq!(
        told,
        [
            ("line/air", "checksum: 01 02; later ones are only counted"),
            ("line/box", "time-out: ; later ones are only counted")
        ]
    );
}

#[test]
fn a_record_that_does_not_decode_is_counted_and_told_once() {
    let mut log = Log::default();
    log.line(10, 10, LINE, AIR, "warm,1").line(20, 20, LINE, 7, "290,1").line(30, 30, LINE, AIR, "290");
    let mut damaged = line(LINE, 3, ms(40), AIR, "");
    (damaged.kind, damaged.payload) = (RecordKind::Fault, stream::Payload::from_slice(&[1]));
    log.record(ms(40), damaged).t(50, 290.0).tick(400);
    let run = log.run();
    let counts = &run.counts.sources[0];
    assert_eq!((counts.records, counts.undecodable, counts.unmapped, counts.samples), (5, 4, 0, 2));
    let told = run.events(EventKind::Fault);
    assert_eq!(told.len(), 1);
    assert!(told[0].text.starts_with("a record did not decode: "), "{}", told[0].text);
}

#[test]
fn what_no_channel_takes_is_counted_as_unmapped_and_a_partly_mapped_record_is_not() {
    let mut log = Log::default();
    log.gauge(10, 20.0).line(20, 20, LINE, BOX, "---,---");
    let run = log.tick(400).run();
    // The box's second field is mapped to nothing, its first one is: neither record is unmapped.
    assert_eq!((run.counts.sources[0].unmapped, run.samples(GAUGE).len()), (0, 2));
}

#[test]
fn losses_are_added_up_and_never_overflow() {
    let mut log = Log::default();
    log.gap(10, Some(LINE), 5, GapCause::QueueFull).gap(20, Some(LINE), 7, GapCause::KernelDrop);
    log.gap(30, None, 0, GapCause::Suspend);
    let run = log.run();
    assert_eq!(run.counts.sources[0].lost, 12);
    let told: Vec<(&str, Option<f64>)> =
        run.events(EventKind::Gap).iter().map(|e| (e.subject.as_str(), e.value)).collect();
    assert_eq!(told, [("line", Some(5.0)), ("line", Some(7.0)), ("all sources", None)]);
    log.gap(40, Some(LINE), u64::MAX, GapCause::QueueFull);
    assert_eq!(log.run().counts.sources[0].lost, u64::MAX);
}

#[test]
fn what_an_operator_does_is_an_event_of_its_author() {
    let mut log = Log::default();
    log.operator(10, OperatorContent::Note("door shut".to_owned()));
    log.operator(20, OperatorContent::TestBegin("cold soak".to_owned())).operator(30, OperatorContent::TestEnd);
    let run = log.run();
    let told: Vec<_> = run.out.events.iter().map(|e| (e.kind, e.subject.as_str(), e.text.as_str())).collect();
    assert_eq!(
        told,
        [
            (EventKind::Note, "lee", "door shut"),
            (EventKind::TestBegin, "lee", "cold soak"),
            (EventKind::TestEnd, "lee", "")
        ]
    );
}

#[test]
fn a_clock_step_moves_nothing_but_is_told() {
    const HOUR: i64 = 3_600_000_000_000;
    let with = |steps: &[i64]| {
        let mut log = Log::default();
        for t in (0..3000).step_by(50) {
            log.t(t, 290.0 + t as f64 / 100.0);
            if let Some(o) = steps.get(t as usize / 1000).filter(|_| t % 1000 == 500) {
                log.anchor(t, *o);
            }
        }
        log.tick(3300).run()
    };
    let (plain, stepped) = (with(&[]), with(&[0, HOUR, -HOUR]));
    assert_eq!(plain.out.snapshots, stepped.out.snapshots);
    assert_eq!(plain.out.samples, stepped.out.samples);
    let told: Vec<&str> = stepped.events(EventKind::Clock).iter().map(|e| e.text.as_str()).collect();
    assert_eq!(
        told,
        [
            "wall clock = event time +0.000000000 s",
            "the wall clock moved by +3600.000000 s; event times and durations did not",
            "the wall clock moved by -7200.000000 s; event times and durations did not",
        ]
    );
}

#[test]
fn a_source_that_the_plan_does_not_know_changes_nothing() {
    let mut log = Log::default();
    log.tick(0).line(10, 10, stream::SourceId(9), 0, "1").link(20, 20, stream::SourceId(9), None, LinkState::Down);
    let run = log.tick(400).run();
    assert_eq!((run.out.samples.len(), run.times()), (0, vec![0, 100]));
}
