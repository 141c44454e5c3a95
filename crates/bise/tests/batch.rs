//! Several recordings in one command: the good ones are replayed, the bad ones told, and the exit status is the gravest.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

fn bise(args: &[&str], paths: &[&Path]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bise")).args(args).args(paths).output().unwrap()
}

/// The files of one short demonstration, by path within the recording.
fn demonstration() -> &'static [(PathBuf, Vec<u8>)] {
    static FILES: OnceLock<Vec<(PathBuf, Vec<u8>)>> = OnceLock::new();
    FILES.get_or_init(|| {
        let dir = tempfile::tempdir().unwrap();
        let args = ["demo", "--pace", "fast", "--metrics", "127.0.0.1:0", "--for", "3s", "--out"];
        let done = bise(&args, &[dir.path()]);
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        let folder = fs::read_dir(dir.path()).unwrap().next().unwrap().unwrap().path();
        let mut files = Vec::new();
        collect(&folder, Path::new(""), &mut files);
        files
    })
}

fn collect(folder: &Path, below: &Path, into: &mut Vec<(PathBuf, Vec<u8>)>) {
    for e in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = below.join(e.file_name());
        match e.path().is_dir() {
            true => collect(&e.path(), &name, into),
            false => into.push((name, fs::read(e.path()).unwrap())),
        }
    }
}

/// A copy of the demonstration's recording.
fn recording(parent: &Path, name: &str) -> PathBuf {
    let folder = parent.join(name);
    for (path, bytes) in demonstration() {
        fs::create_dir_all(folder.join(path).parent().unwrap()).unwrap();
        fs::write(folder.join(path), bytes).unwrap();
    }
    folder
}

fn json(o: &Output) -> Vec<Value> {
    serde_json::from_slice(&o.stdout).unwrap()
}

#[test]
fn a_bad_recording_does_not_stop_the_others() {
    let dir = tempfile::tempdir().unwrap();
    let [a, b, c] = ["a", "b", "c"].map(|n| recording(dir.path(), n));
    fs::remove_file(b.join("log/000001.parquet")).unwrap();
    let [golden, empty] = ["GOLDEN.md", "empty"].map(|n| dir.path().join(n));
    fs::write(&golden, "The golden runs, and why they are kept\n\nFirst, the demonstration.\n").unwrap();
    fs::create_dir(&empty).unwrap();
    let all: [&Path; 5] = [&golden, &a, &b, &c, &empty];
    let done = bise(&["replay", "--format", "json"], &all);
    assert_eq!(done.status.code(), Some(1));
    let told = json(&done);
    let skipped: Vec<_> = told.iter().filter_map(|t| t.get("skipped")).collect();
    assert_eq!(skipped, [golden.to_str().unwrap(), empty.to_str().unwrap()]);
    let bad = told.iter().find(|t| t["replayed"] == b.to_str().unwrap()).unwrap();
    assert!(bad["error"].as_str().unwrap().contains("log/000001.parquet: the file is missing"), "{bad}");
    for good in [&a, &c] {
        let good = told.iter().find(|t| t["replayed"] == good.to_str().unwrap()).unwrap();
        assert!(good["snapshots"].as_u64().unwrap() > 10, "{good}");
    }
    let done = bise(&["replay"], &all);
    assert_eq!(done.status.code(), Some(1));
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert!(out.contains("skipped: ") && out.contains("GOLDEN.md: neither a recording nor a capture"), "{out}");
    assert!(out.contains(&format!("{}\nNOT REPLAYED", b.display())) && out.contains(&c.display().to_string()), "{out}");
    assert!(err.contains("log/000001.parquet: the file is missing"), "{err}");
    assert_eq!(bise(&["replay", "--compare"], &[&a, &golden, &c]).status.code(), Some(0));
}

#[test]
fn what_cannot_be_meant_is_refused_before_anything_is_done() {
    let dir = tempfile::tempdir().unwrap();
    let a = recording(dir.path(), "a");
    let refused = |paths: &[&Path]| {
        let done = bise(&["replay"], paths);
        assert!(done.stdout.is_empty());
        let text = String::from_utf8_lossy(&done.stderr).replace(&dir.path().display().to_string(), "DIR");
        (done.status.code().unwrap(), text.trim().to_owned())
    };
    let [bus, rows, gone, poem] = ["bus.log", "rows.csv", "gone", "poem.txt"].map(|n| dir.path().join(n));
    fs::write(&bus, "(1767225600.5) can0 120#00\n").unwrap();
    fs::write(&rows, "time,p\ns,kPa\n1,2\n").unwrap();
    fs::write(&poem, "Shall I compare thee, they say\n").unwrap();
    for (capture, name) in [(&bus, "bus.log"), (&rows, "rows.csv")] {
        let text = format!(
            "error: recordings and captures cannot be mixed: DIR/a is a recording, DIR/{name} a capture; name one kind"
        );
        assert_eq!(refused(&[capture, &a]), (1, text));
    }
    assert_eq!(refused(&[&a, &bus, &gone]), (2, "error: DIR/gone: no such file or folder".to_owned()));
    let neither = "no folder with a manifest.toml in it, no candump text, no table";
    assert_eq!(refused(&[&poem]), (2, format!("error: DIR/poem.txt is neither a recording nor a capture: {neither}")));
}

