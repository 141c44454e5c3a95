//! What a run file may say about a CAN source, and the exact words about what it may not.
#![allow(clippy::unwrap_used, reason = "tests may panic")]

use plugin_api::{DeviceSetup, Framing, Options, SourceSetup};
use source_can::PLUGIN;
use std::time::Duration;
use stream::SourceId;

fn setup(options: &str) -> SourceSetup {
    let options = Options::from_text(options);
    SourceSetup { id: SourceId(0), name: "bus".into(), options, devices: Vec::new() }
}

fn error(options: &str) -> String {
    match (PLUGIN.build)(&setup(options)) {
        Ok(_) => panic!("{options} was taken"),
        Err(e) => {
            let place = e.span.map_or("", |s| &options[s]);
            format!("{} | {} | {place}", e.message, e.help)
        }
    }
}

#[test]
fn describes_itself() {
    assert_eq!(plugin_api::conformance::source_description(&PLUGIN), Vec::<String>::new());
    let schema = (PLUGIN.schema)();
    let default = |name: &str| schema["properties"][name]["default"].clone();
    assert_eq!(default("acknowledges"), false);
    assert_eq!(default("fd"), true);
    assert_eq!(default("keep_only"), serde_json::Value::Null);
    assert_eq!(default("receive_buffer"), 16_777_216);
    assert_eq!(schema["required"], serde_json::json!(["interface"]));
}

#[test]
fn good_options_are_taken() {
    for options in [
        "interface = \"can0\"",
        "interface = \"unix:/run/link\"",
        "interface = \"can0\"\nkeep_only = [\"120\", \"1ABC0042\", \"18FEF100/1FFFFF00\"]",
        "interface = \"a-name_of.15-by\"\nacknowledges = true\nfd = false\nreceive_buffer = 4096",
    ] {
        assert!((PLUGIN.build)(&setup(options)).is_ok(), "{options}");
    }
}

#[test]
fn wrong_options_are_told_with_their_place() {
    const HELP: &str =
        "write interface = \"can0\" (see `ip link`), or interface = \"unix:/path/of/a/socket\" for a local link";
    let long = format!("interface = \"unix:/{}\"", "x".repeat(107));
    let cases = [
        ("", "missing field `interface` |  | ".to_string()),
        ("interface = \"\"", format!("interface is empty | {HELP} | \"\"")),
        (
            "interface = \"can0\"\nkeep_only = [\"0x120\"]",
            "keep_only: \"0x120\" has neither three nor eight hexadecimal digits | write \"120\" for an 11-bit \
             identifier, \"18FEF100\" for one of 29 bits, a mask as \"18FEF100/1FFFFF00\" | [\"0x120\"]"
                .to_string(),
        ),
        (
            "interface = \"can0\"\nkeep_only = []",
            "keep_only has 0 identifiers; 1 to 512 are possible | leave it out to keep every frame | []".to_string(),
        ),
        (
            "interface = \"unix:/a\"\nkeep_only = [\"120\"]",
            "keep_only is for the kernel's interfaces; a local link has no filter | leave it out | [\"120\"]"
                .to_string(),
        ),
        ("interface = \"a/b\"", format!("interface = \"a/b\" is no name of an interface | {HELP} | \"a/b\"")),
        ("interface = \"..\"", format!("interface = \"..\" is no name of an interface | {HELP} | \"..\"")),
        ("interface = \"can 0\"", format!("interface = \"can 0\" is no name of an interface | {HELP} | \"can 0\"")),
        (
            "interface = \"sixteen-bytes-16\"",
            format!(
                "interface = \"sixteen-bytes-16\" has 16 bytes; an interface's name has at most 15 | {HELP} | \
                 \"sixteen-bytes-16\""
            ),
        ),
        ("interface = \"unix:\"", format!("interface = \"unix:\" names no path | {HELP} | \"unix:\"")),
        (
            &long,
            format!(
                "the path of interface has 108 bytes; a Unix socket's has at most 107 | {HELP} | \"unix:/{}\"",
                "x".repeat(107)
            ),
        ),
        (
            "interface = \"can0\"\nreceive_buffer = 100",
            "receive_buffer = 100 is not between 4096 and 1073741824 bytes | 16777216 holds about two seconds of \
             10 000 frames/s | 100"
                .into(),
        ),
        (
            "interface = \"can0\"\nbitrate = 500000",
            "unknown field `bitrate`, expected one of `interface`, `acknowledges`, `fd`, `receive_buffer`, `keep_only` |  | bitrate"
                .into(),
        ),
        (
            "interface = \"can0\"\nacknowledges = \"yes\"",
            "invalid type: string \"yes\", expected a boolean |  | \"yes\"".into(),
        ),
    ];
    for (options, expected) in cases {
        assert_eq!(error(options), expected);
    }
}

#[test]
fn devices_are_refused() {
    let mut setup = setup("interface = \"can0\"");
    setup.devices.push(DeviceSetup {
        name: "gauge".into(),
        framing: Framing::Modbus,
        queries: Vec::new(),
        period: Duration::ZERO,
        time_out: Duration::ZERO,
        worst_answer: Duration::ZERO,
    });
    let e = (PLUGIN.build)(&setup).err().unwrap();
    assert_eq!(e.message, "a CAN source has no devices, but source \"bus\" lists \"gauge\"");
    assert_eq!(e.help, "what is on a CAN bus is described by its database: remove the devices");
}

/// Whatever the kernel has: an answer with a reason, no error.
#[test]
fn probe_and_list_answer_everywhere() {
    let port = (PLUGIN.probe)(&setup("interface = \"no-such-can\"")).unwrap();
    assert_eq!(port.name, "no-such-can");
    let why = port.openable.unwrap_err();
    assert!(why.contains("no CAN sockets") || why.contains("does not exist"), "{why}");
    for port in (PLUGIN.list)() {
        assert!(!port.name.is_empty() && !port.detail.is_empty());
    }
}

#[test]
fn probe_of_a_local_link() {
    let folder = tempfile::tempdir().unwrap();
    let probe = |path: &std::path::Path| {
        (PLUGIN.probe)(&setup(&format!("interface = \"unix:{}\"", path.display()))).unwrap().openable
    };
    assert_eq!(probe(&folder.path().join("link")), Ok(()));
    let nowhere = folder.path().join("none/link");
    assert_eq!(probe(&nowhere), Err(format!("the folder of {} does not exist: make it", nowhere.display())));
    let file = folder.path().join("file");
    std::fs::write(&file, "kept").unwrap();
    let why = format!("{} exists and is not a socket: choose another path or remove it", file.display());
    assert_eq!(probe(&file), Err(why));
}
