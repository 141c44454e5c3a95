//! Live runs under fire: sources and sinks that misbehave, clocks that step, and that a replay comes to the same.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::load::{Assembled, SourceSpec};
use assembly::record::{RecordOptions, Recorded, SEGMENT_BYTES, Session};
use kit::{Step, SteppedClock, assembled, check_recording, quick, wait_for};
use plugin_api::{Clock, Counters, Sink, SinkError};
use recording::manifest::Manifest;
use recording::{Recording, RunId};
use runtime::{BootClock, LogSlot, Outcome, Run, RunSetup, SinkSlot, SourceSlot, Timing};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use stream::{
    Anchor, Batch, EntryBody, Event, EventKind, EventTime, Gap, GapCause, Link, LinkState, LogEntry, OperatorAction,
    OperatorContent, Span,
};

const HOUR_NS: i64 = 3_600_000_000_000;

fn session(a: Assembled, clock: Arc<dyn Clock>, timing: Timing) -> Session {
    let disk = kit::real_disk();
    Session::start(a, RecordOptions { clock, disk, simulated: true, segment_bytes: SEGMENT_BYTES, timing }).unwrap()
}

fn real() -> Arc<dyn Clock> {
    Arc::new(BootClock::start(1.0))
}

fn records(s: &Session, source: usize) -> u64 {
    s.counters().sources[source].records.load(Ordering::Relaxed)
}

fn links(entries: &[LogEntry], source: u16) -> Vec<Link> {
    let link = |e: &LogEntry| match &e.body {
        EntryBody::Link(l) if l.source.0 == source => Some(l.clone()),
        _ => None,
    };
    entries.iter().filter_map(link).collect()
}

fn gaps(entries: &[LogEntry]) -> Vec<Gap> {
    let gap = |e: &LogEntry| match &e.body {
        EntryBody::Gap(g) => Some(g.clone()),
        _ => None,
    };
    entries.iter().filter_map(gap).collect()
}

fn clean(r: &Recorded) {
    assert_eq!(r.troubles, Vec::<String>::new());
    assert_eq!(r.not_recorded, 0);
}

#[test]
fn a_source_that_panics_is_made_anew_and_the_run_goes_on() {
    let dir = tempfile::tempdir().unwrap();
    let script = vec![vec![Step::Up, Step::Lines(3), Step::Panic], vec![Step::Up, Step::Stream(1000)]];
    let other = vec![vec![Step::Up, Step::Stream(1000)]];
    let s = session(assembled(dir.path(), &[("panics", script), ("beside_panic", other)]), real(), quick());
    wait_for("lines after the panic", || records(&s, 0) > 20 && records(&s, 1) > 20);
    let recorded = s.stop();
    clean(&recorded);
    assert_eq!(kit::built("panics"), 2);
    let entries = check_recording(&recorded.folder);
    let links = links(&entries, 0);
    assert_eq!(links.iter().map(|l| l.state).collect::<Vec<_>>(), [LinkState::Up, LinkState::Down, LinkState::Up]);
    assert!(links[1].detail.contains("as the script says"), "{}", links[1].detail);
    let sequences = kit::sequences(&entries);
    assert!(
        sequences.values().all(|s| s.iter().enumerate().all(|(i, n)| i as u64 == *n)),
        "no number twice, none left out"
    );
    assert_eq!(sequences[&0].len() as u64, kit::sent("panics"));
}

