//! A register compiled for reading: the usual kinds without a look at what they are not.

use super::{ByteOrder, Function, Register, RegisterKind, WordOrder};
use crate::reading::Raw;
use stream::Reason;

/// A register of a map, as little as reading it takes.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) function: Function,
    pub(super) address: u16,
    /// Its index in the map.
    pub(super) index: u16,
    fast: Option<Fast>,
    scale: f64,
    offset: f64,
    nothing: Option<(u32, Reason)>,
}

/// Kinds in the standard's byte order, high word first, whole.
#[derive(Clone, Copy, Debug)]
enum Fast {
    U16,
    I16,
    U32,
    I32,
    F32,
}

impl Plan {
    /// Compiles a register that was checked.
    pub(super) fn new(index: u16, r: &Register) -> Plan {
        let usual = r.byte_order == ByteOrder::HighFirst && r.bits.is_none() && r.nothing.len() <= 1;
        let fast = match (r.kind, r.word_order) {
            _ if !usual => None,
            (RegisterKind::U16, _) => Some(Fast::U16),
            (RegisterKind::I16, _) => Some(Fast::I16),
            (RegisterKind::U32, WordOrder::HighFirst) => Some(Fast::U32),
            (RegisterKind::I32, WordOrder::HighFirst) => Some(Fast::I32),
            (RegisterKind::F32, WordOrder::HighFirst) => Some(Fast::F32),
            _ => None,
        };
        Plan {
            function: r.function,
            address: r.address,
            index,
            fast,
            scale: r.scale,
            offset: r.offset,
            nothing: r.nothing.first().map(|(raw, reason)| (*raw as u32, *reason)),
        }
    }

    /// The reading in an answer's data bytes, `at` addresses behind the first of so many; `None` where they end too
    /// early.
    #[inline]
    pub(super) fn read(&self, registers: &[Register], data: &[u8], at: u16, quantity: u16) -> Option<Raw> {
        let Some(fast) = self.fast else { return self.other(registers, data, at, quantity) };
        let data = data.get(usize::from(at) * 2..)?;
        let (raw, number) = match fast {
            Fast::U16 => {
                let raw = u16::from_be_bytes(*data.first_chunk()?);
                (u32::from(raw), f64::from(raw))
            }
            Fast::I16 => {
                let raw = u16::from_be_bytes(*data.first_chunk()?);
                (u32::from(raw), f64::from(raw as i16))
            }
            Fast::U32 => {
                let raw = u32::from_be_bytes(*data.first_chunk()?);
                (raw, f64::from(raw))
            }
            Fast::I32 => {
                let raw = u32::from_be_bytes(*data.first_chunk()?);
                (raw, f64::from(raw as i32))
            }
            Fast::F32 => {
                let raw = u32::from_be_bytes(*data.first_chunk()?);
                (raw, f64::from(f32::from_bits(raw)))
            }
        };
        match self.nothing {
            Some((nothing, reason)) if nothing == raw => Some(Raw::Nothing(reason)),
            _ => Some(Raw::finite(number * self.scale + self.offset)),
        }
    }

    fn other(&self, registers: &[Register], data: &[u8], at: u16, quantity: u16) -> Option<Raw> {
        let register = registers.get(usize::from(self.index))?;
        // An answer's last byte has room for more bits than were asked for: they are no readings.
        let inside = u32::from(at) + u32::from(register.kind.words()) <= u32::from(quantity);
        if inside { register.read(data, at) } else { None }
    }
}
