//! Waiting: for a signal, for the end of the time, for what the operator types.

use crate::commands::io;
use crate::keys::{Keys, Typed};
use assembly::Error;
use std::time::{Duration, Instant};
use tokio::runtime::Runtime;
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

/// The signals that end a run, caught from here on: made before a run starts, so that it always ends in order.
pub(crate) struct Signals {
    runtime: Runtime,
    all: [Signal; 3],
}

impl Signals {
    /// Catches Ctrl-C, SIGTERM and hang-up.
    pub(crate) fn catch() -> Result<Signals, Error> {
        let catch = || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
            let inside = runtime.enter();
            let all =
                [signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?, signal(SignalKind::hangup())?];
            drop(inside);
            Ok(Signals { runtime, all })
        };
        catch().map_err(io("catching signals"))
    }

    /// Waits until `until`, a signal, or `each` (called ten times a second) says that it is over.
    pub(crate) fn wait(
        &mut self,
        until: Option<Instant>,
        keys: Option<&Keys>,
        mut typed: impl FnMut(Typed) -> bool,
        mut each: impl FnMut() -> bool,
    ) -> Why {
        let all = &mut self.all;
        self.runtime.block_on(async {
            let mut beat = tokio::time::interval(Duration::from_millis(100));
            loop {
                let signalled = tokio::select! {
                    () = any(all) => true,
                    _ = beat.tick() => false,
                };
                // What was typed before the signal belongs to the run.
                while let Some(t) = keys.and_then(Keys::next) {
                    if typed(t) {
                        return Why::Quit;
                    }
                }
                if signalled {
                    return Why::Signal;
                }
                if each() || until.is_some_and(|u| Instant::now() >= u) {
                    return Why::Over;
                }
            }
        })
    }

    /// From here on a signal ends the program at once: for closing that does not come to an end, on a disk that hangs.
    pub(crate) fn leave_at_once(mut self, recording: &std::path::Path) {
        let folder = recording.display().to_string();
        let leave = move || {
            self.runtime.block_on(any(&mut self.all));
            complain!("left at once; `bise salvage {folder}` makes the recording complete up to the last sync");
            std::process::exit(crate::exit::Exit::Failed as i32);
        };
        if let Err(e) = std::thread::Builder::new().name("signals".to_owned()).spawn(leave) {
            tracing::warn!("signals are not heeded while the run closes: {e}");
        }
    }
}

async fn any(signals: &mut [Signal; 3]) {
    let [a, b, c] = signals;
    tokio::select! {
        _ = a.recv() => {}
        _ = b.recv() => {}
        _ = c.recv() => {}
    }
}
