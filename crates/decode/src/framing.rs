//! What framers share: the bytes not sorted yet, with when they came, and those that were dropped.

use std::collections::VecDeque;
use stream::{Each, EventTime, FaultKind, Framed};

/// Bytes of one fault record at most.
const LONGEST_FAULT: usize = 256;

/// Bytes not sorted yet. Dropped ones are gathered and handed over as one fault when something whole follows.
#[derive(Clone, Debug, Default)]
pub(crate) struct Window {
    bytes: Vec<u8>,
    /// Position in the stream of the first byte.
    start: u64,
    /// Where each push ended, and when it came.
    marks: VecDeque<(u64, EventTime)>,
    dropped: Vec<u8>,
    /// When the last of them came.
    dropped_at: EventTime,
    /// Whether a checksum was wrong among them.
    damaged: bool,
    /// Whether anything whole was found, or the first byte is known to begin a message.
    joined: bool,
}

impl Window {
    /// Adds bytes that came at `at`.
    pub(crate) fn push(&mut self, at: EventTime, bytes: &[u8]) {
        if !bytes.is_empty() {
            self.bytes.extend_from_slice(bytes);
            self.marks.push_back((self.start + self.bytes.len() as u64, at));
        }
    }

    /// The bytes, first one first.
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// What comes next begins a message.
    pub(crate) fn begin(&mut self) {
        *self = Window { joined: true, start: self.start + self.bytes.len() as u64, ..Window::default() };
    }

    /// Takes so many bytes out; when the last of them came.
    fn advance(&mut self, len: usize) -> (EventTime, Vec<u8>) {
        let taken: Vec<u8> = self.bytes.drain(..len.min(self.bytes.len())).collect();
        let end = self.start + taken.len() as u64;
        let at = self.marks.iter().find(|m| m.0 >= end).map_or(EventTime(0), |m| m.1);
        while self.marks.front().is_some_and(|m| m.0 <= end) {
            self.marks.pop_front();
        }
        self.start = end;
        (at, taken)
    }

    /// Takes a whole message out; what was dropped before it is handed over first.
    pub(crate) fn take(&mut self, len: usize, each: Each<'_>) -> (EventTime, Vec<u8>) {
        self.hand_over_dropped(each);
        self.joined = true;
        self.advance(len)
    }

    /// Drops bytes, `damaged` where a checksum said so; when the last of them came.
    pub(crate) fn drop(&mut self, len: usize, damaged: bool, each: Each<'_>) -> EventTime {
        let (at, bytes) = self.advance(len);
        self.dropped_at = at;
        self.damaged |= damaged;
        for byte in bytes {
            self.dropped.push(byte);
            if self.dropped.len() == LONGEST_FAULT {
                self.hand_over_dropped(each);
            }
        }
        at
    }

    /// Hands over what was dropped, as one fault.
    pub(crate) fn hand_over_dropped(&mut self, each: Each<'_>) {
        if self.dropped.is_empty() {
            return;
        }
        let kind = match (self.damaged, self.joined) {
            // What was begun before we listened looks damaged, and is not.
            (_, false) => FaultKind::PartialLine,
            (true, true) => FaultKind::Checksum,
            (false, true) => FaultKind::Noise,
        };
        each(self.dropped_at, Framed::Fault(kind, &self.dropped));
        self.dropped.clear();
        self.damaged = false;
        self.joined = true;
    }
}
