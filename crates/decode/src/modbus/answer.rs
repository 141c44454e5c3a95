//! Answers: found in a stream of bytes and held against their request.

use super::{Request, RequestError};
use crate::crc;

/// What the bytes from the first one on are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// A frame may begin here; at least so many more bytes are needed to tell.
    NeedMore(usize),
    /// The whole answer to the request, checksum right: so many bytes.
    Answer {
        /// Its length.
        len: usize,
    },
    /// The device refuses the request, checksum right.
    Exception {
        /// Exception code.
        code: u8,
        /// Its length.
        len: usize,
    },
    /// A whole frame with a right checksum that does not belong to the request.
    Other {
        /// Its length.
        len: usize,
        /// What differs.
        mismatch: Mismatch,
    },
    /// The request itself, as a two-wire adapter echoes it.
    Echo {
        /// Its length.
        len: usize,
    },
    /// The head is the answer's, the checksum is wrong.
    BadChecksum {
        /// The length that the answer should have had, or the bytes that are there.
        len: usize,
    },
    /// No frame begins here.
    Noise,
}

/// What tells a frame from the answer that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Mismatch {
    /// Another device's.
    #[error("it comes from device {found}, {expected} was asked")]
    Unit {
        /// Address asked.
        expected: u8,
        /// Address that answered.
        found: u8,
    },
    /// Another function's.
    #[error("it answers function {found}, {expected} was asked for")]
    Function {
        /// Function code asked for.
        expected: u8,
        /// Function code answered.
        found: u8,
    },
    /// Another quantity's.
    #[error("it holds {found} data bytes, {expected} were asked for")]
    ByteCount {
        /// Data bytes asked for.
        expected: u8,
        /// Data bytes there.
        found: u8,
    },
    /// Another length than its head says.
    #[error("it is {found} bytes long, its head says {expected}")]
    Length {
        /// Length by its head.
        expected: usize,
        /// Bytes there.
        found: usize,
    },
}

/// A verdict and where it applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// Bytes before it, of which none begins a frame.
    pub skip: usize,
    /// What is there.
    pub verdict: Verdict,
}

/// Set in the function code of an exception.
pub(super) const EXCEPTION: u8 = 0x80;
/// Bytes of an exception: address, function, code, checksum.
const EXCEPTION_LENGTH: usize = 5;

/// Judges what begins at the first byte. An RTU answer carries no transaction number: an answer to an earlier
/// request of the same shape cannot be told apart here, which is why a master keeps silent after a time-out.
pub fn match_answer(request: &Request, bytes: &[u8]) -> Verdict {
    if bytes.starts_with(&request.frame()) {
        return Verdict::Echo { len: Request::LENGTH };
    }
    match *bytes {
        [] => Verdict::NeedMore(EXCEPTION_LENGTH),
        [unit, ..] if !(1..=247).contains(&unit) => Verdict::Noise,
        [_] => Verdict::NeedMore(EXCEPTION_LENGTH - 1),
        [_, function, ..] if super::Function::from_code(function & !EXCEPTION).is_none() => Verdict::Noise,
        [_, function, ..] if function & EXCEPTION != 0 => exception(request, bytes),
        [_, _] => Verdict::NeedMore(EXCEPTION_LENGTH - 2),
        [unit, function, count, ..] => answer(request, bytes, unit, function, count),
    }
}

pub(super) fn exception(request: &Request, bytes: &[u8]) -> Verdict {
    let Some(&[unit, function, code, _, _]) = bytes.get(..EXCEPTION_LENGTH).and_then(|b| b.first_chunk()) else {
        return Verdict::NeedMore(EXCEPTION_LENGTH - bytes.len());
    };
    let own = unit == request.unit() && function & !EXCEPTION == request.function() as u8;
    let len = EXCEPTION_LENGTH;
    match (crc::modbus_fits(&bytes[..len]), mismatch(request, unit, function & !EXCEPTION, None)) {
        (true, None) => Verdict::Exception { code, len },
        (true, Some(mismatch)) => Verdict::Other { len, mismatch },
        (false, _) if own => Verdict::BadChecksum { len },
        (false, _) => Verdict::Noise,
    }
}

