//! One register of a map, and how its words become a number.

use super::Function;
use crate::reading::Raw;
use stream::Reason;

/// A number in one to four registers, or a single bit.
#[derive(Clone, Debug, PartialEq)]
pub struct Register {
    /// The reading's name.
    pub name: String,
    /// Function that reads it: 1 or 2 for [`RegisterKind::Bit`], else 3 or 4.
    pub function: Function,
    /// Address, zero-based as in the frame: "register 40108" of a manual is usually address 107.
    pub address: u16,
    /// What the bits are.
    pub kind: RegisterKind,
    /// Which of several registers is the higher; of no account for one.
    pub word_order: WordOrder,
    /// Which byte of each register comes first.
    pub byte_order: ByteOrder,
    /// The only bits that count, of an unsigned kind.
    pub bits: Option<Bits>,
    /// value = raw · scale + offset.
    pub scale: f64,
    /// See scale.
    pub offset: f64,
    /// Unit of the value.
    pub unit: Option<String>,
    /// Raw bit patterns (after `bits` is applied) that stand for no number, and for what reason.
    pub nothing: Vec<(u64, Reason)>,
}

/// What the bits of a register are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegisterKind {
    /// Unsigned, one register.
    U16,
    /// Two's complement, one register.
    I16,
    /// Unsigned, two registers.
    U32,
    /// Two's complement, two registers.
    I32,
    /// IEEE 754 single, two registers.
    F32,
    /// IEEE 754 double, four registers.
    F64,
    /// A coil or discrete input: 0 or 1.
    Bit,
}

/// Which of several registers holds the highest part. The standard leaves it open (common practice, no source: both
/// occur).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WordOrder {
    /// The first.
    HighFirst,
    /// The last.
    LowFirst,
}

/// Which byte of a register comes first. The standard says the higher one (V1.1b3, 4.2, from memory); devices that send
/// the lower one first occur (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ByteOrder {
    /// The higher byte, as the standard says.
    HighFirst,
    /// The lower byte.
    LowFirst,
}

/// Part of a register: `count` bits from bit `first` on, bit 0 being the lowest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bits {
    /// The lowest bit.
    pub first: u8,
    /// How many.
    pub count: u8,
}

/// Why a value cannot be put into a register.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ValueError {
    /// Outside what the bits hold, or not finite.
    #[error("register `{name}`: {value} does not fit {kind} with scale {scale} and offset {offset}")]
    Range {
        /// Register.
        name: String,
        /// Value.
        value: f64,
        /// Kind.
        kind: RegisterKind,
        /// Scale.
        scale: f64,
        /// Offset.
        offset: f64,
    },
    /// The value's bits stand for no number in this register.
    #[error("register `{name}`: {value} would be sent as {raw:#x}, which stands for `{}` there", reason.word())]
    Taken {
        /// Register.
        name: String,
        /// Value.
        value: f64,
        /// Bits.
        raw: u64,
        /// What they stand for.
        reason: Reason,
    },
    /// No bits stand for this reason.
    #[error("register `{name}` has no value that stands for `{}`", reason.word())]
    Reason {
        /// Register.
        name: String,
        /// Reason asked for.
        reason: Reason,
    },
}

/// The word for it in instrument files.
impl std::fmt::Display for RegisterKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::U16 => "u16",
            Self::I16 => "i16",
            Self::U32 => "u32",
            Self::I32 => "i32",
            Self::F32 => "f32",
            Self::F64 => "f64",
            Self::Bit => "bit",
        })
    }
}

impl RegisterKind {
    /// Registers it takes; of a bit: addresses.
    pub fn words(self) -> u16 {
        match self {
            Self::U16 | Self::I16 | Self::Bit => 1,
            Self::U32 | Self::I32 | Self::F32 => 2,
            Self::F64 => 4,
        }
    }

    /// Bits it holds.
    pub(super) fn width(self) -> u8 {
        match self {
            Self::Bit => 1,
            kind => 16 * kind.words() as u8,
        }
    }
}

impl Bits {
    fn mask(self) -> u64 {
        u64::MAX.checked_shr(64u32.saturating_sub(u32::from(self.count))).unwrap_or(0)
    }

    fn of(self, raw: u64) -> u64 {
        raw.checked_shr(u32::from(self.first)).unwrap_or(0) & self.mask()
    }
}

impl Register {
    /// A register as most are: high word and high byte first, scale 1, offset 0, no unit, every bit pattern a number.
    pub fn new(name: impl Into<String>, function: Function, address: u16, kind: RegisterKind) -> Register {
        Register {
            name: name.into(),
            function,
            address,
            kind,
            word_order: WordOrder::HighFirst,
            byte_order: ByteOrder::HighFirst,
            bits: None,
            scale: 1.0,
            offset: 0.0,
            unit: None,
            nothing: Vec::new(),
        }
    }

    /// Last address, if it does not lie past 65535.
    pub(super) fn last(&self) -> Option<u16> {
        self.address.checked_add(self.kind.words() - 1)
    }

