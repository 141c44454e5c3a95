//! Lines in a stream of bytes, however the bytes are cut.

/// Finds lines. A line ends at CR or LF (so also at CR LF); empty lines are dropped.
#[derive(Clone, Debug)]
pub struct LineFramer {
    longest: usize,
    line: Vec<u8>,
    state: State,
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

/// A line, or what was none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Framed<'a> {
    /// A whole line without its terminator.
    Line(&'a [u8]),
    /// The end of a line whose beginning was not seen: no error, and no line either.
    Partial(&'a [u8]),
    /// The first bytes of a line longer than allowed; the rest of it is dropped. Once a line.
    TooLong(&'a [u8]),
}

impl LineFramer {
    /// A framer for lines of at most `longest` bytes (at least 1), terminator not counted.
    pub fn new(longest: usize) -> LineFramer {
        LineFramer { longest: longest.max(1), line: Vec::new(), state: State::Joining }
    }

    /// Begins anew, as after a reconnect.
    pub fn reset(&mut self) {
        self.line.clear();
        self.state = State::Joining;
    }

    /// Bytes of a line that has not ended.
    pub fn pending(&self) -> &[u8] {
        &self.line
    }

    /// Takes bytes as they came and hands over what they complete. How the stream is cut into pushes makes no
    /// difference to what comes out.
    pub fn push(&mut self, mut bytes: &[u8], each: &mut impl FnMut(Framed<'_>)) {
        while let Some(end) = bytes.iter().position(|b| matches!(b, b'\r' | b'\n')) {
            self.extend(&bytes[..end], each);
            match self.state {
                State::Inside if !self.line.is_empty() => each(Framed::Line(&self.line)),
                State::Joining if !self.line.is_empty() => each(Framed::Partial(&self.line)),
                _ => {}
            }
            self.line.clear();
            self.state = State::Inside;
            bytes = &bytes[end + 1..];
        }
        self.extend(bytes, each);
    }

    fn extend(&mut self, bytes: &[u8], each: &mut impl FnMut(Framed<'_>)) {
        if self.state == State::Dropping {
            return;
        }
        let room = self.longest - self.line.len();
        if bytes.len() <= room {
            self.line.extend_from_slice(bytes);
            return;
        }
        self.line.extend_from_slice(&bytes[..room]);
        each(Framed::TooLong(&self.line));
        self.line.clear();
        self.state = State::Dropping;
    }
}
