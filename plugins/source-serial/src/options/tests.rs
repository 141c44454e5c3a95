use super::*;
use decode::modbus::Function;
use decode::text::LineFramer;
use plugin_api::{Options, conformance};
use stream::{RecordKind, SourceId};

fn modbus(name: &str, unit: u8) -> DeviceSetup {
    let request = Request::new(unit, Function::ReadHoldingRegisters, 0, 2).unwrap();
    DeviceSetup {
        name: name.into(),
        framing: Framing::Modbus,
        queries: vec![Query { bytes: request.frame().to_vec(), period: None }],
        period: Duration::from_millis(100),
        time_out: Duration::from_millis(50),
        worst_answer: Duration::from_millis(200),
    }
}

fn text(name: &str) -> DeviceSetup {
    let lines = Messages::new(RecordKind::TextLine, || LineFramer::new(80));
    DeviceSetup { framing: Framing::Messages(lines), queries: vec![], ..modbus(name, 1) }
}

fn setup(options: &str, devices: Vec<DeviceSetup>) -> SourceSetup {
    SourceSetup { id: SourceId(0), name: "line".into(), options: Options::from_text(options), devices }
}

/// The message, the help and the text that it points at.
fn refusal(options: &str, devices: Vec<DeviceSetup>) -> (String, String, String) {
    let e = read(&setup(options, devices)).unwrap_err();
    let at = e.span.map_or(String::new(), |s| options[s].to_owned());
    (e.message, e.help, at)
}

#[test]
fn describes_itself() {
    assert_eq!(conformance::source_description(&crate::PLUGIN), Vec::<String>::new());
}

#[test]
fn defaults_are_those_of_the_standard() {
    let (line, devices) = read(&setup("port = \"/dev/x\"", vec![modbus("a", 1), modbus("b", 2)])).unwrap();
    assert_eq!((line.baud, line.data_bits, line.parity, line.stop_bits), (19_200, 8, Parity::Even, 1));
    assert_eq!(line.character_bits(), 11);
    assert!(matches!(devices, Devices::Modbus(list) if list.len() == 2));
    assert!(matches!(read(&setup("port = \"x\"", vec![text("t")])), Ok((_, Devices::Messages(..)))));
    let Ok((line, Devices::Overheard { units, worst })) =
        read(&setup("port = \"x\"\npassive = true", vec![modbus("a", 7), modbus("b", 2)]))
    else {
        panic!("not passive")
    };
    assert!(line.passive && units == [7, 2] && worst == Duration::from_millis(200));
}

#[test]
fn refuses_options_and_points_at_them() {
    let one = || vec![modbus("a", 1)];
    let refused = |o: &str| {
        let (message, help, at) = refusal(o, one());
        assert!(!help.is_empty() || message.contains("unknown") || message.contains("missing"), "{message}");
        format!("{message} | {at}")
    };
    assert_eq!(refused("port = \" \""), "`port` is empty | \" \"");
    assert_eq!(refused("port = \"x\"\nbaud = 0"), "`baud` is 0 | 0");
    assert_eq!(refused("port = \"x\"\ndata_bits = 9"), "`data_bits` is 9 | 9");
    assert_eq!(refused("port = \"x\"\ndata_bits = 7"), "`data_bits` is 7 | 7");
    assert_eq!(refused("port = \"x\"\nstop_bits = 3"), "`stop_bits` is 3 | 3");
    assert_eq!(refused("port = \"x\"\ngap_ms = -1.0"), "`gap_ms` is -1 | -1.0");
    assert_eq!(refused("port = \"x\"\ngap_ms = nan"), "`gap_ms` is NaN | nan");
    assert!(refused("port = \"x\"\nparity = \"mark\"").contains("unknown variant `mark`"));
    assert!(refused("port = \"x\"\nbauds = 9600").contains("unknown field `bauds`"));
    assert!(refused("baud = 9600").contains("missing field `port`"));
}

#[test]
fn refuses_what_cannot_share_a_line() {
    let why = |devices| refusal("port = \"x\"", devices).0;
    assert_eq!(why(vec![]), "no device is on this line");
    assert_eq!(
        why(vec![modbus("a", 1), text("t")]),
        "device `t` sends lines of text and shares its line with another device"
    );
    assert_eq!(why(vec![modbus("a", 5), modbus("b", 5)]), "devices `a` and `b` have the same address 5");
    let mut asked = text("t");
    asked.queries = vec![Query { bytes: b"T?\n".to_vec(), period: Some(Duration::from_secs(1)) }];
    assert!(read(&setup("port = \"x\"", vec![asked.clone()])).is_ok());
    let passive = refusal("port = \"x\"\npassive = true", vec![asked.clone()]);
    assert_eq!(passive.0, "device `t` lists queries, and this line is passive: nothing is ever written to it");
    assert_eq!(passive.2, "true");
    asked.queries[0].period = Some(Duration::ZERO);
    assert_eq!(why(vec![asked]), "query 1 of device `t`: its period is 0 or longer than a day");
}

#[test]
fn refuses_devices() {
    let why = |change: fn(&mut DeviceSetup)| {
        let mut device = modbus("a", 1);
        change(&mut device);
        refusal("port = \"x\"", vec![device]).0
    };
    assert_eq!(why(|d| d.queries.clear()), "Modbus device `a` has no query");
    assert_eq!(why(|d| d.period = Duration::ZERO), "device `a`: period is 0");
    assert_eq!(why(|d| d.period = Duration::MAX), "device `a`: period is longer than a day");
    assert_eq!(
        why(|d| d.worst_answer = Duration::from_millis(10)),
        "device `a`: its worst answer time 10ms is shorter than its time-out 50ms"
    );
    assert_eq!(why(|d| d.queries.extend(modbus("b", 2).queries)), "device `a` is asked at address 1 and at address 2");
    // Write Single Register: never.
    let write = why(|d| {
        let mut frame = vec![1, 6, 0, 0, 0, 1];
        frame.extend(decode::crc::modbus(&frame).to_le_bytes());
        d.queries = vec![Query { bytes: frame, period: None }];
    });
    assert_eq!(write, "query 1 of device `a`: function 6 is refused: only the read functions 1 to 4 are ever sent");
}
