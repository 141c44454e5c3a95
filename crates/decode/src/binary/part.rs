//! One number in a frame.

use crate::reading::Raw;
use stream::Reason;

/// A number in a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The reading's name.
    pub name: String,
    /// Its first byte, from 0.
    pub byte: u16,
    /// What the bytes are.
    pub kind: NumberKind,
    /// Which byte comes first.
    pub order: Order,
    /// The only bits that count, of an unsigned kind: the lowest, and how many.
    pub bits: Option<(u8, u8)>,
    /// Read only from frames in which this byte is so.
    pub when: Option<When>,
    /// value = raw · scale + offset.
    pub scale: f64,
    /// See scale.
    pub offset: f64,
    /// Unit of the value.
    pub unit: Option<String>,
    /// Raw bit patterns (after `bits` is applied) that stand for no number, and for what reason.
    pub nothing: Vec<(u64, Reason)>,
}

/// A byte that tells kinds of frames apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct When {
    /// Which byte, from 0.
    pub byte: u16,
    /// What it must be.
    pub is: u8,
}

/// What the bytes of a number are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberKind {
    /// Unsigned, so many bytes: 1 to 8.
    Unsigned(u8),
    /// Two's complement, so many bytes: 1 to 8.
    Signed(u8),
    /// IEEE 754 single.
    F32,
    /// IEEE 754 double.
    F64,
}

/// Which byte of a number comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// The highest.
    HighFirst,
    /// The lowest.
    LowFirst,
}

impl Order {
    /// The number that up to eight bytes are.
    #[inline]
    pub(super) fn number(self, bytes: &[u8]) -> u64 {
        let add = |n: u64, b: &u8| n << 8 | u64::from(*b);
        match self {
            Order::HighFirst => bytes.iter().fold(0, add),
            Order::LowFirst => bytes.iter().rev().fold(0, add),
        }
    }
}

impl NumberKind {
    /// Bytes it takes.
    pub fn bytes(self) -> usize {
        match self {
            Self::Unsigned(n) | Self::Signed(n) => usize::from(n.clamp(1, 8)),
            Self::F32 => 4,
            Self::F64 => 8,
        }
    }
}

impl Part {
    /// The first byte behind it.
    pub(super) fn end(&self) -> usize {
        usize::from(self.byte) + self.kind.bytes()
    }

    /// Bits of its raw number.
    pub(super) fn width(&self) -> u32 {
        self.bits.map_or(8 * self.kind.bytes() as u32, |(_, count)| u32::from(count))
    }

    /// The reading in a frame that holds it.
    #[inline]
    pub(super) fn read(&self, bytes: &[u8]) -> Raw {
        let whole = self.order.number(bytes);
        let raw = match self.bits {
            Some((first, _)) => (whole >> first) & (u64::MAX >> (64 - self.width())),
            None => whole,
        };
        if let Some((_, reason)) = self.nothing.iter().find(|n| n.0 == raw) {
            return Raw::Nothing(*reason);
        }
        let number = match self.kind {
            NumberKind::Unsigned(_) => raw as f64,
            NumberKind::Signed(_) => {
                let unused = 64 - self.width();
                ((raw << unused) as i64 >> unused) as f64
            }
            NumberKind::F32 => f64::from(f32::from_bits(raw as u32)),
            NumberKind::F64 => f64::from_bits(raw),
        };
        Raw::finite(number * self.scale + self.offset)
    }
}
