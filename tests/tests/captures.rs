//! Replay of files that something else recorded: candump text and tables, in any order, to the bit; and of recordings
//! under another configuration.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::Error;
use assembly::files::Files;
use assembly::load::load;
use assembly::merge::Merge;
use assembly::replay::{ReplayOptions, Replayed, captures, recording};
use pipeline::{Core, Sequencer};
use recording::{RealDisk, Stored};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Batch, EntryBody, Event, EventKind, Reading, Reason, Sample, Snapshot};

const RUN: &str = r#"[run]
name = "rig"
channels = ["map.toml"]
limits = ["limits.toml"]

[[source]]
name = "bus"
kind = "candump"
databases = ["bus.dbc"]

[[source]]
name = "bench"
kind = "table"
"#;

const MAP: &str = r#"[channel]
"acm.speed" = { from = "bus/Machine.Speed", unit = "rpm", range = [0, 50000] }
"pack_in.temperature" = { from = "bench/T_in", unit = "degC" }
"ambient.pressure" = { from = "bench/p_amb", unit = "kPa", reference = "absolute" }
"pack_in.pressure" = { from = "bench/p_in", unit = "kPa", reference = "gauge", barometer = "ambient.pressure" }
"#;

const LIMITS: &str = r#"entered_by = "nobody"
entered_on = "2026-01-01"

[[limit]]
name = "fast"
column = "acm.speed"
kind = "above"
threshold = "40000 rpm"
dead_band = "500 rpm"
basis = "sample"
document = "RIG-1"
entered_by = "A. Tester"
revision = "A"
"#;

const BUS: &str = r#"VERSION ""
BU_: Controller
BO_ 288 Machine: 8 Controller
 SG_ Speed : 0|16@1+ (1,0) [0|65535] "rpm" Controller
"#;

/// 2026-01-01T00:00:00Z.
const START: f64 = 1_767_225_600.0;

/// Ten seconds of frames, one every 20 ms on can0, and one of no message every 200 ms.
fn bus_lines() -> Vec<String> {
    let mut lines = Vec::new();
    for i in 0..500u32 {
        let t = START + f64::from(i) * 0.02 + 0.0013;
        let speed = 38_000 + (i * 37) % 4000;
        lines.push(format!("({t:.6}) can0 120#{:02X}{:02X}000000000000", speed % 256, speed / 256));
        if i % 10 == 0 {
            lines.push(format!("({:.6}) can0 7FF#00", t + 0.001));
        }
    }
    lines
}

/// The same ten seconds as a table, a row every 100 ms.
fn table_text() -> String {
    let mut text = "time,T_in,p_amb,p_in\ns,degC,kPa,kPa\n".to_owned();
    for i in 0..100 {
        let x = f64::from(i);
        text += &format!("{:.3},{:.2},{:.3},{:.2}\n", START + x * 0.1, 20.0 + x, 101.3 + x / 1000.0, x * 2.0);
    }
    text
}

/// A folder with the run and what it names.
struct Rig {
    folder: tempfile::TempDir,
}

impl Rig {
    fn new() -> Rig {
        let rig = Rig { folder: tempfile::tempdir().unwrap() };
        for (name, text) in [("run.toml", RUN), ("map.toml", MAP), ("limits.toml", LIMITS), ("bus.dbc", BUS)] {
            rig.write(name, text);
        }
        rig
    }