pub(super) fn answer(request: &Request, bytes: &[u8], unit: u8, function: u8, count: u8) -> Verdict {
    let own = unit == request.unit() && function == request.function() as u8;
    let registers = super::Function::from_code(function).is_some_and(super::Function::reads_registers);
    let possible = (1..=250).contains(&count) && !(registers && count % 2 == 1);
    if possible {
        let len = usize::from(count) + 5;
        let Some(frame) = bytes.get(..len) else {
            return Verdict::NeedMore(len - bytes.len());
        };
        if crc::modbus_fits(frame) {
            return match mismatch(request, unit, function, Some(count)) {
                None => Verdict::Answer { len },
                Some(mismatch) => Verdict::Other { len, mismatch },
            };
        }
    }
    let len = request.answer_length();
    match (own, bytes.len() >= len) {
        (true, true) => Verdict::BadChecksum { len },
        (true, false) if !possible => Verdict::NeedMore(len - bytes.len()),
        (true, false) => Verdict::BadChecksum { len: bytes.len() },
        (false, _) => Verdict::Noise,
    }
}

fn mismatch(request: &Request, unit: u8, function: u8, count: Option<u8>) -> Option<Mismatch> {
    let (asked, length) = (request.function() as u8, request.data_length());
    if unit != request.unit() {
        Some(Mismatch::Unit { expected: request.unit(), found: unit })
    } else if function != asked {
        Some(Mismatch::Function { expected: asked, found: function })
    } else {
        count.filter(|c| *c != length).map(|found| Mismatch::ByteCount { expected: length, found })
    }
}

/// Looks for the request's answer anywhere in the bytes, dropping as little as possible: noise before an answer
/// does not spoil it, and a head that noise only imitates does not hold it up.
///
/// In this order: the first whole frame with a right checksum (or an echo); the first answer of the device with a
/// wrong one; the first place where a frame may still grow, with the fewest bytes that could complete one; noise
/// (nothing here begins a frame, `skip` 0). Work is bounded by the bytes times the longest frame.
pub fn find_frame(request: &Request, bytes: &[u8]) -> Found {
    let (mut damaged, mut growing): (Option<Found>, Option<Found>) = (None, None);
    for skip in 0..bytes.len() {
        let verdict = match_answer(request, &bytes[skip..]);
        match verdict {
            Verdict::Noise => {}
            Verdict::BadChecksum { .. } => damaged = damaged.or(Some(Found { skip, verdict })),
            Verdict::NeedMore(more) => {
                let (skip, least) = match growing {
                    Some(Found { skip, verdict: Verdict::NeedMore(least) }) => (skip, least.min(more)),
                    _ => (skip, more),
                };
                growing = Some(Found { skip, verdict: Verdict::NeedMore(least) });
            }
            _ => return Found { skip, verdict },
        }
    }
    let nothing = if bytes.is_empty() { Verdict::NeedMore(EXCEPTION_LENGTH) } else { Verdict::Noise };
    damaged.or(growing).unwrap_or(Found { skip: 0, verdict: nothing })
}

/// Builds the answer to a request, as a device does: `value` gives each register by its address; for functions 1
/// and 2 anything but 0 is a set bit.
///
/// # Errors
/// Bytes that are no read request.
pub fn encode_answer(request: &[u8], value: impl Fn(u16) -> u16) -> Result<Vec<u8>, RequestError> {
    let request = Request::parse_any_unit(request)?;
    let mut frame = vec![request.unit(), request.function() as u8, request.data_length()];
    // Request::new has checked that the range ends at or below 65535.
    let addresses = (0..request.quantity()).map(|i| request.address() + i);
    if request.function().reads_registers() {
        addresses.for_each(|a| frame.extend_from_slice(&value(a).to_be_bytes()));
    } else {
        frame.resize(3 + usize::from(request.data_length()), 0);
        addresses.enumerate().filter(|(_, a)| value(*a) != 0).for_each(|(i, _)| frame[3 + i / 8] |= 1 << (i % 8));
    }
    Ok(sealed(frame))
}

/// Builds an exception in answer to a request.
///
/// # Errors
/// Bytes that are no read request.
pub fn encode_exception(request: &[u8], code: u8) -> Result<Vec<u8>, RequestError> {
    let request = Request::parse_any_unit(request)?;
    Ok(sealed(vec![request.unit(), request.function() as u8 | EXCEPTION, code]))
}

fn sealed(mut frame: Vec<u8>) -> Vec<u8> {
    let checksum = crc::modbus(&frame);
    frame.extend_from_slice(&checksum.to_le_bytes());
    frame
}
