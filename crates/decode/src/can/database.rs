//! A database compiled for decoding.

use super::frame::{CanFrame, FrameError};
use super::signal::{Padded, Place, Signal};
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};

/// The messages and signals of one CAN bus, each message compiled once.
#[derive(Clone, Debug)]
pub struct CanDatabase {
    pub(super) messages: Vec<Message>,
    /// By message index.
    pub(super) names: Vec<String>,
    /// By reading index: the signals of a message stand together, first those it always has, then by multiplexor value.
    pub(super) signals: Vec<Signal>,
    /// The same order: what encoding needs.
    pub(super) details: Vec<Detail>,
    pub(super) readings: Vec<ReadingInfo>,
    pub(super) ids: IdTable,
    pub(super) notes: Vec<Note>,
}

/// Something in the database that is left out, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Line, from 1.
    pub line: usize,
    /// The message that is left out.
    pub message: String,
    /// Why.
    pub what: String,
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
    pub(super) multiplexor: Option<Multiplexor>,
}

#[derive(Clone, Debug)]
pub(super) struct Multiplexor {
    /// Reading index of the selecting signal.
    pub(super) selector: u16,
    /// Value, first signal, end; by value.
    pub(super) groups: Vec<(u64, u16, u16)>,
}

#[derive(Clone, Debug)]
pub(super) struct Detail {
    pub(super) name: String,
    pub(super) place: Place,
    pub(super) group: Option<u64>,
}

impl CanDatabase {
    /// What the readings are called: `MESSAGE.SIGNAL`.
    pub fn readings(&self) -> &[ReadingInfo] {
        &self.readings
    }

    /// What was left out of the database, and why.
    pub fn notes(&self) -> &[Note] {
        &self.notes
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
        let Some(message) = self.ids.get(frame.id).and_then(|m| self.messages.get(usize::from(m))) else {
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
        let Some(multiplexor) = &message.multiplexor else { return };
        let Some(selector) = self.signals.get(usize::from(multiplexor.selector)) else { return };
        let value = raw(selector);
        if let Ok(at) = multiplexor.groups.binary_search_by_key(&value, |g| g.0) {
            let (_, first, end) = multiplexor.groups[at];
            self.each_in(first, end, &raw, each);
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