    fn with_captures() -> (Rig, Vec<PathBuf>) {
        let rig = Rig::new();
        let paths = vec![rig.write("bus.log", &lines(&bus_lines())), rig.write("bench.csv", &table_text())];
        (rig, paths)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) -> PathBuf {
        fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    fn replay(&self, paths: &[PathBuf]) -> Result<Replayed, Error> {
        captures(paths, options(Some(self.path("run.toml")), Some(self.path("out")), false))
    }

    /// What a replay of these paths comes to, as stored.
    fn results(&self, paths: &[PathBuf]) -> Results {
        let replayed = self.replay(paths).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(replayed.unused.bad_lines, 0, "{:?}", replayed.unused.told);
        results(&replayed.folder.unwrap())
    }
}

fn options<'a>(with: Option<PathBuf>, out: Option<PathBuf>, compare: bool) -> ReplayOptions<'a> {
    ReplayOptions { disk: Arc::new(RealDisk), with, out, compare, progress: Box::leak(Box::new(|_| {})) }
}

fn lines(all: &[String]) -> String {
    all.iter().map(|l| format!("{l}\n")).collect()
}

type Results = (Vec<Sample>, Vec<Snapshot>, Vec<Event>);

/// What a recording's tables hold.
fn results(folder: &Path) -> Results {
    let tables = Stored::open(&RealDisk, folder).unwrap().tables(&kit::real_disk());
    let samples: Result<Vec<_>, _> = tables.samples().unwrap().collect();
    let snapshots: Result<Vec<_>, _> = tables.snapshots().unwrap().collect();
    let events: Result<Vec<_>, _> = tables.events().unwrap().collect();
    (samples.unwrap(), snapshots.unwrap(), events.unwrap())
}

fn refusal(r: Result<Replayed, Error>, rig: &Rig) -> String {
    let Err(e) = r else { panic!("it was not refused") };
    e.to_string().replace(&rig.folder.path().display().to_string(), "DIR")
}

#[test]
fn a_replay_gives_what_the_captures_hold() {
    let (rig, paths) = Rig::with_captures();
    let replayed = rig.replay(&paths).unwrap_or_else(|e| panic!("{e}"));
    let bus = &replayed.counts.sources[0];
    assert_eq!((bus.records, bus.samples, bus.unmapped, bus.late), (550, 500, 50, 0));
    let table = &replayed.counts.sources[1];
    assert_eq!((table.records, table.samples, table.late), (100, 300, 0));
    let (samples, snapshots, events) = results(&replayed.folder.unwrap());
    assert_eq!(samples.len(), 800);
    // 10 s of 100 ms, and the lateness after the last record.
    assert_eq!((snapshots.len(), replayed.counts.snapshots), (103, 103));
    let at = |i: usize, column: usize| snapshots[i].readings[column];
    assert_eq!(at(20, 1), Reading::Good(20.0 + 20.0 + 273.15));
    assert_eq!(at(0, 3), Reading::Good(101_300.0));
    let crossed = events.iter().filter(|e| e.kind == EventKind::LimitCrossed).count() as u64;
    assert!(crossed > 3 && crossed == replayed.counts.limits[0].crossed, "{crossed}");
}

#[test]
fn a_barometer_counts_for_its_own_row_wherever_its_column_stands() {
    let (rig, paths) = Rig::with_captures();
    let before = rig.results(&paths).1;
    let swapped = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        format!("{},{},{},{}\n", cells[0], cells[3], cells[1], cells[2])
    };
    rig.write("bench.csv", &table_text().lines().map(swapped).collect::<String>());
    assert_eq!(rig.results(&paths).1, before);
}

/// Lines that end with two characters, a table that begins with a byte order mark.
#[test]
fn captures_from_other_systems_are_the_same() {
    let (rig, paths) = Rig::with_captures();
    let before = rig.results(&paths);
    rig.write("bus.log", &lines(&bus_lines()).replace('\n', "\r\n"));
    rig.write("bench.csv", &format!("\u{feff}{}", table_text().replace('\n', "\r\n")));
    assert_eq!(rig.results(&paths), before);
}

