//! Each signal by itself, and which share bits.

use super::multiplexing::never_together;
use super::{Checked, Later, Notes};
use crate::can::database::Outcome;
use crate::can::dbc::{DbcFault, MessageText, Number, SignalText};
use crate::can::signal::{Place, Signal, Value};

/// Integers up to here are exact in double precision.
const EXACT: f64 = 9_007_199_254_740_992.0;

/// Checks a signal of a message that is called `name`.
pub(super) fn check(later: &Later<'_>, m: &MessageText, name: &str, s: &SignalText) -> Result<Checked, DbcFault> {
    let own = later.name(m.id, Some(&s.name), &s.name);
    let (message, signal) = (|| name.to_owned(), || own.to_owned());
    let twin = |o: &&SignalText| !std::ptr::eq(*o, s) && later.name(m.id, Some(&o.name), &o.name) == own;
    if let Some(other) = m.signals.iter().find(twin) {
        return Err(DbcFault::DuplicateSignal { message: message(), signal: signal(), other_line: other.at.line });
    }
    if !(1..=64).contains(&s.size) {
        return Err(DbcFault::Size { message: message(), signal: signal(), size: s.size });
    }
    let reaches = last_byte(s.start, s.size, s.big_endian) + 1;
    if reaches > m.length {
        let (start, size, order, length) = (s.start, s.size, u8::from(!s.big_endian), m.length);
        return Err(DbcFault::Outside { message: message(), signal: signal(), start, size, order, reaches, length });
    }
    let (scale, offset) = (s.scale.value, s.offset.value);
    if scale == 0.0 || !Signal::stays_finite(scale, offset) {
        return Err(DbcFault::Scale { message: message(), signal: signal(), scale, offset });
    }
    let value = match later.value_types.get(&(m.id, s.name.as_str())) {
        Some(1) if s.size == 32 => Value::Single { scale, offset },
        Some(2) if s.size == 64 => Value::Double { scale, offset },
        Some(kind @ (1 | 2)) => {
            let says = if *kind == 1 { 32 } else { 64 };
            return Err(DbcFault::FloatSize { message: message(), signal: signal(), says, size: s.size });
        }
        _ => integer(s.size, s.signed, s.scale, s.offset),
    };
    Ok(Checked {
        at: s.at,
        short_name: s.name.clone(),
        name: own.to_owned(),
        // Inside at most 64 bytes.
        place: Place { start: s.start as u16, size: s.size as u16, big_endian: s.big_endian },
        signed: s.signed && !value.is_float(),
        value,
        unit: s.unit.clone(),
        under: None,
        codes: Vec::new(),
        words: later.words.get(&(m.id, s.name.as_str())).map(|w| w.to_vec()).unwrap_or_default(),
        doubt: None,
    })
}

fn integer(size: u64, signed: bool, scale: Number, offset: Number) -> Value {
    let span = 1u128.checked_shl(size as u32).unwrap_or(0) as f64;
    let largest = scale.value.abs() * span + offset.value.abs();
    match (scale.integer, offset.integer) {
        (Some(scale), Some(offset)) if offset != 0 && largest > EXACT => Value::Exact { scale, offset, signed },
        _ if size == 64 && !signed => Value::Unsigned64 { scale: scale.value, offset: offset.value },
        _ => Value::Integer { scale: scale.value, offset: offset.value },
    }
}

/// The last byte that a signal reaches, from 0, wherever its start bit lies.
fn last_byte(start: u64, size: u64, big_endian: bool) -> u64 {
    let first = if big_endian { start / 8 * 8 + (7 - start % 8) } else { start };
    (first.saturating_add(size - 1) / 8).min(u64::MAX - 1)
}

/// Signals that share bits and may be in one frame: one of the two is wrong, and nobody here knows which.
pub(super) fn mark_overlaps(message: &str, signals: &mut [Checked], notes: &mut Notes<'_>) {
    let mut found = Vec::new();
    for (i, s) in signals.iter().enumerate() {
        for (j, o) in signals.iter().enumerate().take(i) {
            if let Some(bit) = shared_bit(s.place, o.place).filter(|_| !never_together(signals, i, j)) {
                found.push((i, j, bit));
            }
        }
    }
    for (i, j, bit) in found {
        let (name, other, other_line) = (signals[i].name.clone(), signals[j].name.clone(), signals[j].at.line);
        let fault = DbcFault::Overlap { message: message.to_owned(), signal: name, other, other_line, bit };
        notes.add(signals[i].at, message, Some(&signals[i].name), &fault, Outcome::NotMappable);
        for k in [i, j] {
            let (file, line) = (notes.file, signals[i].at.line);
            signals[k].doubt.get_or_insert_with(|| format!("{file}:{line}: {fault}"));
        }
    }
}

fn shared_bit(a: Place, b: Place) -> Option<u16> {
    let mut taken = [0u64; 8];
    a.bits().for_each(|n| taken[usize::from(n / 64)] |= 1 << (n % 64));
    b.bits().filter(|n| taken[usize::from(n / 64)] >> (n % 64) & 1 == 1).min()
}
