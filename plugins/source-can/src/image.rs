//! The kernel's image of a frame: `struct can_frame` (16 bytes) or `struct canfd_frame` (72 bytes).
//!
//! Source: linux/can.h (Linux 6.1): id u32 in the machine's byte order; length u8; in a canfd_frame flags u8, in a
//! can_frame nothing; two bytes of no meaning here; data from byte 8.

use decode::can::frame::CanFrame;

/// What an image shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Image<'a> {
    /// A data or remote frame.
    Frame(CanFrame<'a>),
    /// An error frame.
    Error { id: u32, data: [u8; 8] },
    /// No frame: a size or a length that none has.
    Malformed,
}

/// Reads an image.
pub(crate) fn read(image: &[u8]) -> Image<'_> {
    let [a, b, c, d, len, flags, _, _, data @ ..] = image else { return Image::Malformed };
    let id = u32::from_ne_bytes([*a, *b, *c, *d]);
    let said = data.get(..usize::from(*len));
    match (image.len(), said) {
        (libc::CAN_MTU, Some(_)) if id & libc::CAN_ERR_FLAG != 0 => {
            data.first_chunk().map_or(Image::Malformed, |data| Image::Error { id, data: *data })
        }
        (libc::CAN_MTU, Some(_)) if id & libc::CAN_RTR_FLAG != 0 => {
            Image::Frame(CanFrame { id, flags: 0, len: *len, interface: 0, data: &[] })
        }
        (libc::CAN_MTU, Some(data)) => Image::Frame(CanFrame::data(id, 0, data)),
        // There are no remote and no error frames in CAN FD.
        (libc::CANFD_MTU, Some(data)) if id & (libc::CAN_ERR_FLAG | libc::CAN_RTR_FLAG) == 0 => {
            Image::Frame(CanFrame::data(id, fd_flags(*flags), data))
        }
        _ => Image::Malformed,
    }
}

/// The kernel's flags of an FD frame in the payload's bits.
fn fd_flags(kernel: u8) -> u8 {
    let bit = |theirs: i32, ours: u8| if i32::from(kernel) & theirs != 0 { ours } else { 0 };
    CanFrame::FD | bit(libc::CANFD_BRS, CanFrame::RATE_SWITCH) | bit(libc::CANFD_ESI, CanFrame::ERROR_STATE)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn image(id: u32, length: u8, flags: u8, size: usize) -> Vec<u8> {
        let mut i = id.to_ne_bytes().to_vec();
        i.extend([length, flags, 0, 0]);
        i.extend((1u8..).take(size - 8));
        i
    }

    #[test]
    fn frames_by_size_and_length() {
        let bytes: Vec<u8> = (1u8..=64).collect();
        let frame = |id, flags, data| Image::Frame(CanFrame::data(id, flags, data));
        assert_eq!(read(&image(0x123, 3, 0, 16)), frame(0x123, 0, &bytes[..3]));
        assert_eq!(read(&image(0x123, 0, 0, 16)), frame(0x123, 0, &[]));
        assert_eq!(read(&image(0x9000_0123, 8, 0xFF, 16)), frame(0x9000_0123, 0, &bytes[..8]));
        assert_eq!(read(&image(0x123, 9, 0, 16)), Image::Malformed);
        assert_eq!(read(&image(0x123, 64, 0, 72)), frame(0x123, 1, &bytes));
        assert_eq!(read(&image(0x123, 12, 5, 72)), frame(0x123, 3, &bytes[..12]));
        assert_eq!(read(&image(0x123, 1, 6, 72)), frame(0x123, 5, &bytes[..1]));
        assert_eq!(read(&image(0x123, 65, 5, 72)), Image::Malformed);
        assert_eq!(read(&image(0x4000_0123, 4, 0, 72)), Image::Malformed);
        let data = bytes[..8].try_into().unwrap();
        assert_eq!(read(&image(0x2000_0040, 8, 0, 16)), Image::Error { id: 0x2000_0040, data });
        assert_eq!(read(&image(0x2000_0040, 8, 0, 72)), Image::Malformed);
    }

    #[test]
    fn a_remote_frame_has_a_length_and_no_data() {
        let expected = CanFrame { id: 0x4000_0123, flags: 0, len: 4, interface: 0, data: &[] };
        assert_eq!(read(&image(0x4000_0123, 4, 0, 16)), Image::Frame(expected));
    }

    /// Whatever is taken as a frame is written so that it parses again.
    #[test]
    fn every_frame_makes_a_sound_payload() {
        for size in [16, 72] {
            for id in [0x7FF, 0x9FFF_FFFF, 0x4000_0001, 0xC000_0001] {
                for len in 0..=255 {
                    if let Image::Frame(frame) = read(&image(id, len, 7, size)) {
                        assert_eq!(CanFrame::parse(&frame.payload()), Ok(frame));
                    }
                }
            }
        }
    }

    #[test]
    fn any_other_size_is_malformed() {
        let long = image(0x123, 0, 0, 100);
        for size in (0..=100).filter(|s| *s != 16 && *s != 72) {
            assert_eq!(read(&long[..size]), Image::Malformed, "{size} bytes");
        }
    }
}
