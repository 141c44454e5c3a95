//! Checks a parsed database and compiles it.

use super::database::{CanDatabase, Detail, IdTable, Message, Multiplexor, Note};
use super::dbc::{At, DbcFault, Parsed, written};
use super::frame::CanFrame;
use super::signal::{Bits, Place, Signal};
use crate::reading::ReadingInfo;
use can_dbc::{ByteOrder, MultiplexIndicator, SignalExtendedValueType, ValueType};

/// The pseudo-message that holds signals of no message (common practice, no source).
const NO_MESSAGE: u64 = 0xC000_0000;

type Fault = (At, DbcFault);

/// A signal that passed its own checks.
struct Checked<'a> {
    at: At,
    dbc: &'a can_dbc::Signal,
    place: Place,
    bits: Bits,
    group: Option<u64>,
}

pub(super) fn database(parsed: &Parsed) -> Result<CanDatabase, Fault> {
    check_value_types(parsed)?;
    let mut db = CanDatabase {
        messages: Vec::new(),
        names: Vec::new(),
        signals: Vec::new(),
        details: Vec::new(),
        readings: Vec::new(),
        ids: IdTable::new(&[]),
        notes: Vec::new(),
    };
    for index in 0..parsed.dbc.messages.len() {
        add_message(&mut db, parsed, index)?;
    }
    if db.messages.is_empty() && db.notes.is_empty() {
        return Err((At { line: 1, column: 1 }, DbcFault::Empty));
    }
    db.ids = IdTable::new(&db.messages.iter().map(|m| m.id).collect::<Vec<_>>());
    Ok(db)
}

fn add_message(db: &mut CanDatabase, parsed: &Parsed, index: usize) -> Result<(), Fault> {
    let (dbc, place) = (&parsed.dbc.messages[index], &parsed.places.messages[index]);
    let name = || dbc.name.clone();
    let note = |what: &str| Note { line: place.at.line, message: name(), what: what.to_owned() };
    if place.id == NO_MESSAGE {
        db.notes.push(note("it is no message but a collection of signals without one: left out"));
        return Ok(());
    }
    let id = check_head(parsed, index)?;
    if let Some(signal) = extended_multiplexing(parsed, index) {
        let what = format!("signal `{signal}` uses extended multiplexing, which is not decoded yet: message left out");
        db.notes.push(note(&what));
        return Ok(());
    }
    let mut signals = Vec::with_capacity(dbc.signals.len());
    for (signal, at) in dbc.signals.iter().zip(&place.signals) {
        signals.push(check_signal(parsed, index, signal, *at)?);
    }
    check_together(dbc, &signals)?;
    // Those that are always there first, then by multiplexor value; the file's order within each.
    signals.sort_by_key(|s| s.group);
    let first = u16::try_from(db.signals.len()).map_err(|_| (place.at, DbcFault::TooMany))?;
    let needed = signals.iter().map(|s| s.place.bytes().1 + 1).max().unwrap_or(0);
    let short = dbc.size <= 8;
    let mut message =
        Message { id, length: dbc.size as u8, needed: needed as u8, first, always: first, multiplexor: None };
    for s in &signals {
        let at = u16::try_from(db.signals.len()).ok().filter(|n| *n < u16::MAX).ok_or((s.at, DbcFault::TooMany))?;
        group(&mut message, s, at);
        db.signals.push(Signal::new(s.place, s.bits, s.dbc.factor, s.dbc.offset, short));
        let unit = Some(s.dbc.unit.clone()).filter(|u| !u.is_empty());
        db.readings.push(ReadingInfo { name: format!("{}.{}", dbc.name, s.dbc.name), unit });
        db.details.push(Detail { name: s.dbc.name.clone(), place: s.place, group: s.group });
    }
    db.messages.push(message);
    db.names.push(dbc.name.clone());
    Ok(())
}

