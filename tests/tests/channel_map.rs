//! Whole runs through the channel map: every kind of conversion from a file, calibrations at the run's start, what is
//! stored of them, which recordings used a sensor, and what a person is told of a map that cannot be used.
#![allow(clippy::unwrap_used)]

use assembly::affected::{Affected, affected};
use assembly::files::Files;
use assembly::load::{CaptureFiles, load};
use assembly::replay::{ReplayOptions, captures};
use recording::{RealDisk, Stored};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Quality, Reason, Snapshot};

const RUN: &str = r#"[run]
name = "rig"
pack = "pack.toml"
channels = ["map.toml"]
sensors = ["sensors.toml"]
calibration = "told"
limits = ["limits.toml"]
grid = "1s"

[[source]]
name = "bench"
kind = "table"
path = "bench.csv"
"#;

const MAP: &str = r#"[channel]
"box.junction" = { from = "bench/tj", unit = "degC", quantity = "temperature", sensor = "PT-1" }
"pack_in.temperature" = { from = "bench/e1", unit = "degC", sensor = ["TC-1", "BOX-1"], uncertainty = "type K class 1 rectangular", correlation = "junction", conversion = { kind = "thermocouple", type = "K", with = "box.junction" } }
"primary_out.temperature" = { from = "bench/e2", unit = "degC", sensor = "BOX-1", conversion = { kind = "thermocouple", type = "T", signal = "mV", with = "0 degC" } }
"ram_in.temperature" = { from = "bench/r1", unit = "degC", sensor = "PT-2", probe = "static", recovery = 0.9, duct_area_m2 = 0.012, conversion = { kind = "platinum", r0 = 100 } }
"ambient.pressure" = { from = "bench/pb", unit = "hPa", reference = "absolute", sensor = "B-1" }
"pack_in.pressure" = { from = "bench/pg", unit = "psi", reference = "gauge", barometer = "ambient.pressure", sensor = "P-1", calibrated = "2025-06-01", due = "2026-06-01" }
"flap.supply" = { from = "bench/vs", unit = "V", needs_no_calibration = "a ratio is taken" }
"valve.flap.position" = { from = "bench/vw", unit = "1", needs_no_calibration = "a ratio is taken", conversion = { kind = "ratiometric", ratio = "part-of-whole", polarity = "falls-to-open", closed = 0.9, open = 0.1, sum = [4.5, 5.5], with = "flap.supply" } }
"tank.level" = { from = "bench/lv", unit = "%", needs_no_calibration = "an example", conversion = { kind = "polynomial", coefficients = [0.0, 10.0, 1.0], signals = [0, 6] } }
"#;

const SENSORS: &str = r#"[sensor]
"PT-1" = { kind = "Pt100 in the box", calibrated = "2025-03-01", due = "2026-03-01", certificate = "C-1", uncertainty = "0.1 K k=2" }
"PT-2" = { kind = "Pt100", calibrated = "2025-03-01", due = "2026-01-20" }
"TC-1" = { kind = "thermocouple K", calibrated = "2025-03-01", due = "2025-12-01" }
"BOX-1" = { kind = "module", calibrated = "2025-02-01", due = "2027-02-01" }
"B-1" = { calibrated = "2025-03-01", due = "2027-03-01", correction = { kind = "linear", scale = 1.0, offset = 0.5 }, unit = "hPa" }
"#;

const PACK: &str = "arrangement = \"three-wheel\"\nwater_separation = \"high-pressure\"\nram = \"secondary-first\"\n";

const LIMITS: &str = r#"[[limit]]
name = "hot"
column = "pack_in.temperature"
kind = "above"
threshold = "250 degC"
document = "RIG-1"
revision = "A"
dead_band = "5 K"
basis = "snapshot"
"#;

/// 7.138 mV beside 25 °C are 200 °C (type K), 4.279 mV from 0 °C are 100 °C (type T), 138.506 ohm are 100 °C.
const TABLE: &str = "time,tj,e1,e2,r1,pb,pg,vs,vw,lv\nUTC,degC,V,,ohm,hPa,psi,V,V,V\n\
2026-01-01T00:00:00.0Z,25.0,0.007138,4.279,138.506,1012.75,14.5,5.0,2.5,2\n\
2026-01-01T00:00:01.0Z,25.0,0.007138,4.279,0.3,1012.75,14.5,4.0,2.5,2\n\
2026-01-01T00:00:02.0Z,---,0.007138,4.279,1e5,1012.75,14.5,5.0,2.5,2\n\
2026-01-01T00:00:03.0Z,25.0,0.007138,4.279,138.506,1012.75,14.5,5.0,2.5,2\n";

