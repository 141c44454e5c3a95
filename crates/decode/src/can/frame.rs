//! The payload of a `RecordKind::CanFrame`. The layout is on disk: frozen.
//!
//! | offset | size | what |
//! |---|---|---|
//! | 0 | 4 | identifier, little-endian, with the flags of Linux' `can_id` (below) |
//! | 4 | 1 | flags: bit 0 = FD frame, bit 1 = bit rate switch, bit 2 = error state indicator; 0 for a classic frame |
//! | 5 | 1 | length: data bytes that follow; in a remote frame the bytes asked for, and none follow |
//! | 6 | 1 | index of the interface in a capture of several; else 0 |
//! | 7 | … | data |
//!
//! Flags of the identifier: extended (29 bits) 0x80000000, remote 0x40000000, error 0x20000000. Source: Linux kernel,
//! include/uapi/linux/can.h (from memory).

use stream::Payload;

/// One CAN frame: a view of a payload, or what a payload is written from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CanFrame<'a> {
    /// Identifier with the flags [`CanFrame::EXTENDED`], [`CanFrame::REMOTE`], [`CanFrame::ERROR`].
    pub id: u32,
    /// [`CanFrame::FD`], [`CanFrame::RATE_SWITCH`], [`CanFrame::ERROR_STATE`].
    pub flags: u8,
    /// Data bytes; in a remote frame those asked for.
    pub len: u8,
    /// Index of the interface in a capture of several; else 0.
    pub interface: u8,
    /// The data.
    pub data: &'a [u8],
}

/// Why bytes are no frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FrameError {
    /// Shorter than its head.
    #[error("{0} bytes, the head of a CAN frame has 7")]
    TooShort(usize),
    /// Length field and data disagree, or more data than such a frame can carry.
    #[error("the length field says {said}, {found} data bytes follow")]
    Length {
        /// Length field.
        said: u8,
        /// Data bytes.
        found: usize,
    },
}

impl<'a> CanFrame<'a> {
    /// Identifier of 29 bits.
    pub const EXTENDED: u32 = 0x8000_0000;
    /// Remote frame.
    pub const REMOTE: u32 = 0x4000_0000;
    /// Error frame.
    pub const ERROR: u32 = 0x2000_0000;
    /// The 29 bits of an identifier.
    pub const ID_MASK: u32 = 0x1FFF_FFFF;
    /// FD frame.
    pub const FD: u8 = 1;
    /// FD frame whose data went at the higher bit rate.
    pub const RATE_SWITCH: u8 = 2;
    /// FD frame whose sender is error-passive.
    pub const ERROR_STATE: u8 = 4;
    /// Bytes before the data.
    pub const HEAD: usize = 7;

    /// A data frame on interface 0; `flags` 0 for a classic frame. At most 64 data bytes are taken.
    pub fn data(id: u32, flags: u8, data: &'a [u8]) -> CanFrame<'a> {
        let data = &data[..data.len().min(64)];
        CanFrame { id, flags, len: data.len() as u8, interface: 0, data }
    }

    /// The identifier without flags.
    #[inline]
    pub fn number(&self) -> u32 {
        self.id & Self::ID_MASK
    }

    /// Whether the identifier has 29 bits.
    #[inline]
    pub fn is_extended(&self) -> bool {
        self.id & Self::EXTENDED != 0
    }

    /// Reads a payload.
    ///
    /// # Errors
    /// A payload shorter than its head, or whose length field and data disagree.
    #[inline]
    pub fn parse(payload: &'a [u8]) -> Result<CanFrame<'a>, FrameError> {
        let Some((&[a, b, c, d, flags, len, interface], data)) = payload.split_first_chunk::<7>() else {
            return Err(FrameError::TooShort(payload.len()));
        };
        let id = u32::from_le_bytes([a, b, c, d]);
        let longest = if flags & Self::FD != 0 { 64 } else { 8 };
        let follow = if id & Self::REMOTE != 0 { 0 } else { len };
        if data.len() != usize::from(follow) || len > longest {
            return Err(FrameError::Length { said: len, found: data.len() });
        }
        Ok(CanFrame { id, flags, len, interface, data })
    }

    /// Writes the payload. The data goes out as it is: a frame whose `len` disagrees does not parse again.
    #[inline]
    pub fn payload(&self) -> Payload {
        let [a, b, c, d] = self.id.to_le_bytes();
        let (flags, len, interface) = (self.flags, self.len, self.interface);
        // The most frequent frame by far: one copy of a size known beforehand.
        if let Ok(&[e, f, g, h, i, j, k, l]) = <&[u8; 8]>::try_from(self.data) {
            return Payload::from_slice(&[a, b, c, d, flags, len, interface, e, f, g, h, i, j, k, l]);
        }
        let mut p = Payload::from_slice(&[a, b, c, d, flags, len, interface]);
        p.extend_from_slice(self.data);
        p
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layout_is_frozen() {
        let eight = CanFrame { id: 0x123, flags: 0, len: 8, interface: 2, data: &[1, 2, 3, 4, 5, 6, 7, 8] };
        assert_eq!(eight.payload().as_slice(), [0x23, 1, 0, 0, 0, 8, 2, 1, 2, 3, 4, 5, 6, 7, 8]);
        let frame = CanFrame { id: 0x8CF0_0400, flags: 3, len: 2, interface: 1, data: &[0xAA, 0xBB] };
        assert_eq!(frame.payload().as_slice(), [0x00, 0x04, 0xF0, 0x8C, 3, 2, 1, 0xAA, 0xBB]);
        assert_eq!(CanFrame::parse(&frame.payload()), Ok(frame));
    }

    #[test]
    fn contradictions_are_refused() {
        assert_eq!(CanFrame::parse(&[0; 6]), Err(FrameError::TooShort(6)));
        assert_eq!(CanFrame::parse(&[0, 0, 0, 0, 0, 2, 0, 1]), Err(FrameError::Length { said: 2, found: 1 }));
        assert_eq!(
            CanFrame::parse(&[0, 0, 0, 0, 0, 9, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9]),
            Err(FrameError::Length { said: 9, found: 9 })
        );
        let remote = CanFrame { id: 0x4000_0123, flags: 0, len: 8, interface: 0, data: &[] };
        assert_eq!(CanFrame::parse(&remote.payload()), Ok(remote));
    }
}
