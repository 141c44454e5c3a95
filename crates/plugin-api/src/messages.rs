//! The messages of one instrument: found in its bytes, stamped, handed over; an instrument that sends unasked.

use crate::intake::Intake;
use crate::source::LinkLost;
use crate::wire::Wire;
use std::fmt;
use std::sync::Arc;
use std::time::Duration;
use stream::{EventTime, Framed, Framer, Payload, RecordKind};
use tokio::io::AsyncRead;
use tokio::time::Instant;

/// How long one read waits; then another one does.
const LONG: Duration = Duration::from_secs(3600);

/// How the messages of an instrument are found, and what a record of one is.
#[derive(Clone)]
pub struct Messages {
    kind: RecordKind,
    framer: Arc<dyn Fn() -> Box<dyn Framer> + Send + Sync>,
}

impl Messages {
    /// Messages that become records of this kind, found by framers that are made so, one for each link.
    pub fn new<F: Framer + 'static>(kind: RecordKind, make: impl Fn() -> F + Send + Sync + 'static) -> Messages {
        Messages { kind, framer: Arc::new(move || Box::new(make())) }
    }

    /// What a record of a message is.
    pub fn kind(&self) -> RecordKind {
        self.kind
    }

    /// A framer for a new link.
    pub fn framer(&self) -> Box<dyn Framer> {
        (self.framer)()
    }
}

impl fmt::Debug for Messages {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Messages").field("kind", &self.kind).finish_non_exhaustive()
    }
}

/// Hands over what one device sends.
pub struct Listener {
    device: u16,
    kind: RecordKind,
    framer: Box<dyn Framer>,
}

impl Listener {
    /// For the device of this index.
    pub fn new(device: u16, messages: &Messages) -> Listener {
        Listener { device, kind: messages.kind, framer: messages.framer() }
    }

    /// Takes bytes of a stream as they came.
    pub fn take(&mut self, at: EventTime, bytes: &[u8], intake: &mut Intake) {
        let Listener { device, kind, framer } = self;
        framer.push(at, bytes, &mut |at, framed| hand_over(*device, *kind, at, framed, intake));
    }

    /// Takes one datagram: it begins a message and ends one.
    pub fn take_datagram(&mut self, at: EventTime, bytes: &[u8], intake: &mut Intake) {
        let Listener { device, kind, framer } = self;
        framer.datagram(at, bytes, &mut |at, framed| hand_over(*device, *kind, at, framed, intake));
    }

    /// The link is gone: what it was lost in the middle of is kept.
    pub fn finish(&mut self, intake: &mut Intake) {
        let Listener { device, kind, framer } = self;
        framer.finish(&mut |at, framed| hand_over(*device, *kind, at, framed, intake));
    }
}

fn hand_over(device: u16, kind: RecordKind, at: EventTime, framed: Framed<'_>, intake: &mut Intake) {
    match framed {
        Framed::Message(message) => {
            let mut payload = Payload::from_slice(&device.to_le_bytes());
            payload.extend_from_slice(message);
            intake.record(at, kind, payload);
        }
        Framed::Fault(fault, bytes) => intake.fault(device, fault, bytes),
    }
}

/// Hands over the messages of an instrument that sends unasked, until the link is lost, and says why. The event time of
/// a message is when the read that brought its last byte returned. Nothing is written. A link that
/// is `quiet` for so long counts as lost.
pub async fn listen<P: AsyncRead + Unpin>(
    wire: &mut Wire<P>,
    device: u16,
    messages: &Messages,
    quiet: Option<Duration>,
    intake: &mut Intake,
) -> LinkLost {
    let mut listener = Listener::new(device, messages);
    loop {
        match wire.more(Instant::now() + quiet.unwrap_or(LONG), intake).await {
            Ok(false) if quiet.is_some() => {
                listener.finish(intake);
                return wire.lost(&format!("nothing came for {:?}", quiet.unwrap_or(LONG)));
            }
            Ok(_) => {
                listener.take(wire.read_at, &wire.bytes, intake);
                wire.bytes.clear();
            }
            Err(lost) => {
                listener.finish(intake);
                return lost;
            }
        }
    }
}
