//! Line rates computed outside this program, not published: CAN frames from the formula of Davis et al. (2007), ARINC 429
//! words of 32 bits with a gap of 4 (from memory), serial characters.

use decode::can::timing::IdentifierBits::{Extended, Standard};
use decode::can::timing::{unstuffed_bits, worst_case_bits};
use decode::line_rate::{ARINC_429_HIGH, ARINC_429_LOW, ARINC_429_WORD_BITS, character_bits, per_second};

/// Case BU-13, exact.
#[test]
fn bu_13_line_rates() {
    let longest = |identifier| worst_case_bits(identifier, 8).unwrap();
    let plain = |identifier| unstuffed_bits(identifier, 8).unwrap();
    for (what, bits_per_second, bits, expected) in [
        ("CAN 250k, extended, worst", 250_000, longest(Extended), 1562.5),
        ("CAN 250k, extended, unstuffed", 250_000, plain(Extended), 1_908.396_946_564_885_4),
        ("CAN 500k, standard, worst", 500_000, longest(Standard), 3_703.703_703_703_704),
        ("CAN 1M, standard, unstuffed", 1_000_000, plain(Standard), 9_009.009_009_009_009),
        ("ARINC 429, high", ARINC_429_HIGH, ARINC_429_WORD_BITS, 2_777.777_777_777_778),
        ("ARINC 429, low", ARINC_429_LOW, ARINC_429_WORD_BITS, 347.222_222_222_222_23),
        ("115200 8N1", 115_200, character_bits(8, false, 1), 11_520.0),
        ("115200 8E1", 115_200, character_bits(8, true, 1), 10_472.727_272_727_272),
    ] {
        let rate = per_second(bits_per_second, bits).unwrap();
        assert!((rate / expected - 1.0).abs() < 1e-15, "{what}: {rate}, expected {expected}");
    }
}
