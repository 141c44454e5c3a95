//! What is known of a device on the line.

use decode::modbus::{Request, Verdict, match_answer};
use plugin_api::{DeviceSetup, Intake};
use std::time::Duration;
use stream::LinkState;
use tokio::time::Instant;

/// So many requests in a row without a usable answer, and the device counts as down.
const DOWN_AFTER: u32 = 3;
/// The longest pause between two requests to a device that does not answer, unless its period is longer.
const LONGEST_PAUSE: Duration = Duration::from_secs(30);
/// Rounds missed in a row after which the line is called too slow.
const TOO_SLOW: u32 = 10;
/// A repetition that comes later than so many worst answer times is not expected.
const REPEATED_WITHIN: u32 = 3;
/// Answers remembered at most.
const MOST_SEEN: usize = 128;

/// A device, across losses of the port.
#[derive(Clone, Debug)]
pub(crate) struct Device {
    /// Its index in the source's list.
    pub(crate) index: u16,
    pub(crate) requests: Vec<Request>,
    setup: DeviceSetup,
    /// Times to wait, shortened where the demonstration runs fast.
    pub(crate) period: Duration,
    pub(crate) time_out: Duration,
    pub(crate) worst: Duration,
    /// When its list is asked again: on a grid that does not drift.
    due: Instant,
    /// Nothing before then: the device did not answer.
    not_before: Instant,
    /// Next in its list.
    pub(crate) next: usize,
    /// When it was last asked, in requests on the line.
    pub(crate) asked: u64,
    /// Requests that may still be answered, oldest first.
    pub(crate) owed: Vec<Owed>,
    /// Whether a probe is needed before the next request.
    pub(crate) suspect: bool,
    /// When a fault of it was last recorded.
    pub(crate) troubled: Option<Instant>,
    /// Answers seen lately.
    seen: Vec<Seen>,
    /// Requests in a row without a usable answer.
    failures: u32,
    down: bool,
    /// Polls skipped since their time had passed when the line was free.
    overruns: u64,
    missed_in_a_row: u32,
}

/// An answer that came.
#[derive(Clone, Debug)]
struct Seen {
    request: Option<Request>,
    frame: Vec<u8>,
    at: Instant,
}

/// A request that may still be answered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Owed {
    pub(crate) request: Request,
    pub(crate) sent: Instant,
}

impl Device {
    /// All devices of a line.
    pub(crate) fn all(list: &[(DeviceSetup, Vec<Request>)]) -> Vec<Device> {
        (0u16..).zip(list).map(|(index, (setup, requests))| Device::new(index, setup, requests)).collect()
    }

    fn new(index: u16, setup: &DeviceSetup, requests: &[Request]) -> Device {
        let now = Instant::now();
        Device {
            index,
            requests: requests.to_vec(),
            setup: setup.clone(),
            period: setup.period,
            time_out: setup.time_out,
            worst: setup.worst_answer,
            due: now,
            not_before: now,
            next: 0,
            asked: 0,
            owed: Vec::new(),
            suspect: false,
            troubled: None,
            seen: Vec::new(),
            failures: 0,
            down: false,
            overruns: 0,
            missed_in_a_row: 0,
        }
    }

    /// The port was opened and silence kept: the schedule begins anew.
    pub(crate) fn begin(&mut self, start: Instant) {
        (self.due, self.not_before, self.next, self.asked) = (start, start, 0, 0);
        self.suspect |= !self.owed.is_empty();
    }

    /// Takes over how fast event time runs.
    pub(crate) fn scale(&mut self, intake: &Intake) {
        self.period = intake.scaled(self.setup.period);
        self.time_out = intake.scaled(self.setup.time_out);
        self.worst = intake.scaled(self.setup.worst_answer);
    }

    /// When it may be asked next.
    pub(crate) fn ready_at(&self) -> Instant {
        self.due.max(self.not_before)
    }

    /// Its address on the line.
    pub(crate) fn unit(&self) -> Option<u8> {
        self.requests.first().map(Request::unit)
    }

    /// The oldest request owed that this frame answers. It is owed no longer, unless the frame may be a repetition.
    pub(crate) fn settle(&mut self, frame: &[u8]) -> Option<Request> {
        let at = self.owed.iter().position(|o| answers(&o.request, frame))?;
        let request = self.owed[at].request;
        if !self.may_be_repeated(&request, frame) {
            self.owed.remove(at);
        }
        Some(request)
    }

