use super::*;
use crate::sys::socket::Received;
use plugin_api::fake::Taken;
use plugin_api::{Intake, Message};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use stream::{Gap, SourceId};
use tokio::sync::watch;

const MS: i64 = 1_000_000;
const HOUR: i64 = 3_600_000 * MS;

/// A clock that stands until it is moved.
struct Standing {
    now: AtomicI64,
    wall: AtomicI64,
    /// Once more on the next reading of the wall clock: the thread was held up before it.
    held_up: AtomicI64,
}

impl Standing {
    fn pass(&self, ns: i64) {
        self.now.fetch_add(ns, Ordering::Relaxed);
        self.wall.fetch_add(ns, Ordering::Relaxed);
    }

    fn step_wall(&self, ns: i64) {
        self.wall.fetch_add(ns, Ordering::Relaxed);
    }
}

impl Clock for Standing {
    fn now(&self) -> EventTime {
        EventTime(self.now.load(Ordering::Relaxed))
    }

    fn wall_ns(&self) -> i64 {
        self.wall.load(Ordering::Relaxed) + self.held_up.swap(0, Ordering::Relaxed)
    }
}

struct Bench {
    clock: Arc<Standing>,
    intake: Intake,
    taken: Taken,
    line: Line,
}

impl Bench {
    fn new(kernel_stamps: bool) -> Bench {
        let clock = Arc::new(Standing {
            now: AtomicI64::new(1000 * MS),
            wall: AtomicI64::new(500 * HOUR),
            held_up: AtomicI64::new(0),
        });
        let taken = Taken::default();
        let (_, stop) = watch::channel(false);
        let intake = Intake::new(SourceId(3), clock.clone(), Box::new(taken.clone()), stop);
        let line = Line::new(clock.now(), kernel_stamps);
        Bench { clock, intake, taken, line }
    }

    /// A data frame stamped `ago` before now.
    fn frame(&mut self, ago: i64, drops: Option<u32>) {
        self.stamped(Some(self.clock.wall_ns() - ago), drops);
    }

    fn stamped(&mut self, stamp_ns: Option<i64>, drops: Option<u32>) {
        let mut image = [0u8; 16];
        image[4] = 1;
        self.line.take(&mut self.intake, &Received { image: &image, stamp_ns, drops });
    }

    fn error(&mut self, id: u32, data: [u8; 8]) {
        let mut image = [0u8; 16];
        image[..4].copy_from_slice(&(id | 0x2000_0000).to_ne_bytes());
        image[4] = 8;
        image[8..].copy_from_slice(&data);
        let stamp_ns = Some(self.clock.wall_ns());
        self.line.take(&mut self.intake, &Received { image: &image, stamp_ns, drops: None });
    }

    /// What was taken, in short: frames and faults as (time since the start in ms, what).
    fn told(&self) -> Vec<String> {
        let ms = |t: EventTime| t.0 / MS - 1000;
        self.taken
            .all()
            .iter()
            .map(|m| match m {
                Message::Record(r) => match r.fault() {
                    Some((0, FaultKind::Stamp, count)) => {
                        format!("{} stamp x{}", ms(r.event_time), u64::from_le_bytes(count.try_into().unwrap()))
                    }
                    Some((device, kind, bytes)) => format!("{} {} {device} {bytes:x?}", ms(r.event_time), kind.word()),
                    None => format!("{} frame", ms(r.event_time)),
                },
                Message::Gap(Gap { source: Some(SourceId(3)), lost, from, to, cause: GapCause::KernelDrop }) => {
                    format!("gap {lost} {}..{}", ms(*from), ms(*to))
                }
                Message::Gap(g) => format!("wrong {g:?}"),
                Message::Link(l) => format!("link {} {}", l.state.word(), l.detail),
            })
            .collect()
    }
}

#[test]
fn kernel_stamps_become_event_time() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(30 * MS, None);
    b.frame(10 * MS, None);
    b.clock.pass(5000 * MS);
    b.frame(0, None);
    b.frame(-MS / 2, None); // stamped between the two readings of the mapping
    assert_eq!(b.told(), ["70 frame", "90 frame", "5100 frame", "5100 frame"]);
}

