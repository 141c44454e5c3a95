//! Simulated time, the unit in it, and what all instruments of the rig share.

use crate::pack::{Pack, State};
use crate::report::RigReport;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

pub(crate) struct World {
    start: Instant,
    pace: f64,
    pack: Mutex<(Pack, f64)>,
    report: Mutex<RigReport>,
    stopping: Mutex<bool>,
    stopped: Condvar,
}

impl World {
    pub(crate) fn new(pack: Pack, pace: f64) -> World {
        World {
            start: Instant::now(),
            pace,
            pack: Mutex::new((pack, 0.0)),
            report: Mutex::default(),
            stopping: Mutex::new(false),
            stopped: Condvar::new(),
        }
    }

    /// Simulated seconds since the rig was started.
    pub(crate) fn now(&self) -> f64 {
        self.start.elapsed().as_secs_f64() * self.pace
    }

    /// The unit as its sensors see it now.
    pub(crate) fn sensed(&self) -> State {
        let now = self.now();
        let (pack, reached) = &mut *lock(&self.pack);
        pack.advance(now - *reached);
        *reached = reached.max(now);
        pack.sensed()
    }

    /// Notes something in the report.
    pub(crate) fn note<T>(&self, f: impl FnOnce(&mut RigReport) -> T) -> T {
        f(&mut lock(&self.report))
    }

    /// The report so far.
    pub(crate) fn report(&self) -> RigReport {
        let seconds = self.now();
        RigReport { seconds, ..lock(&self.report).clone() }
    }

    pub(crate) fn stop(&self) {
        *lock(&self.stopping) = true;
        self.stopped.notify_all();
    }

    pub(crate) fn is_stopping(&self) -> bool {
        *lock(&self.stopping)
    }

    /// Waits until simulated time `t`; returns at once when the rig is being stopped.
    pub(crate) fn wait_until(&self, t: f64) {
        let seconds = ((t - self.now()) / self.pace).clamp(0.0, 86_400.0);
        self.pause(Duration::from_secs_f64(seconds));
    }

    /// Waits so long in real time; returns at once when the rig is being stopped.
    pub(crate) fn pause(&self, d: Duration) {
        let waited = self.stopped.wait_timeout_while(lock(&self.stopping), d, |stop| !*stop);
        drop(waited.unwrap_or_else(PoisonError::into_inner));
    }
}

fn lock<T>(m: &Mutex<T>) -> MutexGuard<'_, T> {
    m.lock().unwrap_or_else(PoisonError::into_inner)
}
