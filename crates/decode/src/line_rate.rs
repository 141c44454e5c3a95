//! How many items a line can carry in a second: what a recorder must keep up with.

/// Bits of an ARINC 429 word with the gap after it: 32 and at least 4. Source: ARINC 429 part 1 (from memory).
pub const ARINC_429_WORD_BITS: u32 = 36;
/// ARINC 429 at high speed, bit/s. Source: ARINC 429 part 1 (from memory).
pub const ARINC_429_HIGH: u32 = 100_000;
/// ARINC 429 at low speed, bit/s; the standard allows 12 000 to 14 500. Source: ARINC 429 part 1 (from memory).
pub const ARINC_429_LOW: u32 = 12_500;

/// Most items in a second on a line that is never idle.
///
/// ```text
/// items per second = bits per second / bits per item
/// ```
/// * Units: bit/s, bit with all framing and the gap that must follow; 1/s out.
/// * Range: both above 0. Outside: `None`.
/// * Source: arithmetic. Bits per item: [`character_bits`], [`ARINC_429_WORD_BITS`], [`crate::can::timing`].
///
/// ```
/// use decode::line_rate::{character_bits, per_second};
/// assert_eq!(per_second(115_200, character_bits(8, false, 1)), Some(11_520.0));
/// ```
pub fn per_second(bits_per_second: u32, bits_per_item: u32) -> Option<f64> {
    (bits_per_second > 0 && bits_per_item > 0).then(|| f64::from(bits_per_second) / f64::from(bits_per_item))
}

/// Bits of an asynchronous serial character: start, data, parity and stop bits.
///
/// * Units: bit. Range: any; 5 to 9 data bits, 1 or 2 stop bits are met. Source: common practice, no source.
pub fn character_bits(data: u8, parity: bool, stop: u8) -> u32 {
    1 + u32::from(data) + u32::from(parity) + u32::from(stop)
}
