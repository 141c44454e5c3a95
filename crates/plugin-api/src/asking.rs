//! An instrument that answers queries with one message each: asked one query at a time, each with its period.
//!
//! # Why a late answer never becomes another query's value
//! An answer in plain text seldom says what was asked. What is assumed: the instrument answers queries in the order in
//! which they came, each with one message, perhaps late, perhaps never. Then:
//! 1. A query is sent only when the line is silent and no earlier one can still be answered.
//! 2. After a time-out, or a message that was not asked for, the line is kept silent until the instrument's worst
//!    answer time is over; what comes is recorded as a fault.
//! 3. Then the instrument is *suspect*: it is asked once more, what it answers is never used as a value, and silence is
//!    kept for the worst answer time once more, in which the answer comes that the first one may have been late for.
//!
//! Not covered, since plain text gives no means: an answer later than twice the worst answer time. Labels in the lines
//! (`label`, `prefix`, the text of a pattern) protect against that too.

use crate::intake::Intake;
use crate::messages::Messages;
use crate::source::{DeviceSetup, LinkLost};
use crate::wire::Wire;
use std::time::Duration;
use stream::{EventTime, FaultKind, Framed, Framer, LinkState, Payload, RecordKind};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// So many queries in a row without an answer, and the instrument counts as down.
const DOWN_AFTER: u32 = 3;
/// The longest pause after a failure, unless the period is longer.
const LONGEST_PAUSE: Duration = Duration::from_secs(30);
/// How long the line is listened to after an answer: a second message is no answer to the next query.
const SETTLE: Duration = Duration::from_millis(20);

/// Asks until the link is lost, and says why.
pub async fn ask<P: AsyncRead + AsyncWrite + Unpin>(
    wire: &mut Wire<P>,
    device: u16,
    setup: &DeviceSetup,
    messages: &Messages,
    intake: &mut Intake,
) -> LinkLost {
    let mut asker = Asker::new(wire, device, setup, messages, intake);
    let lost = match asker.go().await {
        Ok(never) => match never {},
        Err(lost) => lost,
    };
    asker.flush(FaultKind::PartialLine);
    lost
}

/// A query with when it is due.
struct Due {
    bytes: Vec<u8>,
    period: Duration,
    at: Instant,
    /// When it was last asked, in queries on the line.
    asked: u64,
}

struct Asker<'a, P> {
    wire: &'a mut Wire<P>,
    intake: &'a mut Intake,
    setup: &'a DeviceSetup,
    device: u16,
    framer: Box<dyn Framer>,
    queries: Vec<Due>,
    /// Queries sent on this link.
    count: u64,
    time_out: Duration,
    worst: Duration,
    suspect: bool,
    failures: u32,
    down: bool,
}

/// Whether it is the query itself, as a two-wire adapter or the instrument's terminal mode echoes it: dropped.
fn is_echo(came: &Came, query: &[u8]) -> bool {
    came.what.as_ref().is_ok_and(|message| message == query.trim_ascii_end())
}

/// What came.
struct Came {
    at: EventTime,
    what: Result<Vec<u8>, (FaultKind, Vec<u8>)>,
}