    /// The reading in an answer's data bytes, `at` addresses behind the first; `None` where they end too early.
    #[inline]
    pub(super) fn read(&self, data: &[u8], at: u16) -> Option<Raw> {
        let raw = match self.kind {
            RegisterKind::Bit => u64::from(data.get(usize::from(at / 8))? >> (at % 8) & 1),
            _ => self.gather(data.get(usize::from(at) * 2..)?)?,
        };
        let raw = self.bits.map_or(raw, |b| b.of(raw));
        if let Some((_, reason)) = self.nothing.iter().find(|n| n.0 == raw) {
            return Some(Raw::Nothing(*reason));
        }
        let number = match self.kind {
            RegisterKind::U16 | RegisterKind::U32 | RegisterKind::Bit => f64::from(raw as u32),
            RegisterKind::I16 => f64::from(raw as u16 as i16),
            RegisterKind::I32 => f64::from(raw as u32 as i32),
            RegisterKind::F32 => f64::from(f32::from_bits(raw as u32)),
            RegisterKind::F64 => f64::from_bits(raw),
        };
        Some(Raw::finite(number * self.scale + self.offset))
    }

    /// The register's bits, lowest last, whatever order they came in.
    #[inline]
    fn gather(&self, data: &[u8]) -> Option<u64> {
        let word = |a: u8, b: u8| match self.byte_order {
            ByteOrder::HighFirst => u64::from(u16::from_be_bytes([a, b])),
            ByteOrder::LowFirst => u64::from(u16::from_le_bytes([a, b])),
        };
        Some(match (self.kind.words(), data) {
            (1, [a, b, ..]) => word(*a, *b),
            (2, [a, b, c, d, ..]) => match self.word_order {
                WordOrder::HighFirst => word(*a, *b) << 16 | word(*c, *d),
                WordOrder::LowFirst => word(*c, *d) << 16 | word(*a, *b),
            },
            (4, [a, b, c, d, e, f, g, h, ..]) => match self.word_order {
                WordOrder::HighFirst => word(*a, *b) << 48 | word(*c, *d) << 32 | word(*e, *f) << 16 | word(*g, *h),
                WordOrder::LowFirst => word(*g, *h) << 48 | word(*e, *f) << 32 | word(*c, *d) << 16 | word(*a, *b),
            },
            _ => return None,
        })
    }

    /// The words that stand for a reading, first register first, and how many: what a device holds; of a bit one word
    /// that is 0 or 1. Integers are rounded to the nearest, halves away from zero; bits outside `bits` are 0.
    ///
    /// # Errors
    /// A value outside what the register holds, or a reason that it has no word for.
    pub fn words(&self, reading: Raw) -> Result<([u16; 4], u16), ValueError> {
        let raw = match reading {
            Raw::Number(value) => self.raw(value)?,
            Raw::Nothing(reason) => match self.nothing.iter().find(|n| n.1 == reason) {
                Some((raw, _)) => *raw,
                None => return Err(ValueError::Reason { name: self.name.clone(), reason }),
            },
        };
        let raw = self.bits.map_or(raw, |b| raw << b.first);
        let count = self.kind.words();
        let mut words = [0; 4];
        for (i, word) in (0..count).zip(&mut words) {
            let up = if self.word_order == WordOrder::HighFirst { count - 1 - i } else { i };
            let value = (raw >> (16 * up)) as u16;
            *word = if self.byte_order == ByteOrder::HighFirst { value } else { value.swap_bytes() };
        }
        Ok((words, count))
    }

    fn raw(&self, value: f64) -> Result<u64, ValueError> {
        let x = (value - self.offset) / self.scale;
        let n = x.round();
        let inside = |low: f64, high: f64| n >= low && n <= high;
        let raw = match (self.kind, self.bits) {
            (RegisterKind::U16 | RegisterKind::U32, Some(b)) if inside(0.0, b.mask() as f64) => n as u64,
            (RegisterKind::Bit, _) if inside(0.0, 1.0) => n as u64,
            (RegisterKind::U16, None) if inside(0.0, 65_535.0) => n as u64,
            (RegisterKind::I16, None) if inside(-32_768.0, 32_767.0) => u64::from(n as i16 as u16),
            (RegisterKind::U32, None) if inside(0.0, f64::from(u32::MAX)) => n as u64,
            (RegisterKind::I32, None) if inside(f64::from(i32::MIN), f64::from(i32::MAX)) => u64::from(n as i32 as u32),
            (RegisterKind::F32, None) if (x as f32).is_finite() => u64::from((x as f32).to_bits()),
            (RegisterKind::F64, None) if x.is_finite() => x.to_bits(),
            (kind, _) => {
                let (name, scale, offset) = (self.name.clone(), self.scale, self.offset);
                return Err(ValueError::Range { name, value, kind, scale, offset });
            }
        };
        match self.nothing.iter().find(|n| n.0 == raw) {
            Some((_, reason)) => Err(ValueError::Taken { name: self.name.clone(), value, raw, reason: *reason }),
            None => Ok(raw),
        }
    }
}
