//! What finds messages in a stream of bytes: a trait, so that a plugin moves bytes and knows no framing.

use crate::{EventTime, FaultKind};

/// What a framer found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Framed<'a> {
    /// A whole message.
    Message(&'a [u8]),
    /// Bytes that are none, and why.
    Fault(FaultKind, &'a [u8]),
}

/// Where a framer hands over what it found, with the time at which the last byte of it came.
pub type Each<'a> = &'a mut dyn FnMut(EventTime, Framed<'_>);

/// Finds the messages of one instrument. Every byte pushed comes out once, in a message or a fault, but for
/// terminators, escapes and the rest of a line that is too long; how the stream is cut into pushes makes no difference
/// to what comes out.
pub trait Framer: Send {
    /// Takes bytes that came at `at` and hands over what they complete.
    fn push(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>);

    /// The link is gone, or an answer that was waited for is not coming: what is pending is handed over as a fault.
    fn finish(&mut self, each: Each<'_>);

    /// The next byte begins a message (nothing is pending): a datagram, or an answer after silence.
    fn begin(&mut self);

    /// Takes one datagram: it begins a message, and ends one.
    fn datagram(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>) {
        self.begin();
        self.push(at, bytes, each);
        self.finish(each);
    }
}
