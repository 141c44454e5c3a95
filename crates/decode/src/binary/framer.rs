//! Frames in a stream of bytes, however the bytes are cut.

use super::stuffing::{COBS_END, SLIP_END, cobs_decode, slip_decode};
use super::{Find, FrameLayout, FrameMisfit, Length};
use crate::framing::Window;
use stream::{Each, EventTime, FaultKind, Framed, Framer};

/// Finds frames. One that is damaged gives up its first byte only: what looked like its inside may be the next one.
#[derive(Clone, Debug)]
pub struct FrameFramer {
    layout: FrameLayout,
    window: Window,
    /// For frames that a byte ends: whether the beginning of the one in the window was seen.
    joined: bool,
    /// Whether the one in the window was too long and told: up to its end all is dropped.
    dropping: bool,
}

/// What begins at the first byte.
enum Head {
    More,
    Nothing { damaged: bool },
    Frame(usize),
}

impl FrameFramer {
    /// A framer for frames of this layout.
    pub(super) fn new(layout: FrameLayout) -> FrameFramer {
        FrameFramer { layout, window: Window::default(), joined: false, dropping: false }
    }

    fn sort(&mut self, last: bool, each: Each<'_>) {
        let end = match self.layout.find {
            Find::Sync(..) => return self.by_sync(last, each),
            Find::Slip(_) => SLIP_END,
            Find::Cobs(_) => COBS_END,
        };
        // What is longer than the longest frame with every byte escaped is none.
        let most = 2 * self.layout.longest + 2;
        loop {
            match self.window.bytes().iter().position(|b| *b == end) {
                Some(len) if len <= most => self.stuffed(len, each),
                _ if self.window.bytes().len() > most => {
                    self.piece(most, FaultKind::TooLong, each);
                    self.dropping = true;
                }
                _ => break,
            }
        }
        if last {
            self.piece(self.window.bytes().len(), FaultKind::PartialLine, each);
            self.dropping = false;
        }
    }

    /// So many bytes that are no frame.
    fn piece(&mut self, len: usize, kind: FaultKind, each: Each<'_>) {
        let (at, bytes) = self.window.take(len, each);
        if !bytes.is_empty() {
            each(at, Framed::Fault(if self.joined { kind } else { FaultKind::PartialLine }, &bytes));
        }
    }

    /// A frame of so many bytes with its end behind it.
    fn stuffed(&mut self, len: usize, each: Each<'_>) {
        let (at, mut frame) = self.window.take(len + 1, each);
        frame.truncate(len);
        let (joined, dropping) = (self.joined, self.dropping);
        (self.joined, self.dropping) = (true, false);
        if frame.is_empty() {
            return;
        }
        if dropping {
            return each(at, Framed::Fault(FaultKind::TooLong, &frame));
        }
        if !joined {
            return each(at, Framed::Fault(FaultKind::PartialLine, &frame));
        }
        let (data, length) = match self.layout.find {
            Find::Slip(length) => (slip_decode(&frame), length),
            Find::Cobs(length) => (cobs_decode(&frame), length),
            Find::Sync(..) => return,
        };
        let fits = |d: &Vec<u8>| d.len() <= self.layout.longest && length.is_none_or(|n| n == d.len());
        let framed = match data.as_ref().filter(|d| fits(d)) {
            None => Framed::Fault(FaultKind::Malformed, &frame),
            Some(data) => match self.layout.sound(data) {
                Ok(_) => Framed::Message(data),
                Err(FrameMisfit::Checksum) => Framed::Fault(FaultKind::Checksum, &frame),
                Err(FrameMisfit::Short { .. }) => Framed::Fault(FaultKind::Malformed, &frame),
            },
        };
        each(at, framed);
    }

    fn by_sync(&mut self, last: bool, each: Each<'_>) {
        while !self.window.bytes().is_empty() {
            match self.head() {
                Head::More if !last => break,
                Head::More => _ = self.window.drop(1, false, each),
                Head::Nothing { damaged } => _ = self.window.drop(1, damaged, each),
                Head::Frame(len) => {
                    let (at, frame) = self.window.take(len, each);
                    each(at, Framed::Message(&frame));
                }
            }
        }
    }

    fn head(&self) -> Head {
        let bytes = self.window.bytes();
        let Find::Sync(sync, length) = &self.layout.find else { return Head::More };
        let seen = sync.len().min(bytes.len());
        if bytes[..seen] != sync[..seen] {
            return Head::Nothing { damaged: false };
        }
        let length = match *length {
            Length::Fixed(n) => n,
            Length::Field { byte, bytes: width, order, adds } => {
                let Some(field) = bytes.get(byte..byte + width) else { return Head::More };
                match usize::try_from(order.number(field) as i64 + adds) {
                    Ok(n) if (self.layout.shortest()..=self.layout.longest).contains(&n) => n,
                    _ => return Head::Nothing { damaged: true },
                }
            }
        };
        match bytes.get(..length) {
            None => Head::More,
            Some(frame) if self.layout.sound(frame).is_ok() => Head::Frame(length),
            Some(_) => Head::Nothing { damaged: true },
        }
    }
}

impl Framer for FrameFramer {
    fn push(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>) {
        self.window.push(at, bytes);
        self.sort(false, each);
    }

    fn finish(&mut self, each: Each<'_>) {
        self.sort(true, each);
        self.window.hand_over_dropped(each);
        self.joined = false;
    }

    fn begin(&mut self) {
        self.window.begin();
        (self.joined, self.dropping) = (true, false);
    }

    /// Its end ends a frame.
    fn datagram(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>) {
        self.begin();
        self.push(at, bytes, each);
        match self.layout.find {
            Find::Slip(_) => self.push(at, &[SLIP_END], each),
            Find::Cobs(_) => self.push(at, &[COBS_END], each),
            Find::Sync(..) => self.finish(each),
        }
    }
}
