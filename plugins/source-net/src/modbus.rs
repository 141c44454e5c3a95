//! The Modbus TCP client: asks device after device, one request at a time.
//!
//! Every answer carries the transaction number of its request: one that comes late is known by it, is recorded as a
//! fault, and costs nothing else. No silence and no probe are needed, unlike on a serial line.

use decode::modbus::{Request, TcpFound, Verdict, find_tcp, judge_tcp};
use plugin_api::{DeviceSetup, Intake, LinkLost, Wire};
use std::convert::Infallible;
use std::time::Duration;
use stream::{EventTime, FaultKind, LinkState, Payload, RecordKind};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::Instant;

/// So many requests in a row without a usable answer, and the device counts as down.
const DOWN_AFTER: u32 = 3;
/// The longest pause between two requests to a device that does not answer, unless its period is longer.
const LONGEST_PAUSE: Duration = Duration::from_secs(30);

/// A device and its schedule on this connection.
struct Device<'a> {
    index: u16,
    setup: &'a DeviceSetup,
    requests: &'a [Request],
    period: Duration,
    time_out: Duration,
    next: usize,
    due: Instant,
    asked: u64,
    failures: u32,
    down: bool,
}

/// The client of one connection.
pub(crate) struct Client<'a, P> {
    wire: Wire<P>,
    intake: &'a mut Intake,
    devices: Vec<Device<'a>>,
    transaction: u16,
    count: u64,
    /// Requests that were given up, with their numbers and devices: their answers are late.
    given_up: Vec<(u16, usize)>,
}

