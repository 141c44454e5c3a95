//! The master on scripted lines, with tokio's time paused: no test waits, none depends on the clock.

mod adversary;
mod late;
mod line;
mod schedule;
mod single_faults;

use super::{Device, Master, Timing};
use crate::options::{Line, Parity};
use decode::modbus::{Function, Request, encode_answer};
use plugin_api::Wire;
use plugin_api::{DeviceSetup, Framing, LinkLost, Message, Query, fake};
use std::collections::BTreeMap;
use std::time::Duration;
use stream::{FaultKind, LinkState, RecordKind};
use tokio::io::{AsyncReadExt, AsyncWriteExt, DuplexStream, duplex};
use tokio::sync::mpsc;
use tokio::time::{Instant, sleep_until};

fn ms(n: u64) -> Duration {
    Duration::from_millis(n)
}

/// Every register's value says where it belongs.
fn value(unit: u8, address: u16) -> u16 {
    address.wrapping_mul(7).wrapping_add(u16::from(unit) * 1009)
}

fn true_answer(request: &[u8]) -> Vec<u8> {
    encode_answer(request, |a| value(request[0], a)).unwrap()
}

fn sealed(body: &[u8]) -> Vec<u8> {
    let mut frame = body.to_vec();
    frame.extend(decode::crc::modbus(body).to_le_bytes());
    frame
}

/// Bytes that go out so long after the request.
type Reply = Vec<(Duration, Vec<u8>)>;

/// The true answer after 2 ms.
fn good(request: &[u8]) -> Reply {
    vec![(ms(2), true_answer(request))]
}

/// A device of period 100 ms, time-out 50 ms, worst answer time 200 ms.
fn device(unit: u8, blocks: &[(u16, u16)]) -> (DeviceSetup, Vec<Request>) {
    let read = |(a, n): &(u16, u16)| Request::new(unit, Function::ReadHoldingRegisters, *a, *n).unwrap();
    let requests: Vec<Request> = blocks.iter().map(read).collect();
    let setup = DeviceSetup {
        name: format!("unit-{unit}"),
        framing: Framing::Modbus,
        queries: requests.iter().map(|r| Query { bytes: r.frame().to_vec(), period: None }).collect(),
        period: ms(100),
        time_out: ms(50),
        worst_answer: ms(200),
    };
    (setup, requests)
}

/// Two blocks whose answers have the same shape: the dangerous case.
fn twin() -> (DeviceSetup, Vec<Request>) {
    device(1, &[(0x100, 4), (0x200, 4)])
}

/// Two single registers: shapes cannot differ.
fn singles() -> (DeviceSetup, Vec<Request>) {
    device(1, &[(0x100, 1), (0x200, 1)])
}

/// What a run came to.
struct Ran {
    messages: Vec<Message>,
    /// Requests that went out, with when.
    asked: Vec<(Instant, Vec<u8>)>,
    devices: Vec<Device>,
    lost: Option<LinkLost>,
}

impl Ran {
    /// Faults by kind, as "kind count, …".
    fn faults(&self) -> String {
        let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
        for (_, kind) in self.fault_list() {
            *counts.entry(kind.word()).or_default() += 1;
        }
        counts.iter().map(|(k, n)| format!("{k} {n}")).collect::<Vec<_>>().join(", ")
    }

    fn fault_list(&self) -> Vec<(u16, FaultKind)> {
        let fault = |m: &Message| match m {
            Message::Record(r) => r.fault().map(|(d, k, _)| (d, k)),
            _ => None,
        };
        self.messages.iter().filter_map(fault).collect()
    }

    /// How many answers were handed over of each request, as (unit, address); panics on another register's value.
    fn values(&self) -> BTreeMap<(u8, u16), u32> {
        let mut values = BTreeMap::new();
        for message in &self.messages {
            let Message::Record(r) = message else { continue };
            if r.kind != RecordKind::ModbusAnswer {
                continue;
            }
            let (request, answer) = r.payload[2..].split_at(8);
            assert_eq!(answer, true_answer(request), "a value of another register, at {}", r.event_time);
            let request = Request::parse(request).unwrap();
            let device = &self.devices[usize::from(u16::from_le_bytes([r.payload[0], r.payload[1]]))];
            assert!(device.requests.contains(&request), "a probe's answer was used as a value");
            *values.entry((request.unit(), request.address())).or_default() += 1;
        }
        values
    }

    fn links(&self) -> Vec<(Option<u16>, LinkState)> {
        let link = |m: &Message| match m {
            Message::Link(l) => Some((l.device, l.state)),
            _ => None,
        };
        self.messages.iter().filter_map(link).collect()
    }

    /// When a unit was asked, in ms after the first request of all.
    fn times(&self, unit: u8) -> Vec<u128> {
        let start = self.asked.first().map(|a| a.0).unwrap();
        let own = self.asked.iter().filter(|a| a.1[0] == unit);
        own.map(|a| (a.0 - start).as_millis()).collect()
    }
}

fn options() -> Line {
    let port = "scripted".to_owned();
    Line { port, baud: 19_200, data_bits: 8, parity: Parity::Even, stop_bits: 1, gap_ms: 0.0, passive: false }
}

/// Runs the master for so long against a script: what goes out for the n-th request (from 0).
async fn run(
    list: &[(DeviceSetup, Vec<Request>)],
    time: Duration,
    script: impl FnMut(usize, &[u8]) -> Reply + Send + 'static,
) -> Ran {
    run_again(Device::all(list), time, script).await
}

async fn run_again(
    mut devices: Vec<Device>,
    time: Duration,
    script: impl FnMut(usize, &[u8]) -> Reply + Send + 'static,
) -> Ran {
    let (near, far) = duplex(4096);
    let (mut intake, taken, _stop) = fake::intake();
    let responder = tokio::spawn(respond(far, script, Instant::now() + time));
    let timing = Timing::new(&options(), &intake);
    let master = Master::new(Wire::new(near, "scripted", crate::door::modbus()), &mut intake, &mut devices, timing);
    let lost = tokio::time::timeout(time + ms(1), master.run()).await.ok();
    let asked = responder.await.unwrap();
    Ran { messages: taken.all(), asked, devices, lost }
}

/// The far end. An empty reply part hangs up.
async fn respond(
    far: DuplexStream,
    mut script: impl FnMut(usize, &[u8]) -> Reply,
    end: Instant,
) -> Vec<(Instant, Vec<u8>)> {
    let (mut from, mut to) = tokio::io::split(far);
    let (send, mut sent) = mpsc::unbounded_channel::<Vec<u8>>();
    let mut asked: Vec<(Instant, Vec<u8>)> = Vec::new();
    let mut request = [0; 8];
    loop {
        tokio::select! {
            biased;
            () = sleep_until(end) => return asked,
            Some(bytes) = sent.recv() => {
                if bytes.is_empty() || to.write_all(&bytes).await.is_err() {
                    return asked;
                }
            }
            read = from.read_exact(&mut request) => {
                if read.is_err() {
                    return asked;
                }
                asked.push((Instant::now(), request.to_vec()));
                for (delay, bytes) in script(asked.len() - 1, &request) {
                    let (send, at) = (send.clone(), Instant::now() + delay);
                    tokio::spawn(async move {
                        sleep_until(at).await;
                        let _ = send.send(bytes);
                    });
                }
            }
        }
    }
}

/// Answers truly but for the n-th request.
fn but(
    n: usize,
    other: impl Fn(&[u8]) -> Reply + Send + 'static,
) -> impl FnMut(usize, &[u8]) -> Reply + Send + 'static {
    move |i, request| if i == n { other(request) } else { good(request) }
}