/// A step between stamp and reading: the receive time is used, told once with the count when stamps are good again.
#[test]
fn clock_step_of_an_hour_forward() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(MS, None);
    let old_stamp = b.clock.wall_ns();
    b.clock.step_wall(HOUR);
    b.clock.pass(2 * MS);
    b.stamped(Some(old_stamp), None);
    b.stamped(Some(old_stamp + MS), None);
    b.clock.pass(MS);
    b.frame(0, None);
    b.line.close(&mut b.intake);
    assert_eq!(b.told(), ["99 frame", "102 frame", "102 frame", "103 stamp x2", "103 frame"]);
}

#[test]
fn clock_step_of_an_hour_back() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(MS, None);
    let old_stamp = b.clock.wall_ns();
    b.clock.step_wall(-HOUR);
    b.clock.pass(2 * MS);
    b.stamped(Some(old_stamp), None);
    b.clock.pass(MS);
    b.frame(0, None);
    assert_eq!(b.told(), ["99 frame", "102 frame", "103 stamp x1", "103 frame"]);
}

/// A step too small to be seen by age alone shows in that time would run backwards.
#[test]
fn small_clock_step_forward() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(0, None);
    let old_stamp = b.clock.wall_ns() + MS;
    b.clock.step_wall(300 * MS);
    b.clock.pass(2 * MS);
    b.stamped(Some(old_stamp), None);
    b.clock.pass(MS);
    b.frame(0, None);
    assert_eq!(b.told(), ["100 frame", "102 frame", "103 stamp x1", "103 frame"]);
}

#[test]
fn order_reversed_by_the_reading_alone_is_no_step() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(10 * MS, None);
    b.frame(10 * MS + MS / 2, None);
    assert_eq!(b.told(), ["90 frame", "90 frame"]);
}

/// The thread loses its processor between the two readings: no step, no fault.
#[test]
fn being_held_up_while_reading_is_no_step() {
    let mut b = Bench::new(true);
    b.clock.pass(100 * MS);
    b.frame(2 * MS, None);
    let stamp = b.clock.wall_ns();
    b.clock.held_up.store(8 * MS, Ordering::Relaxed);
    b.stamped(Some(stamp), None);
    b.line.close(&mut b.intake);
    assert_eq!(b.told(), ["98 frame", "100 frame"]);
}

#[test]
fn missing_stamps_are_told_where_the_link_has_them() {
    let mut b = Bench::new(true);
    b.stamped(None, None);
    b.stamped(None, None);
    b.line.close(&mut b.intake);
    b.line.close(&mut b.intake);
    assert_eq!(b.told(), ["0 frame", "0 frame", "0 stamp x2"]);
    let mut b = Bench::new(false);
    b.clock.pass(7 * MS);
    b.stamped(None, None);
    b.line.close(&mut b.intake);
    assert_eq!(b.told(), ["7 frame"]);
}

/// Stamps that never become good again are told every ten seconds.
#[test]
fn lasting_bad_stamps_are_told() {
    let mut b = Bench::new(true);
    for _ in 0..21 {
        b.frame(HOUR, None);
        b.line.tick(&mut b.intake);
        b.clock.pass(1000 * MS);
    }
    b.line.close(&mut b.intake);
    let faults: Vec<_> = b.told().into_iter().filter(|t| t.contains("stamp")).collect();
    assert_eq!(faults, ["10000 stamp x11", "21000 stamp x10"]);
}

#[test]
fn drop_counter_makes_gaps_and_wraps() {
    let mut b = Bench::new(true);
    b.frame(0, None);
    b.clock.pass(10 * MS);
    b.frame(MS, Some(5));
    b.frame(0, Some(5));
    b.clock.pass(10 * MS);
    b.frame(0, Some(0x7FFF_FFFF));
    b.frame(0, Some(0xFFFF_FFF0));
    b.clock.pass(10 * MS);
    b.frame(0, None); // wrapped to exactly 0: not told, made good below
    b.frame(0, Some(4));
    let gaps: Vec<_> = b.told().into_iter().filter(|t| !t.ends_with("frame")).collect();
    assert_eq!(gaps, ["gap 5 0..9", "gap 2147483642 10..20", "gap 2147483633 20..20", "gap 20 30..30"]);
}

