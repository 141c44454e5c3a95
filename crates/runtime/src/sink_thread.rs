//! One thread a sink. A sink is never waited for while the run goes on: what it has no room for is put together and
//! handed over as one batch later; what is too much for that it does not get, which is said.

use crate::source_thread::{Trouble, panic_text};
use plugin_api::Sink;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread::JoinHandle;
use std::time::Duration;
use stream::{Batch, Reading, Sample};

/// Batches that may wait at the sink.
const WAITING: usize = 256;
/// Bytes that may be put together for a sink that has no room.
const TOGETHER: usize = 64 << 20;
/// How often a sink that ends is looked at.
const LOOK: Duration = Duration::from_millis(2);
/// Events kept for a sink that only wants the newest state.
const NEWEST_EVENTS: usize = 1000;

pub(crate) struct SinkThread {
    name: String,
    /// Gone when the sink is told that nothing follows.
    to: Option<SyncSender<Arc<Batch>>>,
    latest_only: bool,
    /// What there was no room for, and its size.
    later: (Batch, usize),
    shared: Arc<Shared>,
    trouble: Arc<Trouble>,
    thread: JoinHandle<()>,
}

#[derive(Default)]
struct Shared {
    failed: AtomicBool,
    /// Counts batches taken, for the patience at the end.
    taken: AtomicU64,
    done: AtomicBool,
}

/// Whether a sink got everything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SinkEnd {
    Whole,
    Incomplete,
    /// It did not end: its thread may still be writing.
    Abandoned,
}

impl SinkThread {
    pub(crate) fn start(name: &str, sink: Box<dyn Sink>, trouble: Arc<Trouble>) -> std::io::Result<SinkThread> {
        let latest_only = sink.latest_only();
        let (to, from) = sync_channel(if latest_only { 4 } else { WAITING });
        let shared = Arc::new(Shared::default());
        let (n, s, t) = (name.to_owned(), Arc::clone(&shared), Arc::clone(&trouble));
        let thread =
            std::thread::Builder::new().name(format!("sink-{name}")).spawn(move || run(&n, sink, &from, &s, &t))?;
        let later = Default::default();
        Ok(SinkThread { name: name.to_owned(), to: Some(to), latest_only, later, shared, trouble, thread })
    }

    /// Hands a batch over, or keeps it for later. Never waits.
    pub(crate) fn write(&mut self, batch: &Arc<Batch>) {
        if self.latest_only || self.later.1 > 0 {
            self.keep(batch);
            self.try_later();
        } else if let Some(back) = self.send(Arc::clone(batch)) {
            self.keep(&back);
        }
    }

    /// The batch comes back where there is no room.
    fn send(&self, batch: Arc<Batch>) -> Option<Arc<Batch>> {
        match self.to.as_ref().map(|to| to.try_send(batch)) {
            Some(Ok(())) => None,
            Some(Err(TrySendError::Full(b))) => Some(b),
            Some(Err(TrySendError::Disconnected(_))) | None => {
                self.shared.failed.store(true, Ordering::Relaxed);
                None
            }
        }
    }

    fn keep(&mut self, batch: &Batch) {
        let (later, bytes) = &mut self.later;
        if self.latest_only {
            if let Some(newest) = batch.snapshots.last() {
                later.snapshots = vec![newest.clone()];
            }
            newest_samples(&mut later.samples, &batch.samples);
            let room = NEWEST_EVENTS.saturating_sub(later.events.len());
            later.events.extend(batch.events.iter().take(room).cloned());
            return;
        }
        *bytes += size(batch);
        if *bytes > TOGETHER {
            self.later = Default::default();
            if !self.shared.failed.swap(true, Ordering::Relaxed) {
                self.trouble.add(format!("sink {}: does not keep up; results were left out", self.name));
            }
            return;
        }
        later.samples.extend_from_slice(&batch.samples);
        later.snapshots.extend_from_slice(&batch.snapshots);
        later.events.extend_from_slice(&batch.events);
    }

    fn try_later(&mut self) {
        if self.later.0.is_empty() {
            return;
        }
        let batch = Arc::new(std::mem::take(&mut self.later.0));
        match self.send(batch) {
            None => self.later.1 = 0,
            Some(back) => self.later.0 = Arc::unwrap_or_clone(back),
        }
    }

    /// Ends in order, for as long as the sink makes progress.
    pub(crate) fn close(mut self, patience: Duration) -> (String, SinkEnd) {
        let (mut seen, mut silent) = (self.shared.taken.load(Ordering::Relaxed), Duration::ZERO);
        while !self.shared.done.load(Ordering::Acquire) && !self.thread.is_finished() {
            self.try_later();
            if self.later.0.is_empty() {
                self.to = None;
            }
            let taken = self.shared.taken.load(Ordering::Relaxed);
            // Added up look by look, so that a program that stood still is not taken for a sink that does.
            silent = if taken == seen { silent + LOOK } else { Duration::ZERO };
            seen = taken;
            if silent > patience {
                self.trouble.add(format!("sink {}: did not end in time: abandoned", self.name));
                return (self.name, SinkEnd::Abandoned);
            }
            std::thread::sleep(LOOK);
        }
        let joined = self.thread.join().is_ok();
        let whole = joined && !self.shared.failed.load(Ordering::Relaxed);
        (self.name, if whole { SinkEnd::Whole } else { SinkEnd::Incomplete })
    }
}

/// About how much memory a batch takes.
fn size(b: &Batch) -> usize {
    let text = |e: &stream::Event| size_of_val(e) + e.subject.len() + e.text.len();
    size_of::<Sample>() * b.samples.len()
        + b.snapshots.iter().map(|s| 64 + size_of::<Reading>() * s.readings.len() + s.limits.len()).sum::<usize>()
        + b.events.iter().map(text).sum::<usize>()
}

fn run(name: &str, mut sink: Box<dyn Sink>, from: &Receiver<Arc<Batch>>, shared: &Shared, trouble: &Trouble) {
    let mut told = String::new();
    for batch in from {
        let result = std::panic::catch_unwind(AssertUnwindSafe(|| sink.write(&batch)));
        shared.taken.fetch_add(1, Ordering::Relaxed);
        let text = match result {
            Ok(Ok(())) => continue,
            Ok(Err(e)) => e.to_string(),
            Err(p) => format!("panicked: {}", panic_text(&*p)),
        };
        shared.failed.store(true, Ordering::Relaxed);
        if text != told {
            trouble.add(format!("sink {name}: {text}"));
            told = text;
        }
    }
    let text = match std::panic::catch_unwind(AssertUnwindSafe(|| sink.close())) {
        Ok(Ok(())) => None,
        Ok(Err(e)) => Some(e.to_string()),
        Err(p) => Some(format!("panicked: {}", panic_text(&*p))),
    };
    if let Some(text) = text {
        shared.failed.store(true, Ordering::Relaxed);
        trouble.add(format!("sink {name}, closing: {text}"));
    }
    shared.done.store(true, Ordering::Release);
}

/// Of each channel the newest sample with a number: what a sink that wants only the newest state needs to know of ages.
fn newest_samples(kept: &mut Vec<Sample>, new: &[Sample]) {
    for s in new.iter().filter(|s| s.reading.number().is_some()) {
        match kept.iter_mut().find(|k| k.channel == s.channel) {
            Some(k) if s.time >= k.time => *k = *s,
            Some(_) => {}
            None => kept.push(*s),
        }
    }
}
