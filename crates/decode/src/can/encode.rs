//! The other direction: signals into a frame, for simulated units and tests.

use super::database::{CanDatabase, Message};
use super::frame::CanFrame;
use super::signal;

/// A frame that owns its data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnedFrame {
    /// Identifier with [`CanFrame::EXTENDED`] where it has 29 bits.
    pub id: u32,
    /// [`CanFrame::FD`] where the message has more than 8 bytes; else 0.
    pub flags: u8,
    /// As many bytes as the message has; an FD frame is filled up with 0 to a length that exists on the bus.
    pub data: Vec<u8>,
}

impl OwnedFrame {
    /// A view of it.
    pub fn frame(&self) -> CanFrame<'_> {
        CanFrame::data(self.id, self.flags, &self.data)
    }
}

/// Why a frame cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EncodeError {
    /// No such message.
    #[error("the database has no message `{0}`")]
    Message(String),
    /// No such signal.
    #[error("message `{message}` has no signal `{signal}`")]
    Signal {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
    },
    /// The value does not fit.
    #[error("message `{message}`, signal `{signal}`: {value} does not fit its {size} bits")]
    Range {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Value.
        value: f64,
        /// Bits.
        size: u16,
    },
    /// The multiplexor has a value under which the signal is not sent.
    #[error("message `{message}`, signal `{signal}` is sent under multiplexor value {needed}, which is {found} here")]
    Multiplexor {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Its multiplexor value.
        needed: u64,
        /// The one in force.
        found: u64,
    },
}

impl CanDatabase {
    /// The frame of a message with these signals; bits of signals that are not given are 0. The multiplexor follows
    /// from the first multiplexed signal where it is not given itself.
    ///
    /// # Errors
    /// Unknown names, values that do not fit, multiplexed signals that do not go together.
    pub fn encode(&self, message: &str, signals: &[(&str, f64)]) -> Result<OwnedFrame, EncodeError> {
        let index = self.names.iter().position(|n| n == message);
        let Some(m) = index.and_then(|i| self.messages.get(i)) else {
            return Err(EncodeError::Message(message.to_owned()));
        };
        let flags = if m.length > 8 { CanFrame::FD } else { 0 };
        let mut frame = OwnedFrame { id: m.id, flags, data: vec![0; bus_length(m.length)] };
        let mut selected = None;
        let mut grouped = Vec::new();
        for &(name, value) in signals {
            let index = self.signal_index(message, m, name)?;
            let (detail, signal) = (&self.details[index], &self.signals[index]);
            let size = detail.place.size;
            let Some(raw) = signal.raw_of(value, size) else {
                let (message, signal) = (message.to_owned(), name.to_owned());
                return Err(EncodeError::Range { message, signal, value, size });
            };
            signal::put(&mut frame.data, detail.place, raw);
            if m.multiplexor.as_ref().is_some_and(|x| usize::from(x.selector) == index) {
                selected = Some(raw);
            }
            grouped.extend(detail.group.map(|needed| (name, needed)));
        }
        if let (Some(&(_, needed)), Some(x), None) = (grouped.first(), &m.multiplexor, selected) {
            signal::put(&mut frame.data, self.details[usize::from(x.selector)].place, needed);
            selected = Some(needed);
        }
        let found = selected.unwrap_or(0);
        match grouped.into_iter().find(|(_, needed)| *needed != found) {
            Some((signal, needed)) => {
                let (message, signal) = (message.to_owned(), signal.to_owned());
                Err(EncodeError::Multiplexor { message, signal, needed, found })
            }
            None => Ok(frame),
        }
    }

    fn signal_index(&self, message: &str, m: &Message, name: &str) -> Result<usize, EncodeError> {
        let end = m.multiplexor.iter().flat_map(|x| &x.groups).map(|g| g.2).max().unwrap_or(m.always);
        (usize::from(m.first)..usize::from(end.max(m.always)))
            .find(|i| self.details[*i].name == name)
            .ok_or_else(|| EncodeError::Signal { message: message.to_owned(), signal: name.to_owned() })
    }
}

/// The lengths of frames: 0 to 8, then those of FD (ISO 11898-1, from memory).
fn bus_length(length: u8) -> usize {
    const FD: [u8; 7] = [12, 16, 20, 24, 32, 48, 64];
    usize::from(if length <= 8 { length } else { FD.into_iter().find(|l| *l >= length).unwrap_or(64) })
}
