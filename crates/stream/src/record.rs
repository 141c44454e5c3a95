//! What a source hands over: the bytes of one message as received, stamped.

use crate::{EventTime, SourceId};
use smallvec::SmallVec;

/// The bytes of one message. Up to 40 bytes (a CAN frame, a short line, eight registers) live inline.
pub type Payload = SmallVec<[u8; 40]>;

/// One message from an instrument, undecoded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RawRecord {
    /// Which source sent it.
    pub source: SourceId,
    /// Counts the records of this source from 0; a jump is a loss.
    pub sequence: u64,
    /// When it was received.
    pub event_time: EventTime,
    /// What the payload is.
    pub kind: RecordKind,
    /// The bytes; their layout is fixed by `kind`.
    pub payload: Payload,
}

/// What a payload holds. The numbers are on disk: frozen once shipped, never used again for something else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum RecordKind {
    /// A Modbus answer: `device u16 LE`, then the request frame's bytes (always 8 with CRC), then the answer's
    /// bytes with CRC. Device is the index of the device in the source's list; [`NO_DEVICE`] for one that is not in it,
    /// overheard on another master's line. Over TCP the header is taken off and the checksum of a serial line put on.
    ModbusAnswer = 1,
    /// A text line: `device u16 LE`, then the line without its terminator.
    TextLine = 2,
    /// A CAN frame: see `decode::can::frame`.
    CanFrame = 3,
    /// A row of a table (CSV): the row's text as it stands in the file, without its terminator.
    Row = 4,
    /// Bytes that could not be used: `device u16 LE`, `fault u8` (see [`FaultKind`]), then the bytes themselves.
    Fault = 5,
    /// A line of text in answer to a query: `device u16 LE`, `query u16 LE` (its place in the instrument's list), then
    /// the line without its terminator.
    TextAnswer = 6,
    /// A binary frame: `device u16 LE`, then the frame's bytes; of SLIP and COBS what the frame says, escapes and
    /// delimiters taken out.
    Frame = 7,
}

/// The device index of a message from a device that the source does not list.
pub const NO_DEVICE: u16 = u16::MAX;

impl RecordKind {
    /// The kind with this number on disk.
    pub fn from_id(id: u8) -> Option<RecordKind> {
        use RecordKind::{CanFrame, Fault, Frame, ModbusAnswer, Row, TextAnswer, TextLine};
        [ModbusAnswer, TextLine, CanFrame, Row, Fault, TextAnswer, Frame].into_iter().find(|k| *k as u8 == id)
    }
}

/// Why bytes were of no use. The numbers are on disk: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum FaultKind {
    /// A checksum did not match.
    Checksum = 1,
    /// Nothing came within the device's time-out.
    TimeOut = 2,
    /// A whole, valid answer came after its time-out: kept here, never used as a value.
    LateAnswer = 3,
    /// The device answered with an exception; the bytes are its answer.
    Exception = 4,
    /// A valid answer that does not belong to the request: other address, function or byte count.
    WrongAnswer = 5,
    /// Bytes that are no part of any frame.
    Noise = 6,
    /// A line or frame longer than the framing allows.
    TooLong = 7,
    /// A line with bytes that are not text, or that does not fit its pattern.
    Malformed = 8,
    /// A CAN error frame that reports no change of the link (those are `Link` entries).
    BusError = 9,
    /// A time stamp that could not be true (a clock step in between): the receive time was used.
    Stamp = 10,
    /// The first line after the link came up began before it: dropped, not counted as an error.
    PartialLine = 11,
    /// Overheard on another master's line: an answer of which it cannot be told for sure what was asked.
    Unpaired = 12,
    /// Overheard on another master's line: a sound frame that is no reading (another function, a request that nobody
    /// answered).
    Overheard = 13,
}

impl FaultKind {
    /// All kinds, in the order of their numbers.
    pub const ALL: [FaultKind; 13] = [
        Self::Checksum,
        Self::TimeOut,
        Self::LateAnswer,
        Self::Exception,
        Self::WrongAnswer,
        Self::Noise,
        Self::TooLong,
        Self::Malformed,
        Self::BusError,
        Self::Stamp,
        Self::PartialLine,
        Self::Unpaired,
        Self::Overheard,
    ];

    /// The kind with this number on disk.
    pub fn from_id(id: u8) -> Option<FaultKind> {
        Self::ALL.into_iter().find(|k| *k as u8 == id)
    }

    /// The word in summaries, metrics and events.
    pub fn word(self) -> &'static str {
        match self {
            Self::Checksum => "checksum",
            Self::TimeOut => "time-out",
            Self::LateAnswer => "late-answer",
            Self::Exception => "exception",
            Self::WrongAnswer => "wrong-answer",
            Self::Noise => "noise",
            Self::TooLong => "too-long",
            Self::Malformed => "malformed",
            Self::BusError => "bus-error",
            Self::Stamp => "stamp",
            Self::PartialLine => "partial-line",
            Self::Unpaired => "unpaired",
            Self::Overheard => "overheard",
        }
    }
}

impl RawRecord {
    /// The payload of a [`RecordKind::Fault`].
    pub fn fault_payload(device: u16, fault: FaultKind, bytes: &[u8]) -> Payload {
        let mut p = Payload::with_capacity(3 + bytes.len());
        p.extend_from_slice(&device.to_le_bytes());
        p.push(fault as u8);
        p.extend_from_slice(bytes);
        p
    }

    /// Device, kind and bytes of a [`RecordKind::Fault`], or `None` where the record is none or damaged.
    pub fn fault(&self) -> Option<(u16, FaultKind, &[u8])> {
        match (self.kind, self.payload.as_slice()) {
            (RecordKind::Fault, [a, b, k, rest @ ..]) => {
                FaultKind::from_id(*k).map(|k| (u16::from_le_bytes([*a, *b]), k, rest))
            }
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fault_payload_round_trips() {
        for k in FaultKind::ALL {
            let payload = RawRecord::fault_payload(3, k, b"\x01\x83\x02");
            let r = RawRecord {
                source: SourceId(0),
                sequence: 0,
                event_time: EventTime(0),
                kind: RecordKind::Fault,
                payload,
            };
            assert_eq!(r.fault(), Some((3, k, &b"\x01\x83\x02"[..])));
        }
    }
}
