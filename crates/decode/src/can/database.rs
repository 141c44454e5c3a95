//! A database compiled for decoding.

use super::frame::{CanFrame, FrameError};
use super::j1939::Groups;
use super::signal::{Code, Padded, Place, Signal};
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};
use std::fmt;

/// The messages and signals of one CAN bus, each message compiled once.
#[derive(Clone, Debug)]
pub struct CanDatabase {
    pub(super) messages: Vec<Message>,
    /// By message index.
    pub(super) names: Vec<String>,
    /// By reading index: the signals of a message stand together, first those it always has, then group by group.
    pub(super) signals: Vec<Signal>,
    /// The same order: what encoding and mapping need.
    pub(super) details: Vec<Detail>,
    pub(super) readings: Vec<ReadingInfo>,
    pub(super) ids: IdTable,
    /// For frames whose identifier is in no message.
    pub(super) groups: Groups,
    pub(super) notes: Vec<Note>,
}

/// Something in a database that is wrong, and what becomes of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// The file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// The message concerned; empty where it is none.
    pub message: String,
    /// The signal concerned, where it is only one.
    pub signal: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What becomes of it.
    pub outcome: Outcome,
}

/// What becomes of something that is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is as if it were not there.
    LeftOut,
    /// It is decoded and may not be mapped to a channel.
    NotMappable,
    /// Nothing: it is worth knowing.
    Told,
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let outcome = match self.outcome {
            Outcome::LeftOut => " (left out)",
            Outcome::NotMappable => " (cannot be mapped to a channel)",
            Outcome::Told => "",
        };
        write!(f, "{}:{}: {}{outcome}", self.file, self.line, self.what)
    }
}

#[derive(Clone, Debug)]
pub(super) struct Message {
    /// With [`CanFrame::EXTENDED`].
    pub(super) id: u32,
    /// Bytes by the database.
    pub(super) length: u8,
    /// Bytes that its signals reach.
    pub(super) needed: u8,
    pub(super) first: u16,
    /// End of the signals that it always has.
    pub(super) always: u16,
    /// End of all its signals.
    pub(super) end: u16,
    pub(super) selectors: Vec<Selector>,
}

/// A multiplexor: a signal that says which others are there.
#[derive(Clone, Debug)]
pub(super) struct Selector {
    /// Its reading index.
    pub(super) signal: u16,
    /// First value, last value, index of the group; by first value.
    pub(super) ranges: Vec<(u64, u64, u16)>,
    /// No value is in two ranges.
    pub(super) disjoint: bool,
    pub(super) groups: Vec<Group>,
}

/// Signals that are there together.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) first: u16,
    pub(super) end: u16,
    /// Multiplexors among them.
    pub(super) inner: Vec<Selector>,
}

#[derive(Clone, Debug)]
pub(super) struct Detail {
    pub(super) name: String,
    pub(super) place: Place,
    /// Reading index of its multiplexor, and the values under which it is there.
    pub(super) under: Option<(u16, Vec<(u64, u64)>)>,
    /// Raw values and their words.
    pub(super) words: Vec<(i64, String)>,
    /// Why it may not be mapped.
    pub(super) doubt: Option<String>,
}

/// Why a declaration of codes is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// A float has no codes.
    #[error("`{0}` is an IEEE 754 number: its \"not a number\" is no value already, raw codes are for integers")]
    Float(String),
    /// Cannot happen on the bus.
    #[error("`{signal}` cannot have the raw value {raw}: its bits hold {low} to {high}")]
    Outside {
        /// Signal.
        signal: String,
        /// Raw value.
        raw: i128,
        /// Lowest possible.
        low: i128,
        /// Highest possible.
        high: i128,
    },
    /// One value, two reasons.
    #[error("`{signal}`: raw value {raw} is declared twice, with two reasons")]
    Twice {
        /// Signal.
        signal: String,
        /// Raw value.
        raw: i128,
    },
    /// Not a reading.
    #[error("the database has no reading number {0}")]
    Unknown(u16),
}

impl CanDatabase {
    /// What the readings are called: `MESSAGE.SIGNAL`.
    pub fn readings(&self) -> &[ReadingInfo] {
        &self.readings
    }