const FILES: [(&str, &str); 5] =
    [("run.toml", RUN), ("map.toml", MAP), ("sensors.toml", SENSORS), ("pack.toml", PACK), ("limits.toml", LIMITS)];

/// The base with a text in one file changed, replayed into a recording.
fn record(folder: &Path, changes: &[(&str, &str, &str)]) -> Stored {
    for (name, text) in FILES {
        let mut text = text.to_owned();
        for (_, from, to) in changes.iter().filter(|c| c.0 == name) {
            assert!(text.contains(from), "{name} does not hold {from:?}");
            text = text.replacen(from, to, 1);
        }
        fs::write(folder.join(name), text).unwrap();
    }
    let table = folder.join("bench.csv");
    fs::write(&table, TABLE).unwrap();
    let options = ReplayOptions {
        disk: Arc::new(RealDisk),
        with: Some(folder.join("run.toml")),
        out: Some(folder.join("recordings")),
        compare: false,
        progress: &mut |_| {},
    };
    let done = captures(&[table], options).unwrap_or_else(|e| panic!("{e}"));
    Stored::open(&RealDisk, &done.folder.unwrap()).unwrap()
}

fn snapshots(stored: &Stored) -> Vec<Snapshot> {
    let disk: Arc<dyn recording::Disk> = Arc::new(RealDisk);
    stored.tables(&disk).snapshots().unwrap().map(|s| s.unwrap()).collect()
}

fn column(stored: &Stored, name: &str) -> usize {
    usize::from(stored.manifest.layout.column(name).unwrap_or_else(|| panic!("no {name}")).0)
}

#[test]
fn every_conversion_gives_its_value_from_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let stored = record(folder.path(), &[]);
    let all = snapshots(&stored);
    let near = |i: usize, name: &str, si: f64, within: f64| {
        let r = all[i].readings[column(&stored, name)];
        let x = r.number().unwrap_or_else(|| panic!("{name} at {i}: {r:?}"));
        assert!((x - si).abs() <= within && r.quality() == Quality::Good, "{name} at {i}: {r:?}, not {si}");
    };
    near(0, "pack_in.temperature", 473.15, 0.02);
    near(0, "primary_out.temperature", 373.15, 0.02);
    near(0, "ram_in.temperature", 373.15, 0.01);
    near(0, "ambient.pressure", 101_325.0, 1e-6);
    near(0, "pack_in.pressure", 101_325.0 + 14.5 * 6_894.757_293, 0.1);
    near(0, "valve.flap.position", 0.5, 1e-12);
    near(0, "tank.level", 0.24, 1e-12);
    let reason = |i: usize, name: &str| all[i].readings[column(&stored, name)].reason();
    assert_eq!(reason(1, "ram_in.temperature"), Reason::Short);
    assert_eq!(reason(2, "ram_in.temperature"), Reason::Open);
    assert_eq!(reason(1, "valve.flap.position"), Reason::Open);
    assert_eq!(reason(2, "pack_in.temperature"), Reason::InputMissing);
    near(3, "pack_in.temperature", 473.15, 0.02);
}

#[test]
fn sensors_stand_in_the_manifest_as_they_stood_at_the_start() {
    let folder = tempfile::tempdir().unwrap();
    let stored = record(folder.path(), &[]);
    let said: Vec<String> =
        stored.manifest.sensors.iter().map(|s| format!("{} {}: {}", s.serial, s.state, s.channels.join(" "))).collect();
    let want = [
        "PT-1 valid: box.junction",
        "TC-1 overdue: pack_in.temperature",
        "BOX-1 valid: pack_in.temperature primary_out.temperature",
        "PT-2 due-soon: ram_in.temperature",
        "B-1 valid: ambient.pressure",
        "P-1 valid: pack_in.pressure",
    ];
    assert_eq!(said, want);
    let about = &stored.manifest.layout.columns[column(&stored, "pack_in.temperature")].about;
    let of = |key: &str| about.iter().find(|(k, _)| k == key).map(|(_, v)| v.as_str());
    assert_eq!(of("sensors"), Some("TC-1, BOX-1"));
    assert_eq!(of("uncertainty"), Some("type K class 1 rectangular"));
    assert_eq!((of("correlation"), of("inputs")), (Some("junction"), Some("box.junction")));
    assert_eq!((of("map_unit"), of("map_ucum")), (Some("degC"), Some("Cel")));
}

