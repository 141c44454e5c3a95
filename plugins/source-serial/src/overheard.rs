//! Modbus devices that another master asks. Nothing is ever written.

use decode::modbus::PassiveFramer;
use plugin_api::{Intake, LinkLost, Wire};
use std::time::Duration;
use stream::{EventTime, FaultKind, Framed, Framer, NO_DEVICE, Payload, RecordKind, Span};
use tokio::io::AsyncRead;
use tokio::time::Instant;

/// A frame that has begun and not gone on for so long will not: far above 3.5 characters, and above what an adapter
/// keeps bytes back for.
const BROKEN_OFF: Duration = Duration::from_millis(200);

/// The devices on the line.
pub(crate) struct Overheard {
    /// Addresses, in the order of the devices' indices.
    units: Vec<u8>,
    worst: Duration,
}

impl Overheard {
    pub(crate) fn new(units: Vec<u8>, worst: Duration) -> Overheard {
        Overheard { units, worst }
    }

    /// Hands over pairs of request and answer until the link is lost, and says why. Those of devices that are not
    /// listed are kept, without a device.
    pub(crate) async fn run<P: AsyncRead + Unpin>(&self, wire: &mut Wire<P>, intake: &mut Intake) -> LinkLost {
        let worst = Span(i64::try_from(self.worst.as_nanos()).unwrap_or(i64::MAX));
        let mut framer = PassiveFramer::new(worst);
        loop {
            match wire.more(Instant::now() + BROKEN_OFF, intake).await {
                Ok(true) => {
                    framer.push(wire.read_at, &wire.bytes, &mut |at, framed| self.hand_over(at, framed, intake));
                    wire.bytes.clear();
                }
                Ok(false) => framer.finish(&mut |at, framed| self.hand_over(at, framed, intake)),
                Err(lost) => {
                    framer.finish(&mut |at, framed| self.hand_over(at, framed, intake));
                    return lost;
                }
            }
        }
    }

    fn hand_over(&self, at: EventTime, framed: Framed<'_>, intake: &mut Intake) {
        match framed {
            Framed::Message(pair) => {
                let mut payload = Payload::from_slice(&self.device(pair).to_le_bytes());
                payload.extend_from_slice(pair);
                intake.record(at, RecordKind::ModbusAnswer, payload);
            }
            Framed::Fault(kind @ (FaultKind::Noise | FaultKind::Checksum | FaultKind::PartialLine), bytes) => {
                intake.fault(NO_DEVICE, kind, bytes);
            }
            Framed::Fault(kind, frame) => intake.fault(self.device(frame), kind, frame),
        }
    }

    /// Whose frame it is.
    fn device(&self, frame: &[u8]) -> u16 {
        let place = self.units.iter().position(|u| frame.first() == Some(u));
        place.and_then(|i| u16::try_from(i).ok()).unwrap_or(NO_DEVICE)
    }
}

#[cfg(test)]
mod tests;
