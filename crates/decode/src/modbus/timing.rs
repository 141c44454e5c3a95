//! Silences that separate RTU frames.

/// The silence before and after a frame: 3.5 characters, in ns; 1.75 ms above 19 200 bit/s.
///
/// `character_bits`: start, data, parity and stop bits together, 11 in the standard's own format.
/// Source: MODBUS over Serial Line V1.02, 2.5.1.1 (from memory). `None` for a line of 0 bit/s.
pub fn frame_silence_ns(bits_per_second: u32, character_bits: u32) -> Option<u64> {
    silence_ns(bits_per_second, character_bits, 35, 1_750_000)
}

/// The longest silence inside a frame: 1.5 characters, in ns; 0.75 ms above 19 200 bit/s. As [`frame_silence_ns`].
pub fn character_silence_ns(bits_per_second: u32, character_bits: u32) -> Option<u64> {
    silence_ns(bits_per_second, character_bits, 15, 750_000)
}

fn silence_ns(bits_per_second: u32, character_bits: u32, tenths: u64, fast: u64) -> Option<u64> {
    match bits_per_second {
        0 => None,
        1..=19_200 => Some(u64::from(character_bits) * tenths * 100_000_000 / u64::from(bits_per_second)),
        _ => Some(fast),
    }
}
