//! One signal: where its bits are, and how they become a number.

use crate::reading::Raw;
use stream::Reason;

/// How a signal's bits become a number. Factors and offsets are finite, no integer overflows.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value {
    /// Signed, or unsigned of fewer than 64 bits.
    Integer { scale: f64, offset: f64 },
    /// Unsigned of 64 bits.
    Unsigned64 { scale: f64, offset: f64 },
    /// An integer whose double-precision product and sum could lose digits that its offset lays bare.
    Exact { scale: i64, offset: i64, signed: bool },
    /// IEEE 754, 32 bits.
    Single { scale: f64, offset: f64 },
    /// IEEE 754, 64 bits.
    Double { scale: f64, offset: f64 },
    /// Some of the bit patterns are no number.
    Coded(Box<Coded>),
}

/// Bit patterns that are no number, and what the others are.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Coded {
    /// From, to (as the raw value is extended), why.
    pub(super) codes: Vec<Code>,
    pub(super) value: Value,
}

/// Raw values from `low` to `high` that mean no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    /// The first.
    pub low: i128,
    /// The last.
    pub high: i128,
    /// Why there is none.
    pub reason: Reason,
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
#[derive(Clone, Debug)]
pub(super) struct Signal {
    value: Value,
    mask: u64,
    /// The sign bit; 0 where there is none. `(raw ^ sign) - sign` extends it without a branch.
    sign: u64,
    /// First byte of its window; 0 in messages of at most 8 bytes.
    base: u8,
    /// Bits below the value in its window, the window read in the signal's byte order.
    shift: u8,
    big_endian: bool,
    /// Spread over nine bytes.
    wide: bool,
}

/// A long frame's data, padded so that every window lies inside.
pub(super) type Padded = [u8; 80];

impl Signal {
    /// Compiles a signal whose place was checked; `short`: its message has at most 8 bytes.
    pub(super) fn new(place: Place, signed: bool, value: Value, short: bool) -> Signal {
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
        let sign = if signed { 1 << (place.size - 1) } else { 0 };
        let (base, shift, big_endian) = (base as u8, shift as u8, place.big_endian);
        Signal { value, mask, sign, base, shift, big_endian, wide }
    }

    /// Replaces the bit patterns that are no number.
    pub(super) fn declare(&mut self, codes: Vec<Code>) {
        let value = match &self.value {
            Value::Coded(coded) => coded.value.clone(),
            plain => plain.clone(),
        };
        self.value = if codes.is_empty() { value } else { Value::Coded(Box::new(Coded { codes, value })) };
    }

    /// Raw values that its bits can hold; `None` for floats.
    pub(super) fn raw_range(&self) -> Option<(i128, i128)> {
        match self.number() {
            Value::Single { .. } | Value::Double { .. } => None,
            _ if self.sign != 0 => Some((-i128::from(self.sign), i128::from(self.sign) - 1)),
            _ => Some((0, i128::from(self.mask))),
        }
    }

    fn number(&self) -> &Value {
        match &self.value {
            Value::Coded(coded) => &coded.value,
            plain => plain,
        }
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

    /// The reading that the bits stand for.
    #[inline(always)]
    pub(super) fn reading(&self, raw: u64) -> Raw {
        match &self.value {
            // The conversion from signed numbers is one instruction; below 64 bits it serves both.
            Value::Integer { scale, offset } => Raw::Number(raw as i64 as f64 * scale + offset),
            other => self.unusual(other, raw),
        }
    }

    fn unusual(&self, value: &Value, raw: u64) -> Raw {
        match value {
            Value::Integer { scale, offset } => Raw::Number(raw as i64 as f64 * scale + offset),
            Value::Unsigned64 { scale, offset } => Raw::Number(raw as f64 * scale + offset),
            Value::Exact { scale, offset, signed } => {
                let raw = if *signed { i128::from(raw as i64) } else { i128::from(raw) };
                Raw::Number((raw * i128::from(*scale) + i128::from(*offset)) as f64)
            }
            Value::Single { scale, offset } => Raw::finite(f64::from(f32::from_bits(raw as u32)) * scale + offset),
            Value::Double { scale, offset } => Raw::finite(f64::from_bits(raw) * scale + offset),
            Value::Coded(coded) => {
                let number = if self.sign != 0 { i128::from(raw as i64) } else { i128::from(raw) };
                match coded.codes.iter().find(|c| (c.low..=c.high).contains(&number)) {
                    Some(code) => Raw::Nothing(code.reason),
                    None => self.unusual(&coded.value, raw),
                }
            }
        }
    }

    /// The bits that stand for a value; integers rounded to the nearest, halves away from zero. `None` where the
    /// value does not fit.
    pub(super) fn raw_of(&self, value: f64, size: u16) -> Option<u64> {
        let number = self.number();
        let (scale, offset) = number.line();
        let x = (value - offset) / scale;
        let n = x.round();
        let span = 1u128.checked_shl(u32::from(size))? as f64;
        match number {
            Value::Single { .. } => (x as f32).is_finite().then_some(u64::from((x as f32).to_bits())),
            Value::Double { .. } => x.is_finite().then_some(x.to_bits()),
            _ if self.sign != 0 => (n >= -span / 2.0 && n < span / 2.0).then_some(n as i64 as u64),
            // At 64 bits the upper end is one step of double precision below the span.
            _ => (n >= 0.0 && n < span).then_some(n as u64),
        }
    }

    /// Whether the largest raw value still gives a finite number.
    pub(super) fn stays_finite(scale: f64, offset: f64) -> bool {
        scale.is_finite() && offset.is_finite() && (scale.abs() * (1u128 << 64) as f64 + offset.abs()).is_finite()
    }
}

impl Value {
    pub(super) fn is_float(&self) -> bool {
        matches!(self, Value::Single { .. } | Value::Double { .. })
    }

    /// Scale and offset.
    fn line(&self) -> (f64, f64) {
        match self {
            Value::Integer { scale, offset }
            | Value::Unsigned64 { scale, offset }
            | Value::Single { scale, offset }
            | Value::Double { scale, offset } => (*scale, *offset),
            Value::Exact { scale, offset, .. } => (*scale as f64, *offset as f64),
            Value::Coded(coded) => coded.value.line(),
        }
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