#[test]
fn a_source_that_blocks_is_abandoned_and_the_others_go_on() {
    let dir = tempfile::tempdir().unwrap();
    let script = vec![vec![Step::Up, Step::Lines(3), Step::Block(Duration::from_secs(600))]];
    let other = vec![vec![Step::Up, Step::Stream(1000)]];
    let timing = Timing { patience: Duration::from_millis(1200), ..quick() };
    let s = session(assembled(dir.path(), &[("blocks", script), ("beside_block", other)]), real(), timing);
    wait_for("the link down", || {
        records(&s, 0) == 3 && s.counters().sources[0].link.load(Ordering::Relaxed) == LinkState::Down as u8
    });
    let so_far = records(&s, 1);
    wait_for("lines of the other", || records(&s, 1) > so_far + 20);
    let recorded = s.stop();
    assert_eq!(recorded.troubles.len(), 1, "{:?}", recorded.troubles);
    assert!(recorded.troubles[0].contains("blocks has not answered for 1.2 s: abandoned"), "{:?}", recorded.troubles);
    let entries = check_recording(&recorded.folder);
    let gap = gaps(&entries).into_iter().find(|g| g.cause == GapCause::SourceBlocked).unwrap();
    assert_eq!(gap.source.map(|s| s.0), Some(0));
    let links = links(&entries, 0);
    assert_eq!(links.last().map(|l| l.state), Some(LinkState::Down));
    assert!(links[1].detail.contains("abandoned"), "{}", links[1].detail);
}

#[test]
fn a_flood_loses_the_newest_and_counts_them() {
    let dir = tempfile::tempdir().unwrap();
    let mut a = assembled(dir.path(), &[("floods", vec![vec![Step::Up, Step::Flood]])]);
    let SourceSpec::Live { queue, .. } = &mut a.sources[0] else { unreachable!() };
    *queue = 50;
    let s = session(a, real(), quick());
    wait_for("a loss", || s.counters().sources[0].lost.load(Ordering::Relaxed) > 0 && records(&s, 0) > 1000);
    let recorded = s.stop();
    clean(&recorded);
    let counts = &recorded.counts.sources[0];
    assert_eq!(counts.records + counts.lost, kit::sent("floods"));
    let entries = check_recording(&recorded.folder);
    // Every jump of the sequence is told by the gaps before the next record, to the number.
    let (mut next, mut told) = (0, 0);
    for e in &entries {
        match &e.body {
            EntryBody::Gap(g) if g.source.is_some() => {
                assert_eq!((g.cause, g.source.map(|s| s.0)), (GapCause::QueueFull, Some(0)));
                told += g.lost;
            }
            EntryBody::Record(r) => {
                assert_eq!(r.sequence, next + told, "after {told} lost");
                (next, told) = (r.sequence + 1, 0);
            }
            _ => {}
        }
    }
    assert_eq!(next + told, kit::sent("floods"));
}

#[test]
fn a_lost_link_is_told_once_each_time_it_goes_down() {
    let dir = tempfile::tempdir().unwrap();
    let gone = || Step::Lose("gone");
    let script =
        vec![vec![gone()], vec![gone()], vec![Step::Up, gone()], vec![gone()], vec![Step::Up, Step::Stream(200)]];
    let a = assembled(dir.path(), &[("loses", script)]);
    // Fast event time makes the pauses short.
    let s = session(a, Arc::new(BootClock::start(20.0)), quick());
    wait_for("lines", || records(&s, 0) > 3);
    let recorded = s.stop();
    clean(&recorded);
    let entries = check_recording(&recorded.folder);
    let states: Vec<LinkState> = links(&entries, 0).iter().map(|l| l.state).collect();
    use LinkState::{Down, Up};
    assert_eq!(states, [Down, Up, Down, Up]);
    assert_eq!(recorded.counts.sources[0].link_losses, 1, "the first was never up");
}

#[test]
fn a_source_that_ignores_the_stop_is_abandoned() {
    let dir = tempfile::tempdir().unwrap();
    let script = vec![vec![Step::Up, Step::Lines(5), Step::IgnoreStop]];
    let timing = Timing { farewell: Duration::from_millis(200), ..quick() };
    let s = session(assembled(dir.path(), &[("ignores", script)]), real(), timing);
    wait_for("lines", || records(&s, 0) == 5);
    let recorded = s.stop();
    assert_eq!(recorded.troubles, ["source ignores did not end in time: abandoned"]);
    let entries = check_recording(&recorded.folder);
    assert_eq!(entries.last().map(|e| &e.body), Some(&EntryBody::End));
}

