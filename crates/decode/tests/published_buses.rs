//! Published values for buses: checksums, Modbus frames, silences.
#![allow(clippy::unwrap_used)]

use decode::crc;
use decode::modbus::{
    Request, Verdict, character_silence_ns, encode_answer, encode_exception, frame_silence_ns, match_answer,
};

fn hex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|b| u8::from_str_radix(b, 16).unwrap()).collect()
}

/// Case BU-01. G. Cook, Catalogue of parametrised CRC algorithms: check value of CRC-16/MODBUS over "123456789".
#[test]
fn crc_16_modbus_of_the_catalogue() {
    assert_eq!(crc::modbus(b"123456789"), 0x4B37);
}

/// Case BU-01, the same catalogue: the other widths come straight from the crate; those listed there are held
/// against it, so that a later framing may rely on them.
#[test]
fn the_crate_agrees_with_the_catalogue() {
    let check = b"123456789";
    assert_eq!(::crc::Crc::<u16>::new(&::crc::CRC_16_ARC).checksum(check), 0xBB3D);
    assert_eq!(::crc::Crc::<u16>::new(&::crc::CRC_16_XMODEM).checksum(check), 0x31C3);
    assert_eq!(::crc::Crc::<u16>::new(&::crc::CRC_16_IBM_3740).checksum(check), 0x29B1);
    assert_eq!(::crc::Crc::<u16>::new(&::crc::CRC_16_USB).checksum(check), 0xB4C8);
    assert_eq!(::crc::Crc::<u8>::new(&::crc::CRC_8_SMBUS).checksum(check), 0xF4);
    assert_eq!(::crc::Crc::<u32>::new(&::crc::CRC_32_ISO_HDLC).checksum(check), 0xCBF4_3926);
}

/// Case BU-03. RTU frames as reproduced in several public copies of older protocol guides (the current specification
/// prints only the part without address and checksum).
#[test]
fn rtu_frames_of_the_protocol_guides() {
    for frame in
        ["11 01 00 13 00 25 0E 84", "11 03 00 6B 00 03 76 87", "11 04 00 08 00 01 B2 98", "01 03 00 00 00 02 C4 0B"]
    {
        let bytes = hex(frame);
        let request = Request::parse(&bytes).unwrap();
        assert_eq!(request.frame().as_slice(), bytes, "{frame}");
    }
    for (request, answer) in [
        ("11 01 00 13 00 25 0E 84", "11 01 05 CD 6B B2 0E 1B 45 E6"),
        ("11 03 00 6B 00 03 76 87", "11 03 06 02 2B 00 00 00 64 C8 BA"),
    ] {
        let answer = hex(answer);
        assert_eq!(
            match_answer(&Request::parse(&hex(request)).unwrap(), &answer),
            Verdict::Answer { len: answer.len() }
        );
    }
    assert!(crc::modbus_fits(&hex("11 02 03 AC DB 35 20 18")));
}

/// Case BU-03: the published frame of a write (function 6) has a right checksum and is refused all the same.
#[test]
fn a_published_write_is_refused() {
    let write = hex("11 06 00 01 00 03 9A 9B");
    assert!(crc::modbus_fits(&write));
    let refused = Request::parse(&write).unwrap_err();
    assert_eq!(refused.to_string(), "function 6 is refused: only the read functions 1 to 4 are ever sent");
}

/// Cases BU-05 and BU-06. MODBUS Application Protocol Specification V1.1b3, examples of functions 1, 3, 4 (from memory):
/// request and answer without address and checksum.
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
        let function = decode::modbus::Function::from_code(pdu[0]).unwrap();
        let word = |i: usize| u16::from_be_bytes([pdu[i], pdu[i + 1]]);
        let sent = Request::new(0x11, function, word(1), word(3)).unwrap();
        assert_eq!(&sent.frame()[1..6], pdu, "{request}");
        let frame = encode_answer(&sent.frame(), device).unwrap();
        assert_eq!(&frame[1..frame.len() - 2], hex(answer), "{request}");
        assert_eq!(match_answer(&sent, &frame), Verdict::Answer { len: frame.len() });
    }
}

/// Case BU-05, the same specification: exception 2 to a request of function 1, `81 02`.
#[test]
fn exception_of_the_application_protocol() {
    let request = Request::new(0x11, decode::modbus::Function::ReadCoils, 0x04A1, 1).unwrap();
    assert_eq!(request.frame()[1..6], hex("01 04 A1 00 01"));
    let frame = encode_exception(&request.frame(), 2).unwrap();
    assert_eq!(frame[1..3], hex("81 02"));
    assert_eq!(match_answer(&request, &frame), Verdict::Exception { code: 2, len: 5 });
}

/// Case BU-07. MODBUS over Serial Line V1.02, 2.5.1.1, and the limits of the application protocol (from memory);
/// tolerance 1 µs.
#[test]
fn silences_and_sizes() {
    let near = |ns: Option<u64>, s: f64| (ns.unwrap() as f64 * 1e-9 - s).abs() < 1e-6;
    assert!(near(frame_silence_ns(9600, 11), 0.0040104));
    assert!(near(frame_silence_ns(19_200, 11), 0.0020052));
    assert!(near(frame_silence_ns(115_200, 11), 0.00175));
    assert!(near(character_silence_ns(38_400, 11), 0.00075));
    assert_eq!(frame_silence_ns(0, 11), None);
    assert_eq!(decode::modbus::Function::ReadHoldingRegisters.most(), 125);
    // 256 bytes hold the longest frame: 125 registers need 255.
    let longest = Request::new(1, decode::modbus::Function::ReadHoldingRegisters, 0, 125).unwrap();
    assert_eq!(longest.answer_length(), 255);
}

/// Case BU-18. The widely published sample sentence of NMEA 0183 and its checksum 47 (from memory).
#[test]
fn xor_checksum_of_the_sample_sentence() {
    let between = b"GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,";
    assert_eq!(format!("{:02X}", crc::xor(between)), "47");
}
