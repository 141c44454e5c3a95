//! An instrument that sends lines of text. Nothing is ever written to it.

use crate::wire::Wire;
use decode::text::{Framed, LineFramer};
use plugin_api::{Intake, LinkLost};
use std::time::Duration;
use stream::{EventTime, FaultKind, Payload, RecordKind};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// The one device on the line.
const DEVICE: u16 = 0;
/// How long one read waits; then another one does.
const LONG: Duration = Duration::from_secs(3600);

/// Hands over lines until the link is lost, and says why. The event time of a line is when the read that brought
/// its terminator returned. Whatever the link was lost in the middle of is kept as a partial line.
pub(crate) async fn run<P: AsyncRead + AsyncWrite + Unpin>(
    wire: &mut Wire<P>,
    longest: usize,
    intake: &mut Intake,
) -> LinkLost {
    let mut framer = LineFramer::new(longest);
    loop {
        match wire.more(Instant::now() + LONG, intake).await {
            Ok(_) => {
                let at = wire.read_at;
                framer.push(&wire.bytes, &mut |framed| hand_over(intake, at, framed));
                wire.bytes.clear();
            }
            Err(lost) => {
                if !framer.pending().is_empty() {
                    intake.fault(DEVICE, FaultKind::PartialLine, framer.pending());
                }
                return lost;
            }
        }
    }
}

fn hand_over(intake: &mut Intake, at: EventTime, framed: Framed<'_>) {
    match framed {
        Framed::Line(line) if std::str::from_utf8(line).is_ok() => {
            let mut payload = Payload::from_slice(&DEVICE.to_le_bytes());
            payload.extend_from_slice(line);
            intake.record(at, RecordKind::TextLine, payload);
        }
        Framed::Line(line) => intake.fault(DEVICE, FaultKind::Malformed, line),
        Framed::Partial(line) => intake.fault(DEVICE, FaultKind::PartialLine, line),
        Framed::TooLong(line) => intake.fault(DEVICE, FaultKind::TooLong, line),
    }
}

#[cfg(test)]
mod tests;