impl<'a, P: AsyncRead + AsyncWrite + Unpin> Asker<'a, P> {
    fn new(
        wire: &'a mut Wire<P>,
        device: u16,
        setup: &'a DeviceSetup,
        messages: &Messages,
        intake: &'a mut Intake,
    ) -> Asker<'a, P> {
        let start = Instant::now();
        let due = |q: &crate::Query| Due {
            bytes: q.bytes.clone(),
            period: intake.scaled(q.period.unwrap_or(setup.period)),
            at: start,
            asked: 0,
        };
        let queries = setup.queries.iter().map(due).collect();
        let (time_out, worst) = (intake.scaled(setup.time_out), intake.scaled(setup.worst_answer));
        let framer = messages.framer();
        Asker {
            wire,
            intake,
            setup,
            device,
            framer,
            queries,
            count: 0,
            time_out,
            worst,
            suspect: false,
            failures: 0,
            down: false,
        }
    }

    async fn go(&mut self) -> Result<std::convert::Infallible, LinkLost> {
        // Whatever was asked before the link was lost is answered or never will be.
        self.silence(self.worst, FaultKind::Noise).await?;
        let start = Instant::now();
        self.queries.iter_mut().for_each(|q| q.at = start);
        loop {
            let due = self.queries.iter().enumerate().min_by_key(|(_, q)| (q.at, q.asked));
            let next = due.map(|(i, q)| (i, q.at));
            let Some((i, at)) = next else { return Err(LinkLost("no query is listed".to_owned())) };
            self.idle(at).await?;
            if self.suspect {
                self.probe(i).await?;
            } else {
                self.one(i).await?;
            }
        }
    }

    /// Waits; a message that nobody asked for is a fault.
    async fn idle(&mut self, until: Instant) -> Result<(), LinkLost> {
        loop {
            if !self.wire.more(until, self.intake).await? {
                return Ok(());
            }
            self.suspect |= self.unasked(FaultKind::WrongAnswer);
            if Instant::now() >= until {
                return Ok(());
            }
        }
    }

    /// Asks one query and hands over its answer.
    async fn one(&mut self, i: usize) -> Result<(), LinkLost> {
        match self.exchange(i).await? {
            Some((at, answer)) => {
                let mut payload = Payload::from_slice(&self.device.to_le_bytes());
                payload.extend_from_slice(&(i as u16).to_le_bytes());
                payload.extend_from_slice(&answer);
                self.intake.record(at, RecordKind::TextAnswer, payload);
                self.alive();
                self.again(i);
            }
            None => self.failed(i),
        }
        Ok(())
    }

    /// Asks a suspect instrument; the answer is no value.
    async fn probe(&mut self, i: usize) -> Result<(), LinkLost> {
        if self.exchange(i).await?.is_none() {
            self.failed(i);
            return Ok(());
        }
        self.alive();
        self.silence(self.worst, FaultKind::LateAnswer).await?;
        self.suspect = false;
        Ok(())
    }

    /// One query, one answer. Without one: the fault is recorded, silence kept, the instrument suspect.
    async fn exchange(&mut self, i: usize) -> Result<Option<(EventTime, Vec<u8>)>, LinkLost> {
        if self.flush(FaultKind::Noise) {
            // The rest of it may still come.
            self.silence(self.worst, FaultKind::WrongAnswer).await?;
            self.flush(FaultKind::Noise);
        }
        let query = self.queries[i].bytes.clone();
        self.wire.send(&query).await?;
        self.count += 1;
        self.queries[i].asked = self.count;
        let until = Instant::now() + self.time_out;
        let mut answer = None;
        while answer.is_none() && Instant::now() < until && self.wire.more(until, self.intake).await? {
            let mut came = self.sorted().into_iter().filter(|c| !is_echo(c, &query));
            answer = came.next().map(|first| (first, came.collect::<Vec<Came>>()));
        }
        let Some((first, behind)) = answer else {
            self.flush(FaultKind::Noise);
            self.intake.fault(self.device, FaultKind::TimeOut, &query);
            self.silence(self.worst, FaultKind::LateAnswer).await?;
            self.suspect = true;
            return Ok(None);
        };
        let more = !behind.is_empty();
        behind.into_iter().for_each(|c| self.fault(c, FaultKind::WrongAnswer));
        if more || self.silence(self.intake.scaled(SETTLE), FaultKind::WrongAnswer).await? {
            self.suspect = true;
        }
        match first.what {
            Ok(answer) if !more => Ok(Some((first.at, answer))),
            _ => {
                self.fault(first, FaultKind::WrongAnswer);
                self.silence(self.worst, FaultKind::LateAnswer).await?;
                self.suspect = true;
                Ok(None)
            }
        }
    }

    /// Listens for so long whatever comes; true where a message came.
    async fn silence(&mut self, time: Duration, kind: FaultKind) -> Result<bool, LinkLost> {
        let until = Instant::now() + time;
        let mut came = false;
        while Instant::now() < until && self.wire.more(until, self.intake).await? {
            came |= self.unasked(kind);
        }
        Ok(came)
    }

    /// What the bytes read so far complete.
    fn sorted(&mut self) -> Vec<Came> {
        let mut all = Vec::new();
        self.framer.push(self.wire.read_at, &self.wire.bytes, &mut |at, framed| {
            let what = match framed {
                Framed::Message(m) => Ok(m.to_vec()),
                Framed::Fault(kind, bytes) => Err((kind, bytes.to_vec())),
            };
            all.push(Came { at, what });
        });
        self.wire.bytes.clear();
        all
    }

    fn unasked(&mut self, kind: FaultKind) -> bool {
        let all = self.sorted();
        let any = !all.is_empty();
        all.into_iter().for_each(|c| self.fault(c, kind));
        any
    }

    fn fault(&mut self, came: Came, kind: FaultKind) {
        match came.what {
            Ok(message) => self.intake.fault(self.device, kind, &message),
            Err((kind, bytes)) => self.intake.fault(self.device, kind, &bytes),
        }
    }

    /// What is pending becomes a fault; the next byte begins a message.
    fn flush(&mut self, kind: FaultKind) -> bool {
        let mut left = Vec::new();
        self.framer.finish(&mut |_, framed| {
            let (Framed::Message(bytes) | Framed::Fault(_, bytes)) = framed;
            left.extend_from_slice(bytes);
        });
        if !left.is_empty() {
            self.intake.fault(self.device, kind, &left);
        }
        self.framer.begin();
        !left.is_empty()
    }

    /// Due again on its grid; times that have passed are left out.
    fn again(&mut self, i: usize) {
        let now = Instant::now();
        let due = &mut self.queries[i];
        due.at += due.period;
        if due.at < now {
            let behind = now.duration_since(due.at).as_nanos().checked_div(due.period.as_nanos()).unwrap_or(0);
            due.at += due.period * u32::try_from(behind).unwrap_or(u32::MAX);
        }
    }

    fn alive(&mut self) {
        self.failures = 0;
        if self.down {
            self.down = false;
            let detail = format!("device `{}` answers again", self.setup.name);
            self.intake.link(Some(self.device), LinkState::Up, detail);
        }
    }

    /// After a second failure in a row the instrument is asked ever less often.
    fn failed(&mut self, i: usize) {
        self.failures += 1;
        self.again(i);
        let period = self.queries[i].period;
        let pause = match self.failures {
            1 => Duration::ZERO,
            n => period.max(self.worst).saturating_mul(1 << (n - 2).min(16)).min(LONGEST_PAUSE.max(period)),
        };
        let earliest = Instant::now() + pause;
        self.queries.iter_mut().for_each(|q| q.at = q.at.max(earliest));
        if self.failures >= DOWN_AFTER && !self.down {
            self.down = true;
            let detail = format!(
                "device `{}` gave no usable answer to {} queries in a row (time-out {:?}); it is asked less and less \
                 often until it does. Check its supply, wiring, speed and parity, and how its queries end",
                self.setup.name, self.failures, self.setup.time_out
            );
            self.intake.link(Some(self.device), LinkState::Down, detail);
        }
    }
}