    /// Remembers an answer, with the request it belongs to where that is known.
    pub(crate) fn note(&mut self, request: Option<Request>, frame: &[u8]) {
        let at = Instant::now();
        let horizon = self.worst * REPEATED_WITHIN;
        self.seen.retain(|s| at.duration_since(s.at) <= horizon && (s.frame != frame || s.request != request));
        if request.is_some() {
            self.seen.retain(|s| s.frame != frame || s.request.is_some());
        }
        if self.seen.len() >= MOST_SEEN {
            self.seen.remove(0);
        }
        self.seen.push(Seen { request, frame: frame.to_vec(), at });
    }

    /// Whether the very bytes of this answer came before.
    pub(crate) fn has_seen(&self, frame: &[u8]) -> bool {
        self.seen.iter().any(|s| s.frame == frame)
    }

    /// Whether the very bytes of this answer came as the answer to another request a short while ago; of an exception
    /// (all of a device look alike), to any.
    pub(crate) fn may_be_repeated(&self, request: &Request, frame: &[u8]) -> bool {
        let horizon = self.worst * REPEATED_WITHIN;
        let exception = frame.get(1).is_some_and(|f| f & 0x80 != 0);
        let other = |s: &&Seen| s.frame == frame && (exception || s.request.as_ref() != Some(request));
        self.seen.iter().filter(other).any(|s| s.at.elapsed() <= horizon)
    }

    /// It answers: with a value, to a probe, with an exception.
    pub(crate) fn alive(&mut self, intake: &mut Intake) {
        self.failures = 0;
        if self.down {
            self.down = false;
            intake.link(Some(self.index), LinkState::Up, format!("device `{}` answers again", self.setup.name));
        }
    }

    /// Goes on in the list; after its end waits for the next time on the grid.
    pub(crate) fn advance(&mut self) {
        self.next += 1;
        if self.next < self.requests.len() {
            return;
        }
        self.next = 0;
        let missed = self.onto_grid(Instant::now());
        // A silence after a fault costs a round or two; a line that is too slow misses every one.
        self.missed_in_a_row = if missed > 0 { self.missed_in_a_row + 1 } else { 0 };
        if self.missed_in_a_row == TOO_SLOW {
            tracing::warn!(
                "device `{}` cannot be asked every {:?}: the line is too slow or too busy; it is asked as often as \
                 it goes (raise its period, its speed, or take devices off the line)",
                self.setup.name,
                self.setup.period
            );
        }
        self.overruns += missed;
    }

    /// The rest of the list is dropped, and after a second failure in a row the device is asked ever less often.
    pub(crate) fn fail(&mut self, intake: &mut Intake) {
        self.failures += 1;
        self.next = 0;
        let now = Instant::now();
        let pause = self.pause();
        self.not_before = now + pause;
        self.onto_grid(self.not_before);
        if self.failures >= DOWN_AFTER && !self.down {
            self.down = true;
            let detail = format!(
                "device `{}` gave no usable answer to {} requests in a row (time-out {:?}); it is asked less and \
                 less often until it does. Check its supply, wiring, address, speed and parity",
                self.setup.name, self.failures, self.setup.time_out
            );
            intake.link(Some(self.index), LinkState::Down, detail);
        }
    }

    fn pause(&self) -> Duration {
        let base = self.period.max(self.worst);
        let doubled = match self.failures {
            0 | 1 => Duration::ZERO,
            n => base.saturating_mul(1 << (n - 2).min(16)),
        };
        doubled.min(LONGEST_PAUSE.max(self.period))
    }

    /// Moves on to the next time on the grid, or to the latest one that has passed by `at`; says how many lay between.
    fn onto_grid(&mut self, at: Instant) -> u64 {
        self.due += self.period;
        let behind = at.saturating_duration_since(self.due).as_nanos();
        let missed = behind.checked_div(self.period.as_nanos()).unwrap_or(0);
        let missed = u32::try_from(missed).unwrap_or(u32::MAX);
        self.due += self.period * missed;
        u64::from(missed)
    }

    /// Polls skipped so far.
    #[cfg(test)]
    pub(crate) fn overruns(&self) -> u64 {
        self.overruns
    }
}

/// Whether this whole frame answers the request, with data or with an exception.
pub(crate) fn answers(request: &Request, frame: &[u8]) -> bool {
    match match_answer(request, frame) {
        Verdict::Answer { len } | Verdict::Exception { len, .. } => len == frame.len(),
        _ => false,
    }
}