#[test]
fn a_run_that_demands_calibrations_doubts_what_has_none() {
    let folder = tempfile::tempdir().unwrap();
    let told = record(folder.path(), &[]);
    let required = record(folder.path(), &[("run.toml", "\"told\"", "\"required\"")]);
    let reasons = |stored: &Stored| {
        let all = snapshots(stored);
        let names = ["pack_in.temperature", "primary_out.temperature", "pack_in.pressure", "tank.level"];
        names.map(|n| all[0].readings[column(stored, n)].reason().word())
    };
    assert_eq!(reasons(&told), ["", "", "", ""]);
    assert_eq!(reasons(&required), ["not-calibrated", "", "", ""]);
    // Checked on any later day it is still overdue.
    let checked = assembly::check::check(&folder.path().join("run.toml"), false).unwrap();
    assert!(checked.not_calibrated.contains(&"pack_in.temperature".to_owned()), "{:?}", checked.not_calibrated);
    assert!(!checked.not_calibrated.contains(&"tank.level".to_owned()));
    let unnamed = ("map.toml", ", sensor = \"BOX-1\", conversion", ", conversion");
    let unnamed = record(folder.path(), &[("run.toml", "\"told\"", "\"required\""), unnamed]);
    assert_eq!(reasons(&unnamed), ["not-calibrated", "not-calibrated", "", ""]);
}

#[test]
fn the_uncertainty_is_there_for_the_plan() {
    let files = Files::stored(with_table(&[]));
    let plan = load(&files, Path::new("run.toml"), &named()).unwrap().plan;
    let channel = |name: &str| &plan.channels[usize::from(plan.layout.column(name).unwrap().0)].channel;
    let u = channel("pack_in.temperature").standard_uncertainty(473.15).unwrap();
    assert!((u - 1.5 / 3f64.sqrt()).abs() < 1e-12, "{u}");
    assert_eq!(channel("pack_in.temperature").correlation(), Some("junction"));
    let junction = channel("box.junction").standard_uncertainty(298.15).unwrap();
    assert!((junction - 0.05).abs() < 1e-12, "the sensor's own: {junction}");
    assert_eq!(channel("tank.level").standard_uncertainty(0.2), None);
}

fn named() -> CaptureFiles {
    CaptureFiles { by_source: vec![("bench".to_owned(), vec![table_path()])] }
}

/// The heads of the table are read where the map is checked.
fn table_path() -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("channel-map.csv");
    fs::write(&path, TABLE).unwrap();
    path
}

fn with_table(changes: &[(&str, &str, &str)]) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = FILES.iter().map(|(n, t)| ((*n).to_owned(), (*t).to_owned())).collect();
    for (file, from, to) in changes {
        let (_, text) = files.iter_mut().find(|(n, _)| n == file).unwrap();
        assert!(text.contains(from), "{file} does not hold {from:?}");
        *text = text.replacen(from, to, 1);
    }
    files
}

