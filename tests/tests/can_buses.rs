//! The databases of a bus from the run file to readings: several files, J1939, raw values that a map declares to be no
//! number, a filter.
#![allow(clippy::unwrap_used)]

use assembly::files::Files;
use assembly::load::{Assembled, CaptureFiles, load};
use decode::Raw;
use decode::can::CanFrame;
use std::path::Path;
use stream::{EventTime, RawRecord, Reason, RecordKind, SourceId};

const ENGINE: &str = "VERSION \"\"
BO_ 2364540158 EngineData: 8 X
 SG_ Speed : 24|16@1+ (0.125,0) [0|8031.875] \"rpm\" X
BA_DEF_ \"ProtocolType\" STRING;
BA_ \"ProtocolType\" \"J1939\";
";
const VALVE: &str = "VERSION \"\"
BO_ 288 Valve: 2 X
 SG_ Position : 0|8@1+ (0.5,0) [0|100] \"%\" X
 SG_ Mode : 8|4@1+ (1,0) [0|15] \"\" X
VAL_ 288 Mode 0 \"shut\" 1 \"open\" 14 \"fault\" 15 \"not fitted\" ;
";
const MAP: &str = r#"[channel]
"acm.speed" = { from = "bus/EngineData.Speed", unit = "rpm" }
"valve.bypass.position" = { from = "bus/Valve.Position", unit = "%", nothing = [{ raw = 201, to = 255, reason = "rail" }] }
"valve.bypass.mode" = { from = "bus/Valve.Mode", unit = "1", quantity = "ratio", nothing = [{ word = "fault", reason = "error-code" }, { word = "not fitted", reason = "not-available" }] }
"#;

fn run(databases: &str, more: &str) -> String {
    format!(
        "[run]\nname = \"rig\"\nchannels = [\"map.toml\"]\n[[source]]\nname = \"bus\"\nkind = \"can\"\ninterface = \
         \"can0\"\ndatabases = [{databases}]\n{more}"
    )
}

fn assembled(run: &str, map: &str) -> Result<Assembled, String> {
    let files = [("run.toml", run), ("map.toml", map), ("engine.dbc", ENGINE), ("valve.dbc", VALVE)];
    let files = files.map(|(n, t)| (n.to_owned(), t.to_owned()));
    load(&Files::stored(files), Path::new("run.toml"), &CaptureFiles::default()).map_err(|p| p.lines())
}

/// Every reading of a frame by its name.
fn read(a: &Assembled, id: u32, data: &[u8]) -> Vec<(String, Raw)> {
    let decoder = &a.plan.sources[0].decoder;
    let payload = CanFrame::data(id, 0, data).payload();
    let (source, kind) = (SourceId(0), RecordKind::CanFrame);
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    let mut all = Vec::new();
    let each = &mut |i: u16, raw| all.push((decoder.readings()[usize::from(i)].name.clone(), raw));
    match decoder.decode(&record, each) {
        Ok(()) => all,
        Err(e) => panic!("{e}"),
    }
}

fn value(a: &Assembled, id: u32, data: &[u8], name: &str) -> Raw {
    read(a, id, data).into_iter().find(|r| r.0 == name).unwrap().1
}

#[test]
fn two_databases_and_what_is_no_number_in_them() {
    let a = assembled(&run("\"engine.dbc\", \"valve.dbc\"", ""), MAP).unwrap_or_else(|e| panic!("{e}"));
    let speed = |low, high| value(&a, 0x8CF0_04FE, &[0, 0, 0, low, high, 0, 0, 0], "EngineData.Speed");
    assert_eq!((speed(0xE0, 0x15), speed(0xFF, 0xFF)), (Raw::Number(700.0), Raw::Nothing(Reason::NotAvailable)));
    let valve = |name, position, mode| value(&a, 288, &[position, mode], name);
    assert_eq!(valve("Valve.Position", 200, 0), Raw::Number(100.0));
    assert_eq!(valve("Valve.Position", 201, 0), Raw::Nothing(Reason::Rail));
    assert_eq!(valve("Valve.Mode", 0, 1), Raw::Number(1.0));
    assert_eq!(valve("Valve.Mode", 0, 14), Raw::Nothing(Reason::ErrorCode));
    assert_eq!(valve("Valve.Mode", 0, 15), Raw::Nothing(Reason::NotAvailable));
    // The database's own statement is told, for it changes what is a number.
    assert_eq!(a.notes.len(), 1, "{:?}", a.notes);
    assert!(a.notes[0].starts_with("engine.dbc:1: the database says of itself that it is J1939"), "{:?}", a.notes);
    let words = a.plan.sources[0].decoder.can_database().unwrap().words(2);
    assert_eq!(words[1], (1, "open".to_owned()));
}

#[test]
fn the_run_file_decides_on_j1939_and_senders() {
    let databases = "{ file = \"engine.dbc\", j1939 = false }, \"valve.dbc\"";
    let a = assembled(&run(databases, ""), MAP).unwrap_or_else(|e| panic!("{e}"));
    let all = [0xFF; 8];
    assert_eq!(value(&a, 0x8CF0_04FE, &all, "EngineData.Speed"), Raw::Number(65535.0 * 0.125));
    assert_eq!(a.notes, [""; 0]);
    for senders in ["\"any\"", "[0x21]"] {
        let databases = format!("{{ file = \"engine.dbc\", senders = {senders} }}, \"valve.dbc\"");
        let a = assembled(&run(&databases, ""), MAP).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(value(&a, 0x98F0_0421, &all, "EngineData.Speed"), Raw::Nothing(Reason::NotAvailable));
    }
    // A map's own declaration stands in place of the codes; an empty one takes them away.
    let map = MAP.replace("unit = \"rpm\"", "unit = \"rpm\", nothing = []");
    let a = assembled(&run("\"engine.dbc\", \"valve.dbc\"", ""), &map).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(value(&a, 0x8CF0_04FE, &all, "EngineData.Speed"), Raw::Number(65535.0 * 0.125));
}

#[test]
fn a_filter_is_told() {
    let more = "keep_only = [\"120\", \"0CF004FE\"]\n";
    let a = assembled(&run("\"engine.dbc\", \"valve.dbc\"", more), MAP).unwrap_or_else(|e| panic!("{e}"));
    let said =
        "source \"bus\" keeps only frames of 120, 0CF004FE (keep_only): the others are not recorded, for no later map";
    assert!(a.notes.iter().any(|n| n == said), "{:?}", a.notes);
}

/// One signal, two channels: what is no value holds for the signal, so one of them declares it.
#[test]
fn a_signal_is_declared_once() {
    let line = "\"valve.trim.position\" = { from = \"bus/Valve.Position\", unit = \"%\", nothing = [{ raw = 0, reason = \
                \"open\" }] }\n";
    let e = assembled(&run("\"engine.dbc\", \"valve.dbc\"", ""), &format!("{MAP}{line}")).err().unwrap();
    assert!(e.contains("another channel of the same signal has declared what is no value in it already"), "{e}");
}
