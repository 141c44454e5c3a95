//! SAE J1939: what the 29 bits of an identifier say, and parameters in the data.
//!
//! Source: SAE J1939-21 (identifier) and J1939-71 (ranges of a parameter), both from memory.

use super::CanFrame;
use super::signal::Code;
use crate::reading::Raw;
use stream::Reason;

/// Whose frames belong to a message of a database.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Senders {
    /// Frames with exactly the identifier that the database writes.
    #[default]
    AsWritten,
    /// Also frames of the same parameter group from any address. Two units that send one group are then one reading.
    Any,
    /// Also frames of the same parameter group from these addresses.
    These(Vec<u8>),
}

/// Messages by parameter group number, for frames whose identifier is in no message: priority and destination do not
/// matter, the sender's address only where the run lists some.
#[derive(Clone, Debug, Default)]
pub(super) struct Groups {
    /// By number.
    entries: Vec<(u32, u16, Senders)>,
}

impl Groups {
    pub(super) fn new(mut entries: Vec<(u32, u16, Senders)>) -> Groups {
        entries.sort_by_key(|e| e.0);
        Groups { entries }
    }

    /// The message of a frame, by [`CanFrame::id`].
    #[cold]
    pub(super) fn find(&self, id: u32) -> Option<u16> {
        if self.entries.is_empty() || id & !CanFrame::ID_MASK != CanFrame::EXTENDED {
            return None;
        }
        let id = Identifier::split(id & CanFrame::ID_MASK)?;
        let at = self.entries.binary_search_by_key(&id.pgn, |e| e.0).ok()?;
        let (_, message, senders) = self.entries.get(at)?;
        match senders {
            Senders::AsWritten => None,
            Senders::Any => Some(*message),
            Senders::These(list) => list.contains(&id.source).then_some(*message),
        }
    }
}

/// The raw values of an unsigned parameter that are no number.
///
/// ```text
/// 2 to 7 bits:    all ones: not available | one less: error
/// 8 bits or more: highest eight bits 0xFF: not available | 0xFE: error | 0xFB..0xFD: reserved, outside the range
/// ```
/// * Range: 2 to 64 bits. Outside: none, a single bit has both its values.
/// * Source: SAE J1939-71, ranges of 2, 8, 16 and 32 bits (from memory); other widths by the same rule (common
///   practice, no source).
pub fn codes(bits: u16) -> Vec<Code> {
    match bits {
        2..=7 => {
            let ones = (1_i128 << bits) - 1;
            vec![
                Code { low: ones, high: ones, reason: Reason::NotAvailable },
                Code { low: ones - 1, high: ones - 1, reason: Reason::ErrorCode },
            ]
        }
        8..=64 => {
            let under = |top: i128| top << (bits - 8);
            vec![
                Code { low: under(0xFF), high: under(0x100) - 1, reason: Reason::NotAvailable },
                Code { low: under(0xFE), high: under(0xFF) - 1, reason: Reason::ErrorCode },
                Code { low: under(0xFB), high: under(0xFE) - 1, reason: Reason::Range },
            ]
        }
        _ => Vec::new(),
    }
}

/// The parts of an identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identifier {
    /// 0 (first) to 7.
    pub priority: u8,
    /// Parameter group number, 18 bits.
    pub pgn: u32,
    /// Address the frame is for; [`Identifier::GLOBAL`] where it is for all.
    pub destination: u8,
    /// Address of the sender.
    pub source: u8,
}

impl Identifier {
    /// The destination of a frame that is for all.
    pub const GLOBAL: u8 = 255;
    /// PDU formats from here on are for all, and their second byte belongs to the parameter group number.
    const FIRST_BROADCAST: u32 = 240;

    /// Splits an identifier.
    ///
    /// ```text
    /// bits 28..26 priority | 25..24 data pages | 23..16 PDU format | 15..8 PDU specific | 7..0 source address
    /// PDU format < 240:  pgn = pages, format, 0         PDU specific is the destination
    /// PDU format >= 240: pgn = pages, format, specific  for all
    /// ```
    /// * Range: identifiers of 29 bits, without the flags of [`CanFrame::id`] (see [`CanFrame::number`]).
    /// * Outside: `None`.
    ///
    /// ```
    /// let id = decode::can::j1939::Identifier::split(0x18EA_FF21).unwrap();
    /// assert_eq!((id.priority, id.pgn, id.destination, id.source), (6, 0xEA00, 0xFF, 0x21));
    /// ```
    pub fn split(id: u32) -> Option<Identifier> {
        if id > CanFrame::ID_MASK {
            return None;
        }
        let [_, _, specific, source] = id.to_be_bytes();
        let group = id >> 8 & 0x3_FFFF;
        let for_all = (id >> 16 & 0xFF) >= Self::FIRST_BROADCAST;
        let (pgn, destination) = if for_all { (group, Self::GLOBAL) } else { (group & 0x3_FF00, specific) };
        Some(Identifier { priority: (id >> 26) as u8, pgn, destination, source })
    }
}

