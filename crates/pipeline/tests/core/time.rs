//! Pauses, jumps, the ends of the time line, stretches that were not recorded.

use crate::rig::{AIR, LINE, Log, ON_GRID, ON_SAMPLE, T, line, ms};
use pipeline::core::LONGEST_PAUSE;
use stream::{
    Anchor, EntryBody, EventKind, EventTime, FaultKind, Gap, GapCause, LimitState, Link, LinkState, LogEntry, Reading,
    Reason,
};

const SECOND: i64 = 1000;

#[test]
fn no_snapshots_are_made_for_the_rest_of_a_pause_longer_than_the_longest() {
    assert_eq!(LONGEST_PAUSE.0, 60 * 1_000_000_000);
    let mut log = Log::default();
    log.t(50, 290.0).tick(500).tick(500 + 60 * SECOND + 1000).t(500 + 60 * SECOND + 1050, 291.0);
    log.ticks(500 + 60 * SECOND + 1100, 500 + 60 * SECOND + 2000);
    let run = log.run();
    let times = run.times();
    // Up to 60 s after the last entry, less the lateness; then nothing until the lateness before the next entry.
    let hole = times.windows(2).position(|w| w[1] - w[0] > 100).unwrap();
    assert_eq!((times[hole], times[hole + 1]), (60_200, 61_300));
    assert_eq!(times.iter().filter(|t| **t <= 60_200).count(), 602);
    assert_eq!(run.at(60_200, T), Reading::Stale);
    assert_eq!(run.at(61_600, T), Reading::Good(291.0));
    let told = run.events(EventKind::Gap);
    assert_eq!(told.len(), 1);
    assert!(told[0].text.contains("no snapshots there"), "{}", told[0].text);
}

#[test]
fn a_pause_as_long_as_the_longest_is_none() {
    let run = Log::default().tick(0).tick(60 * SECOND).run();
    assert_eq!((run.times().len(), run.events(EventKind::Gap).len()), (598, 0));
    assert_eq!(Log::default().tick(0).tick(60 * SECOND + 1).run().events(EventKind::Gap).len(), 1);
}

#[test]
fn a_sample_that_waited_over_a_pause_is_not_lost() {
    let mut log = Log::default();
    log.tick(0).t(50, 290.0).line(60, 55, LINE, AIR, "291,1").tick(61 * SECOND);
    assert_eq!(log.run().at(100, T), Reading::Good(291.0));
}

#[test]
fn a_jump_of_fifty_years_costs_no_more_than_a_pause() {
    const YEARS: i64 = 50 * 365 * 86_400 * SECOND;
    let mut log = Log::default();
    log.t(50, 290.0).t(YEARS, 291.0).ticks(YEARS + 100, YEARS + 1000).end(YEARS + 1000);
    let run = log.run();
    assert!(run.times().len() < 700, "{}", run.times().len());
    assert_eq!(run.at(YEARS, T), Reading::Good(291.0));
    assert_eq!(run.events(EventKind::Gap).len(), 1);
}

#[test]
fn nothing_at_the_ends_of_the_time_line_hangs_or_panics() {
    let extremes = [i64::MIN, i64::MIN + 1, -1, 0, 1, i64::MAX - 1, i64::MAX];
    for at in extremes {
        for event in extremes {
            for then in extremes.into_iter().filter(|t| *t >= at) {
                let (a, e, then) = (EventTime(at), EventTime(event), EventTime(then));
                let link = |state| Link { source: LINE, device: None, event_time: e, state, detail: String::new() };
                let gap = Gap { source: Some(LINE), lost: u64::MAX, from: e, to: a, cause: GapCause::Suspend };
                let bodies = [
                    EntryBody::Record(line(LINE, 0, e, AIR, "310,1")),
                    EntryBody::Link(link(LinkState::Down)),
                    EntryBody::Link(link(LinkState::Up)),
                    EntryBody::Gap(gap.clone()),
                    EntryBody::Gap(gap),
                    EntryBody::Anchor(Anchor { event_time: e, wall_offset_ns: i64::MIN }),
                    EntryBody::Anchor(Anchor { event_time: e, wall_offset_ns: i64::MAX }),
                    EntryBody::Tick,
                ];
                let mut log = Log::default();
                for body in bodies {
                    log.push(a, body);
                }
                log.push(then, EntryBody::Record(line(LINE, 1, e, AIR, "310,1"))).push(then, EntryBody::End);
                let run = log.run();
                // 60 s of snapshots, and those of the lateness before the next entry.
                assert!(run.times().len() <= 606, "{at} {event} {then:?}: {}", run.times().len());
            }
        }
    }
}