#[test]
fn notes_are_kept_with_the_time_of_the_key() {
    let dir = tempfile::tempdir().unwrap();
    let clock = real();
    let s =
        session(assembled(dir.path(), &[("noted", vec![vec![Step::Up, Step::Stream(1000)]])]), clock.clone(), quick());
    let pressed_at = clock.now();
    wait_for("lines", || records(&s, 0) > 10);
    let contents = [
        OperatorContent::TestBegin("point 1".to_owned()),
        OperatorContent::Note("valve at 40 %".to_owned()),
        OperatorContent::TestEnd,
    ];
    let actions = contents.map(|content| OperatorAction { author: "A. Tester".to_owned(), pressed_at, content });
    actions.iter().for_each(|a| assert!(s.operator(a.clone())));
    // Stopped at once: what was handed over before is kept.
    let recorded = s.stop();
    clean(&recorded);
    let entries = check_recording(&recorded.folder);
    let kept: Vec<&OperatorAction> = entries
        .iter()
        .filter_map(|e| match &e.body {
            EntryBody::Operator(a) => Some(a),
            _ => None,
        })
        .collect();
    assert_eq!(kept, actions.iter().collect::<Vec<_>>());
    let note = stored_events(&recorded.folder).into_iter().find(|e| e.kind == EventKind::Note).unwrap();
    assert_eq!(note.time, pressed_at);
}

fn stored_events(folder: &Path) -> Vec<Event> {
    let disk = kit::real_disk();
    let tables = recording::Stored::open(disk.as_ref(), folder).unwrap().tables(&disk);
    tables.events().unwrap().map(Result::unwrap).collect()
}

#[test]
fn a_wall_clock_that_steps_an_hour_moves_no_event() {
    let dir = tempfile::tempdir().unwrap();
    let clock = SteppedClock::new();
    let offset = |s: &Session| s.counters().wall_offset_ns.load(Ordering::Relaxed);
    let s = session(
        assembled(dir.path(), &[("stepped", vec![vec![Step::Up, Step::Stream(2000)]])]),
        clock.clone(),
        quick(),
    );
    let from = clock.now();
    wait_for("lines", || records(&s, 0) > 100);
    for step in [HOUR_NS, -HOUR_NS] {
        clock.step_ns.store(step, Ordering::Relaxed);
        wait_for("the anchor", || (offset(&s) - step).abs() < HOUR_NS / 2);
        let so_far = records(&s, 0);
        wait_for("lines after it", || records(&s, 0) > so_far + 100);
    }
    let to = clock.now();
    let recorded = s.stop();
    clean(&recorded);
    let entries = check_recording(&recorded.folder);
    let anchors: Vec<Anchor> = entries
        .iter()
        .filter_map(|e| match &e.body {
            EntryBody::Anchor(a) => Some(*a),
            _ => None,
        })
        .collect();
    let moved: Vec<i64> = anchors.windows(2).map(|w| w[1].wall_offset_ns - w[0].wall_offset_ns).collect();
    // A real clock may be smeared meanwhile, by seconds at most.
    let near = |a: i64, b: i64| (a - b).abs() < 10_000_000_000;
    assert!(moved.iter().any(|m| near(*m, HOUR_NS)) && moved.iter().any(|m| near(*m, -2 * HOUR_NS)), "{moved:?}");
    let mut last = EventTime(i64::MIN);
    for e in &entries {
        if let EntryBody::Record(r) = &e.body {
            assert!(r.event_time >= last, "in order of receipt");
            assert!(from <= r.event_time + Span::from_secs(1) && r.event_time <= to + Span::from_secs(60));
            last = r.event_time;
        }
    }
    let clock_events = stored_events(&recorded.folder).into_iter().filter(|e| e.kind == EventKind::Clock);
    assert!(clock_events.count() >= 2);
}

/// A clock that panics in the sequencer when it is told to: the one way into that thread from outside.
struct PanickingClock {
    boot: BootClock,
    panics: AtomicBool,
}

