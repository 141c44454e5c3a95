//! What is made of received frames while a link is up: records, faults, gaps, changes of the bus state.

use crate::bus_error::{self, BusState};
use crate::image::{self, Image};
use crate::interface::Interface;
use crate::sys::socket::Received;
use plugin_api::{Clock, Intake};
use std::time::Duration;
use stream::{EventTime, FaultKind, GapCause, LinkState, RawRecord, RecordKind, Span};

/// How long a frame may have waited in the receive buffer. An older stamp cannot be true.
const OLDEST: Duration = Duration::from_secs(10);
/// A socket's stamps never run backwards (seen, and so the kernel queues them); mapping one reads two clocks one
/// after the other, which can reverse two close ones by a little. By more than this it is a clock step.
const READING_ERROR: Span = Span::from_millis(1);

/// How often the clocks are read before a stamp is taken for wrong.
const READINGS: usize = 3;

/// One link from its opening to its loss.
pub(crate) struct Line {
    stamps: Stamps,
    drops: Drops,
    state: BusState,
}

impl Line {
    /// A line that was just opened. `kernel_stamps` is false where the link has none: then the receive time is
    /// right and no fault.
    pub(crate) fn new(now: EventTime, kernel_stamps: bool) -> Line {
        Line { stamps: Stamps::new(now, kernel_stamps), drops: Drops::default(), state: BusState::Active }
    }

    /// Takes one frame.
    pub(crate) fn take(&mut self, intake: &mut Intake, r: &Received<'_>) {
        let before = self.stamps.newest;
        let (time, over) = self.stamps.event_time(intake.clock(), r.stamp_ns);
        if let Some(count) = over {
            stamp_fault(intake, count);
        }
        if let Some(lost) = r.drops.and_then(|total| self.drops.newly(total)) {
            intake.gap(lost, before, time, GapCause::KernelDrop);
        }
        match image::read(r.image) {
            Image::Frame(frame) => intake.record(time, RecordKind::CanFrame, frame.payload()),
            Image::Error { id, data } => self.error_frame(intake, time, id, &data, r.image),
            Image::Malformed => fault(intake, time, FaultKind::Malformed, r.image),
        }
    }

    fn error_frame(&mut self, intake: &mut Intake, time: EventTime, id: u32, data: &[u8; 8], image: &[u8]) {
        let e = bus_error::decode(id, data);
        let changed = e.state.is_some_and(|s| self.bus_state(intake, s, &e.words));
        if e.more || !changed {
            fault(intake, time, FaultKind::BusError, image);
        }
    }

    /// Notes the state of the controller; says it where it changed.
    pub(crate) fn bus_state(&mut self, intake: &mut Intake, state: BusState, words: &str) -> bool {
        let changed = state != self.state;
        if changed {
            let link = match state {
                BusState::Active => LinkState::Up,
                BusState::Warning | BusState::Passive => LinkState::Degraded,
                BusState::BusOff | BusState::Stopped | BusState::Sleeping => LinkState::Down,
            };
            let detail = if words.is_empty() { state.word().into() } else { format!("{} ({words})", state.word()) };
            intake.link(None, link, detail);
        }
        self.state = state;
        changed
    }

    /// Notes the socket's drop counter, read while its queue was empty: what was lost after the last frame.
    pub(crate) fn drop_counter(&mut self, intake: &mut Intake, total: u32) {
        if let Some(lost) = self.drops.newly(total) {
            let (from, to) = (self.stamps.newest, intake.now());
            intake.gap(lost, from, to, GapCause::KernelDrop);
        }
    }

    /// Notes the interface's own counters: frames lost before any socket saw them, since it was looked at last.
    pub(crate) fn interface_counters(
        &mut self,
        intake: &mut Intake,
        before: &Interface,
        now: &Interface,
        looked: EventTime,
    ) {
        let lost = now.lost().saturating_sub(before.lost());
        if lost > 0 {
            let to = intake.now();
            intake.gap(lost, looked, to, GapCause::KernelDrop);
        }
    }

    /// Time passed: says what has been waiting to be said for long.
    pub(crate) fn tick(&mut self, intake: &mut Intake) {
        if let Some(count) = self.stamps.lasting(intake.now()) {
            stamp_fault(intake, count);
        }
    }

    /// The link ends here.
    pub(crate) fn close(&mut self, intake: &mut Intake) {
        if let Some(count) = self.stamps.end() {
            stamp_fault(intake, count);
        }
    }
}

/// A fault with the time of the frame, which `Intake::fault` would not keep.
fn fault(intake: &mut Intake, time: EventTime, kind: FaultKind, bytes: &[u8]) {
    intake.record(time, RecordKind::Fault, RawRecord::fault_payload(0, kind, bytes));
}

/// The bytes are the number of frames concerned, u64 little-endian.
fn stamp_fault(intake: &mut Intake, count: u64) {
    intake.fault(0, FaultKind::Stamp, &count.to_le_bytes());
}

/// Kernel stamps to event time.
struct Stamps {
    expected: bool,
    newest: EventTime,
    /// Frames in a row whose stamp could not be true, and when the row began.
    bad: u64,
    since: EventTime,
}

impl Stamps {
    /// A row of bad stamps is told after this long even if it goes on.
    const LASTING: Span = Span::from_secs(10);

    fn new(now: EventTime, expected: bool) -> Stamps {
        Stamps { expected, newest: now, bad: 0, since: now }
    }

    /// The event time of a frame, and the length of the row of bad stamps that ends with it.
    fn event_time(&mut self, clock: &dyn Clock, stamp_ns: Option<i64>) -> (EventTime, Option<u64>) {
        // Not before the newest frame; read again, since being held up between the two clocks is no clock step.
        let mapped = stamp_ns.and_then(|s| {
            let map = |_| clock.event_time_of(s, OLDEST).filter(|t| self.newest - *t <= READING_ERROR);
            (0..READINGS).find_map(map)
        });
        let (time, over) = match mapped {
            Some(t) => (t, self.end()),
            None => {
                let now = clock.now();
                if self.expected {
                    self.since = if self.bad == 0 { now } else { self.since };
                    self.bad += 1;
                }
                (now, None)
            }
        };
        self.newest = self.newest.max(time);
        (self.newest, over)
    }

    fn end(&mut self) -> Option<u64> {
        let count = std::mem::take(&mut self.bad);
        (count > 0).then_some(count)
    }

    fn lasting(&mut self, now: EventTime) -> Option<u64> {
        if now - self.since >= Self::LASTING { self.end() } else { None }
    }
}

/// The kernel's count of dropped frames: 32 bits, wraps; told with frames and on request, so a number older than
/// one already seen is possible.
#[derive(Default)]
struct Drops {
    seen: u32,
}

impl Drops {
    /// How many more than seen before.
    fn newly(&mut self, total: u32) -> Option<u64> {
        let more = total.wrapping_sub(self.seen) as i32;
        if more <= 0 {
            return None;
        }
        self.seen = total;
        Some(more as u64)
    }
}

#[cfg(test)]
#[path = "line/tests.rs"]
mod tests;
