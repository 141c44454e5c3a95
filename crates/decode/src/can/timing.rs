//! How long a classic CAN frame is on the line.
//!
//! Frames per second follow with [`crate::line_rate::per_second`].

/// Length of the identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IdentifierBits {
    /// 11 bits.
    Standard,
    /// 29 bits.
    Extended,
}

impl IdentifierBits {
    /// Bits that stuffing covers beside the data: start, identifier, control, checksum.
    fn stuffed(self) -> u32 {
        match self {
            Self::Standard => 34,
            Self::Extended => 54,
        }
    }
}

/// Bits after those that stuffing covers: checksum delimiter, acknowledgement, end of frame, interframe space of 3.
const TAIL: u32 = 13;

/// Bits of a data frame without a single stuff bit, interframe space included.
///
/// ```text
/// g + 8 s + 13,  g = 34 (identifier of 11 bits) or 54 (29 bits)
/// ```
/// * Units: s data bytes; bit out.
/// * Range: 0 to 8 data bytes, a classic frame. Outside: `None`.
/// * Source: as [`worst_case_bits`].
///
/// ```
/// use decode::can::timing::{IdentifierBits, unstuffed_bits};
/// assert_eq!(unstuffed_bits(IdentifierBits::Extended, 8), Some(131));
/// ```
pub fn unstuffed_bits(identifier: IdentifierBits, data_bytes: u8) -> Option<u32> {
    (data_bytes <= 8).then(|| identifier.stuffed() + 8 * u32::from(data_bytes) + TAIL)
}

/// Bits of a data frame with the most stuff bits its content can bring, interframe space included.
///
/// ```text
/// g + 8 s + 13 + floor((g + 8 s - 1)/4)
/// ```
/// A stuff bit begins the next run of equal bits, so the divisor is 4 and not 5.
/// * Units, range, outside: as [`unstuffed_bits`].
/// * Source: R.I. Davis, A. Burns, R.J. Bril, J.J. Lukkien, Controller Area Network (CAN) schedulability analysis:
///   Refuted, revisited and revised, Real-Time Systems 35, 239-272 (2007) (from memory).
///
/// ```
/// use decode::can::timing::{IdentifierBits, worst_case_bits};
/// assert_eq!(worst_case_bits(IdentifierBits::Standard, 8), Some(135));
/// assert_eq!(worst_case_bits(IdentifierBits::Standard, 9), None);
/// ```
pub fn worst_case_bits(identifier: IdentifierBits, data_bytes: u8) -> Option<u32> {
    unstuffed_bits(identifier, data_bytes).map(|bits| bits + (bits - TAIL - 1) / 4)
}