impl Clock for PanickingClock {
    fn now(&self) -> EventTime {
        let sequencer = std::thread::current().name() == Some("sequencer");
        assert!(!(sequencer && self.panics.load(Ordering::Relaxed)), "no time any more");
        self.boot.now()
    }

    fn wall_ns(&self) -> i64 {
        self.boot.wall_ns()
    }
}

#[test]
fn a_panic_of_the_program_itself_leaves_a_salvaged_recording() {
    let dir = tempfile::tempdir().unwrap();
    let clock = Arc::new(PanickingClock { boot: BootClock::start(1.0), panics: AtomicBool::new(false) });
    let a = assembled(dir.path(), &[("timeless", vec![vec![Step::Up, Step::Stream(1000)]])]);
    let s = session(a, clock.clone(), quick());
    wait_for("entries", || s.counters().recording.synced.load(Ordering::Relaxed) > 100);
    let synced = s.counters().recording.synced.load(Ordering::Relaxed);
    clock.panics.store(true, Ordering::Relaxed);
    wait_for("the end", || s.is_over());
    let recorded = s.stop();
    assert!(recorded.troubles[0].contains("no time any more"), "{:?}", recorded.troubles);
    assert!(!recorded.troubles.iter().any(|t| t.contains("not finished")), "{:?}", recorded.troubles);
    assert!(check_recording(&recorded.folder).len() as u64 >= synced);
    let stored = recording::Stored::open(kit::real_disk().as_ref(), &recorded.folder).unwrap();
    assert_eq!(stored.state, recording::State::Salvaged);
}

#[test]
fn a_run_that_cannot_start_leaves_no_recording() {
    let dir = tempfile::tempdir().unwrap();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let mut a = assembled(dir.path(), &[("no_port", vec![vec![Step::Stay]])]);
    a.metrics = Some(taken.local_addr().unwrap());
    let (clock, disk) = (real(), kit::real_disk());
    let options = RecordOptions { clock, disk, simulated: true, segment_bytes: SEGMENT_BYTES, timing: quick() };
    let refused = Session::start(a, options).err().unwrap().to_string();
    assert!(refused.contains("cannot listen on"), "{refused}");
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 0);
}

static SLEPT_NS: AtomicI64 = AtomicI64::new(0);

#[test]
fn a_machine_that_slept_leaves_a_gap() {
    let dir = tempfile::tempdir().unwrap();
    let timing = Timing { slept_ns: || SLEPT_NS.load(Ordering::Relaxed), ..quick() };
    let s = session(assembled(dir.path(), &[("sleeps", vec![vec![Step::Up, Step::Stream(500)]])]), real(), timing);
    wait_for("lines", || records(&s, 0) > 10);
    SLEPT_NS.store(7_000_000_000, Ordering::Relaxed);
    let folder = s.folder().to_owned();
    let so_far = s.counters().snapshots.load(Ordering::Relaxed);
    // Housekeeping comes round many times in five snapshots.
    wait_for("some time", || s.counters().snapshots.load(Ordering::Relaxed) > so_far + 5);
    clean(&s.stop());
    let mut gaps = gaps(&check_recording(&folder));
    gaps.retain(|g| g.cause == GapCause::Suspend);
    assert_eq!(gaps.len(), 1, "{gaps:?}");
    assert_eq!(
        (gaps[0].cause, gaps[0].source, gaps[0].to - gaps[0].from),
        (GapCause::Suspend, None, Span::from_secs(7))
    );
}

/// What a sink for tests does with each batch.
struct FakeSink {
    taken: Arc<AtomicU64>,
    act: fn(u64) -> Result<(), SinkError>,
}

impl Sink for FakeSink {
    fn write(&mut self, _: &Batch) -> Result<(), SinkError> {
        (self.act)(self.taken.fetch_add(1, Ordering::Relaxed))
    }

    fn close(self: Box<Self>) -> Result<(), SinkError> {
        Ok(())
    }
}

