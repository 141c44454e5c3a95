//! The one real clock: event time on the boot-time clock, anchored to the wall clock once.

use plugin_api::Clock;
use stream::EventTime;

/// Event time = the wall clock at the start + what the boot-time clock has advanced since (times the pace).
/// The boot-time clock also runs while the machine sleeps and never steps.
pub struct BootClock {
    anchor_wall_ns: i64,
    anchor_boot_ns: i64,
    pace: f64,
}

impl BootClock {
    /// Anchors event time to the wall clock now. `pace` 1 is real time.
    pub fn start(pace: f64) -> BootClock {
        BootClock { anchor_wall_ns: sys::wall_ns(), anchor_boot_ns: sys::boot_ns(), pace }
    }
}

impl Clock for BootClock {
    fn now(&self) -> EventTime {
        let passed = sys::boot_ns() - self.anchor_boot_ns;
        // Exact at pace 1: an f64 would lose nanoseconds after a hundred days.
        let passed = if self.pace == 1.0 { passed } else { (passed as f64 * self.pace) as i64 };
        EventTime(self.anchor_wall_ns + passed)
    }

    fn wall_ns(&self) -> i64 {
        sys::wall_ns()
    }

    fn pace(&self) -> f64 {
        self.pace
    }
}

/// How long the machine has slept since boot, ns: boot-time clock minus monotonic clock.
pub fn slept_ns() -> i64 {
    sys::boot_ns() - sys::monotonic_ns()
}

/// The audited module: clock_gettime.
#[allow(unsafe_code)]
mod sys {
    fn read(clock: libc::clockid_t) -> i64 {
        let mut t = libc::timespec { tv_sec: 0, tv_nsec: 0 };
        // SAFETY: `t` is a valid timespec to write to; the three clocks asked for exist on every Linux kernel
        // since 2.6.39, and an unknown one would leave `t` as it is.
        unsafe { libc::clock_gettime(clock, &mut t) };
        t.tv_sec.saturating_mul(1_000_000_000).saturating_add(t.tv_nsec)
    }

    pub(super) fn boot_ns() -> i64 {
        read(libc::CLOCK_BOOTTIME)
    }

    pub(super) fn wall_ns() -> i64 {
        read(libc::CLOCK_REALTIME)
    }

    pub(super) fn monotonic_ns() -> i64 {
        read(libc::CLOCK_MONOTONIC)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn event_time_starts_at_the_wall_clock_and_never_goes_back() {
        let clock = BootClock::start(1.0);
        let (mut last, wall) = (clock.now(), clock.wall_ns());
        assert!((wall - last.0).abs() < 60_000_000_000, "anchored within a minute of the wall clock");
        for _ in 0..1000 {
            let now = clock.now();
            assert!(now >= last);
            last = now;
        }
    }
}
