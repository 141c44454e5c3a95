//! The identifiers that a run asks the kernel to let through, where it asks for that at all.

use decode::can::CanFrame;

/// Identifiers that are let through: those that agree with `id` in the bits of `mask`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Filter {
    /// As in a frame, with the flag for 29 bits.
    pub(crate) id: u32,
    /// The flag is always compared: 0x120 with 11 bits is not 0x120 with 29.
    pub(crate) mask: u32,
}

/// As many as the kernel takes (CAN_RAW_FILTER_MAX of linux/can/raw.h).
pub(crate) const MOST: usize = 512;

impl Filter {
    /// Reads `123` (three hexadecimal digits: 11 bits), `18FEF100` (eight: 29 bits), either with `/mask` behind it in
    /// as many digits.
    pub(crate) fn parse(text: &str) -> Result<Filter, String> {
        let (id, mask) = text.split_once('/').map_or((text, None), |(id, mask)| (id, Some(mask)));
        let (all, flag) = match id.len() {
            3 => (0x7FF, 0),
            8 => (CanFrame::ID_MASK, CanFrame::EXTENDED),
            _ => return Err(format!("{text:?} has neither three nor eight hexadecimal digits")),
        };
        let number = |t: &str| {
            let plain = t.len() == id.len() && t.bytes().all(|b| b.is_ascii_hexdigit());
            let number = plain.then(|| u32::from_str_radix(t, 16).ok()).flatten();
            number.filter(|n| n & !all == 0).ok_or_else(|| format!("{t:?} in {text:?} is no number up to {all:X}"))
        };
        let id = number(id)? | flag;
        let mask = mask.map_or(Ok(all), number)? | CanFrame::EXTENDED;
        Ok(Filter { id, mask })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identifiers_of_both_kinds() {
        let read = |t| Filter::parse(t).map(|f| (f.id, f.mask));
        assert_eq!(read("123"), Ok((0x123, 0x8000_07FF)));
        assert_eq!(read("00000123"), Ok((0x8000_0123, 0x9FFF_FFFF)));
        assert_eq!(read("18fef100/1FFFFF00"), Ok((0x98FE_F100, 0x9FFF_FF00)));
        assert_eq!(read("7FF/700"), Ok((0x7FF, 0x8000_0700)));
        for wrong in ["", "1234", "800", "+12", "20000000", "123/", "123/00000700", "12g", "123/800", "0x1"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}
