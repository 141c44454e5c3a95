//! MODBUS over Serial Line, Specification and Implementation Guide V1.02, 2.5.1.1, and the limits of the application
//! protocol (from memory).

use decode::modbus::{Function, Request, character_silence_ns, frame_silence_ns};

/// Case BU-07: 1 µs.
#[test]
fn silences_and_sizes() {
    let near = |ns: Option<u64>, s: f64| (ns.unwrap() as f64 * 1e-9 - s).abs() < 1e-6;
    assert!(near(frame_silence_ns(9600, 11), 0.0040104));
    assert!(near(frame_silence_ns(19_200, 11), 0.0020052));
    assert!(near(frame_silence_ns(115_200, 11), 0.00175));
    assert!(near(character_silence_ns(38_400, 11), 0.00075));
    assert_eq!(frame_silence_ns(0, 11), None);
    assert_eq!(Function::ReadHoldingRegisters.most(), 125);
    // 256 bytes hold the longest frame: 125 registers need 255.
    let longest = Request::new(1, Function::ReadHoldingRegisters, 0, 125).unwrap();
    assert_eq!(longest.answer_length(), 255);
}
