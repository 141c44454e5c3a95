//! The times a run keeps.

use crate::clock::slept_ns;
use std::time::Duration;

/// How long a run waits for what. Other than the default only in tests.
#[derive(Clone, Copy, Debug)]
pub struct Timing {
    /// How often the log is made durable.
    pub sync: Duration,
    /// How often a disk that refused is asked again.
    pub retry: Duration,
    /// How often clocks and watchdogs are looked at.
    pub housekeeping: Duration,
    /// A source that shows no life for so long is abandoned.
    pub patience: Duration,
    /// How long sources have to end.
    pub farewell: Duration,
    /// A sink that makes no progress for so long while the run ends is abandoned.
    pub sink_patience: Duration,
    /// How long the machine has slept since boot, ns.
    pub slept_ns: fn() -> i64,
}

impl Default for Timing {
    fn default() -> Timing {
        Timing {
            sync: Duration::from_secs(1),
            retry: Duration::from_secs(1),
            housekeeping: Duration::from_millis(250),
            patience: Duration::from_secs(5),
            farewell: Duration::from_secs(3),
            sink_patience: Duration::from_secs(60),
            slept_ns,
        }
    }
}
