//! Probes and second askings: what is done before an answer is trusted again.

use super::device::Owed;
use super::exchange::Outcome;
use super::master::Master;
use super::probe;
use decode::modbus::Request;
use plugin_api::LinkLost;
use stream::FaultKind;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// An answer that is later than so many worst answer times is not expected at all; a device that gave no fault for
/// so long is not in trouble.
const FORGET: u32 = 10;

impl<P: AsyncRead + AsyncWrite + Unpin> Master<'_, P> {
    /// Asks a suspect device a probe. True: whatever it is asked now is answered by what comes then.
    pub(super) async fn probe(&mut self, d: usize) -> Result<bool, LinkLost> {
        let now = Instant::now();
        let device = &mut self.devices[d];
        let horizon = device.worst * FORGET;
        device.owed.retain(|o| now.saturating_duration_since(o.sent) < horizon);
        let owed: Vec<Request> = device.owed.iter().map(|o| o.request).collect();
        let Some(probe) = probe::choose(&device.requests, &owed) else { return Ok(false) };
        let frame = match self.ask(d, probe.request).await? {
            Outcome::Nothing => return Ok(false),
            Outcome::Answer { frame, .. } if probe.decisive => {
                let device = &mut self.devices[d];
                device.owed.clear();
                device.note(Some(probe.request), &frame);
                device.suspect = false;
                device.alive(self.intake);
                return Ok(true);
            }
            Outcome::Answer { frame, .. } => frame,
            Outcome::Exception { frame } => {
                self.fault(d, FaultKind::Exception, &frame);
                frame
            }
        };
        self.undecided(d, probe.request, &frame).await?;
        self.devices[d].alive(self.intake);
        Ok(true)
    }

    /// An answer that may be the probe's or one still owed: counts as the oldest it can be, and silence is kept for
    /// the worst answer time once more, for those behind it.
    async fn undecided(&mut self, d: usize, request: Request, frame: &[u8]) -> Result<(), LinkLost> {
        let now = Instant::now();
        let device = &mut self.devices[d];
        device.owed.push(Owed { request, sent: now });
        device.settle(frame);
        device.note(None, frame);
        let until = now + device.worst + self.timing.characters(request.answer_length());
        let left = device.owed.last().map(|o| o.request);
        if let Some(left) = left {
            self.keep_silent(d, &left, until).await?;
        }
        let device = &mut self.devices[d];
        device.owed.clear();
        device.suspect = false;
        Ok(())
    }

    /// Asks the same again where an answer may be the repetition of another one: at once, or after the worst answer
    /// time of a device in trouble, of which more repetitions may come. The second answer, where nothing came in
    /// between and both are the same; else nothing, and the device is suspect.
    pub(super) async fn ask_again(&mut self, d: usize, request: Request, first: &[u8]) -> Result<Outcome, LinkLost> {
        let device = &mut self.devices[d];
        // Where the first is a repetition, the true answer is still owed.
        device.owed.push(Owed { request, sent: Instant::now() });
        if device.troubled.is_some_and(|t| t.elapsed() < device.worst * FORGET) {
            let worst = device.worst;
            self.flush(d, worst).await?;
        }
        self.quiet(d).await?;
        if !self.devices[d].suspect {
            self.devices[d].owed.pop();
            let second = self.ask(d, request).await?;
            if matches!(&second, Outcome::Answer { frame, .. } | Outcome::Exception { frame } if frame == first) {
                return Ok(second);
            }
            if let Outcome::Answer { frame, .. } | Outcome::Exception { frame } = &second {
                self.devices[d].note(Some(request), frame);
                self.devices[d].owed.push(Owed { request, sent: Instant::now() });
            }
        }
        self.fault(d, FaultKind::WrongAnswer, first);
        self.devices[d].suspect = true;
        Ok(Outcome::Nothing)
    }
}
