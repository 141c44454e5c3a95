//! Orders of bytes and bits on buses.

use decode::arinc429::{Word, low_byte, resolution};
use decode::can::j1939::{Identifier, Parameter};
use decode::crc;
use decode::modbus::{Function, Request, encode_answer};
use decode::{Raw, arinc429};
use stream::Reason::{ErrorCode, NotAvailable};

/// CV-14, BU-03: checksum low byte first, data high byte first, register n is address n - 1.
#[test]
fn cv_14_modbus() {
    let frame = Request::new(0x11, Function::ReadHoldingRegisters, 108 - 1, 3).unwrap().frame();
    assert_eq!(frame, [0x11, 0x03, 0x00, 0x6B, 0x00, 0x03, 0x76, 0x87]);
    assert_ne!(Request::new(0x11, Function::ReadHoldingRegisters, 108, 3).unwrap().frame(), frame);
    assert_eq!(crc::modbus(&frame[..6]), 0x8776);
    let mut turned = frame;
    turned.swap(6, 7);
    assert!(crc::modbus_fits(&frame) && !crc::modbus_fits(&turned));
    let answer = encode_answer(&frame, |address| if address == 0x6B { 555 } else { 0 }).unwrap();
    assert_eq!(answer[3..5], [0x02, 0x2B], "555, high byte first; low byte first it would read 11 010");
}

/// CV-14, BU-08: low byte first, 0xFExx error, 0xFFxx not available, the destination no part of the number below PF 240.
#[test]
fn cv_14_j1939() {
    let speed = Parameter { first_byte: 4, bytes: 2, resolution: 0.125, offset: 0.0 };
    let read = |low: u8, high: u8| speed.read(&[0xFF, 0x7D, 0x7D, low, high, 0xFF, 0xF0, 0xFF]).unwrap();
    assert_eq!(read(0xE0, 0x15), Raw::Number(700.0));
    assert_eq!(read(0x15, 0xE0), Raw::Number(7170.625), "the same bytes the other way round");
    for low in [0x00, 0x15, 0xFF] {
        assert_eq!(read(low, 0xFE), Raw::Nothing(ErrorCode));
        assert_eq!(read(low, 0xFF), Raw::Nothing(NotAvailable));
    }
    // A request to address 0x17 and one to 0x2A are of one group.
    let group = |id| Identifier::split(id).map(|i| (i.pgn, i.destination));
    assert_eq!(group(0x18EA_17F9), Some((0xEA00, 0x17)));
    assert_eq!(group(0x18EA_2AF9), Some((0xEA00, 0x2A)));
    assert_eq!(group(0x0CF0_0400), Some((0xF004, 255)));
}

/// CV-14, BU-14 and BU-16: label reversed, sign of a binary word in bit 29, resolution range/2^bits, sign of a decimal
/// word in the sign/status matrix.
#[test]
fn cv_14_arinc_429() -> Result<(), arinc429::WordError> {
    const NORMAL: u32 = 3 << 29;
    let label = u32::from(low_byte(0o203));
    assert_eq!((label, Word(label).label()), (0xC1, 0o203));
    // Bit 29 set and the rest clear is the lowest number; without the sign it would be 0.
    assert_eq!(Word(NORMAL | 1 << 28 | label).binary(32.0, 11)?, Raw::Number(-32.0));
    assert_eq!(Word(NORMAL | 640 << 17 | label).binary(32.0, 11)?, Raw::Number(10.0));
    // The printed resolution, 0.015, is cut off: it would make 9.6 of these 10.
    assert_eq!(resolution(32.0, 11)?, 0.015_625);
    let digits = 1 << 26 | 2 << 22 | 3 << 18;
    assert_eq!(Word(digits | label).decimal(3, 1.0)?, Raw::Number(123.0));
    assert_eq!(Word(NORMAL | digits | label).decimal(3, 1.0)?, Raw::Number(-123.0));
    Ok(())
}
