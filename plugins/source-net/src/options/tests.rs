use super::*;
use decode::modbus::Function;
use decode::text::LineFramer;
use plugin_api::{Options, conformance};
use stream::{RecordKind, SourceId};

fn modbus(name: &str, unit: u8) -> DeviceSetup {
    let ms = Duration::from_millis;
    let request = Request::to_any_unit(unit, Function::ReadHoldingRegisters, 0, 2).unwrap();
    let queries = vec![Query { bytes: request.frame().to_vec(), period: None }];
    let (name, framing) = (name.to_owned(), Framing::Modbus);
    DeviceSetup { name, framing, queries, period: ms(100), time_out: ms(50), worst_answer: ms(200) }
}

fn text(name: &str, asked: bool) -> DeviceSetup {
    let queries = if asked { vec![Query { bytes: b"T?\n".to_vec(), period: None }] } else { Vec::new() };
    let framing = Framing::Messages(Messages::new(RecordKind::TextLine, || LineFramer::new(80)));
    DeviceSetup { framing, queries, ..modbus(name, 1) }
}

fn setup(options: &str, devices: Vec<DeviceSetup>) -> SourceSetup {
    SourceSetup { id: SourceId(0), name: "place".into(), options: Options::from_text(options), devices }
}

/// The message and the text that it points at.
fn refusal(options: &str, devices: Vec<DeviceSetup>) -> String {
    let e = read(&setup(options, devices)).unwrap_err();
    assert!(!e.help.is_empty() || e.message.contains("unknown") || e.message.contains("missing"), "{}", e.message);
    format!("{} | {}", e.message, e.span.map_or("", |s| &options[s]))
}

#[test]
fn describes_itself() {
    assert_eq!(conformance::source_description(&crate::PLUGIN), Vec::<String>::new());
}

#[test]
fn what_may_be_there() {
    let (net, devices) = read(&setup("address = \"a.example:502\"", vec![modbus("a", 255), modbus("b", 0)])).unwrap();
    assert_eq!((net.transport, net.quiet()), (Transport::Tcp, None));
    assert!(matches!(devices, Devices::Modbus(list) if list.len() == 2));
    let udp = "address = \"[::]:5500\"\ntransport = \"udp\"\nfrom = \"::1\"";
    assert!(matches!(read(&setup(udp, vec![text("t", false)])), Ok((_, Devices::Messages(..)))));
    let tcp = "address = \"10.0.0.1:5500\"\nquiet_s = 2.5";
    assert_eq!(read(&setup(tcp, vec![text("t", true)])).unwrap().0.quiet(), Some(Duration::from_millis(2500)));
}

#[test]
fn refuses_options_and_points_at_them() {
    let one = || vec![text("t", false)];
    for bad in ["host", ":502", "host:", "host:0", "host:99999"] {
        let said = refusal(&format!("address = \"{bad}\""), one());
        assert_eq!(said, format!("`address` is {bad:?}, which is no address with a port | \"{bad}\""));
    }
    let udp = "address = \"host:5500\"\ntransport = \"udp\"";
    assert!(refusal(udp, one()).starts_with("`address` is \"host:5500\"; over UDP it is an IP address"));
    assert_eq!(refusal("address = \"h:1\"\nfrom = \"10.0.0.1\"", one()), "`from` belongs to udp | \"10.0.0.1\"");
    assert_eq!(refusal("address = \"h:1\"\nquiet_s = -1.0", one()), "`quiet_s` is -1 | -1.0");
    assert!(refusal("address = \"h:1\"\ntransport = \"sctp\"", one()).contains("unknown variant `sctp`"));
    assert!(refusal("adress = \"h:1\"", one()).contains("unknown field `adress`"));
    assert!(refusal("", one()).contains("missing field `address`"));
}

#[test]
fn refuses_what_cannot_be_there() {
    let tcp = |devices| refusal("address = \"h:1\"", devices);
    let udp = |devices| refusal("address = \"0.0.0.0:1\"\ntransport = \"udp\"", devices);
    assert!(tcp(vec![]).starts_with("no device is there"));
    assert!(tcp(vec![modbus("a", 1), text("t", false)]).starts_with("device `t` sends lines or frames and shares"));
    assert_eq!(udp(vec![text("t", true)]), "device `t` is asked, and over udp it is only listened to | \"udp\"");
    assert!(udp(vec![modbus("a", 1)]).starts_with("device `a` is asked"));
    let with = |change: fn(&mut DeviceSetup)| {
        let mut d = modbus("a", 1);
        change(&mut d);
        tcp(vec![d])
    };
    assert!(with(|d| d.queries.clear()).starts_with("Modbus device `a` has no query"));
    assert!(with(|d| d.period = Duration::ZERO).starts_with("device `a`: period is 0 or longer than a day"));
    assert!(with(|d| d.worst_answer = Duration::from_millis(1)).contains("is shorter than its time-out"));
    let write = with(|d| {
        let mut frame = vec![1, 6, 0, 0, 0, 1];
        frame.extend(decode::crc::modbus(&frame).to_le_bytes());
        d.queries = vec![Query { bytes: frame, period: None }];
    });
    assert!(write.starts_with("query 1 of device `a`: function 6 is refused"), "{write}");
    let mut asked = text("t", true);
    asked.queries[0].period = Some(Duration::ZERO);
    assert!(tcp(vec![asked]).starts_with("device `t`: a query's period is 0"));
}
