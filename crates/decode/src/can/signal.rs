//! One signal: where its bits are, and how they become a number.

use crate::reading::Raw;

/// What a signal's bits are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bits {
    /// Unsigned, fewer than 64 bits.
    Unsigned,
    Unsigned64,
    Signed,
    Single,
    Double,
}

/// Where a signal's bits are, as a DBC says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    /// Lowest bit (little-endian) or highest bit (big-endian); bit n is bit n mod 8 of byte n / 8.
    pub(super) start: u16,
    /// 1 to 64.
    pub(super) size: u16,
    /// Motorola order.
    pub(super) big_endian: bool,
}

impl Place {
    /// The bit numbers from the lowest to the highest bit of the value.
    pub(super) fn bits(self) -> impl Iterator<Item = u16> {
        // Big-endian bits are consecutive when counted from the highest bit of the first byte.
        let flip = |n: u16| n / 8 * 8 + (7 - n % 8);
        let first = if self.big_endian { flip(self.start) } else { self.start };
        (0..self.size).map(move |i| if self.big_endian { flip(first + (self.size - 1 - i)) } else { first + i })
    }

    /// The bytes from first to last that hold bits of it.
    pub(super) fn bytes(self) -> (u16, u16) {
        let flip = |n: u16| n / 8 * 8 + (7 - n % 8);
        let first = if self.big_endian { flip(self.start) } else { self.start };
        (first / 8, (first + self.size - 1) / 8)
    }
}

/// A signal compiled to a shift, a mask, a multiplication and an addition.
#[derive(Clone, Copy, Debug)]
pub(super) struct Signal {
    scale: f64,
    offset: f64,
    mask: u64,
    /// The sign bit; 0 where there is none. `(raw ^ sign) - sign` extends it without a branch.
    sign: u64,
    /// First byte of its window; 0 in messages of at most 8 bytes.
    base: u8,
    /// Bits below the value in its window, the window read in the signal's byte order.
    shift: u8,
    bits: Bits,
    big_endian: bool,
    /// Spread over nine bytes.
    wide: bool,
}

/// A long frame's data, padded so that every window lies inside.
pub(super) type Padded = [u8; 80];

impl Signal {
    /// Compiles a signal whose place was checked; `short`: its message has at most 8 bytes.
    pub(super) fn new(place: Place, bits: Bits, scale: f64, offset: f64, short: bool) -> Signal {
        let (first, last) = place.bytes();
        let base = if short { 0 } else { first };
        let wide = !short && last - first >= 8;
        let window = if wide { 128 } else { 64 };
        let shift = if place.big_endian {
            // Counted from the highest bit of the window.
            let above = place.start / 8 * 8 + (7 - place.start % 8) - base * 8;
            window - above - place.size
        } else {
            place.start - base * 8
        };
        let mask = u64::MAX >> (64 - place.size);
        let sign = if bits == Bits::Signed { 1 << (place.size - 1) } else { 0 };
        let (base, shift, big_endian) = (base as u8, shift as u8, place.big_endian);
        Signal { scale, offset, mask, sign, base, shift, bits, big_endian, wide }
    }

    /// The bits as an unsigned number, sign-extended where signed; from a frame of at most 8 bytes.
    #[inline(always)]
    pub(super) fn raw_short(&self, little: u64, big: u64) -> u64 {
        let window = if self.big_endian { big } else { little };
        self.extended(window >> self.shift)
    }

    #[inline(always)]
    fn extended(&self, shifted: u64) -> u64 {
        ((shifted & self.mask) ^ self.sign).wrapping_sub(self.sign)
    }

    /// The same from a longer frame.
    #[inline]
    pub(super) fn raw_long(&self, data: &Padded) -> u64 {
        let at = &data[usize::from(self.base)..];
        if self.wide {
            let Some(window) = at.first_chunk::<16>() else { return 0 };
            let word = if self.big_endian { u128::from_be_bytes(*window) } else { u128::from_le_bytes(*window) };
            return self.extended((word >> self.shift) as u64);
        }
        let Some(window) = at.first_chunk::<8>() else { return 0 };
        self.raw_short(u64::from_le_bytes(*window), u64::from_be_bytes(*window))
    }

    /// value = raw · scale + offset in double precision. The builder has checked that no integer overflows it.
    #[inline(always)]
    pub(super) fn reading(&self, raw: u64) -> Raw {
        let scaled = |x: f64| x * self.scale + self.offset;
        match self.bits {
            // The conversion from signed numbers is one instruction; below 64 bits it serves both.
            Bits::Unsigned | Bits::Signed => Raw::Number(scaled(raw as i64 as f64)),
            Bits::Unsigned64 => Raw::Number(scaled(raw as f64)),
            Bits::Single => Raw::finite(scaled(f64::from(f32::from_bits(raw as u32)))),
            Bits::Double => Raw::finite(scaled(f64::from_bits(raw))),
        }
    }

    /// The bits that stand for a value; integers rounded to the nearest, halves away from zero. `None` where the
    /// value does not fit.
    pub(super) fn raw_of(&self, value: f64, size: u16) -> Option<u64> {
        let x = (value - self.offset) / self.scale;
        let n = x.round();
        let span = 1u128.checked_shl(u32::from(size))? as f64;
        match self.bits {
            // At 64 bits the upper end is one step of double precision below the span.
            Bits::Unsigned | Bits::Unsigned64 => (n >= 0.0 && n < span).then_some(n as u64),
            Bits::Signed => (n >= -span / 2.0 && n < span / 2.0).then_some(n as i64 as u64),
            Bits::Single => (x as f32).is_finite().then_some(u64::from((x as f32).to_bits())),
            Bits::Double => x.is_finite().then_some(x.to_bits()),
        }
    }

    /// Whether the largest raw value still gives a finite number.
    pub(super) fn stays_finite(scale: f64, offset: f64) -> bool {
        scale.is_finite() && offset.is_finite() && (scale.abs() * (1u128 << 64) as f64 + offset.abs()).is_finite()
    }
}

/// Puts the lowest `place.size` bits of `raw` into the data. Bits past the data are dropped.
pub(super) fn put(data: &mut [u8], place: Place, raw: u64) {
    for (i, bit) in place.bits().enumerate() {
        let mask = 1u8 << (bit % 8);
        if let Some(byte) = data.get_mut(usize::from(bit / 8)) {
            *byte = if raw >> i & 1 == 1 { *byte | mask } else { *byte & !mask };
        }
    }
}
