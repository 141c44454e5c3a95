//! Thomson Technology, MEC 310 Genset Controller, Option J, CANbus J1939, manual PM077 R1 09/08/20, page 9: a frame and
//! what it says.

use decode::can::j1939::{Identifier, Parameter, Senders};
use decode::can::{CanDatabase, CanFrame, DatabaseText};
use decode::{Decoder, Raw};
use stream::{EventTime, RawRecord, Reason, RecordKind, SourceId};

const DATA: [u8; 8] = [0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF];

/// Case BU-08, exact.
#[test]
fn bu_08_identifier() {
    let id = Identifier::split(0x0CF0_0400).unwrap();
    assert_eq!(id, Identifier { priority: 3, pgn: 61_444, destination: 255, source: 0 });
}

/// Case BU-08, exact: bytes 4 and 5, the lower first: 0x15E0 = 5600 steps of 0.125 rpm. A page on the web reads bytes 1
/// and 2 and finds another speed: wrong bytes, not a wrong order.
#[test]
fn bu_08_engine_speed_and_torque() {
    let speed = |resolution| Parameter { first_byte: 4, bytes: 2, resolution, offset: 0.0 };
    assert_eq!(speed(1.0).read(&DATA).unwrap().number(), Some(5600.0));
    assert_eq!(speed(0.125).read(&DATA).unwrap().number(), Some(700.0));
    // Torque, demanded and actual: 125 - 125 = 0 %.
    for first_byte in [2, 3] {
        let torque = Parameter { first_byte, bytes: 1, resolution: 1.0, offset: -125.0 };
        assert_eq!(torque.read(&DATA).unwrap().number(), Some(0.0));
    }
}

/// Case BU-08, exact, as a run reads it: the frame through a database whose message has no particular sender; bytes 1 and
/// 6 hold 0xFF, "not available", and are no number.
#[test]
fn bu_08_through_a_database() {
    let text = "BO_ 2364540158 EEC1: 8 X\n SG_ Mode : 0|8@1+ (1,0) [0|0] \"\" X\n \
                SG_ ActualTorque : 16|8@1+ (1,-125) [-125|125] \"%\" X\n \
                SG_ Speed : 24|16@1+ (0.125,0) [0|8031.875] \"rpm\" X\n \
                SG_ Source : 40|8@1+ (1,0) [0|255] \"\" X\n";
    let text = DatabaseText { file: "eec1.dbc", text, j1939: Some(true), senders: Senders::Any };
    let decoder = Decoder::can(CanDatabase::load_all(&[text]).unwrap()).unwrap();
    let payload = CanFrame::data(0x0CF0_0400 | CanFrame::EXTENDED, 0, &DATA).payload();
    let (source, kind) = (SourceId(0), RecordKind::CanFrame);
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    let mut read = Vec::new();
    decoder.decode(&record, &mut |_, raw| read.push(raw)).unwrap();
    let nothing = Raw::Nothing(Reason::NotAvailable);
    assert_eq!(read, [nothing, Raw::Number(0.0), Raw::Number(700.0), nothing]);
}
