//! MODBUS Application Protocol Specification V1.1b3, examples of the functions (from memory): requests and answers without
//! address and checksum.

use crate::hex;
use decode::crc;
use decode::modbus::{Function, Request, RequestError, Verdict, encode_answer, encode_exception, match_answer};

/// Cases BU-05 and BU-06, exact: functions 1, 3 and 4.
#[test]
fn examples_of_the_application_protocol() {
    let bits = |a: u16| u16::from([0xCDu8, 0x6B, 0x05][usize::from((a - 0x13) / 8)] >> ((a - 0x13) % 8) & 1);
    let held = |a: u16| [0x022B, 0x0000, 0x0064][usize::from(a - 0x6B)];
    let input = |_: u16| 0x000A;
    let cases = [
        ("01 00 13 00 13", "01 03 CD 6B 05", &bits as &dyn Fn(u16) -> u16),
        ("03 00 6B 00 03", "03 06 02 2B 00 00 00 64", &held),
        ("04 00 08 00 01", "04 02 00 0A", &input),
    ];
    for (request, answer, device) in cases {
        let pdu = hex(request);
        let function = Function::from_code(pdu[0]).unwrap();
        let word = |i: usize| u16::from_be_bytes([pdu[i], pdu[i + 1]]);
        let sent = Request::new(0x11, function, word(1), word(3)).unwrap();
        assert_eq!(&sent.frame()[1..6], pdu, "{request}");
        let frame = encode_answer(&sent.frame(), device).unwrap();
        assert_eq!(&frame[1..frame.len() - 2], hex(answer), "{request}");
        assert_eq!(match_answer(&sent, &frame), Verdict::Answer { len: frame.len() });
    }
}

/// Case BU-05: exception 2 to a request of function 1, `81 02`.
#[test]
fn exception_of_the_application_protocol() {
    let request = Request::new(0x11, Function::ReadCoils, 0x04A1, 1).unwrap();
    assert_eq!(request.frame()[1..6], hex("01 04 A1 00 01"));
    let frame = encode_exception(&request.frame(), 2).unwrap();
    assert_eq!(frame[1..3], hex("81 02"));
    assert_eq!(match_answer(&request, &frame), Verdict::Exception { code: 2, len: 5 });
}

/// Cases BU-05 and BU-06: the published requests of the writing functions, with a right checksum, are refused.
#[test]
fn published_writes_are_refused() {
    for pdu in [
        "05 00 AC FF 00",
        "06 00 01 00 03",
        "10 00 01 00 02 04 00 0A 01 02",
        "16 00 04 00 F2 00 25",
        "0F 00 13 00 0A 02 CD 01",
        "17 00 03 00 06 00 0E 00 03 06 00 FF 00 FF 00 FF",
    ] {
        let mut frame = hex(&format!("11 {pdu}"));
        assert_eq!(Function::from_code(frame[1]), None, "{pdu}");
        frame.extend(crc::modbus(&frame).to_le_bytes());
        assert!(crc::modbus_fits(&frame));
        let refused = Request::parse(&frame).unwrap_err();
        let (length, function) = (RequestError::Length(frame.len()), RequestError::Function(frame[1]));
        assert_eq!(refused, if frame.len() == Request::LENGTH { function } else { length }, "{pdu}");
    }
}
