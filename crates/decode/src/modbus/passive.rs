//! Listening to another master's line: requests and answers, paired.
//!
//! # Why a reading never comes from another request's answer
//! An answer does not say which registers it holds. It is paired with a request only where all of this holds:
//! 1. It stands right behind the request, not a byte between them, agrees with it in device, function and byte count,
//!    and ends within the worst answer time of it.
//! 2. No *other* request of the same shape to that device is still unanswered and younger than the worst answer time:
//!    its answer may have come late. (The same request sent again is no other: the registers are the same.) A master
//!    that loses an answer and goes on with a request of the same shape sooner than that leaves no way to tell until a
//!    request of another shape is answered: a worst answer time well below its period avoids that.
//! 3. For the worst answer time before the request nothing was on the line that could not be read, nor had listening
//!    begun only then: a request may have been in it.
//!
//! Everything else is kept as a fault and counted: `unpaired` (an answer that could not be paired), `overheard` (sound
//! frames that are no reading: writing functions, diagnostics), `time-out` (a request that nobody answered),
//! `exception`, `noise`, `checksum`.
//!
//! A frame of function 1 or 2 whose third byte is 3 can be both a request (from address 0x03xx) and an answer of three
//! data bytes. It counts as an answer where one of that shape is due, unless a request for addresses from 0x0300 to
//! 0x03FF was seen in such a place; not covered is the very first one, sent after a request that was not answered.

use super::answer::EXCEPTION;
use super::{Function, Request};
use crate::crc;
use crate::framing::Window;
use stream::{Each, EventTime, FaultKind, Framed, Framer, Span};

/// Pairs requests and answers. A message is the request's eight bytes, then the answer's; its first byte is the device.
#[derive(Clone, Debug)]
pub struct PassiveFramer {
    window: Window,
    worst: Span,
    /// The request right before the next byte, and whether its answer could be another's.
    open: Option<(Request, EventTime, bool)>,
    /// Requests that may still be answered, oldest first.
    owed: Vec<(Request, EventTime)>,
    /// Until when a request may be under way that was not seen.
    blind: Option<EventTime>,
    /// Requests that could be taken for answers.
    doubtful: Vec<Request>,
}

/// What begins at the first byte.
enum Head {
    More,
    Nothing { damaged: bool },
    Frame(usize),
}

impl PassiveFramer {
    /// `worst`: the longest that any device on the line may take for an answer.
    pub fn new(worst: Span) -> PassiveFramer {
        let (window, owed, doubtful) = (Window::default(), Vec::new(), Vec::new());
        PassiveFramer { window, worst, open: None, owed, blind: None, doubtful }
    }

    fn sort(&mut self, last: bool, each: Each<'_>) {
        while !self.window.bytes().is_empty() {
            match head(self.window.bytes()) {
                Head::More if !last => break,
                Head::More => self.noise(false, each),
                Head::Nothing { damaged } => self.noise(damaged, each),
                Head::Frame(len) => {
                    let (at, frame) = self.window.take(len, each);
                    self.frame(at, &frame, each);
                }
            }
        }
    }

    fn noise(&mut self, damaged: bool, each: Each<'_>) {
        let at = self.window.drop(1, damaged, each);
        self.open = None;
        self.blind = Some(at + self.worst);
    }

    fn frame(&mut self, at: EventTime, frame: &[u8], each: Each<'_>) {
        let request = Request::parse(frame).ok();
        let data = answer_length(frame).filter(|len| *len == frame.len());
        let open = self.open.take();
        let (unit, function) = (frame[0], frame[1]);
        if function & EXCEPTION != 0 {
            return self.exception(at, frame, open, each);
        }
        let due = open.is_some_and(|(r, ..)| answers(&r, frame));
        match (request, data) {
            (Some(r), Some(_)) if due && (self.doubtful.contains(&r) || open.is_some_and(|o| o.0 == r)) => {
                self.doubt(r);
                self.settle(unit, |o| answers(o, frame));
                self.blind = Some(at + self.worst);
                each(at, Framed::Fault(FaultKind::Unpaired, frame));
            }
            (Some(r), both) if both.is_none() || !due => {
                if both.is_some() {
                    self.doubt(r);
                }
                self.request(at, r, each);
            }
            (_, Some(_)) => self.answer(at, frame, open, each),
            _ => each(at, Framed::Fault(FaultKind::Overheard, frame)),
        }
    }

    fn doubt(&mut self, r: Request) {
        if !self.doubtful.contains(&r) {
            self.doubtful.push(r);
        }
    }

    fn request(&mut self, at: EventTime, r: Request, each: Each<'_>) {
        let worst = self.worst;
        self.owed.retain(|(o, sent)| {
            let waits = at - *sent <= worst;
            if !waits {
                each(at, Framed::Fault(FaultKind::TimeOut, &o.frame()));
            }
            waits
        });
        let shape = |r: &Request| (r.unit(), r.function(), r.data_length());
        let other = self.owed.iter().any(|(o, _)| *o != r && shape(o) == shape(&r));
        let blind = *self.blind.get_or_insert(at + worst) > at;
        self.owed.push((r, at));
        self.open = Some((r, at, other || blind));
    }