/// A gap comes before the frame that told it.
#[test]
fn gaps_come_before_their_frame() {
    let mut b = Bench::new(true);
    b.frame(0, Some(1));
    assert_eq!(b.told(), ["gap 1 0..0", "0 frame"]);
}

/// What is lost after the last frame is read from the socket; a frame that was queued before does not undo it.
#[test]
fn drops_after_the_last_frame() {
    let mut b = Bench::new(true);
    b.frame(0, Some(3));
    b.clock.pass(50 * MS);
    b.line.drop_counter(&mut b.intake, 10);
    b.line.drop_counter(&mut b.intake, 10);
    b.frame(MS, Some(8));
    b.frame(0, Some(11));
    assert_eq!(b.told(), ["gap 3 0..0", "0 frame", "gap 7 0..50", "49 frame", "gap 1 49..50", "50 frame"]);
}

/// Dropped and overrun frames of the interface are a gap; counters that were set back are none.
#[test]
fn losses_before_the_socket_are_told_once() {
    let mut b = Bench::new(true);
    let counted = |dropped, overruns| Interface { dropped, overruns, ..Interface::default() };
    let looked = b.intake.now();
    b.clock.pass(500 * MS);
    b.line.interface_counters(&mut b.intake, &counted(7, 1), &counted(7, 1), looked);
    b.line.interface_counters(&mut b.intake, &counted(7, 1), &counted(9, 4), looked);
    b.line.interface_counters(&mut b.intake, &counted(9, 4), &counted(0, 0), looked);
    assert_eq!(b.told(), ["gap 5 0..500"]);
}

#[test]
fn bus_states_change_the_link_once() {
    let mut b = Bench::new(true);
    b.error(0x04, [0, 0x04, 0, 0, 0, 0, 0, 0]);
    b.error(0x04, [0, 0x10, 0, 0, 0, 0, 0, 0]);
    b.error(0x40, [0; 8]);
    b.error(0x40, [0; 8]);
    b.error(0x100, [0; 8]);
    b.line.bus_state(&mut b.intake, BusState::Active, "");
    b.line.bus_state(&mut b.intake, BusState::Passive, "");
    assert_eq!(
        b.told(),
        [
            "link degraded error-warning (controller: receive error warning)",
            "link degraded error-passive (controller: receive error-passive)",
            "link down bus-off (bus-off)",
            "0 bus-error 0 [40, 0, 0, 20, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]",
            "link up error-active (controller restarted)",
            "link degraded error-passive",
        ]
    );
}

/// An error frame that tells a state and something else is both.
#[test]
fn other_error_frames_are_faults() {
    let mut b = Bench::new(true);
    b.error(0x88, [0, 0, 0x04, 0x0A, 0, 0, 0, 0]);
    b.error(0x8C, [0, 0x10, 0x04, 0, 0, 0, 0, 0]);
    assert_eq!(
        b.told(),
        [
            "0 bus-error 0 [88, 0, 0, 20, 8, 0, 0, 0, 0, 0, 4, a, 0, 0, 0, 0]",
            "link degraded error-passive (protocol violation: bit stuffing; bus error; controller: receive error-passive)",
            "0 bus-error 0 [8c, 0, 0, 20, 8, 0, 0, 0, 0, 10, 4, 0, 0, 0, 0, 0]",
        ]
    );
}

#[test]
fn malformed_images_are_kept() {
    let mut b = Bench::new(false);
    for image in [&b""[..], b"abc", &[0xFF; 16], &[1; 72][..17]] {
        b.line.take(&mut b.intake, &Received { image, stamp_ns: None, drops: None });
    }
    assert_eq!(b.told()[..2], ["0 malformed 0 []", "0 malformed 0 [61, 62, 63]"]);
    assert!(b.told()[2..].iter().all(|t| t.starts_with("0 malformed")), "{:?}", b.told());
}
