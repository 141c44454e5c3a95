//! Which sample gets into which snapshot, and when that closes.

use crate::rig::{AIR, BARO, GAUGE, LINE, Log, ROOM, T, ms};
use stream::{EventKind, EventTime, LinkState, Quality, Reading, Reason};

const DOWN: Reading = Reading::Missing(Reason::SourceDown);
const NOT_YET: Reading = Reading::Missing(Reason::NotYet);

#[test]
fn a_snapshot_closes_at_the_first_entry_logged_at_grid_time_plus_lateness() {
    let mut log = Log::default();
    log.t(50, 290.0).push(EventTime(ms(350).0 - 1), stream::EntryBody::Tick);
    assert!(log.run().times().is_empty());
    log.tick(350);
    assert_eq!(log.run().times(), [100]);
    // A long silence (under the longest pause) closes everything that is due, in order, at one entry.
    log.tick(1000);
    let run = log.run();
    assert_eq!(run.times(), [100, 200, 300, 400, 500, 600, 700]);
    assert_eq!(run.counts.snapshots, 7);
}

#[test]
fn the_first_grid_time_is_the_first_not_before_the_first_entry() {
    assert_eq!(Log::default().tick(100).tick(350).run().times(), [100]);
    assert_eq!(Log::default().tick(101).tick(450).run().times(), [200]);
}

#[test]
fn a_sample_at_the_grid_time_belongs_to_it_and_one_after_does_not() {
    let run = Log::default().t(100, 290.0).t(101, 291.0).tick(500).run();
    assert_eq!(run.at(100, T), Reading::Good(290.0));
    assert_eq!(run.at(200, T), Reading::Good(291.0));
}

#[test]
fn newest_event_time_wins_whatever_the_order_in_the_log() {
    let mut log = Log::default();
    log.tick(0).line(95, 80, LINE, AIR, "280,1").line(96, 60, LINE, AIR, "260,1").line(99, 70, LINE, AIR, "270,1");
    assert_eq!(log.tick(400).run().at(100, T), Reading::Good(280.0));
    // Interleaved sources: a sample that is logged after later ones of another source still counts.
    let mut log = Log::default();
    log.tick(0).baro(90, 1e5).line(200, 95, LINE, AIR, "295,1");
    let run = log.tick(400).run();
    assert_eq!((run.at(100, T), run.at(100, BARO)), (Reading::Good(295.0), Reading::Good(1e5)));
}

#[test]
fn of_equal_event_times_the_later_in_the_log_wins() {
    let mut log = Log::default();
    log.tick(0).line(95, 80, LINE, AIR, "280,1").line(96, 80, LINE, AIR, "281,1");
    assert_eq!(log.tick(400).run().at(100, T), Reading::Good(281.0));
}

#[test]
fn an_old_sample_never_replaces_a_newer_one_of_an_earlier_snapshot() {
    let mut log = Log::default();
    log.tick(0).t(100, 290.0).line(180, 90, LINE, AIR, "200,1").line(190, 95, LINE, AIR, "201,1").tick(600);
    let run = log.run();
    assert_eq!(run.at(100, T), Reading::Good(290.0));
    assert_eq!(run.at(200, T), Reading::Good(290.0));
}

#[test]
fn what_comes_late_is_kept_counted_told_once_and_not_evaluated() {
    let mut log = Log::default();
    // The snapshot of 100 has closed at 350: a record stamped 100 or before is late, one stamped 101 is not.
    log.tick(0).tick(350).line(351, 100, LINE, AIR, "400,1").line(352, 90, LINE, AIR, "401,1");
    log.line(353, 101, LINE, AIR, "290,1").ticks(400, 1000);
    let run = log.run();
    assert_eq!(run.at(100, T), NOT_YET);
    assert_eq!(run.at(200, T), Reading::Good(290.0));
    let kept: Vec<f64> = run.samples(T).iter().filter_map(|s| s.reading.number()).collect();
    assert_eq!(kept, [400.0, 401.0, 290.0]);
    assert_eq!((run.counts.sources[0].late, run.counts.sources[0].samples), (2, 6));
    let told = run.events(EventKind::Late);
    assert_eq!((told.len(), told[0].subject.as_str(), told[0].time), (1, "line", ms(100)));
    assert!(run.events(EventKind::LimitCrossed).is_empty(), "a late sample crosses no limit");
}

#[test]
fn a_record_stamped_after_it_was_logged_is_kept_and_not_evaluated() {
    let mut log = Log::default();
    log.tick(0).line(50, 51, LINE, AIR, "400,1").line(60, 60_000_000, LINE, AIR, "401,1").ticks(100, 1000);
    let run = log.run();
    assert_eq!((run.at(100, T), run.at(700, T)), (NOT_YET, NOT_YET));
    assert_eq!((run.counts.sources[0].late, run.samples(T).len()), (2, 2));
    let told = run.events(EventKind::Late);
    assert_eq!(told.len(), 1);
    assert!(told[0].text.contains("stamped after it was logged"), "{}", told[0].text);
}

#[test]
fn stale_at_the_first_grid_time_after_more_than_the_channel_allows() {
    let run = Log::default().t(100, 290.0).ticks(200, 1800).run();
    assert_eq!(run.at(1100, T), Reading::Good(290.0));
    assert_eq!(run.at(1200, T), Reading::Stale);
    assert_eq!(run.at(1200, T).quality(), Quality::Stale);
}