/// Enters a signal at reading index `at` where its message looks for it. The multiplexor comes before its signals.
fn group(message: &mut Message, s: &Checked<'_>, at: u16) {
    if s.dbc.multiplexer_indicator == MultiplexIndicator::Multiplexor {
        message.multiplexor = Some(Multiplexor { selector: at, groups: Vec::new() });
    }
    match (s.group, &mut message.multiplexor) {
        (Some(value), Some(m)) => match m.groups.last_mut() {
            Some(last) if last.0 == value => last.2 = at + 1,
            _ => m.groups.push((value, at, at + 1)),
        },
        _ => message.always = at + 1,
    }
}

/// Checks name, identifier and length of a message; gives the identifier with its flag.
fn check_head(parsed: &Parsed, index: usize) -> Result<u32, Fault> {
    let (dbc, place) = (&parsed.dbc.messages[index], &parsed.places.messages[index]);
    let message = dbc.name.clone();
    let extended = u64::from(CanFrame::EXTENDED);
    let fits = place.id < 2048 || (place.id & extended != 0 && place.id <= extended + u64::from(CanFrame::ID_MASK));
    let Some(id) = u32::try_from(place.id).ok().filter(|_| fits) else {
        return Err((place.at, DbcFault::Id { message, id: place.id }));
    };
    let before = || parsed.places.messages[..index].iter().zip(&parsed.dbc.messages);
    if let Some((p, other)) = before().find(|(p, _)| p.id == place.id) {
        let (other, other_line) = (other.name.clone(), p.at.line);
        return Err((place.at, DbcFault::DuplicateId { message, id: place.id, other, other_line }));
    }
    if let Some((p, _)) = before().find(|(_, m)| m.name == message) {
        return Err((place.at, DbcFault::DuplicateMessage { message, other_line: p.at.line }));
    }
    if dbc.size > 64 {
        return Err((place.at, DbcFault::MessageLength { message, length: dbc.size }));
    }
    Ok(id)
}

/// The first signal of a message that is multiplexed in more than the simple way.
fn extended_multiplexing(parsed: &Parsed, index: usize) -> Option<&str> {
    let dbc = &parsed.dbc.messages[index];
    let own = dbc
        .signals
        .iter()
        .find(|s| matches!(s.multiplexer_indicator, MultiplexIndicator::MultiplexorAndMultiplexedSignal(_)));
    let listed = || {
        parsed.dbc.extended_multiplex.iter().filter(|x| x.message_id == dbc.id).find(|x| {
            let simple = dbc.signals.iter().find(|s| s.name == x.signal_name).map(|s| s.multiplexer_indicator);
            !matches!((simple, x.mappings.as_slice()), (Some(MultiplexIndicator::MultiplexedSignal(v)), [only])
                if only.min_value == v && only.max_value == v)
        })
    };
    own.map(|s| s.name.as_str()).or_else(|| listed().map(|x| x.signal_name.as_str()))
}

fn check_signal<'a>(parsed: &'a Parsed, index: usize, dbc: &'a can_dbc::Signal, at: At) -> Result<Checked<'a>, Fault> {
    let of = &parsed.dbc.messages[index];
    let (message, signal) = (of.name.clone(), dbc.name.clone());
    if !(1..=64).contains(&dbc.size) {
        return Err((at, DbcFault::Size { message, signal, size: dbc.size }));
    }
    let big_endian = dbc.byte_order == ByteOrder::BigEndian;
    let reaches = last_byte(dbc.start_bit, dbc.size, big_endian) + 1;
    if reaches > of.size {
        let (start, size, order, length) = (dbc.start_bit, dbc.size, u8::from(!big_endian), of.size);
        return Err((at, DbcFault::Outside { message, signal, start, size, order, reaches, length }));
    }
    // Inside at most 64 bytes from here on.
    let place = Place { start: dbc.start_bit as u16, size: dbc.size as u16, big_endian };
    let listed = parsed.dbc.extended_value_type_for_signal(of.id, &dbc.name);
    let bits = match (listed, dbc.value_type) {
        (Some(SignalExtendedValueType::IEEEfloat32Bit), _) => Bits::Single,
        (Some(SignalExtendedValueType::IEEEdouble64bit), _) => Bits::Double,
        (_, ValueType::Unsigned) if dbc.size == 64 => Bits::Unsigned64,
        (_, ValueType::Unsigned) => Bits::Unsigned,
        (_, ValueType::Signed) => Bits::Signed,
    };
    let says = if bits == Bits::Single { 32 } else { 64 };
    if matches!(bits, Bits::Single | Bits::Double) && u64::from(says) != dbc.size {
        return Err((at, DbcFault::FloatSize { message, signal, says, size: dbc.size }));
    }
    let (scale, offset) = (dbc.factor, dbc.offset);
    if scale == 0.0 || !Signal::stays_finite(scale, offset) {
        return Err((at, DbcFault::Scale { message, signal, scale, offset }));
    }
    let group = match dbc.multiplexer_indicator {
        MultiplexIndicator::MultiplexedSignal(value) => Some(value),
        _ => None,
    };
    if dbc.multiplexer_indicator == MultiplexIndicator::Multiplexor && matches!(bits, Bits::Single | Bits::Double) {
        return Err((at, DbcFault::FloatMultiplexor { message, signal }));
    }
    Ok(Checked { at, dbc, place, bits, group })
}

