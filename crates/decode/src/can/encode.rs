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
    /// The frame of a message with these signals; bits of signals that are not given are 0. Multiplexors follow
    /// from the multiplexed signals where they are not given themselves.
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
        let mut given = Vec::with_capacity(signals.len());
        for &(name, value) in signals {
            let index = self.signal_index(message, m, name)?;
            let (detail, signal) = (&self.details[index], &self.signals[index]);
            let size = detail.place.size;
            let Some(raw) = signal.raw_of(value, size) else {
                let (message, signal) = (message.to_owned(), name.to_owned());
                return Err(EncodeError::Range { message, signal, value, size });
            };
            signal::put(&mut frame.data, detail.place, raw);
            given.push((index, raw));
        }
        for index in given.iter().map(|g| g.0).collect::<Vec<_>>() {
            self.select(message, index, &mut given, &mut frame.data)?;
        }
        Ok(frame)
    }

    /// Sets the multiplexors that a signal is under, from the inside out.
    fn select(
        &self,
        message: &str,
        i: usize,
        given: &mut Vec<(usize, u64)>,
        data: &mut [u8],
    ) -> Result<(), EncodeError> {
        let mut at = i;
        while let Some((selector, ranges)) = &self.details[at].under {
            let selector = usize::from(*selector);
            let needed = ranges.first().map_or(0, |r| r.0);
            let found = given.iter().find(|g| g.0 == selector).map(|g| g.1);
            match found {
                Some(found) if !ranges.iter().any(|r| (r.0..=r.1).contains(&found)) => {
                    let (message, signal) = (message.to_owned(), self.details[at].name.clone());
                    return Err(EncodeError::Multiplexor { message, signal, needed, found });
                }
                Some(_) => {}
                None => {
                    signal::put(data, self.details[selector].place, needed);
                    given.push((selector, needed));
                }
            }
            at = selector;
        }
        Ok(())
    }

    fn signal_index(&self, message: &str, m: &Message, name: &str) -> Result<usize, EncodeError> {
        (usize::from(m.first)..usize::from(m.end))
            .find(|i| self.details[*i].name == name)
            .ok_or_else(|| EncodeError::Signal { message: message.to_owned(), signal: name.to_owned() })
    }
}

/// The lengths of frames: 0 to 8, then those of FD (ISO 11898-1, from memory).
fn bus_length(length: u8) -> usize {
    const FD: [u8; 7] = [12, 16, 20, 24, 32, 48, 64];
    usize::from(if length <= 8 { length } else { FD.into_iter().find(|l| *l >= length).unwrap_or(64) })
}