#[test]
fn order_and_names_of_the_files_play_no_part() {
    let rig = Rig::new();
    let all = bus_lines();
    let table = rig.write("bench.csv", &table_text());
    let whole = rig.results(&[rig.write("bus.log", &lines(&all)), table.clone()]);
    assert_eq!(whole, rig.results(&[rig.path("bus.log"), table.clone()]), "a second time");
    assert_eq!(whole, rig.results(&[table.clone(), rig.path("bus.log")]), "the other way round");
    // Three parts, named so that their names stand in another order than their times.
    let parts = [("c.log", &all[..200]), ("a.log", &all[200..401]), ("b.log", &all[401..])];
    let [c, a, b] = parts.map(|(name, part)| rig.write(name, &lines(part)));
    for order in [[&a, &b, &c], [&a, &c, &b], [&b, &a, &c], [&b, &c, &a], [&c, &a, &b], [&c, &b, &a]] {
        let mut paths: Vec<PathBuf> = order.into_iter().cloned().collect();
        paths.insert(1, table.clone());
        assert_eq!(whole, rig.results(&paths), "{order:?}");
    }
}

#[test]
fn files_of_one_source_that_overlap_are_merged_by_time() {
    let rig = Rig::new();
    let (even, odd): (Vec<_>, Vec<_>) = bus_lines().into_iter().enumerate().partition(|(i, _)| i % 2 == 0);
    let text = |part: Vec<(usize, String)>| lines(&part.into_iter().map(|(_, l)| l).collect::<Vec<_>>());
    let table = rig.write("bench.csv", &table_text());
    let whole = rig.results(&[rig.write("bus.log", &lines(&bus_lines())), table.clone()]);
    let parts = [rig.write("x.log", &text(even)), rig.write("y.log", &text(odd)), table];
    assert_eq!(whole, rig.results(&parts));
}

/// The bus's time stamps are no finer than 1 us: files of one source may hold records of one moment.
#[test]
fn names_of_the_files_play_no_part_where_times_are_equal() {
    let rig = Rig::new();
    let table = rig.write("bench.csv", &table_text());
    let frame = |ms: u32, speed: u32| {
        let t = START + f64::from(ms) / 1000.0;
        format!("({t:.6}) can0 120#{:02X}{:02X}000000000000", speed % 256, speed / 256)
    };
    let cases = [
        // The first record differs; only the second one; the first ones are the same and what follows differs.
        [vec![frame(0, 41_000), frame(0, 1000)], vec![frame(0, 39_000), frame(900, 500)]],
        [vec![frame(0, 1000), frame(100, 41_000)], vec![frame(0, 2000), frame(100, 39_000)]],
        [vec![frame(0, 1000), frame(0, 41_000)], vec![frame(0, 1000), frame(0, 39_000)]],
        [vec![frame(0, 1000), frame(50, 41_000)], vec![frame(0, 1000), frame(50, 39_000), frame(50, 41_000)]],
    ];
    for case in &cases {
        let of = |one: &[String], two: &[String]| {
            let (x, y) = (rig.write("x.log", &lines(one)), rig.write("y.log", &lines(two)));
            rig.results(&[x, y, table.clone()])
        };
        let forth = of(&case[0], &case[1]);
        assert_eq!(forth, of(&case[1], &case[0]), "{case:?}");
    }
}

#[test]
fn what_was_made_from_captures_compares_to_the_bit_until_a_capture_changes() {
    let (rig, paths) = Rig::with_captures();
    let folder = rig.replay(&paths).unwrap_or_else(|e| panic!("{e}")).folder.unwrap();
    let again = recording(&folder, options(None, None, true)).unwrap_or_else(|e| panic!("{e}"));
    let compared = again.compared.unwrap();
    assert_eq!((compared.samples, compared.snapshots, compared.different), (800, 103, 0), "{:?}", compared.told);
    assert_eq!(compared.events, again.counts.events);
    fs::write(&paths[0], lines(&bus_lines()[1..])).unwrap();
    let text = refusal(recording(&folder, options(None, None, true)), &rig);
    assert!(text.starts_with("DIR/bus.log has changed since it was replayed into DIR/out/"), "{text}");
}

