//! How an entry lies in a block. The ids are frozen: an id that was shipped is never used for something else.
//!
//! ```text
//! entry   kind u8 · ordinal step · logged_at step (signed) · body
//! 1 record    source · record kind u8 · sequence · event time (signed, from logged_at) · bytes
//! 2 tick      (nothing)
//! 3 gap       source + 1, or 0 for all · lost · from · to (signed, from logged_at) · cause u8
//! 4 link      source · device + 1, or 0 · event time (signed, from logged_at) · state u8 · text
//! 5 anchor    event time (signed, from logged_at) · offset (signed)
//! 6 operator  author text · pressed at (signed, from logged_at) · content u8 (`OperatorContent::stored`) · text
//! 7 end       (nothing)
//! ```
//! Numbers without a width are in groups of seven bits, lowest first, the top bit set on all but the last;
//! signed ones have their sign in the lowest bit. Steps count from the entry before; the first entry of a block
//! counts from the block's first ordinal and from time 0. Bytes and text: their length, then themselves.

use stream::{
    Anchor, EntryBody, EventTime, Gap, GapCause, Link, LinkState, LogEntry, OperatorAction, OperatorContent, Payload,
    RawRecord, RecordKind, SourceId,
};

/// An entry that is not understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// Not enough bytes.
    #[error("an entry ends early")]
    Short,
    /// Bytes after the last entry.
    #[error("{0} bytes follow the last entry of a block")]
    Rest(usize),
    /// A number that does not fit its field.
    #[error("{value} is no {field}")]
    Field {
        /// The field.
        field: &'static str,
        /// What stands there.
        value: u64,
    },
    /// An id of a later program.
    #[error("{what} {id} is not known to this program; a newer one wrote it")]
    UnknownId {
        /// What kind of id.
        what: &'static str,
        /// The id.
        id: u8,
    },
    /// Text that is not UTF-8.
    #[error("a text is not UTF-8")]
    NotText,
}

/// What steps count from.
#[derive(Clone, Copy, Debug)]
pub struct Previous {
    /// Ordinal of the entry before.
    pub ordinal: u64,
    /// Its time.
    pub logged_at: i64,
}

/// Appends an entry to a block's payload.
pub fn encode(entry: &LogEntry, previous: &mut Previous, out: &mut Vec<u8>) {
    let kind = match &entry.body {
        EntryBody::Record(_) => 1,
        EntryBody::Tick => 2,
        EntryBody::Gap(_) => 3,
        EntryBody::Link(_) => 4,
        EntryBody::Anchor(_) => 5,
        EntryBody::Operator(_) => 6,
        EntryBody::End => 7,
    };
    out.push(kind);
    let at = entry.logged_at.0;
    unsigned(out, entry.ordinal.wrapping_sub(previous.ordinal));
    signed(out, at.wrapping_sub(previous.logged_at));
    *previous = Previous { ordinal: entry.ordinal, logged_at: at };
    let time = |out: &mut Vec<u8>, t: EventTime| signed(out, t.0.wrapping_sub(at));
    match &entry.body {
        EntryBody::Record(r) => {
            unsigned(out, r.source.0.into());
            out.push(r.kind as u8);
            unsigned(out, r.sequence);
            time(out, r.event_time);
            bytes(out, &r.payload);
        }
        EntryBody::Tick | EntryBody::End => {}
        EntryBody::Gap(g) => {
            unsigned(out, g.source.map_or(0, |s| u64::from(s.0) + 1));
            unsigned(out, g.lost);
            time(out, g.from);
            time(out, g.to);
            out.push(g.cause as u8);
        }
        EntryBody::Link(l) => {
            unsigned(out, l.source.0.into());
            unsigned(out, l.device.map_or(0, |d| u64::from(d) + 1));
            time(out, l.event_time);
            out.push(l.state as u8);
            bytes(out, l.detail.as_bytes());
        }
        EntryBody::Anchor(a) => {
            time(out, a.event_time);
            signed(out, a.wall_offset_ns);
        }
        EntryBody::Operator(o) => {
            bytes(out, o.author.as_bytes());
            time(out, o.pressed_at);
            let (id, text) = o.content.stored();
            out.push(id);
            bytes(out, text.as_bytes());
        }
    }
}

fn unsigned(out: &mut Vec<u8>, mut v: u64) {
    while v >= 0x80 {
        out.push(v as u8 | 0x80);
        v >>= 7;
    }
    out.push(v as u8);
}

fn signed(out: &mut Vec<u8>, v: i64) {
    unsigned(out, ((v << 1) ^ (v >> 63)) as u64);
}

fn bytes(out: &mut Vec<u8>, b: &[u8]) {
    unsigned(out, b.len() as u64);
    out.extend_from_slice(b);
}