    /// What is wrong in the database, and what became of it.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// Raw values of a reading that have a word (value tables).
    pub fn words(&self, reading: u16) -> &[(i64, String)] {
        self.details.get(usize::from(reading)).map_or(&[], |d| &d.words)
    }

    /// Why the reading of this name may not be mapped to a channel: it was left out, or shares bits with another.
    pub fn refusal(&self, name: &str) -> Option<String> {
        if let Some(at) = self.readings.iter().position(|r| r.name == name) {
            return self.details.get(at).and_then(|d| d.doubt.clone());
        }
        let (message, signal) = name.split_once('.')?;
        let about = |n: &&Note| n.message == message && n.signal.as_deref().is_none_or(|s| s == signal);
        let mut left_out = self.notes.iter().filter(|n| n.outcome == Outcome::LeftOut);
        left_out.find(about).map(|n| format!("{}:{}: {}", n.file, n.line, n.what))
    }

    /// Declares raw values of a reading that are no number, in place of any that it has.
    ///
    /// # Errors
    /// A reading that has none such, values that its bits cannot hold, one value with two reasons.
    pub fn declare(&mut self, reading: u16, codes: Vec<Code>) -> Result<(), CodeError> {
        let at = usize::from(reading);
        let (Some(signal), Some(info)) = (self.signals.get_mut(at), self.readings.get(at)) else {
            return Err(CodeError::Unknown(reading));
        };
        let name = || info.name.clone();
        let (low, high) = signal.raw_range().ok_or_else(|| CodeError::Float(name()))?;
        for (i, code) in codes.iter().enumerate() {
            for raw in [code.low, code.high] {
                if raw < low || raw > high {
                    return Err(CodeError::Outside { signal: name(), raw, low, high });
                }
            }
            let apart = |o: &Code| o.high < code.low || o.low > code.high || o.reason == code.reason;
            if codes[..i].iter().any(|o| !apart(o)) {
                return Err(CodeError::Twice { signal: name(), raw: code.low });
            }
        }
        signal.declare(codes);
        Ok(())
    }

    /// The messages: name, identifier with [`CanFrame::EXTENDED`] where it has 29 bits, data bytes.
    pub fn messages(&self) -> impl Iterator<Item = (&str, u32, u8)> {
        self.names.iter().zip(&self.messages).map(|(name, m)| (name.as_str(), m.id, m.length))
    }

    #[inline]
    pub(crate) fn decode_payload(&self, payload: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let frame = CanFrame::parse(payload).map_err(|e| match e {
            FrameError::TooShort(found) => Unfit::TooShort { needed: CanFrame::HEAD, found },
            FrameError::Length { said, found } => Unfit::FrameLength { said, found },
        })?;
        self.decode_frame(&frame, each)
    }

    /// Hands over every signal of a frame by its index into [`CanDatabase::readings`]. Where the multiplexor has a
    /// value that no signal is listed for, the signals that the message always has are all there is. Bytes past
    /// the message's own are not looked at.
    ///
    /// # Errors
    /// An id that is not in the database, a remote or error frame, a frame shorter than its signals.
    #[inline]
    pub fn decode_frame(&self, frame: &CanFrame<'_>, each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let index = self.ids.get(frame.id).or_else(|| self.groups.find(frame.id));
        let Some(message) = index.and_then(|m| self.messages.get(usize::from(m))) else {
            return Err(unmapped(frame).into());
        };
        if frame.data.len() < usize::from(message.needed) {
            let (id, found) = (frame.number(), frame.data.len());
            return Err(Unfit::FrameTooShort { id, needed: message.needed, found }.into());
        }
        if message.length <= 8 {
            let word = match frame.data.first_chunk::<8>() {
                Some(eight) => *eight,
                None => padded(frame.data),
            };
            let (little, big) = (u64::from_le_bytes(word), u64::from_be_bytes(word));
            self.each_signal(message, |signal| signal.raw_short(little, big), each);
        } else {
            let mut data: Padded = [0; 80];
            let length = frame.data.len().min(64);
            data[..length].copy_from_slice(&frame.data[..length]);
            self.each_signal(message, |signal| signal.raw_long(&data), each);
        }
        Ok(())
    }

