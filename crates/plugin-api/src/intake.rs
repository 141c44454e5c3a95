//! The one way from a source into the program.

use crate::LinkLost;
use crate::clock::Clock;
use std::future::Future;
use std::sync::Arc;
use std::time::Duration;
use stream::{EventTime, FaultKind, Gap, GapCause, Link, LinkState, Payload, RawRecord, RecordKind, SourceId};
use tokio::sync::watch;

/// What goes from a source to the sequencer.
#[derive(Clone, Debug, PartialEq)]
pub enum Message {
    /// A message of the instrument, or bytes that were none.
    Record(RawRecord),
    /// Something is missing.
    Gap(Gap),
    /// The link, or a device on it, changed.
    Link(Link),
}

/// The bounded queue behind an intake. Two implementations: the runtime's ring and the fake.
pub trait Inlet: Send {
    /// Takes the message, or drops it, counts it and logs a [`Gap`] later. Never blocks.
    fn push(&mut self, message: Message);
}

/// What a source is given: stamps, counts and hands over.
pub struct Intake {
    source: SourceId,
    sequence: u64,
    clock: Arc<dyn Clock>,
    inlet: Box<dyn Inlet>,
    stop: watch::Receiver<bool>,
    line: Option<LinkState>,
}

impl Intake {
    /// An intake for one source.
    pub fn new(source: SourceId, clock: Arc<dyn Clock>, inlet: Box<dyn Inlet>, stop: watch::Receiver<bool>) -> Intake {
        Intake { source, sequence: 0, clock, inlet, stop, line: None }
    }

    /// The source this intake belongs to.
    pub fn source(&self) -> SourceId {
        self.source
    }

    /// The clock.
    pub fn clock(&self) -> &dyn Clock {
        &*self.clock
    }

    /// Event time now.
    pub fn now(&self) -> EventTime {
        self.clock.now()
    }

    /// Hands over one message as received at `event_time`.
    pub fn record(&mut self, event_time: EventTime, kind: RecordKind, payload: Payload) {
        let record = RawRecord { source: self.source, sequence: self.sequence, event_time, kind, payload };
        self.sequence += 1;
        self.inlet.push(Message::Record(record));
    }

    /// Hands over bytes that were of no use, so that they are kept and counted.
    pub fn fault(&mut self, device: u16, fault: FaultKind, bytes: &[u8]) {
        let now = self.now();
        self.record(now, RecordKind::Fault, RawRecord::fault_payload(device, fault, bytes));
    }

    /// Says that the link (`device` = `None`) or one device on it changed. Say it once a change.
    pub fn link(&mut self, device: Option<u16>, state: LinkState, detail: impl Into<String>) {
        if device.is_none() {
            self.line = Some(state);
        }
        let link = Link { source: self.source, device, event_time: self.now(), state, detail: detail.into() };
        self.inlet.push(Message::Link(link));
    }

    /// What was last said of the link itself; `None` before anything was.
    pub fn line_state(&self) -> Option<LinkState> {
        self.line
    }

    /// Says that `lost` records are missing between two moments (a kernel's drop counter).
    pub fn gap(&mut self, lost: u64, from: EventTime, to: EventTime, cause: GapCause) {
        self.inlet.push(Message::Gap(Gap { source: Some(self.source), lost, from, to, cause }));
    }

    /// Whether the run is being closed.
    pub fn is_stopping(&self) -> bool {
        *self.stop.borrow()
    }

    /// Resolves when the run is being closed. Cancel safe; independent of the intake's borrow.
    pub fn stopped(&self) -> impl Future<Output = ()> + 'static {
        let mut stop = self.stop.clone();
        async move {
            // An error means that the sender is gone, which is a stop too.
            let _ = stop.wait_for(|s| *s).await;
        }
    }

    /// A duration of event time as a duration to wait: shorter where the demonstration runs fast.
    pub fn scaled(&self, d: Duration) -> Duration {
        d.div_f64(self.clock.pace().max(1e-3))
    }
}
/// A source's work, until the run is being closed ([`Intake::stopped`]) or the work loses its link.
///
/// # Errors
/// [`LinkLost`], as the work says.
pub async fn until_stopped(
    stopped: impl Future<Output = ()>,
    work: impl Future<Output = LinkLost>,
) -> Result<(), LinkLost> {
    tokio::select! {
        biased;
        () = stopped => Ok(()),
        lost = work => Err(lost),
    }
}