impl<'a, P: AsyncRead + AsyncWrite + Unpin> Client<'a, P> {
    pub(crate) fn new(wire: Wire<P>, list: &'a [(DeviceSetup, Vec<Request>)], intake: &'a mut Intake) -> Client<'a, P> {
        let start = Instant::now();
        let device = |(index, (setup, requests)): (u16, &'a (DeviceSetup, Vec<Request>))| Device {
            index,
            setup,
            requests,
            period: intake.scaled(setup.period),
            time_out: intake.scaled(setup.time_out),
            next: 0,
            due: start,
            asked: 0,
            failures: 0,
            down: false,
        };
        let devices = (0u16..).zip(list).map(device).collect();
        Client { wire, intake, devices, transaction: 0, count: 0, given_up: Vec::new() }
    }

    /// Polls until the connection is lost, and says why.
    pub(crate) async fn run(mut self) -> LinkLost {
        let lost = match self.poll().await {
            Ok(never) => match never {},
            Err(lost) => lost,
        };
        if !self.wire.bytes.is_empty() {
            let left = std::mem::take(&mut self.wire.bytes);
            self.intake.fault(0, FaultKind::Noise, &left);
        }
        lost
    }

    async fn poll(&mut self) -> Result<Infallible, LinkLost> {
        loop {
            let next = self.devices.iter().enumerate().min_by_key(|(_, d)| (d.due, d.asked));
            let Some((d, due)) = next.map(|(d, device)| (d, device.due)) else {
                return Err(LinkLost("no device is listed".to_owned()));
            };
            while Instant::now() < due && self.wire.more(due, self.intake).await? {
                self.sort(None)?;
            }
            self.ask(d).await?;
        }
    }

    /// One request of a device's list.
    async fn ask(&mut self, d: usize) -> Result<(), LinkLost> {
        let Some(request) = self.devices[d].requests.get(self.devices[d].next).copied() else {
            self.devices[d].next = 0;
            return Ok(());
        };
        self.transaction = self.transaction.wrapping_add(1);
        self.count += 1;
        self.devices[d].asked = self.count;
        self.wire.send(&request.tcp_frame(self.transaction)).await?;
        let until = Instant::now() + self.devices[d].time_out;
        let mut answer = None;
        while answer.is_none() && Instant::now() < until && self.wire.more(until, self.intake).await? {
            answer = self.sort(Some((d, &request)))?;
        }
        match answer {
            Some((at, frame)) => self.answered(d, &request, at, &frame),
            None => {
                self.fault(d, FaultKind::TimeOut, &request.tcp_frame(self.transaction));
                if self.given_up.len() >= 64 {
                    self.given_up.remove(0);
                }
                self.given_up.push((self.transaction, d));
                self.failed(d);
            }
        }
        Ok(())
    }

    /// Takes whole frames out of the bytes; the one with the number that is waited for.
    fn sort(&mut self, asked: Option<(usize, &Request)>) -> Result<Option<(EventTime, Vec<u8>)>, LinkLost> {
        let mut answer = None;
        loop {
            match find_tcp(&self.wire.bytes) {
                TcpFound::NeedMore => return Ok(answer),
                TcpFound::Broken => {
                    let why = "what came is no Modbus TCP (protocol number or length); is it the right port?";
                    return Err(LinkLost(why.to_owned()));
                }
                TcpFound::Frame { transaction, len, frame } => {
                    let bytes: Vec<u8> = self.wire.bytes.drain(..len).collect();
                    if asked.is_some() && transaction == self.transaction && answer.is_none() {
                        answer = Some((self.wire.read_at, frame));
                    } else if let Some(i) = self.given_up.iter().position(|(t, _)| *t == transaction) {
                        let (_, d) = self.given_up.remove(i);
                        self.fault(d, FaultKind::LateAnswer, &bytes);
                    } else {
                        self.fault(asked.map_or(0, |(d, _)| d), FaultKind::WrongAnswer, &bytes);
                    }
                }
            }
        }
    }

    fn answered(&mut self, d: usize, request: &Request, at: EventTime, frame: &[u8]) {
        match judge_tcp(request, frame) {
            Verdict::Answer { len } if len == frame.len() => {
                let mut payload = Payload::from_slice(&self.devices[d].index.to_le_bytes());
                payload.extend_from_slice(&request.frame());
                payload.extend_from_slice(frame);
                self.intake.record(at, RecordKind::ModbusAnswer, payload);
            }
            Verdict::Exception { len, .. } if len == frame.len() => self.fault(d, FaultKind::Exception, frame),
            _ => {
                self.fault(d, FaultKind::WrongAnswer, frame);
                return self.failed(d);
            }
        }
        let device = &mut self.devices[d];
        device.failures = 0;
        if std::mem::replace(&mut device.down, false) {
            let (index, name) = (device.index, &device.setup.name);
            self.intake.link(Some(index), LinkState::Up, format!("device `{name}` answers again"));
        }
        self.devices[d].advance();
    }

    /// The rest of the list is dropped, and after a second failure in a row the device is asked ever less often.
    fn failed(&mut self, d: usize) {
        let device = &mut self.devices[d];
        device.failures += 1;
        device.next = device.requests.len();
        device.advance();
        let doubled = device.period.max(device.time_out).saturating_mul(1 << device.failures.saturating_sub(2).min(16));
        if device.failures > 1 {
            device.due = device.due.max(Instant::now() + doubled.min(LONGEST_PAUSE.max(device.period)));
        }
        if device.failures >= DOWN_AFTER && !device.down {
            device.down = true;
            let detail = format!(
                "device `{}` gave no usable answer to {} requests in a row (time-out {:?}); it is asked less and less \
                 often until it does. Check its address (unit id) and what is behind the gateway",
                device.setup.name, device.failures, device.setup.time_out
            );
            let index = device.index;
            self.intake.link(Some(index), LinkState::Down, detail);
        }
    }

    fn fault(&mut self, d: usize, kind: FaultKind, bytes: &[u8]) {
        self.intake.fault(self.devices.get(d).map_or(0, |d| d.index), kind, bytes);
    }
}

impl Device<'_> {
    /// Goes on in the list; after its end waits for the next time on the grid, leaving out those that have passed.
    fn advance(&mut self) {
        self.next += 1;
        if self.next < self.requests.len() {
            return;
        }
        self.next = 0;
        self.due += self.period;
        let behind = Instant::now().saturating_duration_since(self.due).as_nanos();
        let missed = behind.checked_div(self.period.as_nanos()).unwrap_or(0);
        self.due += self.period * u32::try_from(missed).unwrap_or(u32::MAX);
    }
}
