//! Fakes for plugin tests: an intake that collects, a clock that follows tokio's (paused) time.

use crate::clock::Clock;
use crate::intake::{Inlet, Intake, Message};
use std::sync::{Arc, Mutex, PoisonError};
use stream::{EventTime, SourceId};
use tokio::sync::watch;
use tokio::time::Instant;

/// Event time that follows tokio's clock, which tests pause.
pub struct TokioClock {
    start: Instant,
}

impl TokioClock {
    /// Event time 0 is now.
    #[allow(clippy::new_without_default)]
    pub fn new() -> TokioClock {
        TokioClock { start: Instant::now() }
    }
}

impl Clock for TokioClock {
    fn now(&self) -> EventTime {
        EventTime(self.start.elapsed().as_nanos() as i64)
    }

    fn wall_ns(&self) -> i64 {
        self.now().0
    }
}

/// What a fake intake has taken so far.
#[derive(Clone, Default)]
pub struct Taken(Arc<Mutex<Vec<Message>>>);

impl Taken {
    /// A copy of everything taken so far.
    pub fn all(&self) -> Vec<Message> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl Inlet for Taken {
    fn push(&mut self, message: Message) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).push(message);
    }
}

/// An intake for a test, what it takes, and the switch that stops the source.
pub fn intake() -> (Intake, Taken, watch::Sender<bool>) {
    let (stop, stopped) = watch::channel(false);
    let taken = Taken::default();
    (Intake::new(SourceId(0), Arc::new(TokioClock::new()), Box::new(taken.clone()), stopped), taken, stop)
}