/// Appends the entries of a payload to `into`.
///
/// # Errors
/// The first thing that is not understood; `into` then holds the entries before it.
pub fn decode_all(payload: &[u8], entries: u32, first: u64, into: &mut Vec<LogEntry>) -> Result<(), EntryError> {
    let mut input = Input(payload);
    let mut previous = Previous { ordinal: first, logged_at: 0 };
    for _ in 0..entries {
        into.push(input.entry(&mut previous)?);
    }
    if input.0.is_empty() { Ok(()) } else { Err(EntryError::Rest(input.0.len())) }
}

struct Input<'a>(&'a [u8]);

impl<'a> Input<'a> {
    fn entry(&mut self, previous: &mut Previous) -> Result<LogEntry, EntryError> {
        let kind = self.byte()?;
        let ordinal = previous.ordinal.wrapping_add(self.unsigned()?);
        let logged_at = previous.logged_at.wrapping_add(self.signed()?);
        *previous = Previous { ordinal, logged_at };
        let body = match kind {
            1 => self.record(logged_at)?,
            2 => EntryBody::Tick,
            3 => self.gap(logged_at)?,
            4 => self.link(logged_at)?,
            5 => EntryBody::Anchor(Anchor { event_time: self.time(logged_at)?, wall_offset_ns: self.signed()? }),
            6 => self.operator(logged_at)?,
            7 => EntryBody::End,
            id => return Err(EntryError::UnknownId { what: "entry kind", id }),
        };
        Ok(LogEntry { ordinal, logged_at: EventTime(logged_at), body })
    }

    fn record(&mut self, at: i64) -> Result<EntryBody, EntryError> {
        Ok(EntryBody::Record(RawRecord {
            source: SourceId(self.small("source")?),
            kind: self.id("record kind", RecordKind::from_id)?,
            sequence: self.unsigned()?,
            event_time: self.time(at)?,
            payload: Payload::from_slice(self.bytes()?),
        }))
    }

    fn gap(&mut self, at: i64) -> Result<EntryBody, EntryError> {
        Ok(EntryBody::Gap(Gap {
            source: self.optional("source")?.map(SourceId),
            lost: self.unsigned()?,
            from: self.time(at)?,
            to: self.time(at)?,
            cause: self.id("gap cause", GapCause::from_id)?,
        }))
    }

    fn link(&mut self, at: i64) -> Result<EntryBody, EntryError> {
        Ok(EntryBody::Link(Link {
            source: SourceId(self.small("source")?),
            device: self.optional("device")?,
            event_time: self.time(at)?,
            state: self.id("link state", LinkState::from_id)?,
            detail: self.text()?,
        }))
    }

    fn operator(&mut self, at: i64) -> Result<EntryBody, EntryError> {
        let (author, pressed_at, id) = (self.text()?, self.time(at)?, self.byte()?);
        let unknown = EntryError::UnknownId { what: "operator action", id };
        let content = OperatorContent::from_stored(id, self.text()?).ok_or(unknown)?;
        Ok(EntryBody::Operator(OperatorAction { author, pressed_at, content }))
    }

    fn byte(&mut self) -> Result<u8, EntryError> {
        let (first, rest) = self.0.split_first().ok_or(EntryError::Short)?;
        self.0 = rest;
        Ok(*first)
    }

    fn id<T>(&mut self, what: &'static str, from: fn(u8) -> Option<T>) -> Result<T, EntryError> {
        let id = self.byte()?;
        from(id).ok_or(EntryError::UnknownId { what, id })
    }

    fn unsigned(&mut self) -> Result<u64, EntryError> {
        let mut v = 0u64;
        for shift in (0..64).step_by(7) {
            let b = self.byte()?;
            v |= u64::from(b & 0x7f) << shift;
            if b < 0x80 {
                return Ok(v);
            }
        }
        Err(EntryError::Field { field: "number", value: v })
    }

    fn signed(&mut self) -> Result<i64, EntryError> {
        let v = self.unsigned()?;
        Ok((v >> 1) as i64 ^ -((v & 1) as i64))
    }

    fn time(&mut self, at: i64) -> Result<EventTime, EntryError> {
        Ok(EventTime(at.wrapping_add(self.signed()?)))
    }

    fn small(&mut self, field: &'static str) -> Result<u16, EntryError> {
        let value = self.unsigned()?;
        u16::try_from(value).map_err(|_| EntryError::Field { field, value })
    }

    fn optional(&mut self, field: &'static str) -> Result<Option<u16>, EntryError> {
        let value = self.unsigned()?;
        let Some(v) = value.checked_sub(1) else { return Ok(None) };
        u16::try_from(v).map(Some).map_err(|_| EntryError::Field { field, value })
    }

    fn bytes(&mut self) -> Result<&'a [u8], EntryError> {
        let n = usize::try_from(self.unsigned()?).map_err(|_| EntryError::Short)?;
        let (bytes, rest) = self.0.split_at_checked(n).ok_or(EntryError::Short)?;
        self.0 = rest;
        Ok(bytes)
    }

    fn text(&mut self) -> Result<String, EntryError> {
        String::from_utf8(self.bytes()?.to_vec()).map_err(|_| EntryError::NotText)
    }
}

#[cfg(test)]
mod tests;
