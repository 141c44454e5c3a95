//! ARINC 429: words of 32 bits, the first bit on the line in the least significant place.
//!
//! Bits are counted from 1 as the standard does: 1 to 8 label, 9 and 10 source/destination, 11 to 29 data, 30 and 31
//! sign/status, 32 odd parity. Source: ARINC 429 part 1 (from memory, where nothing else is said).

use crate::reading::Raw;
use stream::Reason;

/// Why a word cannot be read so.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum WordError {
    /// More bits than are there.
    #[error("{0} significant bits; beside the sign 1 to 18 fit: check the map")]
    Bits(u8),
    /// More digits than are there.
    #[error("{0} digits; 1 to 5 fit: check the map")]
    Digits(u8),
    /// A digit above 9.
    #[error("digit {place} (from the left) is {digit}: the word is no decimal number, or the map has too many digits")]
    Digit {
        /// Counted from 1.
        place: u8,
        /// 10 to 15.
        digit: u8,
    },
}

/// One word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word(pub u32);

/// Most significant bits beside the sign: bits 11 to 28.
const MOST_BITS: u8 = 18;

impl Word {
    /// The label: the number its three octal digits write.
    ///
    /// The label goes out most significant bit first, so it stands reversed in the low byte of the word. Some
    /// interfaces turn it round themselves; their words must be turned back before.
    ///
    /// ```
    /// use decode::arinc429::Word;
    /// assert_eq!(Word(0x0000_00C1).label(), 0o203);
    /// ```
    pub fn label(self) -> u8 {
        (self.0 as u8).reverse_bits()
    }

    /// Source/destination identifier, 0 to 3.
    pub fn source_destination(self) -> u8 {
        (self.0 >> 8 & 3) as u8
    }

    /// Sign/status matrix, 0 to 3: bit 31 and bit 30.
    pub fn sign_status(self) -> u8 {
        (self.0 >> 29 & 3) as u8
    }

    /// Whether the number of ones is odd, as it must be.
    pub fn parity_fits(self) -> bool {
        self.0.count_ones() % 2 == 1
    }

    /// The number of a binary (BNR) word.
    ///
    /// ```text
    /// value = n * range/2^bits,  n in two's complement: bit 29 the sign, then `bits` bits from bit 28 down
    /// sign/status 3 normal | 2 functional test, 1 no computed data: not available | 0 failure warning: error
    /// ```
    /// * Units: those of `range`. Range: 1 to 18 significant bits, the sign not among them.
    ///
    /// # Errors
    /// Another number of bits.
    ///
    /// ```
    /// use decode::arinc429::Word;
    /// // 1 from bit 18 up: one step of 32 over 2^11, normal operation.
    /// assert_eq!(Word(3 << 29 | 1 << 17).binary(32.0, 11)?.number(), Some(0.015625));
    /// # Ok::<(), decode::arinc429::WordError>(())
    /// ```
    pub fn binary(self, range: f64, bits: u8) -> Result<Raw, WordError> {
        let step = resolution(range, bits)?;
        // Sign to the top, then back down with copies of it.
        let n = ((self.0 << 3) as i32) >> (31 - u32::from(bits));
        Ok(match self.sign_status() {
            0 => Raw::Nothing(Reason::ErrorCode),
            1 | 2 => Raw::Nothing(Reason::NotAvailable),
            _ => Raw::finite(f64::from(n) * step),
        })
    }

