//! Waiting: for a signal, for the end of the time, for what the operator types.

use crate::keys::{Keys, Typed};
use std::time::{Duration, Instant};
use tokio::signal::unix::{Signal, SignalKind, signal};

/// Why waiting ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Why {
    /// Ctrl-C, SIGTERM or a hang-up.
    Signal,
    /// The time is over, or what was waited for is done.
    Over,
    /// The operator said so.
    Quit,
}

/// Waits until `until`, a signal, or `each` (called ten times a second) says that it is over. Signals are caught from
/// the call on, so that a run always ends in order.
pub(crate) fn wait(
    until: Option<Instant>,
    keys: Option<&Keys>,
    mut typed: impl FnMut(Typed) -> bool,
    mut each: impl FnMut() -> bool,
) -> std::io::Result<Why> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        let mut all =
            [signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?, signal(SignalKind::hangup())?];
        let mut beat = tokio::time::interval(Duration::from_millis(100));
        loop {
            tokio::select! {
                () = any(&mut all) => return Ok(Why::Signal),
                _ = beat.tick() => {}
            }
            while let Some(t) = keys.and_then(Keys::next) {
                if typed(t) {
                    return Ok(Why::Quit);
                }
            }
            if each() || until.is_some_and(|u| Instant::now() >= u) {
                return Ok(Why::Over);
            }
        }
    })
}

async fn any(signals: &mut [Signal; 3]) {
    let [a, b, c] = signals;
    tokio::select! {
        _ = a.recv() => {}
        _ = b.recv() => {}
        _ = c.recv() => {}
    }
}
