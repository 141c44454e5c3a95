//! One register of a map, and how its words become a number.

use super::Function;
use crate::reading::Raw;
use stream::Reason;

/// A number in one or two registers.
#[derive(Clone, Debug, PartialEq)]
pub struct Register {
    /// The reading's name.
    pub name: String,
    /// Function that reads it: 3 or 4.
    pub function: Function,
    /// Address, zero-based as in the frame: "register 40108" of a manual is usually address 107.
    pub address: u16,
    /// What the bits are.
    pub kind: RegisterKind,
    /// Which of two registers is the higher; of no account for one.
    pub word_order: WordOrder,
    /// value = raw · scale + offset.
    pub scale: f64,
    /// See scale.
    pub offset: f64,
    /// Unit of the value.
    pub unit: Option<String>,
    /// Raw bit patterns that stand for no number, and for what reason.
    pub nothing: Vec<(u32, Reason)>,
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
}

/// Which of two registers holds the higher half. The standard leaves it open (common practice, no source: both occur).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WordOrder {
    /// The first.
    HighFirst,
    /// The second.
    LowFirst,
}

/// Why a value cannot be put into a register.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ValueError {
    /// Outside what the bits hold, or not finite.
    #[error("register `{name}`: {value} does not fit {kind:?} with scale {scale} and offset {offset}")]
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
        raw: u32,
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

impl RegisterKind {
    /// Registers it takes.
    pub fn words(self) -> u16 {
        match self {
            Self::U16 | Self::I16 => 1,
            Self::U32 | Self::I32 | Self::F32 => 2,
        }
    }
}

impl Register {
    /// Last address, if it does not lie past 65535.
    pub(super) fn last(&self) -> Option<u16> {
        self.address.checked_add(self.kind.words() - 1)
    }

    /// The reading in the data bytes from this register's address on; `None` where they end too early.
    #[inline]
    pub(super) fn read(&self, data: &[u8]) -> Option<Raw> {
        let raw = match (self.kind.words(), data) {
            (1, [a, b, ..]) => u32::from(u16::from_be_bytes([*a, *b])),
            (2, [a, b, c, d, ..]) => match self.word_order {
                WordOrder::HighFirst => u32::from_be_bytes([*a, *b, *c, *d]),
                WordOrder::LowFirst => u32::from_be_bytes([*c, *d, *a, *b]),
            },
            _ => return None,
        };
        if let Some((_, reason)) = self.nothing.iter().find(|n| n.0 == raw) {
            return Some(Raw::Nothing(*reason));
        }
        let number = match self.kind {
            RegisterKind::U16 | RegisterKind::U32 => f64::from(raw),
            RegisterKind::I16 => f64::from(raw as u16 as i16),
            RegisterKind::I32 => f64::from(raw as i32),
            RegisterKind::F32 => f64::from(f32::from_bits(raw)),
        };
        Some(Raw::finite(number * self.scale + self.offset))
    }

    /// The words that stand for a reading, first register first: what a device holds. Integers are rounded to the
    /// nearest, halves away from zero. Only one word is meant where the kind takes one.
    ///
    /// # Errors
    /// A value outside what the register holds, or a reason that it has no word for.
    pub fn words(&self, reading: Raw) -> Result<([u16; 2], u16), ValueError> {
        let raw = match reading {
            Raw::Number(value) => self.raw(value)?,
            Raw::Nothing(reason) => match self.nothing.iter().find(|n| n.1 == reason) {
                Some((raw, _)) => *raw,
                None => return Err(ValueError::Reason { name: self.name.clone(), reason }),
            },
        };
        let (high, low) = ((raw >> 16) as u16, raw as u16);
        Ok(match (self.kind.words(), self.word_order) {
            (1, _) => ([low, 0], 1),
            (_, WordOrder::HighFirst) => ([high, low], 2),
            (_, WordOrder::LowFirst) => ([low, high], 2),
        })
    }

    fn raw(&self, value: f64) -> Result<u32, ValueError> {
        let x = (value - self.offset) / self.scale;
        let n = x.round();
        let inside = |low: f64, high: f64| n >= low && n <= high;
        let raw = match self.kind {
            RegisterKind::U16 if inside(0.0, 65_535.0) => n as u32,
            RegisterKind::I16 if inside(-32_768.0, 32_767.0) => u32::from(n as i16 as u16),
            RegisterKind::U32 if inside(0.0, f64::from(u32::MAX)) => n as u32,
            RegisterKind::I32 if inside(f64::from(i32::MIN), f64::from(i32::MAX)) => n as i32 as u32,
            RegisterKind::F32 if (x as f32).is_finite() => (x as f32).to_bits(),
            kind => {
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