#[test]
fn nothing_yet_is_missing() {
    let run = Log::default().ticks(0, 500).run();
    assert!(run.out.snapshots.iter().all(|s| s.readings.iter().all(|r| *r == NOT_YET)));
    assert_eq!(run.times(), [0, 100, 200]);
}

#[test]
fn a_lost_link_is_missing_from_the_grid_time_at_which_it_was_lost_until_something_comes() {
    let mut log = Log::default();
    log.t(50, 290.0).baro(60, 1e5).ticks(100, 1000).link(1000, 1000, LINE, None, LinkState::Down).ticks(1100, 1300);
    // Up again before the snapshots of the outage's last moments have closed: they show the outage all the same.
    log.link(1310, 1310, LINE, None, LinkState::Up).ticks(1400, 1500).t(1510, 291.0).ticks(1600, 2000);
    let run = log.run();
    assert_eq!(run.at(900, T), Reading::Good(290.0));
    for t in [1000, 1100, 1200, 1300] {
        assert_eq!(run.at(t, T), DOWN, "{t}");
    }
    // The value from before the outage does not come back with the link, although it is not stale yet at 1400.
    assert_eq!(run.at(1400, T), NOT_YET);
    assert_eq!(run.at(1500, T), NOT_YET);
    assert_eq!(run.at(1600, T), Reading::Good(291.0));
    assert_eq!(run.at(1200, BARO), Reading::Good(1e5), "another source's link");
    assert_eq!(run.counts.sources[0].link_losses, 0, "it had not come up before");
}

#[test]
fn a_device_that_is_down_takes_only_its_own_channels() {
    let mut log = Log::default();
    log.tick(0).baro(10, 1e5).t(50, 290.0).gauge(60, 20.0).link(150, 150, LINE, Some(AIR), LinkState::Down);
    log.ticks(200, 500).link(510, 510, LINE, Some(AIR), LinkState::Up).t(520, 295.0).ticks(600, 1000);
    let run = log.run();
    assert_eq!(run.at(100, T), Reading::Good(290.0));
    assert_eq!((run.at(200, T), run.at(500, T)), (DOWN, DOWN));
    assert_eq!(run.at(200, GAUGE), Reading::Good(120_000.0));
    assert_eq!(run.at(600, T), Reading::Good(295.0));
}

#[test]
fn degraded_is_not_down() {
    let mut log = Log::default();
    log.t(50, 290.0).link(60, 60, LINE, None, LinkState::Degraded).ticks(100, 500);
    assert_eq!(log.run().at(200, T), Reading::Good(290.0));
}

#[test]
fn losses_of_a_link_are_counted_once_a_loss() {
    let mut log = Log::default();
    for (t, s) in [(1, LinkState::Up), (2, LinkState::Down), (3, LinkState::Down), (4, LinkState::Up)] {
        log.link(t, t, LINE, None, s);
    }
    log.link(5, 5, LINE, None, LinkState::Degraded).link(6, 6, LINE, None, LinkState::Down);
    log.link(7, 7, LINE, Some(AIR), LinkState::Down);
    let run = log.run();
    assert_eq!(run.counts.sources[0].link_losses, 2);
    assert_eq!(run.events(EventKind::Link).len(), 7);
    assert_eq!(run.out.events[6].subject, "line/air");
}

#[test]
fn a_gauge_pressure_needs_a_barometer_that_has_a_value() {
    const NO_BAROMETER: Reading = Reading::Bad(Reason::NoBarometer);
    let mut log = Log::default();
    log.gauge(0, 20.0).baro(10, 1e5).gauge(20, 20.0).gauge(3010, 20.0).gauge(3011, 20.0);
    log.baro(3020, 99_000.0).gauge(3030, 20.0).link(3040, 3040, ROOM, None, LinkState::Down).gauge(3050, 20.0);
    let run = log.tick(4000).run();
    let readings: Vec<Reading> = run.samples(GAUGE).iter().map(|s| s.reading).collect();
    let expected = [
        NO_BAROMETER,
        Reading::Good(120_000.0),
        Reading::Good(120_000.0),
        NO_BAROMETER,
        Reading::Good(119_000.0),
        NO_BAROMETER,
    ];
    assert_eq!(readings, expected);
}

#[test]
fn a_late_or_wrongly_stamped_barometer_reading_is_no_barometer() {
    let mut log = Log::default();
    log.tick(0).baro(10, 1e5).line(20, 9_000_000, ROOM, 0, "50000").gauge(30, 20.0).baro(40, 101_000.0).gauge(50, 20.0);
    log.ticks(100, 3500).line(3600, 3000, ROOM, 0, "50000").gauge(3610, 20.0);
    let run = log.run();
    let readings: Vec<Reading> = run.samples(GAUGE).iter().map(|s| s.reading).collect();
    let stale = Reading::Bad(Reason::NoBarometer);
    assert_eq!(readings, [Reading::Good(120_000.0), Reading::Good(121_000.0), stale]);
}

#[test]
fn end_closes_what_waits_up_to_its_own_time() {
    let run = Log::default().t(50, 290.0).t(250, 291.0).end(300).run();
    assert_eq!(run.times(), [100, 200, 300]);
    assert_eq!((run.at(200, T), run.at(300, T)), (Reading::Good(290.0), Reading::Good(291.0)));
    let last = run.out.events.last().unwrap();
    assert_eq!((last.kind, last.time), (EventKind::End, ms(300)));
    assert_eq!(Log::default().t(50, 290.0).end(99).run().times(), [0i64; 0]);
}
