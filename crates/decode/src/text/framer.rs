//! Lines in a stream of bytes, however the bytes are cut.

use stream::{Each, EventTime, FaultKind, Framed, Framer};

/// Finds lines. A line ends at CR or LF (so also at CR LF); empty lines are dropped. What is not UTF-8 is malformed,
/// the end of a line whose beginning was not seen partial; of a line longer than allowed the first bytes are one
/// fault.
#[derive(Clone, Debug)]
pub struct LineFramer {
    longest: usize,
    line: Vec<u8>,
    state: State,
    at: EventTime,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Nothing has ended yet: the first line may have begun before we listened.
    Joining,
    /// Inside a line whose beginning was seen.
    Inside,
    /// Inside a line that is too long and was reported: up to its end all is dropped.
    Dropping,
}

impl LineFramer {
    /// A framer for lines of at most `longest` bytes (at least 1), terminator not counted.
    pub fn new(longest: usize) -> LineFramer {
        LineFramer { longest: longest.max(1), line: Vec::new(), state: State::Joining, at: EventTime(0) }
    }

    fn extend(&mut self, bytes: &[u8], each: Each<'_>) {
        if self.state == State::Dropping {
            return;
        }
        let room = self.longest - self.line.len();
        if bytes.len() <= room {
            self.line.extend_from_slice(bytes);
            return;
        }
        self.line.extend_from_slice(&bytes[..room]);
        each(self.at, Framed::Fault(FaultKind::TooLong, &self.line));
        self.line.clear();
        self.state = State::Dropping;
    }
}

impl Framer for LineFramer {
    fn push(&mut self, at: EventTime, mut bytes: &[u8], each: Each<'_>) {
        self.at = at;
        while let Some(end) = bytes.iter().position(|b| matches!(b, b'\r' | b'\n')) {
            self.extend(&bytes[..end], each);
            if !self.line.is_empty() {
                let framed = match self.state {
                    State::Inside if std::str::from_utf8(&self.line).is_ok() => Framed::Message(&self.line),
                    State::Inside => Framed::Fault(FaultKind::Malformed, &self.line),
                    _ => Framed::Fault(FaultKind::PartialLine, &self.line),
                };
                each(at, framed);
            }
            self.line.clear();
            self.state = State::Inside;
            bytes = &bytes[end + 1..];
        }
        self.extend(bytes, each);
    }

    fn finish(&mut self, each: Each<'_>) {
        if !self.line.is_empty() {
            each(self.at, Framed::Fault(FaultKind::PartialLine, &self.line));
        }
        self.line.clear();
    }

    fn begin(&mut self) {
        self.line.clear();
        self.state = State::Inside;
    }

    /// Its end ends a line, terminator or not.
    fn datagram(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>) {
        self.begin();
        self.push(at, bytes, each);
        self.push(at, b"\n", each);
    }
}
