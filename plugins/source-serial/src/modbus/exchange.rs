//! One request, one answer, and what else comes.

use super::device::{Owed, answers};
use super::master::Master;
use decode::modbus::{Request, Verdict, find_frame};
use plugin_api::LinkLost;
use std::time::Duration;
use stream::{EventTime, FaultKind};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// More unsorted bytes than any frame has (256): the oldest are noise.
const MOST_BYTES: usize = 600;

/// What became of a request.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Outcome {
    /// The answer, received whole at that time (when the read that completed it returned).
    Answer { at: EventTime, frame: Vec<u8> },
    /// The device refuses.
    Exception { frame: Vec<u8> },
    /// No answer, or none of use: recorded as one fault, silence kept, the device suspect.
    Nothing,
}

/// What a frame in the bytes is to the request under way.
enum Sorted {
    Matching(Outcome),
    /// The request is void: the device said something else.
    Void,
    /// A device that is not on the line answered: perhaps ours with a wrong address.
    Stranger,
    Nothing,
}

impl<P: AsyncRead + AsyncWrite + Unpin> Master<'_, P> {
    /// Asks; the line must be quiet. Faults are recorded here, exceptions by the caller.
    pub(super) async fn ask(&mut self, d: usize, request: Request) -> Result<Outcome, LinkLost> {
        self.wire.send(&request.frame()).await?;
        let sent = Instant::now();
        self.count += 1;
        self.devices[d].asked = self.count;
        self.devices[d].owed.push(Owed { request, sent });
        let on_the_line = self.timing.characters(Request::LENGTH + request.answer_length());
        let until = sent + on_the_line + self.devices[d].time_out;
        let mut answered = false;
        loop {
            match self.sort(d, &request) {
                Sorted::Matching(outcome) => {
                    self.devices[d].owed.pop();
                    return Ok(outcome);
                }
                Sorted::Void => {
                    answered = true;
                    break;
                }
                Sorted::Stranger => answered = true,
                Sorted::Nothing => {}
            }
            if Instant::now() >= until || !self.wire.more(until, self.intake).await? {
                break;
            }
        }
        // An answer that has begun is judged when it is whole, or when silence was kept for long enough.
        let damaged = answered || begun(&request, &self.wire.bytes);
        if !damaged {
            self.leftover(d, &request);
            self.fault(d, FaultKind::TimeOut, &request.frame());
        }
        let from = if damaged { Instant::now() } else { sent + on_the_line };
        self.keep_silent(d, &request, from + self.devices[d].worst).await?;
        self.devices[d].suspect = true;
        Ok(Outcome::Nothing)
    }

    /// Sorts what came while a request is under way.
    fn sort(&mut self, d: usize, request: &Request) -> Sorted {
        let mut stranger = false;
        while let Some((damaged, frame)) = self.next_frame(d, request) {
            let own = answers(request, &frame);
            if own && !damaged && !self.contradicted(request, &frame) {
                return Sorted::Matching(match frame.get(1) {
                    Some(f) if f & 0x80 != 0 => Outcome::Exception { frame },
                    _ => Outcome::Answer { at: self.wire.read_at, frame },
                });
            }
            let ours = frame.first() == Some(&request.unit());
            if own {
                self.fault(d, FaultKind::WrongAnswer, &frame);
                return Sorted::Void;
            }
            let late = self.unasked(d, &frame);
            if damaged || (ours && !late) {
                return Sorted::Void;
            }
            stranger |= !ours && self.device_at(&frame).is_none();
        }
        if stranger { Sorted::Stranger } else { Sorted::Nothing }
    }

    /// Whether a second, different answer to the same request stands right behind this one.
    fn contradicted(&self, request: &Request, frame: &[u8]) -> bool {
        let found = find_frame(request, &self.wire.bytes);
        match found.verdict {
            Verdict::Answer { len } | Verdict::Exception { len, .. } => {
                self.wire.bytes.get(found.skip..found.skip + len).is_some_and(|second| second != frame)
            }
            _ => false,
        }
    }

    /// Takes the next whole frame out of the bytes; what stands before it becomes a fault (true: a damaged answer).
    /// The request's own echo is taken out, once a link as noise and then in silence.
    fn next_frame(&mut self, d: usize, request: &Request) -> Option<(bool, Vec<u8>)> {
        let mut damaged = false;
        loop {
            let found = find_frame(request, &self.wire.bytes);
            let (len, echo) = match found.verdict {
                Verdict::Answer { len } | Verdict::Exception { len, .. } | Verdict::Other { len, .. } => (len, false),
                Verdict::Echo { len } => (len, true),
                Verdict::NeedMore(_) | Verdict::BadChecksum { .. } | Verdict::Noise => {
                    self.bound(d);
                    return None;
                }
            };
            damaged |= self.discard(d, request, found.skip);
            let frame: Vec<u8> = self.wire.bytes.drain(..len).collect();
            if !echo {
                return Some((damaged, frame));
            }
            if !self.echo {
                self.echo = true;
                self.fault(d, FaultKind::Noise, &frame);
                tracing::info!("the adapter echoes what is sent (two-wire line); echoes are dropped");
            }
        }
    }

    /// A frame that answers nothing under way: late, or wrong. Its sender is suspect. True: late.
    fn unasked(&mut self, d: usize, frame: &[u8]) -> bool {
        let sender = self.device_at(frame);
        let device = &mut self.devices[sender.unwrap_or(d)];
        let late = if sender.is_some() { device.settle(frame) } else { None };
        if sender.is_some() && (late.is_some() || !device.has_seen(frame)) {
            device.note(late, frame);
        }
        device.suspect |= sender.is_some();
        let kind = if late.is_some() { FaultKind::LateAnswer } else { FaultKind::WrongAnswer };
        self.fault(sender.unwrap_or(d), kind, frame);
        late.is_some()
    }

    /// Sorts what came while nothing is under way.
    pub(super) fn sort_unasked(&mut self, d: usize, request: &Request) {
        while let Some((_, frame)) = self.next_frame(d, request) {
            self.unasked(d, &frame);
        }
    }

    /// Keeps the line silent until then, or until nothing is owed to the request any more.
    pub(super) async fn keep_silent(&mut self, d: usize, request: &Request, until: Instant) -> Result<(), LinkLost> {
        loop {
            self.sort_unasked(d, request);
            if !self.devices[d].owed.iter().any(|o| o.request == *request) {
                return Ok(());
            }
            if Instant::now() >= until || !self.wire.more(until, self.intake).await? {
                self.leftover(d, request);
                return Ok(());
            }
        }
    }

    /// Waits until the line has been silent for 3.5 characters; what comes is recorded.
    pub(super) async fn quiet(&mut self, d: usize) -> Result<(), LinkLost> {
        let limit = Instant::now() + self.timing.babble;
        while Instant::now() < limit {
            let until = self.wire.moved + self.timing.silence;
            let came = self.wire.more(until, self.intake).await?;
            self.sort_for(d);
            if !came {
                break;
            }
        }
        self.leftover_for(d);
        Ok(())
    }

    /// Keeps the line silent for so long whatever comes.
    pub(super) async fn flush(&mut self, d: usize, time: Duration) -> Result<(), LinkLost> {
        let until = Instant::now() + time;
        while Instant::now() < until && self.wire.more(until, self.intake).await? {
            self.sort_for(d);
        }
        self.leftover_for(d);
        Ok(())
    }

    fn sort_for(&mut self, d: usize) {
        if let Some(request) = self.devices.get(d).and_then(|d| d.requests.first().copied()) {
            self.sort_unasked(d, &request);
        }
    }

    /// Everything not sorted becomes one fault.
    fn leftover(&mut self, d: usize, request: &Request) {
        self.discard(d, request, self.wire.bytes.len());
    }

    pub(super) fn leftover_for(&mut self, d: usize) {
        if let Some(request) = self.devices.get(d).and_then(|d| d.requests.first().copied()) {
            self.leftover(d, &request);
        }
    }

    /// The first bytes become a fault: a damaged answer (true) or noise.
    fn discard(&mut self, d: usize, request: &Request, len: usize) -> bool {
        let bytes: Vec<u8> = self.wire.bytes.drain(..len).collect();
        let damaged = begun(request, &bytes);
        match (bytes.is_empty(), damaged) {
            (true, _) => {}
            (_, true) => self.fault(d, FaultKind::Checksum, &bytes),
            (_, false) => self.fault(d, FaultKind::Noise, &bytes),
        }
        damaged
    }

    fn bound(&mut self, d: usize) {
        let excess = self.wire.bytes.len().saturating_sub(MOST_BYTES);
        if excess > 0 {
            let bytes: Vec<u8> = self.wire.bytes.drain(..excess).collect();
            self.fault(d, FaultKind::Noise, &bytes);
        }
    }

    fn device_at(&self, frame: &[u8]) -> Option<usize> {
        let unit = frame.first().copied()?;
        self.devices.iter().position(|d| d.unit() == Some(unit))
    }

    pub(super) fn fault(&mut self, d: usize, kind: FaultKind, bytes: &[u8]) {
        if let Some(device) = self.devices.get_mut(d) {
            if kind != FaultKind::Exception {
                device.troubled = Some(Instant::now());
            }
            self.intake.fault(device.index, kind, bytes);
        }
    }
}

/// Whether an answer of the device to this function begins somewhere in the bytes.
fn begun(request: &Request, bytes: &[u8]) -> bool {
    let function = request.function() as u8;
    bytes.windows(2).any(|w| w[0] == request.unit() && w[1] & 0x7F == function)
}