/// A run with sinks of its own, and its recording, stopped when `until` is so.
fn run_with_sinks(
    a: Assembled,
    sinks: Vec<SinkSlot>,
    timing: Timing,
    until: impl Fn(&Counters) -> bool,
) -> (Outcome, Vec<LogEntry>) {
    let (plan, clock, disk) = (a.plan, real(), kit::real_disk());
    let folder = a.recordings.join("recording");
    let manifest = Manifest {
        program: "test".to_owned(),
        run_id: RunId(7),
        simulated: true,
        started: clock.now(),
        lateness: plan.lateness,
        anchor: Anchor { event_time: clock.now(), wall_offset_ns: 0 },
        layout: (*plan.layout).clone(),
        files: Vec::new(),
        sensors: Vec::new(),
        captures: Vec::new(),
        end: None,
    };
    let recording = Recording::create(disk.clone(), &folder, manifest).unwrap();
    let writer = recording.log(SEGMENT_BYTES).unwrap();
    let sources = a.sources.into_iter().map(|s| {
        let SourceSpec::Live { plugin, setup, queue } = s else { unreachable!() };
        SourceSlot { plugin, source: (plugin.build)(&setup).unwrap(), setup, queue }
    });
    let counters = Arc::new(Counters::new(&plan.layout));
    let setup = RunSetup {
        sources: sources.collect(),
        plan,
        sinks,
        log: Some(LogSlot { writer, disk, folder: folder.clone() }),
        tap: None,
        listener: None,
        clock,
        counters: counters.clone(),
        timing,
    };
    let run = Run::start(setup).unwrap();
    wait_for("the run to be through", || until(&counters));
    let outcome = run.stop();
    (outcome, kit::entries(&folder))
}

fn sink(name: &str, act: fn(u64) -> Result<(), SinkError>) -> (SinkSlot, Arc<AtomicU64>) {
    let taken = Arc::new(AtomicU64::new(0));
    (SinkSlot { name: name.to_owned(), sink: Box::new(FakeSink { taken: taken.clone(), act }) }, taken)
}

#[test]
fn sinks_that_panic_err_or_block_stop_no_recording() {
    let dir = tempfile::tempdir().unwrap();
    let a = assembled(dir.path(), &[("sunk", vec![vec![Step::Up, Step::Stream(2000)]])]);
    let (panics, _) = sink("panics", |n| if n == 2 { panic!("at the third") } else { Ok(()) });
    let (errs, _) = sink("errs", |_| Err(SinkError("no room".to_owned())));
    let (blocks, blocked) = sink("blocks", |n| {
        if n == 1 {
            std::thread::sleep(Duration::from_secs(600));
        }
        Ok(())
    });
    let (works, worked) = sink("works", |_| Ok(()));
    let timing = Timing { sink_patience: Duration::from_millis(300), ..quick() };
    // More batches than wait at a sink: what blocks would hold the run up if anything waited for it.
    let w = worked.clone();
    let through =
        move |c: &Counters| w.load(Ordering::Relaxed) > 600 && c.recording.synced.load(Ordering::Relaxed) > 600;
    let (outcome, entries) = run_with_sinks(a, vec![panics, errs, blocks, works], timing, through);
    assert_eq!(blocked.load(Ordering::Relaxed), 2, "blocked in its second batch");
    assert_eq!(outcome.incomplete_sinks, ["panics", "errs"]);
    assert_eq!(outcome.abandoned_sinks, ["blocks"]);
    let told =
        |what: &str| assert!(outcome.troubles.iter().any(|t| t.contains(what)), "{what}: {:?}", outcome.troubles);
    told("sink panics: panicked: at the third");
    told("sink errs: no room");
    told("sink blocks: did not end in time: abandoned");
    assert_eq!(outcome.troubles.len(), 3, "each once: {:?}", outcome.troubles);
    assert!(outcome.log_whole);
    assert_eq!(outcome.counts.entries, entries.len() as u64);
    assert_eq!(entries.last().map(|e| &e.body), Some(&EntryBody::End));
    assert_eq!(kit::sequences(&entries)[&0].len() as u64, kit::sent("sunk"));
}