    fn answer(&mut self, at: EventTime, frame: &[u8], open: Option<(Request, EventTime, bool)>, each: Each<'_>) {
        match open {
            Some((r, sent, false)) if answers(&r, frame) && at - sent <= self.worst => {
                self.settle(r.unit(), |o| *o == r);
                each(at, Framed::Message(&[&r.frame(), frame].concat()));
            }
            _ => {
                self.settle(frame[0], |o| answers(o, frame));
                each(at, Framed::Fault(FaultKind::Unpaired, frame));
            }
        }
    }

    fn exception(&mut self, at: EventTime, frame: &[u8], open: Option<(Request, EventTime, bool)>, each: Each<'_>) {
        let of = |r: &Request| r.unit() == frame[0] && r.function() as u8 == frame[1] & !EXCEPTION;
        let asked = open.is_some_and(|(r, ..)| of(&r));
        self.settle(frame[0], of);
        let reads = Function::from_code(frame[1] & !EXCEPTION).is_some();
        let kind = match (asked, reads) {
            (true, _) => FaultKind::Exception,
            (false, true) => FaultKind::Unpaired,
            (false, false) => FaultKind::Overheard,
        };
        each(at, Framed::Fault(kind, frame));
    }

    /// The oldest request owed by the device that the answer fits is owed no longer, nor are those before it: a device
    /// answers in order.
    fn settle(&mut self, unit: u8, fits: impl Fn(&Request) -> bool) {
        if let Some(i) = self.owed.iter().position(|(o, _)| o.unit() == unit && fits(o)) {
            let mut place = 0;
            self.owed.retain(|(o, _)| {
                place += 1;
                o.unit() != unit || place > i + 1
            });
        }
    }
}

impl Framer for PassiveFramer {
    fn push(&mut self, at: EventTime, bytes: &[u8], each: Each<'_>) {
        if !bytes.is_empty() {
            self.blind.get_or_insert(at + self.worst);
        }
        self.window.push(at, bytes);
        self.sort(false, each);
    }

    fn finish(&mut self, each: Each<'_>) {
        self.sort(true, each);
        self.window.hand_over_dropped(each);
    }

    fn begin(&mut self) {
        self.window.begin();
        self.open = None;
    }
}

/// Whether the frame answers the request with data, by device, function and byte count.
fn answers(r: &Request, frame: &[u8]) -> bool {
    frame.len() == r.answer_length() && frame[..3] == [r.unit(), r.function() as u8, r.data_length()]
}

/// The length of an answer to function 1 to 4, by its head.
fn answer_length(bytes: &[u8]) -> Option<usize> {
    let &[_, function, count, ..] = bytes else { return None };
    let registers = Function::from_code(function)?.reads_registers();
    ((1..=250).contains(&count) && !(registers && count % 2 == 1)).then_some(usize::from(count) + 5)
}

/// The lengths that a frame beginning so can have, as far as its first bytes tell; 0 = not told yet.
///
/// Other functions as in V1.1b3, 6.5 to 6.17 (from memory): their frames are passed over, not read.
fn lengths(bytes: &[u8]) -> Vec<usize> {
    let by_count = |place: usize, around: usize| bytes.get(place).map_or(0, |count| around + usize::from(*count));
    match bytes.get(1) {
        None => vec![0],
        Some(f) if f & EXCEPTION != 0 => vec![5],
        Some(1..=4) if bytes.len() < 3 => vec![0],
        Some(1..=4) => [Some(Request::LENGTH), answer_length(bytes)].into_iter().flatten().collect(),
        Some(5 | 6 | 8) => vec![8],
        Some(7) => vec![4, 5],
        Some(11) => vec![4, 8],
        Some(15 | 16) => vec![8, by_count(6, 9)],
        Some(17) => vec![4, by_count(2, 5)],
        Some(22) => vec![10],
        Some(23) => vec![by_count(2, 5), by_count(10, 13)],
        Some(_) => Vec::new(),
    }
}

fn head(bytes: &[u8]) -> Head {
    if bytes.first().is_some_and(|unit| *unit > 247) {
        return Head::Nothing { damaged: false };
    }
    let mut lengths = lengths(bytes);
    lengths.sort_unstable();
    let told = lengths.iter().filter(|len| **len > 0);
    let sound = |len: &&usize| bytes.get(..**len).is_some_and(|f| crc::modbus_fits(f) && plausible(f));
    if let Some(len) = told.clone().find(sound) {
        return Head::Frame(*len);
    }
    let grows = lengths.iter().any(|len| *len == 0 || *len > bytes.len());
    if grows { Head::More } else { Head::Nothing { damaged: told.count() > 0 } }
}

/// A sound frame of a read function is a request or an answer.
fn plausible(frame: &[u8]) -> bool {
    Function::from_code(frame[1]).is_none()
        || answer_length(frame) == Some(frame.len())
        || Request::parse(frame).is_ok()
}
