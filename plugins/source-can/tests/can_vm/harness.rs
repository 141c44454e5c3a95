//! A source at work as the program runs it: on a thread of its own, run again after its link was lost.

use decode::can::frame::CanFrame;
use plugin_api::{Clock, Inlet, Intake, LinkLost, Message, Options, SourceSetup};
use socketcan::{CanFdSocket, CanSocket, EmbeddedFrame, Socket};
use std::process::Command;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};
use stream::{EventTime, FaultKind, LinkState, RecordKind, SourceId};
use tokio::sync::watch;

/// Long enough for a machine that is emulated on a busy one.
const PATIENCE: Duration = Duration::from_secs(30);
/// A frame with this identifier holds the source's thread up for [`HOLD_UP`].
pub(crate) const HOLDS_UP: u16 = 0x700;
pub(crate) const HOLD_UP: Duration = Duration::from_millis(300);

/// The interfaces are shared and the rate is measured: one test at a time.
pub(crate) fn one_at_a_time() -> MutexGuard<'static, ()> {
    static ONE: Mutex<()> = Mutex::new(());
    ONE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The monotonic clock, anchored to the wall clock once.
pub(crate) struct RealClock {
    start: Instant,
    wall_at_start: i64,
}

impl RealClock {
    fn new() -> RealClock {
        RealClock { start: Instant::now(), wall_at_start: wall_ns() }
    }
}

impl Clock for RealClock {
    fn now(&self) -> EventTime {
        EventTime(self.wall_at_start + self.start.elapsed().as_nanos() as i64)
    }

    fn wall_ns(&self) -> i64 {
        wall_ns()
    }
}

fn wall_ns() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_nanos() as i64
}

/// What the source has handed over.
#[derive(Clone, Default)]
struct Taken(Arc<Mutex<Vec<Message>>>);

impl Inlet for Taken {
    fn push(&mut self, message: Message) {
        let hold_up = frame(&message).is_some_and(|f| f.number() == u32::from(HOLDS_UP));
        self.0.lock().unwrap().push(message);
        if hold_up {
            std::thread::sleep(HOLD_UP);
        }
    }
}

/// A source at work.
pub(crate) struct Running {
    taken: Taken,
    pub(crate) clock: Arc<RealClock>,
    stop: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Running {
    /// Starts a source with these options and does not wait.
    pub(crate) fn start(options: &str) -> Running {
        let options = Options::from_text(options);
        let setup = SourceSetup { id: SourceId(0), name: "bus".into(), options, devices: Vec::new() };
        let mut source = (source_can::PLUGIN.build)(&setup).unwrap();
        let (stop, stopped) = watch::channel(false);
        let (taken, clock) = (Taken::default(), Arc::new(RealClock::new()));
        let mut intake = Intake::new(SourceId(0), clock.clone(), Box::new(taken.clone()), stopped);
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            while let Err(LinkLost(why)) = runtime.block_on(source.run(&mut intake)) {
                intake.link(None, LinkState::Down, why);
                std::thread::sleep(Duration::from_millis(100));
            }
        });
        Running { taken, clock, stop, thread: Some(thread) }
    }

    /// Starts a source and waits until its link is up.
    pub(crate) fn up(options: &str) -> Running {
        let running = Running::start(options);
        running.until("the link", |m| matches!(links(m).last(), Some((LinkState::Up, _))));
        running
    }

    /// Waits until what was taken fulfils something.
    pub(crate) fn until(&self, what: &str, fulfilled: impl Fn(&[Message]) -> bool) {
        let start = Instant::now();
        while !fulfilled(&self.taken.0.lock().unwrap()) {
            assert!(start.elapsed() < PATIENCE, "{what} did not come: {:?}", self.last());
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits for so many frames.
    pub(crate) fn until_frames(&self, count: usize) {
        self.until("the frames", |m| m.iter().filter(|m| frame(m).is_some()).count() >= count);
    }

    fn last(&self) -> Vec<Message> {
        let all = self.taken.0.lock().unwrap();
        all[all.len().saturating_sub(5)..].to_vec()
    }

    pub(crate) fn count(&self) -> usize {
        self.taken.0.lock().unwrap().len()
    }

    /// Stops the source and gives what it handed over; it must end within a second (here: more generous).
    pub(crate) fn stop(mut self) -> Vec<Message> {
        self.stop.send(true).unwrap();
        let start = Instant::now();
        self.thread.take().unwrap().join().unwrap();
        assert!(start.elapsed() < Duration::from_secs(5), "stopping took {:?}", start.elapsed());
        std::mem::take(&mut self.taken.0.lock().unwrap())
    }
}

pub(crate) fn frame(m: &Message) -> Option<CanFrame<'_>> {
    match m {
        Message::Record(r) if r.kind == RecordKind::CanFrame => Some(CanFrame::parse(&r.payload).unwrap()),
        _ => None,
    }
}

pub(crate) fn frames(messages: &[Message]) -> Vec<CanFrame<'_>> {
    messages.iter().filter_map(frame).collect()
}

pub(crate) fn faults(messages: &[Message]) -> Vec<(FaultKind, Vec<u8>)> {
    let fault = |m: &Message| match m {
        Message::Record(r) => r.fault().map(|(_, kind, bytes)| (kind, bytes.to_vec())),
        _ => None,
    };
    messages.iter().filter_map(fault).collect()
}

pub(crate) fn links(messages: &[Message]) -> Vec<(LinkState, String)> {
    let link = |m: &Message| match m {
        Message::Link(l) => Some((l.state, l.detail.clone())),
        _ => None,
    };
    messages.iter().filter_map(link).collect()
}

/// Numbered frames lost, by the gaps told.
pub(crate) fn told_lost(messages: &[Message]) -> u64 {
    messages.iter().map(|m| if let Message::Gap(g) = m { g.lost } else { 0 }).sum()
}

/// The number in a numbered frame.
pub(crate) fn number(f: &CanFrame<'_>) -> u32 {
    u32::from_le_bytes(f.data[..4].try_into().unwrap())
}

/// A sender, on a virtual interface and no other.
pub(crate) fn sender(interface: &str) -> CanSocket {
    assert!(source_can::is_virtual(interface).unwrap(), "{interface} is not virtual: nothing is sent");
    CanSocket::open(interface).unwrap()
}

pub(crate) fn fd_sender(interface: &str) -> CanFdSocket {
    assert!(source_can::is_virtual(interface).unwrap(), "{interface} is not virtual: nothing is sent");
    CanFdSocket::open(interface).unwrap()
}

/// A classic frame with this number in it.
pub(crate) fn numbered(n: u32) -> socketcan::CanFrame {
    let mut data = [0xA5; 8];
    data[..4].copy_from_slice(&n.to_le_bytes());
    socketcan::CanFrame::new(socketcan::StandardId::new(0x123).unwrap(), &data).unwrap()
}

/// A classic frame.
pub(crate) fn classic(id: u16, data: &[u8]) -> socketcan::CanFrame {
    socketcan::CanFrame::new(socketcan::StandardId::new(id).unwrap(), data).unwrap()
}

/// `ip` with these arguments; must succeed.
pub(crate) fn ip(arguments: &str) {
    let status = Command::new("ip").args(arguments.split_whitespace()).status().unwrap();
    assert!(status.success(), "ip {arguments}: {status}");
}

/// A counter of an interface.
pub(crate) fn statistic(interface: &str, name: &str) -> u64 {
    let path = format!("/sys/class/net/{interface}/statistics/{name}");
    std::fs::read_to_string(path).unwrap().trim().parse().unwrap()
}