/// The last byte that a signal reaches, from 0, wherever its start bit lies.
fn last_byte(start: u64, size: u64, big_endian: bool) -> u64 {
    let first = if big_endian { start / 8 * 8 + (7 - start % 8) } else { start };
    (first.saturating_add(size - 1) / 8).min(u64::MAX - 1)
}

/// Checks what the signals of a message must not do to one another.
fn check_together(dbc: &can_dbc::Message, signals: &[Checked<'_>]) -> Result<(), Fault> {
    let message = || dbc.name.clone();
    let mut multiplexor: Option<&Checked<'_>> = None;
    for (i, s) in signals.iter().enumerate() {
        let signal = || s.dbc.name.clone();
        if let Some(other) = signals[..i].iter().find(|o| o.dbc.name == s.dbc.name) {
            let fault = DbcFault::DuplicateSignal { message: message(), signal: signal(), other_line: other.at.line };
            return Err((s.at, fault));
        }
        if s.dbc.multiplexer_indicator == MultiplexIndicator::Multiplexor {
            if let Some(first) = multiplexor {
                let other = first.dbc.name.clone();
                return Err((s.at, DbcFault::TwoMultiplexors { message: message(), signal: signal(), other }));
            }
            multiplexor = Some(s);
        }
        let together = |o: &&Checked<'_>| s.group.is_none() || o.group.is_none() || s.group == o.group;
        for o in signals[..i].iter().filter(together) {
            if let Some(bit) = shared_bit(s.place, o.place) {
                let (other, other_line) = (o.dbc.name.clone(), o.at.line);
                let fault = DbcFault::Overlap { message: message(), signal: signal(), other, other_line, bit };
                return Err((s.at, fault));
            }
        }
    }
    for (s, value) in signals.iter().filter_map(|s| Some((s, s.group?))) {
        let signal = s.dbc.name.clone();
        let Some(m) = multiplexor else {
            return Err((s.at, DbcFault::NoMultiplexor { message: message(), signal, value }));
        };
        let size = m.dbc.size;
        let bits = if m.bits == Bits::Signed { size - 1 } else { size };
        if bits < 64 && value >> bits != 0 {
            let selector = m.dbc.name.clone();
            let fault = DbcFault::MultiplexorValue { message: message(), signal, value, selector, size };
            return Err((s.at, fault));
        }
    }
    Ok(())
}

fn shared_bit(a: Place, b: Place) -> Option<u16> {
    let mut taken = [0u64; 8];
    a.bits().for_each(|n| taken[usize::from(n / 64)] |= 1 << (n % 64));
    b.bits().filter(|n| taken[usize::from(n / 64)] >> (n % 64) & 1 == 1).min()
}

fn check_value_types(parsed: &Parsed) -> Result<(), Fault> {
    for (entry, at) in parsed.dbc.signal_extended_value_type_list.iter().zip(&parsed.places.value_types) {
        if parsed.dbc.signal_by_name(entry.message_id, &entry.signal_name).is_none() {
            let (signal, id) = (entry.signal_name.clone(), written(entry.message_id));
            return Err((*at, DbcFault::ValueType { signal, id }));
        }
    }
    Ok(())
}
