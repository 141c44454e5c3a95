//! R.I. Davis, A. Burns, R.J. Bril, J.J. Lukkien, Controller Area Network (CAN) schedulability analysis: Refuted,
//! revisited and revised, Real-Time Systems 35, 239-272 (2007): the formula, from memory.

use decode::can::timing::IdentifierBits::{Extended, Standard};
use decode::can::timing::worst_case_bits;

/// Case BU-11, exact; the lengths of 1 and 4 bytes are the case's own evaluation of the formula.
#[test]
fn bu_11_worst_case_frame_length() {
    for (identifier, bytes, bits) in [
        (Standard, 0, 55),
        (Standard, 1, 65),
        (Standard, 4, 95),
        (Standard, 8, 135),
        (Extended, 0, 80),
        (Extended, 1, 90),
        (Extended, 4, 120),
        (Extended, 8, 160),
    ] {
        assert_eq!(worst_case_bits(identifier, bytes), Some(bits), "{identifier:?}, {bytes} data bytes");
    }
    assert_eq!(worst_case_bits(Standard, 9), None);
}