/// What is refused, with place and remedy.
#[test]
fn a_map_that_cannot_be_used_says_where_and_what_to_do() {
    const CASES: &[(&str, &str, &str)] = &[
        ("map.toml", "type = \"K\"", "type = \"X\""),
        ("map.toml", "with = \"box.junction\"", "with = \"box.junctoin\""),
        ("map.toml", "with = \"box.junction\"", "with = \"ambient.pressure\""),
        ("map.toml", "with = \"0 degC\"", "with = \"0 kPa\""),
        ("map.toml", "signal = \"mV\", ", ""),
        ("map.toml", "r0 = 100", "r0 = 100, signal = \"V\""),
        (
            "map.toml",
            "{ kind = \"platinum\", r0 = 100 }",
            "{ kind = \"thermocouple\", type = \"T\", with = \"0 degC\" }",
        ),
        ("map.toml", "polarity = \"falls-to-open\", ", ""),
        ("map.toml", "falls-to-open", "rises-to-open"),
        ("map.toml", "unit = \"1\", needs", "unit = \"%\", needs"),
        ("map.toml", "with = \"flap.supply\"", "with = \"valve.flap.position\""),
        ("map.toml", "signals = [0, 6]", "signals = [6, 0]"),
        ("map.toml", "\"0 degC\" }", "\"0 degC\" }, range = [300, -60]"),
        ("map.toml", "\"0 degC\" }", "\"0 degC\" }, rate = -5"),
        ("map.toml", "\"0 degC\" }", "\"0 degC\" }, frozen = \"0s\""),
        ("map.toml", "\"0 degC\" }", "\"0 degC\" }, rail = [1372]"),
        ("map.toml", "type K class 1 rectangular", "0.5 K"),
        ("map.toml", "type K class 1 rectangular", "0.5 kPa k=2"),
        ("map.toml", "type K class 1 rectangular", "type B class 1 k=2"),
        ("map.toml", "sensor = \"PT-2\"", "sensor = \"PT-3\""),
        ("map.toml", "due = \"2026-06-01\"", "due = \"2025-05-01\""),
        ("map.toml", "due = \"2026-06-01\"", "due = \"next June\""),
        ("map.toml", "sensor = \"P-1\"", "sensor = \"B-1\""),
        ("map.toml", "recovery = 0.9", "recovery = 9"),
        ("map.toml", "probe = \"static\", ", ""),
        ("map.toml", "needs_no_calibration = \"an example\"", "needs_no_calibration = \"\""),
        ("map.toml", "\"tank.level\" =", "\"box.junction\" ="),
        ("map.toml", "unit = \"%\"", "unit = \"scfm\""),
        ("sensors.toml", "\"PT-2\" =", "\"PT-1\" ="),
        ("sensors.toml", "due = \"2026-01-20\"", "due = \"2024-01-20\""),
        ("sensors.toml", ", unit = \"hPa\"", ""),
        ("sensors.toml", "unit = \"hPa\"", "unit = \"kPa\""),
        (
            "sensors.toml",
            "kind = \"linear\", scale = 1.0, offset = 0.5",
            "kind = \"platinum\", r0 = 100, signal = \"ohm\"",
        ),
        ("run.toml", "\"told\"", "\"demanded\""),
        ("run.toml", "[\"sensors.toml\"]", "[\"sensor.toml\"]"),
    ];
    let mut said = String::new();
    for change in CASES {
        let loaded = load(&Files::stored(with_table(&[*change])), Path::new("run.toml"), &named());
        let lines = loaded.err().map_or_else(|| "LOADS, and should not".to_owned(), |p| p.lines());
        assert!(!lines.contains("LOADS"), "{change:?}");
        said += &format!("# {} -> {}\n{lines}\n\n", change.1, change.2);
    }
    insta::assert_snapshot!(said);
}

fn used(found: &Affected) -> Vec<String> {
    let one = |u: &assembly::affected::Used| {
        format!("{}: {} | {} | {}", u.sensor.state, u.channels.join(" "), u.results.join(" "), u.limits.join(" "))
    };
    found.recordings.iter().map(one).collect()
}

#[test]
fn what_used_a_sensor_is_found_and_what_cannot_be_read_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let whole = record(folder.path(), &[]);
    let without = record(folder.path(), &[("map.toml", "[\"TC-1\", \"BOX-1\"]", "\"BOX-1\"")]);
    let damaged = record(folder.path(), &[]);
    let text = fs::read_to_string(damaged.folder.join("manifest.toml")).unwrap();
    fs::write(damaged.folder.join("manifest.toml"), &text[..text.len() / 2]).unwrap();
    let lost = record(folder.path(), &[]);
    fs::remove_file(lost.folder.join("manifest.toml")).unwrap();
    fs::create_dir(folder.path().join("recordings/photos")).unwrap();
    let all = [folder.path().join("recordings")];
    let look = |serial: &str, since: &str| {
        let since = Some(since.parse().unwrap());
        affected(&RealDisk, serial, since, &all).unwrap()
    };
    let found = look("TC-1", "2025-12-31");
    assert_eq!((found.looked_at, found.recordings.len()), (4, 1));
    assert_eq!(found.recordings[0].folder, whole.folder);
    assert_eq!(used(&found), ["overdue: pack_in.temperature |  | hot"]);
    let unread: Vec<&PathBuf> = found.unreadable.iter().map(|u| &u.0).collect();
    assert_eq!(unread, [&damaged.folder, &lost.folder]);
    // The junction's sensor is in the thermocouple's channel, the barometer's in the gauge pressure.
    let junction = look("PT-1", "2025-12-31");
    assert_eq!(used(&junction)[0], "valid: box.junction | pack_in.temperature | hot");
    assert_eq!(junction.recordings[1].folder, without.folder);
    let barometer = look("B-1", "2025-12-31");
    assert!(used(&barometer)[0].starts_with("valid: ambient.pressure | pack_in.pressure"), "{:?}", used(&barometer));
    assert!(look("PT-1", "2026-02-01").recordings.is_empty(), "all had ended before");
    let unknown = look("TC-9", "2025-12-31");
    assert!(unknown.recordings.is_empty() && unknown.known.contains(&"TC-1".to_owned()));
}
