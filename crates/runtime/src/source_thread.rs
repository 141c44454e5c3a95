//! One thread a source: its own tokio runtime, reopening with back-off, panics caught, a heart-beat for the
//! watchdog.

use crate::ring::{Ring, lock};
use plugin_api::{Clock, Intake, LinkLost, Source, SourcePlugin, SourceSetup};
use std::any::Any;
use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use stream::LinkState;
use tokio::sync::watch;

/// The first pause before a lost link is opened again; doubled each time up to the longest.
const SHORTEST_PAUSE: Duration = Duration::from_millis(250);
const LONGEST_PAUSE: Duration = Duration::from_secs(5);
/// A link that stood so long starts again with the shortest pause.
const STOOD: Duration = Duration::from_secs(10);
/// How often the thread shows that it is alive.
const BEAT: Duration = Duration::from_millis(250);

/// A source at work.
pub(crate) struct SourceThread {
    pub(crate) ring: Arc<Ring>,
    pub(crate) name: String,
    beats: Arc<AtomicU64>,
    pulse: Pulse,
    done: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
    /// Given up by the watchdog.
    pub(crate) abandoned: bool,
}

/// For how long no beat was seen.
#[derive(Debug, Default)]
struct Pulse {
    beats: u64,
    silent: Duration,
}

impl Pulse {
    fn look(&mut self, beats: u64, passed: Duration) -> Duration {
        let alive = std::mem::replace(&mut self.beats, beats) != beats;
        self.silent = if alive { Duration::ZERO } else { self.silent + passed };
        self.silent
    }
}

/// What a source thread works with.
pub(crate) struct SourceJob {
    pub(crate) plugin: &'static SourcePlugin,
    pub(crate) setup: SourceSetup,
    pub(crate) source: Box<dyn Source>,
}

impl SourceThread {
    pub(crate) fn start(
        job: SourceJob,
        ring: Arc<Ring>,
        clock: Arc<dyn Clock>,
        stop: watch::Receiver<bool>,
    ) -> std::io::Result<SourceThread> {
        let name = job.setup.name.clone();
        let (beats, done) = (Arc::new(AtomicU64::new(0)), Arc::new(AtomicBool::new(false)));
        let intake = Intake::new(job.setup.id, clock, ring.inlet(), stop);
        let (b, d) = (Arc::clone(&beats), Arc::clone(&done));
        let thread = std::thread::Builder::new().name(format!("source-{name}")).spawn(move || {
            let name = job.setup.name.clone();
            let mut intake = intake;
            // Also making a plugin anew, or dropping it, may panic.
            if let Err(p) = std::panic::catch_unwind(AssertUnwindSafe(|| supervise(job, &mut intake, &b))) {
                let text = format!("the plugin panicked: {}; it is given up", panic_text(&*p));
                tracing::error!(source = name, "link down: {text}");
                intake.link(None, LinkState::Down, text);
            }
            d.store(true, Ordering::Release);
        })?;
        let pulse = Pulse::default();
        Ok(SourceThread { ring, name, beats, pulse, done, thread: Some(thread), abandoned: false })
    }

    /// Whether the thread has shown no life for `patience`. Asked regularly by the sequencer; `passed` is the time
    /// since the last look.
    pub(crate) fn blocked_for(&mut self, passed: Duration, patience: Duration) -> bool {
        let silent = self.pulse.look(self.beats.load(Ordering::Relaxed), passed);
        !self.abandoned && !self.done.load(Ordering::Acquire) && silent > patience
    }

    /// Waits for the end of the thread, at most until `until`; whether it ended.
    pub(crate) fn join(&mut self, until: Instant) -> bool {
        while !self.done.load(Ordering::Acquire) {
            if self.abandoned || Instant::now() > until {
                return false;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        self.thread.take().is_some_and(|t| t.join().is_ok())
    }
}

fn supervise(mut job: SourceJob, intake: &mut Intake, beats: &AtomicU64) {
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(r) => r,
        Err(e) => return intake.link(None, LinkState::Down, format!("no runtime for the source: {e}")),
    };
    let mut pause = SHORTEST_PAUSE;
    let mut told = String::new();
    while !intake.is_stopping() {
        let opened = Instant::now();
        let run = AssertUnwindSafe(|| runtime.block_on(with_heartbeat(&mut *job.source, intake, beats)));
        let trouble = match std::panic::catch_unwind(run) {
            Ok(Ok(())) if intake.is_stopping() => return,
            Ok(Ok(())) => "the plugin ended by itself".to_owned(),
            Ok(Err(LinkLost(text))) => text,
            Err(panic) => {
                let text = format!("the plugin panicked: {}; it is made anew", panic_text(&*panic));
                match (job.plugin.build)(&job.setup) {
                    Ok(s) => job.source = s,
                    Err(e) => return intake.link(None, LinkState::Down, format!("{text}, which failed: {e}")),
                }
                text
            }
        };
        if opened.elapsed() > STOOD {
            pause = SHORTEST_PAUSE;
            told.clear();
        }
        // A link that stays away is told once, not at every attempt.
        if trouble != told || intake.line_state() != Some(LinkState::Down) {
            intake.link(None, LinkState::Down, trouble.clone());
            told = trouble;
        }
        runtime.block_on(async {
            let wait = intake.scaled(pause);
            let stopped = intake.stopped();
            tokio::select! {
                () = with_beats(tokio::time::sleep(wait), beats) => {}
                () = stopped => {}
            }
        });
        pause = (pause * 2).min(LONGEST_PAUSE);
    }
}

async fn with_heartbeat(source: &mut dyn Source, intake: &mut Intake, beats: &AtomicU64) -> Result<(), LinkLost> {
    with_beats(source.run(intake), beats).await
}

async fn with_beats<T>(work: impl Future<Output = T>, beats: &AtomicU64) -> T {
    let mut work = std::pin::pin!(work);
    let mut beat = tokio::time::interval(BEAT);
    loop {
        tokio::select! {
            biased;
            _ = beat.tick() => { beats.fetch_add(1, Ordering::Relaxed); }
            done = &mut work => return done,
        }
    }
}

pub(crate) fn panic_text(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|s| (*s).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "without a message".to_owned())
}

/// The first panic text of a thread other than a source's, for the summary.
#[derive(Default)]
pub(crate) struct Trouble(Mutex<Vec<String>>);

impl Trouble {
    pub(crate) fn add(&self, text: String) {
        tracing::error!("{text}");
        lock(&self.0).push(text);
    }

    pub(crate) fn take(&self) -> Vec<String> {
        std::mem::take(&mut *lock(&self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_adds_up_from_look_to_look() {
        let (mut pulse, step) = (Pulse::default(), Duration::from_secs(1));
        assert_eq!(pulse.look(1, step), Duration::ZERO);
        assert_eq!(pulse.look(1, step), step);
        assert_eq!(pulse.look(1, step), 2 * step);
        assert_eq!(pulse.look(2, step), Duration::ZERO);
    }
}
