//! The schedule of a line.

use super::Timing;
use super::device::Device;
use super::exchange::Outcome;
use decode::modbus::Request;
use plugin_api::Wire;
use plugin_api::{Intake, LinkLost};
use std::convert::Infallible;
use std::time::Duration;
use stream::{FaultKind, Payload, RecordKind};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// How long to wait where nothing is due.
const LONG: Duration = Duration::from_secs(3600);

/// The master of one open line.
pub(crate) struct Master<'a, P> {
    pub(super) wire: Wire<P>,
    pub(super) intake: &'a mut Intake,
    pub(super) devices: &'a mut [Device],
    pub(super) timing: Timing,
    /// Whether the adapter's echo was seen on this link.
    pub(super) echo: bool,
    /// Requests sent on this link.
    pub(super) count: u64,
}

impl<'a, P: AsyncRead + AsyncWrite + Unpin> Master<'a, P> {
    pub(crate) fn new(
        wire: Wire<P>,
        intake: &'a mut Intake,
        devices: &'a mut [Device],
        timing: Timing,
    ) -> Master<'a, P> {
        Master { wire, intake, devices, timing, echo: false, count: 0 }
    }

    /// Polls until the link is lost, and says why. Bytes that the loss cut off are recorded.
    pub(crate) async fn run(mut self) -> LinkLost {
        let lost = match self.poll().await {
            Ok(never) => match never {},
            Err(lost) => lost,
        };
        let asked = self.devices.iter().enumerate().max_by_key(|(_, d)| d.asked).map_or(0, |(i, _)| i);
        self.leftover_for(asked);
        lost
    }

    async fn poll(&mut self) -> Result<Infallible, LinkLost> {
        for device in self.devices.iter_mut() {
            device.scale(self.intake);
        }
        // Whatever another master, or this one before the line was lost, had asked is answered or never will be.
        let silence = self.devices.iter().map(|d| d.worst).max().unwrap_or_default();
        self.flush(0, silence).await?;
        let start = Instant::now();
        for device in self.devices.iter_mut() {
            device.begin(start);
        }
        loop {
            match self.due() {
                Ok(d) => self.step(d).await?,
                Err(until) => self.idle(until).await?,
            }
        }
    }

    /// Of the devices that are due, the one that was asked longest ago; or when the next will be due.
    fn due(&self) -> Result<usize, Instant> {
        let now = Instant::now();
        let ready = self.devices.iter().enumerate().filter(|(_, d)| d.ready_at() <= now);
        let next = || self.devices.iter().map(Device::ready_at).min().unwrap_or(now + LONG);
        ready.min_by_key(|(_, d)| d.asked).map(|(i, _)| i).ok_or_else(next)
    }

    /// Waits; what comes although nothing was asked is recorded.
    async fn idle(&mut self, until: Instant) -> Result<(), LinkLost> {
        if self.wire.more(until, self.intake).await? {
            self.quiet(0).await?;
        }
        Ok(())
    }

    /// One request of a device's list, or a probe where the device is suspect.
    async fn step(&mut self, d: usize) -> Result<(), LinkLost> {
        self.quiet(d).await?;
        if self.devices[d].suspect {
            if !self.probe(d).await? {
                self.devices[d].fail(self.intake);
            }
            return Ok(());
        }
        let Some(request) = self.devices[d].requests.get(self.devices[d].next).copied() else {
            self.devices[d].advance();
            return Ok(());
        };
        let mut outcome = self.ask(d, request).await?;
        if let Outcome::Answer { frame, .. } | Outcome::Exception { frame } = &outcome
            && self.devices[d].may_be_repeated(&request, frame)
        {
            outcome = self.ask_again(d, request, &frame.clone()).await?;
        }
        match outcome {
            Outcome::Answer { at, frame } => {
                let payload = payload(self.devices[d].index, &request, &frame);
                self.intake.record(at, RecordKind::ModbusAnswer, payload);
                self.answered(d, request, &frame);
            }
            Outcome::Exception { frame } => {
                self.fault(d, FaultKind::Exception, &frame);
                self.answered(d, request, &frame);
            }
            Outcome::Nothing => self.devices[d].fail(self.intake),
        }
        Ok(())
    }

    fn answered(&mut self, d: usize, request: Request, frame: &[u8]) {
        let device = &mut self.devices[d];
        device.note(Some(request), frame);
        device.alive(self.intake);
        device.advance();
    }
}

fn payload(device: u16, request: &Request, answer: &[u8]) -> Payload {
    let mut payload = Payload::with_capacity(2 + Request::LENGTH + answer.len());
    payload.extend_from_slice(&device.to_le_bytes());
    payload.extend_from_slice(&request.frame());
    payload.extend_from_slice(answer);
    payload
}
