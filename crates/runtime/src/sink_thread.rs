//! One thread a sink. A sink that keeps everything is waited for when its queue is full; one that wants only the
//! newest state is given what it can take.

use crate::source_thread::{Trouble, panic_text};
use plugin_api::Sink;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::JoinHandle;
use stream::Batch;

/// Batches that may wait.
const WAITING: usize = 256;

pub(crate) struct SinkThread {
    name: String,
    to: SyncSender<Arc<Batch>>,
    latest_only: bool,
    failed: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl SinkThread {
    pub(crate) fn start(name: &str, sink: Box<dyn Sink>, trouble: Arc<Trouble>) -> std::io::Result<SinkThread> {
        let latest_only = sink.latest_only();
        let (to, from) = sync_channel(if latest_only { 4 } else { WAITING });
        let failed = Arc::new(AtomicBool::new(false));
        let (n, f) = (name.to_owned(), Arc::clone(&failed));
        let thread = std::thread::Builder::new()
            .name(format!("sink-{name}"))
            .spawn(move || run(&n, sink, &from, &f, &trouble))?;
        Ok(SinkThread { name: name.to_owned(), to, latest_only, failed, thread })
    }

    /// Hands a batch over. What a latest-only sink has no room for it will get with the next batch.
    pub(crate) fn write(&self, batch: &Arc<Batch>) {
        if self.latest_only {
            let newest = Batch {
                snapshots: batch.snapshots.last().cloned().into_iter().collect(),
                events: batch.events.clone(),
                samples: Vec::new(),
            };
            if !newest.is_empty() {
                let _ = self.to.try_send(Arc::new(newest));
            }
        } else if self.to.send(Arc::clone(batch)).is_err() {
            self.failed.store(true, Ordering::Relaxed);
        }
    }

    /// Ends in order; whether the sink has everything.
    pub(crate) fn close(self) -> (String, bool) {
        drop(self.to);
        let joined = self.thread.join().is_ok();
        (self.name, joined && !self.failed.load(Ordering::Relaxed))
    }
}

fn run(name: &str, mut sink: Box<dyn Sink>, from: &Receiver<Arc<Batch>>, failed: &AtomicBool, trouble: &Trouble) {
    let mut told = String::new();
    for batch in from {
        let result = std::panic::catch_unwind(AssertUnwindSafe(|| sink.write(&batch)));
        let text = match result {
            Ok(Ok(())) => continue,
            Ok(Err(e)) => e.to_string(),
            Err(p) => format!("panicked: {}", panic_text(&*p)),
        };
        failed.store(true, Ordering::Relaxed);
        if text != told {
            trouble.add(format!("sink {name}: {text}"));
            told = text;
        }
    }
    match std::panic::catch_unwind(AssertUnwindSafe(|| sink.close())) {
        Ok(Ok(())) => {}
        Ok(Err(e)) => {
            failed.store(true, Ordering::Relaxed);
            trouble.add(format!("sink {name}, closing: {e}"));
        }
        Err(p) => {
            failed.store(true, Ordering::Relaxed);
            trouble.add(format!("sink {name}, closing: panicked: {}", panic_text(&*p)));
        }
    }
}