#[test]
fn a_log_whose_times_go_back_is_survived() {
    let at = [500, 100, 700, -500, 900, 1300];
    let entries: Vec<LogEntry> = at
        .iter()
        .enumerate()
        .map(|(i, t)| LogEntry { ordinal: i as u64, logged_at: ms(*t), body: EntryBody::Tick })
        .collect();
    let times = crate::rig::run(&entries).times();
    assert!(times.is_sorted_by(|a, b| a < b), "{times:?}");
}

#[test]
fn after_a_stretch_that_was_not_recorded_everything_starts_afresh() {
    let mut log = Log::default();
    for t in (0..1000).step_by(50) {
        log.t(t, 310.0);
    }
    log.fault(1000, AIR, FaultKind::Noise, b"x");
    log.gap(1010, None, 40, GapCause::NotRecorded).ticks(1100, 1500);
    let run = log.run();
    // What waited is gone with what was not recorded; the grid begins again after the gap.
    assert_eq!(run.times(), [0, 100, 200, 300, 400, 500, 600, 700, 1100, 1200]);
    assert_eq!(run.at(700, T), Reading::Good(310.0));
    assert_eq!(run.at(1100, T), Reading::Missing(Reason::NotYet));
    let limits = |t: i64| run.out.snapshots.iter().find(|s| s.time == ms(t)).unwrap().limits.clone();
    assert_eq!(limits(700)[ON_SAMPLE], LimitState::Outside);
    assert_eq!(*limits(1100), [LimitState::NotJudged; 2]);
    // The counts go on, and what was told once is told once more.
    assert_eq!((run.counts.sources[0].records, run.counts.limits[ON_GRID].crossed), (21, 1));
    log.fault(1600, AIR, FaultKind::Noise, b"x");
    let again = log.run();
    assert_eq!(again.events(EventKind::Fault).len(), 2);
    assert_eq!(again.counts.sources[0].faults().next(), Some((FaultKind::Noise, 2)));
}

#[test]
fn after_it_the_results_are_those_of_a_log_that_begins_there() {
    let story = |log: &mut Log| {
        log.t(2050, 290.0).baro(2060, 1e5).gauge(2100, 20.0).ticks(2200, 3000).t(3010, 310.0).ticks(3100, 5000);
    };
    let mut whole = Log::default();
    whole.t(0, 310.0).baro(10, 9e4).ticks(100, 1900).gap(2000, None, 40, GapCause::NotRecorded);
    let before = whole.run().out;
    story(&mut whole);
    let mut alone = Log::default();
    alone.tick(2000);
    story(&mut alone);
    let (whole, alone) = (whole.run().out, alone.run().out);
    assert_eq!(whole.snapshots[before.snapshots.len()..], alone.snapshots[..]);
    assert_eq!(whole.samples[before.samples.len()..], alone.samples[..]);
}

#[test]
fn another_gap_keeps_what_is_known() {
    let mut log = Log::default();
    log.t(50, 290.0).gap(60, Some(LINE), 3, GapCause::QueueFull).gap(70, None, 0, GapCause::Suspend).tick(500);
    assert_eq!(log.run().at(100, T), Reading::Good(290.0));
}
