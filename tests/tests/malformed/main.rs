//! Malformed configurations: what a person is told, to the letter.
//!
//! Each case changes one thing in a run that loads. The messages are snapshots beside this file; after a change that
//! is meant, `INSTA_UPDATE=always cargo test -p tests --test malformed` writes them anew, and the difference is read
//! before it is committed.
#![allow(clippy::unwrap_used)]

mod base;
mod cases;

use assembly::files::Files;
use assembly::load::{CaptureFiles, load};
use assembly::problem::Problems;
use cases::Case;
use std::path::Path;

/// What is wrong with the base, one thing in it changed.
fn problems(changes: &[(&str, &str, &str)]) -> Option<Problems> {
    let mut files: Vec<(String, String)> =
        base::FILES.iter().map(|(n, t)| ((*n).to_owned(), (*t).to_owned())).collect();
    for (file, from, to) in changes {
        let (_, text) = files.iter_mut().find(|(n, _)| n == file).unwrap();
        assert!(text.contains(from), "{file} does not hold {from:?}");
        *text = text.replacen(from, to, 1);
    }
    load(&Files::stored(files), Path::new("run.toml"), &CaptureFiles::default()).err()
}

/// Every case of a group with what it says.
fn told(cases: &[Case]) -> String {
    let mut out = String::new();
    for c in cases {
        let said = problems(&[(c.file, c.from, c.to)]);
        let said = said.map_or_else(|| "LOADS, and should not".to_owned(), |p| p.lines());
        out += &format!("# {}\n{said}\n\n", c.what);
    }
    let loads: Vec<&str> = out.split("\n\n").filter(|c| c.contains("LOADS")).collect();
    assert!(loads.is_empty(), "{loads:#?}");
    out
}

#[test]
fn the_base_loads() {
    assert!(problems(&[]).is_none(), "{}", problems(&[]).unwrap_or_default().lines());
}

/// Editors of other systems end lines with two characters and begin a file with a byte order mark.
#[test]
fn files_from_other_systems_load() {
    let foreign = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let files = base::FILES.iter().map(|(n, t)| ((*n).to_owned(), foreign(t)));
    let loaded = load(&Files::stored(files), Path::new("run.toml"), &CaptureFiles::default());
    assert!(loaded.is_ok(), "{}", loaded.err().unwrap_or_default().lines());
}

#[test]
fn sixty_cases_and_more() {
    let groups = [cases::RUN, cases::SOURCES, cases::MAP, cases::PACK, cases::LIMITS, cases::INSTRUMENTS, cases::BUS];
    let count: usize = groups.iter().map(|g| g.len()).sum();
    assert!(count >= 60, "{count} cases");
}

#[test]
fn run_files() {
    insta::assert_snapshot!(told(cases::RUN));
}

#[test]
fn sources_and_devices() {
    insta::assert_snapshot!(told(cases::SOURCES));
}

#[test]
fn channel_maps() {
    insta::assert_snapshot!(told(cases::MAP));
}

#[test]
fn packs() {
    insta::assert_snapshot!(told(cases::PACK));
}

#[test]
fn limit_files() {
    insta::assert_snapshot!(told(cases::LIMITS));
}

#[test]
fn instruments() {
    insta::assert_snapshot!(told(cases::INSTRUMENTS));
}

#[test]
fn binary_frames() {
    let mut out = String::new();
    for c in cases::BINARY {
        let said = problems(&[("air.toml", base::AIR, &cases::frames(c))]);
        let (name, loads) = (c.0, c.0 == "nothing");
        assert_eq!(said.is_none(), loads, "{name}: {}", said.unwrap_or_default().lines());
        out += &said.map_or_else(String::new, |p| format!("# {name}\n{}\n\n", p.lines()));
    }
    insta::assert_snapshot!(out);
}

#[test]
fn places_on_a_network() {
    let mut out = String::new();
    let room = "kind = \"serial\"\nport = \"/dev/ttyS1\"\nbaud = 9600\nparity = \"none\"";
    let net = "kind = \"net\"\naddress = \"192.0.2.1:5000\"\nquiet_s = 5.0";
    assert!(problems(&[("run.toml", room, net)]).is_none(), "a network loads");
    for c in cases::NETWORK {
        let said = problems(&[("run.toml", room, net), (c.file, c.from, c.to)]).unwrap_or_default();
        assert!(!said.0.is_empty(), "{} loads", c.what);
        out += &format!("# {}\n{}\n\n", c.what, said.lines());
    }
    insta::assert_snapshot!(out);
}

#[test]
fn can_databases() {
    insta::assert_snapshot!(told(cases::BUS));
}

#[test]
fn everything_wrong_is_told_not_only_the_first() {
    let changes = [
        ("run.toml", "grid = \"100ms\"", "grid = \"0s\""),
        ("run.toml", "address = \"127.0.0.1:9773\"", "address = \"0.0.0.0:9773\""),
        ("map.toml", "line/box/t1", "line/box/t9"),
        ("map.toml", "unit = \"hPa\"", "unit = \"mph\""),
        ("pack.toml", "secondary-first", "crossed"),
        ("limits.toml", "\"above\"", "\"over\""),
        ("limits.toml", "threshold = \"200 degC\"", "threshold = \"200\""),
    ];
    insta::assert_snapshot!(problems(&changes).unwrap().lines());
}

#[test]
fn a_person_sees_the_line_and_a_caret_below_the_place() {
    let shown = |change| problems(&[change]).unwrap().fancy(false);
    insta::assert_snapshot!("caret_channel", shown(("map.toml", "line/box/t1", "line/box/t9")));
    insta::assert_snapshot!("caret_key", shown(("run.toml", "grid =", "gird =")));
    insta::assert_snapshot!("caret_syntax", shown(("limits.toml", "kind = \"above\"", "kind = above")));
    insta::assert_snapshot!("caret_database", shown(("bus.dbc", "16|16@1+ (0.001", "16|16@2+ (0.001")));
    insta::assert_snapshot!("caret_missing_file", shown(("run.toml", "map.toml", "maps.toml")));
}