/// As if the run had crashed: no end in the manifest, no tables.
fn unended(folder: &Path) {
    let file = folder.join("manifest.toml");
    let text = fs::read_to_string(&file).unwrap();
    let (begin, rest) = text.split_once("[end]").unwrap();
    let after = rest.find("[[source]]").unwrap();
    fs::write(&file, format!("{begin}{}", &rest[after..])).unwrap();
    ["samples", "snapshots", "events"].iter().for_each(|t| fs::remove_dir_all(folder.join(t)).unwrap());
}

#[test]
fn a_salvage_that_kept_all_is_well_and_one_that_did_not_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let [whole, harmed] = ["whole", "harmed"].map(|n| recording(dir.path(), n));
    unended(&whole);
    let done = bise(&["salvage"], &[&whole]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert!(done.status.code() == Some(0) && text.contains("nothing had to be cut"), "{done:?}");
    assert_eq!(bise(&["replay", "--compare"], &[&whole]).status.code(), Some(0));
    unended(&harmed);
    let log = harmed.join("log/000001.parquet");
    let mut bytes = fs::read(&log).unwrap();
    bytes[100] ^= 1;
    fs::write(&log, bytes).unwrap();
    let done = bise(&["salvage"], &[&harmed]);
    let text = String::from_utf8_lossy(&done.stdout);
    assert_eq!(done.status.code(), Some(3), "{text}");
    assert!(
        text.contains("log/000001.parquet: the file is damaged") && text.contains("damaged-000001-1.bin"),
        "{text}"
    );
    assert!(harmed.join("log/damaged-000001-1.bin").is_file());
    assert_eq!(bise(&["replay", "--compare"], &[&harmed]).status.code(), Some(0));
}

/// A limit that the machine at rest crosses in place of one that it meets, a new one that the first explains; others are
/// left out.
const OTHER: &str = r#"
entered_by = "A. Tester"

[[limit]]
name = "machine-overspeed"
column = "acm.speed"
kind = "below"
threshold = "100 rpm"
document = "RIG-1"
revision = "A"

[[limit]]
name = "turning"
column = "acm.speed"
kind = "band"
low = "100 rpm"
high = "200 rpm"
suppressed_by = ["machine-overspeed"]
document = "RIG-1"
revision = "A"
"#;

#[test]
fn what_other_limits_would_have_told_is_counted_limit_by_limit() {
    let dir = tempfile::tempdir().unwrap();
    let (folder, other) = (recording(dir.path(), "a"), dir.path().join("other.toml"));
    fs::write(&other, OTHER).unwrap();
    let limits = other.to_str().unwrap();
    let said = json(&bise(&["replay", "--limits", limits, "--format", "json"], &[&folder]));
    let of = |name: &str| {
        let row = said[0]["limits"].as_array().unwrap().iter().find(|r| r["limit"] == name).unwrap();
        let count = |when: &str, what: &str| row[when][what].as_u64();
        [count("before", "alarms"), count("after", "alarms"), count("before", "crossed"), count("after", "crossed")]
    };
    assert_eq!(of("machine-overspeed"), [Some(0), Some(1), Some(0), Some(1)]);
    assert_eq!(of("turning"), [None, Some(0), None, Some(1)]);
    assert_eq!(of("discharge-cold"), [Some(0), None, Some(0), None]);
    let text = bise(&["replay", "--limits", limits], &[&folder]);
    let text = String::from_utf8(text.stdout).unwrap();
    let row = text.lines().find(|l| l.starts_with("machine-overspeed")).unwrap();
    assert_eq!(row.split_whitespace().take(5).collect::<Vec<_>>(), ["machine-overspeed", "0", "1", "0", "1"]);
    fs::write(&other, OTHER.replace("acm.speed", "acm.sped")).unwrap();
    let wrong = bise(&["replay", "--limits", limits], &[&folder]);
    let said = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(!wrong.status.success() && said.contains("other.toml") && said.contains("acm.sped"), "{said}");
}