    /// The number of a decimal (BCD) word.
    ///
    /// ```text
    /// value = ± n * resolution,  digits from bit 29 down: the first of 3 bits, the others of 4
    /// sign/status 0 plus | 3 minus | 2 functional test, 1 no computed data: not available
    /// ```
    /// * Units: those of `resolution`, the worth of the last digit. Range: 1 to 5 digits.
    ///
    /// # Errors
    /// Another number of digits; in a word with a number, a digit above 9.
    ///
    /// ```
    /// use decode::arinc429::Word;
    /// let word = 2 << 26 | 5 << 22 | 7 << 18 | 8 << 14 | 6 << 10;
    /// assert_eq!(Word(3 << 29 | word).decimal(5, 0.5)?.number(), Some(-12893.0));
    /// # Ok::<(), decode::arinc429::WordError>(())
    /// ```
    pub fn decimal(self, digits: u8, resolution: f64) -> Result<Raw, WordError> {
        if !(1..=5).contains(&digits) {
            return Err(WordError::Digits(digits));
        }
        if matches!(self.sign_status(), 1 | 2) {
            return Ok(Raw::Nothing(Reason::NotAvailable));
        }
        let mut n = 0_u32;
        for place in 1..=digits {
            let digit = self.0 >> (30 - 4 * u32::from(place)) & if place == 1 { 7 } else { 15 };
            if digit > 9 {
                return Err(WordError::Digit { place, digit: digit as u8 });
            }
            n = 10 * n + digit;
        }
        let sign = if self.sign_status() == 3 { -1.0 } else { 1.0 };
        Ok(Raw::finite(sign * f64::from(n) * resolution))
    }
}

/// The label's byte as it stands in the word: its bits reversed.
///
/// * Range: any label, 0o000 to 0o377.
///
/// ```
/// assert_eq!(decode::arinc429::low_byte(0o310), 0x13);
/// ```
pub fn low_byte(label: u8) -> u8 {
    label.reverse_bits()
}

/// The worth of the last significant bit of a binary word. The resolutions that tables print are cut off: 0.015 for
/// 0.015 625.
///
/// ```text
/// resolution = range / 2^bits
/// ```
/// * Units: those of `range`. Range: 1 to 18 bits, the sign not among them.
///
/// # Errors
/// Another number of bits.
pub fn resolution(range: f64, bits: u8) -> Result<f64, WordError> {
    if !(1..=MOST_BITS).contains(&bits) {
        return Err(WordError::Bits(bits));
    }
    Ok(range / f64::from(1_u32 << bits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn binary_ends() {
        let normal = 3 << 29;
        let read = |word: u32, bits| Word(normal | word).binary(1024.0, bits).unwrap();
        // All data bits: one step below nothing; the sign alone: the lowest value; all but the sign: the highest.
        for bits in 1..=18 {
            let step = 1024.0 / f64::from(1_u32 << bits);
            assert_eq!(read(0x1FFF_FC00, bits), Raw::Number(-step), "{bits}");
            assert_eq!(read(1 << 28, bits), Raw::Number(-1024.0), "{bits}");
            assert_eq!(read(0x0FFF_FC00, bits), Raw::Number(1024.0 - step), "{bits}");
            // Label, source/destination and parity do not come in.
            assert_eq!(read(0x8000_03FF, bits), Raw::Number(0.0), "{bits}");
        }
        assert_eq!(Word(normal).binary(1.0, 0), Err(WordError::Bits(0)));
        assert_eq!(Word(normal).binary(1.0, 19), Err(WordError::Bits(19)));
    }

    #[test]
    fn status() {
        let binary = [0, 1, 2, 3].map(|s| Word(s << 29).binary(1.0, 8).unwrap());
        let nothing = Raw::Nothing;
        let (none, error) = (nothing(Reason::NotAvailable), nothing(Reason::ErrorCode));
        assert_eq!(binary, [error, none, none, Raw::Number(0.0)]);
        let decimal = [0, 1, 2, 3].map(|s| Word(s << 29 | 1 << 26).decimal(1, 1.0).unwrap());
        assert_eq!(decimal, [Raw::Number(1.0), none, none, Raw::Number(-1.0)]);
        assert!(Word(1).parity_fits() && !Word(3).parity_fits());
        assert_eq!(Word(0x0000_0200).source_destination(), 2);
    }

    #[test]
    fn no_decimal_number() {
        assert_eq!(Word(0xA << 22).decimal(2, 1.0), Err(WordError::Digit { place: 2, digit: 10 }));
        assert_eq!(Word(0xA << 22).decimal(1, 1.0), Ok(Raw::Number(0.0)));
        assert_eq!(Word(0).decimal(6, 1.0), Err(WordError::Digits(6)));
    }
}
