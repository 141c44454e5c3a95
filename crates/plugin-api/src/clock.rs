//! The only clock a plugin may read.

use std::time::Duration;
use stream::EventTime;

/// Event time and the wall clock. Two implementations: the runtime's, and the fakes for tests.
pub trait Clock: Send + Sync {
    /// Event time now.
    fn now(&self) -> EventTime;

    /// The wall clock now, ns since 1970 UTC; it may step.
    fn wall_ns(&self) -> i64;

    /// How many times faster than real time event time runs: 1 but in a fast demonstration.
    fn pace(&self) -> f64 {
        1.0
    }

    /// Both clocks at one moment: read again where something came in between.
    fn both(&self) -> (EventTime, i64) {
        let mut best = (self.now(), self.wall_ns());
        for _ in 0..3 {
            let after = self.now();
            if (after - best.0).0 <= 100_000 {
                break;
            }
            best = (after, self.wall_ns());
        }
        best
    }

    /// Event time of a wall-clock stamp taken a short while ago (a kernel receive stamp), mapped with the offset
    /// of this moment. `None` where it cannot be true: in the future, or more than `oldest` ago. A clock step
    /// between stamp and reading shows so.
    fn event_time_of(&self, stamp_ns: i64, oldest: Duration) -> Option<EventTime> {
        let (now, wall) = self.both();
        let age = wall.checked_sub(stamp_ns)?;
        // A stamp may be newer than the wall reading by the time between the two readings above.
        if age < -1_000_000 || age > i64::try_from(oldest.as_nanos()).unwrap_or(i64::MAX) {
            return None;
        }
        Some(EventTime(now.0.saturating_sub((age.max(0) as f64 * self.pace()) as i64)))
    }
}