#[test]
fn another_configuration_on_stored_captures_is_the_same_as_replaying_them_with_it() {
    let (rig, paths) = Rig::with_captures();
    let folder = rig.replay(&paths).unwrap_or_else(|e| panic!("{e}")).folder.unwrap();
    let before = results(&folder);
    rig.write(
        "run2.toml",
        &RUN.replace("map.toml", "map2.toml").replace("limits = [\"limits.toml\"]", "grid = \"500ms\""),
    );
    rig.write("map2.toml", &MAP.replace("range = [0, 50000]", "range = [0, 39000]"));
    let with = || Some(rig.path("run2.toml"));
    let anew = recording(&folder, options(with(), Some(rig.path("out")), false)).unwrap_or_else(|e| panic!("{e}"));
    let direct = captures(&paths, options(with(), Some(rig.path("out")), false)).unwrap_or_else(|e| panic!("{e}"));
    let (anew, direct) = (results(&anew.folder.unwrap()), results(&direct.folder.unwrap()));
    assert_eq!(anew, direct);
    assert_ne!(anew, before);
    assert!(anew.0.iter().any(|s| s.reading.reason() == Reason::Range));
    let text = refusal(recording(&folder, options(with(), None, true)), &rig);
    assert_eq!(text, "compare is for the stored configuration; leave out either --with or --compare");
}

#[test]
fn lines_that_cannot_be_read_are_counted_and_told_with_their_place() {
    let (rig, _) = Rig::with_captures();
    let mut all = bus_lines();
    all.insert(3, "(17672256xx.5) can0 120#00".to_owned());
    all.insert(9, "(1767225600.5) can0 120#0".to_owned());
    all.push("(1767225610.1) can0".to_owned());
    let table = table_text().replacen("21.00", "warm", 1).replacen(",22.00,", ",", 1);
    let paths = [rig.write("bus.log", &lines(&all)), rig.write("bench.csv", &table)];
    let replayed = rig.replay(&paths).unwrap_or_else(|e| panic!("{e}"));
    let told = replayed.unused.told.join("\n").replace(&rig.folder.path().display().to_string(), "DIR");
    insta::assert_snapshot!(told);
    assert_eq!(replayed.unused.bad_lines, 4);
    // A row with a word where a number belongs is a record all the same: its other columns hold.
    assert_eq!((replayed.counts.sources[0].records, replayed.counts.sources[1].records), (550, 99));
}

#[test]
fn times_that_go_back_in_a_file_are_late_and_counted() {
    let (rig, paths) = Rig::with_captures();
    let mut all = bus_lines();
    let early = all.remove(10);
    all.insert(300, early);
    rig.write("bus.log", &lines(&all));
    let replayed = rig.replay(&paths).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((replayed.counts.sources[0].records, replayed.counts.sources[0].late), (550, 1));
    let (_, _, events) = results(&replayed.folder.unwrap());
    assert_eq!(events.iter().filter(|e| e.kind == EventKind::Late).count(), 1);
}

