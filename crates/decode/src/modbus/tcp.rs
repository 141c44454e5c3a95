//! Modbus over TCP: the same requests and answers behind a header that numbers them, without a checksum.
//!
//! Source: MODBUS Messaging on TCP/IP, Implementation Guide V1.0b, 3.1.3: transaction, protocol (0), length of what
//! follows, unit; all big-endian; at most 260 bytes in all (from memory).

use super::answer::{self, EXCEPTION};
use super::{Function, Request, RequestError, Verdict};
use crate::crc;

/// Bytes of the header up to the unit.
const HEAD: usize = 6;
/// Unit, function and one byte; unit and the longest answer.
const LENGTHS: std::ops::RangeInclusive<usize> = 3..=254;

/// What begins at the first byte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TcpFound {
    /// More bytes are needed.
    NeedMore,
    /// A whole frame.
    Frame {
        /// Its number.
        transaction: u16,
        /// Its length on the line.
        len: usize,
        /// The frame as it would be on a serial line: unit, function, data, with the checksum put on.
        frame: Vec<u8>,
    },
    /// No Modbus TCP: the stream cannot be followed any more.
    Broken,
}

/// Looks at what begins at the first byte. TCP loses nothing: there is no resynchronising.
pub fn find_tcp(bytes: &[u8]) -> TcpFound {
    let Some((&[t1, t2, p1, p2, l1, l2], rest)) = bytes.split_first_chunk::<HEAD>() else {
        return TcpFound::NeedMore;
    };
    let length = usize::from(u16::from_be_bytes([l1, l2]));
    if [p1, p2] != [0, 0] || !LENGTHS.contains(&length) {
        return TcpFound::Broken;
    }
    match rest.get(..length) {
        None => TcpFound::NeedMore,
        Some(body) => {
            let mut frame = body.to_vec();
            frame.extend_from_slice(&crc::modbus(body).to_le_bytes());
            TcpFound::Frame { transaction: u16::from_be_bytes([t1, t2]), len: HEAD + length, frame }
        }
    }
}

/// Judges a frame that [`find_tcp`] found as the answer to a request. Any unit is possible.
pub fn judge_tcp(request: &Request, frame: &[u8]) -> Verdict {
    match *frame {
        [_, function, ..] if Function::from_code(function & !EXCEPTION).is_none() => Verdict::Noise,
        [_, function, ..] if function & EXCEPTION != 0 => answer::exception(request, frame),
        [unit, function, count, ..] => answer::answer(request, frame, unit, function, count),
        _ => Verdict::Noise,
    }
}

impl Request {
    /// The bytes as they go out over TCP under this number.
    pub fn tcp_frame(&self, transaction: u16) -> [u8; 12] {
        let [t1, t2] = transaction.to_be_bytes();
        let [unit, function, a, b, c, d, _, _] = self.frame();
        [t1, t2, 0, 0, 0, 6, unit, function, a, b, c, d]
    }

    /// Reads a request's twelve bytes as they go out over TCP, to any unit.
    ///
    /// # Errors
    /// Another length, header or function, a quantity or range that is refused.
    pub fn parse_tcp(frame: &[u8]) -> Result<Request, RequestError> {
        let &[_, _, 0, 0, 0, 6, unit, function, a, b, c, d] = frame else {
            return Err(RequestError::Length(frame.len()));
        };
        let function = Function::from_code(function).ok_or(RequestError::Function(function))?;
        Request::to_any_unit(unit, function, u16::from_be_bytes([a, b]), u16::from_be_bytes([c, d]))
    }
}