    #[inline(always)]
    fn each_signal(&self, message: &Message, raw: impl Fn(&Signal) -> u64, each: &mut impl FnMut(u16, Raw)) {
        self.each_in(message.first, message.always, &raw, each);
        if !message.selectors.is_empty() {
            self.each_selected(&message.selectors, &raw, each);
        }
    }

    fn each_selected(&self, selectors: &[Selector], raw: &impl Fn(&Signal) -> u64, each: &mut impl FnMut(u16, Raw)) {
        for s in selectors {
            let Some(value) = self.signals.get(usize::from(s.signal)).map(raw) else { continue };
            let group = |g: u16| s.groups.get(usize::from(g));
            if s.disjoint {
                let after = s.ranges.partition_point(|r| r.0 <= value);
                let found = after.checked_sub(1).and_then(|at| s.ranges.get(at)).filter(|r| value <= r.1);
                found.and_then(|r| group(r.2)).into_iter().for_each(|g| self.each_of(g, raw, each));
            } else {
                let all = s.ranges.iter().filter(|r| r.0 <= value && value <= r.1);
                all.filter_map(|r| group(r.2)).for_each(|g| self.each_of(g, raw, each));
            }
        }
    }

    fn each_of(&self, group: &Group, raw: &impl Fn(&Signal) -> u64, each: &mut impl FnMut(u16, Raw)) {
        self.each_in(group.first, group.end, raw, each);
        if !group.inner.is_empty() {
            self.each_selected(&group.inner, raw, each);
        }
    }

    #[inline(always)]
    fn each_in(&self, first: u16, end: u16, raw: &impl Fn(&Signal) -> u64, each: &mut impl FnMut(u16, Raw)) {
        let signals = self.signals.get(usize::from(first)..usize::from(end)).unwrap_or_default();
        for (signal, index) in signals.iter().zip(first..) {
            each(index, signal.reading(raw(signal)));
        }
    }
}

#[inline]
fn padded(data: &[u8]) -> [u8; 8] {
    let mut word = [0; 8];
    let length = data.len().min(8);
    word[..length].copy_from_slice(&data[..length]);
    word
}

#[cold]
fn unmapped(frame: &CanFrame<'_>) -> Unmapped {
    if frame.id & CanFrame::ERROR != 0 {
        Unmapped::ErrorFrame
    } else if frame.id & CanFrame::REMOTE != 0 {
        Unmapped::RemoteFrame
    } else {
        Unmapped::CanId(frame.number())
    }
}

/// Message index by identifier: a table for 11 bits, open addressing for 29. Identifiers with a remote or error flag
/// are never found.
#[derive(Clone, Debug)]
pub(super) struct IdTable {
    standard: Vec<u16>,
    /// A power of two, at least twice as many as entries; probed one by one.
    extended: Vec<(u32, u16)>,
}

const NONE: u16 = u16::MAX;

impl IdTable {
    /// From identifiers in message order, each once.
    pub(super) fn new(ids: &[u32]) -> IdTable {
        let mut table = IdTable { standard: vec![NONE; 2048], extended: Vec::new() };
        table.extended = vec![(0, NONE); (ids.len() * 2).next_power_of_two().max(2)];
        for (&id, index) in ids.iter().zip(0u16..NONE) {
            if let Some(slot) = table.standard.get_mut(id as usize) {
                *slot = index;
                continue;
            }
            let mask = table.extended.len() - 1;
            let mut at = hash(id) & mask;
            while table.extended[at].1 != NONE {
                at = (at + 1) & mask;
            }
            table.extended[at] = (id, index);
        }
        table
    }

    #[inline]
    pub(super) fn get(&self, id: u32) -> Option<u16> {
        if let Some(index) = self.standard.get(id as usize) {
            return (*index != NONE).then_some(*index);
        }
        let mask = self.extended.len() - 1;
        let mut at = hash(id) & mask;
        loop {
            match self.extended.get(at) {
                Some((key, index)) if *index != NONE && *key == id => return Some(*index),
                Some((_, index)) if *index != NONE => at = (at + 1) & mask,
                _ => return None,
            }
        }
    }
}

/// Multiplicative hashing with the golden ratio: neighbouring identifiers land apart.
#[inline]
fn hash(id: u32) -> usize {
    (id.wrapping_mul(0x9E37_79B9) >> 16) as usize
}