static GATE: Mutex<()> = Mutex::new(());

#[test]
fn a_sink_that_was_slow_gets_everything_later() {
    let dir = tempfile::tempdir().unwrap();
    let a = assembled(dir.path(), &[("slowly", vec![vec![Step::Up, Step::Stream(2000)]])]);
    struct Slow(Arc<Mutex<Batch>>);
    impl Sink for Slow {
        fn write(&mut self, batch: &Batch) -> Result<(), SinkError> {
            drop(GATE.lock());
            let mut all = self.0.lock().unwrap();
            all.samples.extend_from_slice(&batch.samples);
            all.snapshots.extend_from_slice(&batch.snapshots);
            all.events.extend_from_slice(&batch.events);
            Ok(())
        }
        fn close(self: Box<Self>) -> Result<(), SinkError> {
            Ok(())
        }
    }
    let got = Arc::new(Mutex::new(Batch::default()));
    let (works, worked) = sink("works", |_| Ok(()));
    let sinks = vec![SinkSlot { name: "slow".to_owned(), sink: Box::new(Slow(got.clone())) }, works];
    let held = Mutex::new(Some(GATE.lock().unwrap()));
    let through = |_: &Counters| {
        let enough = worked.load(Ordering::Relaxed) > 600;
        if enough {
            // Let go only now, so that more waited than there is room for.
            drop(held.lock().unwrap().take());
        }
        enough
    };
    let (outcome, _) = run_with_sinks(a, sinks, quick(), through);
    assert_eq!(outcome.incomplete_sinks, Vec::<String>::new());
    assert_eq!(outcome.troubles, Vec::<String>::new());
    let got = got.lock().unwrap();
    assert_eq!(got.samples.len() as u64, outcome.counts.sources[0].samples);
    assert_eq!(got.snapshots.len() as u64, outcome.counts.snapshots);
    assert_eq!(got.events.len() as u64, outcome.counts.events);
    assert!(got.snapshots.windows(2).all(|w| w[0].time < w[1].time), "in order");
}

#[test]
fn a_replay_comes_to_the_same_as_a_run_under_load() {
    let dir = tempfile::tempdir().unwrap();
    let flood = vec![vec![Step::Up, Step::Lines(20_000), Step::Stream(4000)]];
    let shaky = vec![vec![Step::Up, Step::Lines(500), Step::Lose("cut")], vec![Step::Up, Step::Lines(50), Step::Panic]];
    let steady = vec![vec![Step::Up, Step::Stream(4000)]];
    let mut a = assembled(dir.path(), &[("load_flood", flood), ("load_shaky", shaky), ("load_steady", steady)]);
    for s in &mut a.sources {
        let SourceSpec::Live { queue, .. } = s else { unreachable!() };
        *queue = 2000;
    }
    let clock = SteppedClock::new();
    let disk = kit::real_disk();
    // Small segments, so that the log is closed and converted many times meanwhile.
    let options =
        RecordOptions { clock: clock.clone(), disk, simulated: true, segment_bytes: 100_000, timing: quick() };
    let s = Session::start(a, options).unwrap();
    for round in 1..=8 {
        clock.step_ns.fetch_add(if round % 2 == 0 { HOUR_NS } else { -HOUR_NS }, Ordering::Relaxed);
        let content = OperatorContent::Note(format!("round {round}"));
        assert!(s.operator(OperatorAction { author: "A. Tester".to_owned(), pressed_at: clock.now(), content }));
        wait_for("lines", || records(&s, 2) > round * 700);
    }
    let recorded = s.stop();
    clean(&recorded);
    assert!(recorded.counts.snapshots > 5);
    let entries = check_recording(&recorded.folder);
    assert_eq!(recorded.entries, entries.len() as u64);
    assert_eq!(recorded.counts.entries, entries.len() as u64);
    let notes = entries.iter().filter(|e| matches!(e.body, EntryBody::Operator(_))).count();
    assert_eq!(notes, 8);
}