/// Where a parameter is in the data, and what a step of it is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Its first byte, counted from 1 as the standard does.
    pub first_byte: u8,
    /// 1, 2 or 4.
    pub bytes: u8,
    /// Worth of a step.
    pub resolution: f64,
    /// Added after scaling.
    pub offset: f64,
}

/// Why there is no such parameter in the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ParameterError {
    /// A length without ranges of its own.
    #[error("a parameter of {0} bytes; 1, 2 and 4 have ranges for error and not available: check the map")]
    Length(u8),
    /// Outside the data.
    #[error("bytes {first} to {last} (counted from 1) of a frame with {length} data bytes: check the map")]
    Outside {
        /// First byte.
        first: u8,
        /// Last byte.
        last: u16,
        /// Data bytes.
        length: usize,
    },
}

impl Parameter {
    /// Reads the parameter, least significant byte first.
    ///
    /// ```text
    /// value = raw * resolution + offset
    /// most significant byte 0xFF: not available | 0xFE: error | 0xFB..0xFD: reserved, outside the range | else a value
    /// ```
    /// * Units: the parameter's own.
    /// * Range: 1, 2 or 4 bytes inside the data.
    ///
    /// # Errors
    /// Another length, or bytes outside the data.
    ///
    /// ```
    /// let pressure = decode::can::j1939::Parameter { first_byte: 2, bytes: 1, resolution: 0.5, offset: 0.0 };
    /// assert_eq!(pressure.read(&[0, 0xC8])?.number(), Some(100.0));
    /// assert_eq!(pressure.read(&[0, 0xFF])?.number(), None);
    /// # Ok::<(), decode::can::j1939::ParameterError>(())
    /// ```
    pub fn read(&self, data: &[u8]) -> Result<Raw, ParameterError> {
        if !matches!(self.bytes, 1 | 2 | 4) {
            return Err(ParameterError::Length(self.bytes));
        }
        let end = usize::from(self.first_byte) + usize::from(self.bytes) - 1;
        let bytes = usize::from(self.first_byte).checked_sub(1).and_then(|start| data.get(start..end));
        let Some(bytes) = bytes else {
            let last = u16::from(self.first_byte) + u16::from(self.bytes) - 1;
            return Err(ParameterError::Outside { first: self.first_byte, last, length: data.len() });
        };
        let raw = bytes.iter().rev().fold(0_u32, |raw, b| raw << 8 | u32::from(*b));
        let code = codes(u16::from(self.bytes) * 8).into_iter().find(|c| (c.low..=c.high).contains(&i128::from(raw)));
        Ok(match code {
            Some(code) => Raw::Nothing(code.reason),
            None => Raw::finite(f64::from(raw) * self.resolution + self.offset),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_of_the_ranges() {
        for bytes in [1_u8, 2, 4] {
            let p = Parameter { first_byte: 1, bytes, resolution: 1.0, offset: 0.0 };
            let read = |top: u8, rest: u8| {
                let mut data = vec![rest; usize::from(bytes)];
                data[usize::from(bytes) - 1] = top;
                p.read(&data).unwrap()
            };
            let highest = u32::from_be_bytes([0xFA, 0xFF, 0xFF, 0xFF]) >> (32 - 8 * u32::from(bytes));
            assert_eq!(read(0xFA, 0xFF), Raw::Number(f64::from(highest)));
            for rest in [0, 0xFF] {
                let rest = |top: u8| if bytes == 1 { top } else { rest };
                assert_eq!(read(0xFB, rest(0xFB)), Raw::Nothing(Reason::Range));
                assert_eq!(read(0xFD, rest(0xFD)), Raw::Nothing(Reason::Range));
                assert_eq!(read(0xFE, rest(0xFE)), Raw::Nothing(Reason::ErrorCode));
                assert_eq!(read(0xFF, rest(0xFF)), Raw::Nothing(Reason::NotAvailable));
            }
        }
    }

    #[test]
    fn what_is_not_there_is_refused() {
        let at = |first_byte, bytes| Parameter { first_byte, bytes, resolution: 1.0, offset: 0.0 }.read(&[0; 8]);
        assert_eq!(at(1, 3), Err(ParameterError::Length(3)));
        assert_eq!(at(8, 2), Err(ParameterError::Outside { first: 8, last: 9, length: 8 }));
        assert_eq!(at(0, 1), Err(ParameterError::Outside { first: 0, last: 0, length: 8 }));
        assert_eq!(at(255, 4), Err(ParameterError::Outside { first: 255, last: 258, length: 8 }));
        assert_eq!(at(8, 1), Ok(Raw::Number(0.0)));
    }

    #[test]
    fn pages_and_flags() {
        let id = Identifier::split(0x1FFF_FFFF).unwrap();
        assert_eq!(id, Identifier { priority: 7, pgn: 0x3_FFFF, destination: 255, source: 255 });
        // The last format with a destination, on data page 1.
        let id = Identifier::split(0x01EF_1234).unwrap();
        assert_eq!(id, Identifier { priority: 0, pgn: 0x1_EF00, destination: 0x12, source: 0x34 });
        assert_eq!(Identifier::split(0x8CF0_0400), None);
    }
}
