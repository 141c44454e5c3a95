//! ARINC Specification 429 part 1-17 errata 1 (2007), table 2, label 335, and the convention of labels as a public
//! documentation page on the decoding of ARINC 429 describes it; the specification was seen in stored copies only.

use decode::arinc429::{Word, low_byte, resolution};

/// Case BU-14, exact; values computed outside this program from the convention.
#[test]
fn bu_14_label_and_low_byte() {
    for (label, number, low) in [
        (0o203, 0x83, 0xC1),
        (0o103, 0x43, 0xC2),
        (0o310, 0xC8, 0x13),
        (0o335, 0xDD, 0xBB),
        (0o001, 0x01, 0x80),
        (0o377, 0xFF, 0xFF),
    ] {
        assert_eq!(label, number);
        assert_eq!(low_byte(label), low, "label {label:o}");
        assert_eq!(Word(0xFFFF_FF00 | u32::from(low)).label(), label, "label {label:o}");
    }
}

/// Case BU-16, label 335: range 32 deg/s in 11 bits is 0.015 625; the table prints 0.015, which is 4 % low and which no
/// function here takes.
#[test]
fn bu_16_resolution_is_range_over_two_to_the_bits() {
    let step = resolution(32.0, 11).unwrap();
    assert_eq!(step, 0.015_625);
    assert!((step / 0.015 - 1.041_667).abs() < 1e-6);
    assert_eq!((step * 1e3).floor() / 1e3, 0.015, "cut off after three decimals, as printed");
    // A signed range of 256 with a resolution of 0.25 has 10 bits beside the sign.
    assert_eq!((1..=18).find(|bits| resolution(256.0, *bits) == Ok(0.25)), Some(10));
}

/// Case BU-16 in a word: 640 steps are 10 deg/s; at the printed resolution they would be 9.6.
#[test]
fn bu_16_word() {
    let word = Word(3 << 29 | 640 << 17 | u32::from(low_byte(0o335)));
    assert_eq!(word.label(), 0o335);
    assert_eq!(word.binary(32.0, 11).unwrap().number(), Some(10.0));
}