#[test]
fn a_path_that_fits_no_source_is_refused_with_the_reason() {
    let (rig, paths) = Rig::with_captures();
    rig.write("empty.log", "\n# nothing\n");
    rig.write("poem.txt", "Shall I compare thee\n");
    fs::create_dir(rig.path("folder")).unwrap();
    let mut told = Vec::new();
    for name in ["gone.log", "empty.log", "poem.txt", "folder"] {
        told.push(refusal(rig.replay(&[paths[0].clone(), rig.path(name)]), &rig));
    }
    rig.write("run.toml", &RUN.replace("[[source]]\nname = \"bench\"\nkind = \"table\"\n", ""));
    told.push(refusal(rig.replay(&paths), &rig));
    rig.write("run.toml", &(RUN.to_owned() + "\n[[source]]\nname = \"bench2\"\nkind = \"table\"\n"));
    told.push(refusal(rig.replay(&[rig.write("rows.csv", &table_text())]), &rig));
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn what_a_replay_needs_is_said_before_anything_is_written() {
    let (rig, paths) = Rig::with_captures();
    let mut told = vec![
        refusal(captures(&paths, options(None, Some(rig.path("out")), false)), &rig),
        refusal(captures(&paths, options(Some(rig.path("run.toml")), Some(rig.path("out")), true)), &rig),
        refusal(rig.replay(&paths[..1]), &rig),
    ];
    rig.write("run.toml", &RUN.replace("map.toml", "maps.toml"));
    told.push(refusal(rig.replay(&paths), &rig));
    // A run file for a live run, of which only the bus was captured.
    let room = "[[source]]\nname = \"room\"\nkind = \"serial\"\nport = \"/dev/none\"\nbaud = 9600\nparity = \"none\"\n\
                [[source.device]]\nname = \"air\"\ninstrument = \"air.toml\"\n";
    let live = RUN.replace("kind = \"candump\"", "kind = \"can\"\ninterface = \"can0\"");
    rig.write("run.toml", &live.replace("[[source]]\nname = \"bench\"\nkind = \"table\"\n", room));
    rig.write("air.toml", "framing = \"text-line\"\n[[reading]]\nname = \"p\"\nposition = 1\n");
    rig.write("map.toml", "[channel]\n\"acm.speed\" = { from = \"bus/Machine.Speed\", unit = \"rpm\" }\n");
    told.push(refusal(rig.replay(&paths[..1]), &rig));
    insta::assert_snapshot!(told.join("\n"));
    assert!(!rig.path("out").exists(), "nothing was made");
}

#[test]
fn a_live_run_file_replays_a_capture_of_its_bus() {
    let rig = Rig::new();
    rig.write("map.toml", "[channel]\n\"acm.speed\" = { from = \"bus/Machine.Speed\", unit = \"rpm\" }\n");
    let bus = "[[source]]\nname = \"bus\"\nkind = \"can\"\ninterface = \"can0\"\ndatabases = [\"bus.dbc\"]\n";
    rig.write("run.toml", &format!("[run]\nname = \"rig\"\nchannels = [\"map.toml\"]\n{bus}"));
    let replayed = rig.replay(&[rig.write("monday.log", &lines(&bus_lines()))]).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((replayed.counts.sources[0].records, replayed.counts.sources[0].samples), (550, 500));
}

#[test]
fn a_source_that_reads_what_the_run_file_says_is_noted() {
    let (rig, paths) = Rig::with_captures();
    rig.write("run.toml", &RUN.replace("kind = \"table\"", "kind = \"table\"\npath = \"bench.csv\""));
    let replayed = rig.replay(&paths[..1]).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.counts.sources[1].records, 100);
    let notes = replayed.notes.join("\n").replace(&rig.folder.path().display().to_string(), "DIR");
    assert_eq!(notes, "no capture was named for bench: it reads DIR/bench.csv, as the run file says");
}

#[test]
fn a_limit_of_a_gauge_pressure_is_absolute_and_its_events_say_so() {
    let (rig, paths) = Rig::with_captures();
    let pressure = LIMITS.replace("acm.speed", "pack_in.pressure").replace("sample", "snapshot");
    for (threshold, shown) in [
        (
            "200 kPa\"\nreference = \"absolute",
            "pack_in.pressure = 201.35 kPa absolute; limit: not above 200 kPa absolute",
        ),
        ("29.0075476 psia", "pack_in.pressure = 29.20335 psia; limit: not above 29.00755 psia"),
    ] {
        let limits = pressure.replace("40000 rpm", threshold).replace("500 rpm", "1 kPa");
        rig.write("limits.toml", &limits);
        let (_, _, events) = rig.results(&paths);
        let texts: Vec<&str> =
            events.iter().filter(|e| e.kind == EventKind::LimitCrossed).map(|e| e.text.as_str()).collect();
        assert!(matches!(texts[..], [t] if t.contains(shown)), "{texts:?}");
    }
}

/// Frames with pauses between them, in seconds, and the table's first row a moment before.
fn with_pauses(pauses: &[f64]) -> (Rig, Vec<PathBuf>) {
    let (mut t, mut bus) = (START + 0.03, String::new());
    for pause in [0.0].iter().chain(pauses) {
        t += pause;
        for speed in ["409C", "589B"] {
            bus += &format!("({t:.6}) can0 120#{speed}000000000000\n");
            t += 0.34;
        }
    }
    let rig = Rig::new();
    rig.write("run.toml", &RUN.replace("limits.toml\"]", "limits.toml\"]\ngrid = \"500ms\""));
    let row = table_text().lines().take(3).fold(String::new(), |text, l| text + l + "\n");
    let paths = vec![rig.write("bus.log", &bus), rig.write("bench.csv", &row)];
    (rig, paths)
}

/// The same records as if they came live: a tick whenever nothing came for a grid step.
fn as_live(rig: &Rig, paths: &[PathBuf]) -> (Vec<Snapshot>, Vec<Event>) {
    let run = rig.path("run.toml");
    let files = assembly::assign::assign(&run, paths).unwrap();
    let assembled = load(&Files::disk(), &run, &files).unwrap();
    let grid = assembled.plan.layout.grid;
    let (mut core, mut sequencer) = (Core::new(Arc::clone(&assembled.plan)), Sequencer::new(grid));
    let (mut batch, mut now) = (Batch::default(), None);
    let mut merge = Merge::open(&assembled.sources).unwrap();
    while let Some(EntryBody::Record(r)) = merge.next_entry().unwrap() {
        let mut t = now.unwrap_or(r.event_time);
        while t + grid < r.event_time {
            t = t + grid;
            sequencer.tick(t).into_iter().for_each(|tick| core.push(&tick, &mut batch));
        }
        now = Some(r.event_time);
        core.push(&sequencer.push(EntryBody::Record(r.clone()), r.event_time), &mut batch);
    }
    core.push(&sequencer.push(EntryBody::End, now.unwrap() + assembled.plan.lateness), &mut batch);
    // Tables hold no alarms: events tell every change of them.
    batch.snapshots.iter_mut().for_each(|s| s.alarms = Box::default());
    (batch.snapshots, batch.events)
}

#[test]
fn time_goes_on_in_the_pauses_of_captures_as_it_does_live() {
    let (rig, paths) = with_pauses(&[59.0, 61.0, 600.0, 3601.7, 0.5]);
    let (samples, snapshots, mut events) = rig.results(&paths);
    assert_eq!(samples.len(), 15);
    let (mut live, mut live_events) = as_live(&rig, &paths);
    // The tables do not hold the life of alarms; the events tell it.
    live.iter_mut().for_each(|s| s.alarms = Box::default());
    assert!(snapshots.len() > 8600, "{}", snapshots.len());
    assert_eq!(snapshots, live);
    events.iter_mut().chain(&mut live_events).for_each(|e| e.ordinal = 0);
    assert_eq!(events, live_events);
    let stale = snapshots.iter().filter(|s| s.readings[0].reason() == Reason::Stale).count();
    assert!(stale > 8000, "{stale}");
    assert!(!events.iter().any(|e| e.kind == EventKind::Gap));
}

#[test]
fn a_pause_of_more_than_a_day_is_told_and_not_gone_through() {
    let (rig, paths) = with_pauses(&[24.0 * 3600.0 + 5.0]);
    let (_, snapshots, events) = rig.results(&paths);
    assert!((120..130).contains(&snapshots.len()), "{}", snapshots.len());
    let gaps: Vec<&str> = events.iter().filter(|e| e.kind == EventKind::Gap).map(|e| e.text.as_str()).collect();
    let text = "nothing was logged between 2026-01-01T00:01:00.3";
    assert!(matches!(gaps[..], [g] if g.starts_with(text) && g.ends_with("no snapshots there")), "{gaps:?}");
}
