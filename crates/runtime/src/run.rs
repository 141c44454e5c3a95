//! A run from start to outcome.

use crate::http::Http;
use crate::log_thread::{LogEnd, LogJob, LogThread, Resume};
use crate::ring::{Bell, Ring};
use crate::sequencer_thread::{Sequenced, SequencerJob, Sequencing};
use crate::sink_thread::SinkEnd;
use crate::sink_thread::SinkThread;
use crate::source_thread::{SourceJob, SourceThread, Trouble, panic_text};
use crate::timing::Timing;
use pipeline::{Counts, Plan};
use plugin_api::{Clock, Counters, Sink, Source, SourcePlugin, SourceSetup};
use recording::{Disk, LogWriter};
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::JoinHandle;
use stream::{EventTime, LogEntry, OperatorAction};
use tokio::sync::watch;

/// A source with what it was made from.
pub struct SourceSlot {
    /// Its plugin, to make it anew after a panic.
    pub plugin: &'static SourcePlugin,
    /// What it was made from.
    pub setup: SourceSetup,
    /// The source.
    pub source: Box<dyn Source>,
    /// Messages its queue holds.
    pub queue: usize,
}

/// A sink with its name.
pub struct SinkSlot {
    /// Its name for messages.
    pub name: String,
    /// The sink.
    pub sink: Box<dyn Sink>,
}

/// Where the log goes.
pub struct LogSlot {
    /// Its writer.
    pub writer: LogWriter,
    /// The disk it writes to.
    pub disk: Arc<dyn Disk>,
    /// The recording's folder.
    pub folder: PathBuf,
}

/// Everything a run needs.
pub struct RunSetup {
    /// What is evaluated.
    pub plan: Arc<Plan>,
    /// Where data come from.
    pub sources: Vec<SourceSlot>,
    /// Where results go.
    pub sinks: Vec<SinkSlot>,
    /// Where the log goes; `None` records nothing.
    pub log: Option<LogSlot>,
    /// Who else is told every entry, in order; what there is no room for is not told, which is a trouble.
    pub tap: Option<SyncSender<Arc<Vec<LogEntry>>>>,
    /// Where metrics and page are served: [`crate::http::listen`].
    pub listener: Option<TcpListener>,
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// What is counted.
    pub counters: Arc<Counters>,
    /// How long is waited for what.
    pub timing: Timing,
}

/// A run could not start.
#[derive(Debug, thiserror::Error)]
pub enum RunError {
    /// Metrics are for this machine only.
    #[error("{0} is not an address of this machine alone; write 127.0.0.1 or [::1]")]
    NotLoopback(SocketAddr),
    /// The port cannot be taken.
    #[error("cannot listen on {address}: {source}; is another run using it? Port 0 takes a free one")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why.
        source: std::io::Error,
    },
    /// No thread.
    #[error("cannot start a thread: {0}")]
    Thread(#[from] std::io::Error),
}

/// How a run went.
#[derive(Debug)]
pub struct Outcome {
    /// What the core counted.
    pub counts: Counts,
    /// The last event time.
    pub ended: EventTime,
    /// Whether the run came to its end entry.
    pub in_order: bool,
    /// Whether every entry is in a final file of the log.
    pub log_whole: bool,
    /// Entries missing at the end of the log, and since when: no gap entry tells of them.
    pub tail_lost: Option<(u64, EventTime)>,
    /// Names of sinks that did not get everything.
    pub incomplete_sinks: Vec<String>,
    /// Names of sinks that did not end: they may still be writing.
    pub abandoned_sinks: Vec<String>,
    /// What went wrong, in words; empty for a clean run.
    pub troubles: Vec<String>,
}

/// A run at work.
pub struct Run {
    stop: watch::Sender<bool>,
    operator: SyncSender<OperatorAction>,
    sequencer: JoinHandle<Sequenced>,
    http: Option<Http>,
    trouble: Arc<Trouble>,
    bell: Arc<Bell>,
    timing: Timing,
}

impl Run {
    /// Starts everything: listener, then log and sinks, sources last.
    ///
    /// # Errors
    /// Where the listener or a thread cannot be started.
    pub fn start(setup: RunSetup) -> Result<Run, RunError> {
        let trouble = Arc::new(Trouble::default());
        let bell = Arc::new(Bell::default());
        let routes = setup.sinks.iter().filter_map(|s| s.sink.routes()).fold(axum::Router::new(), axum::Router::merge);
        let http = setup.listener.map(|l| Http::start(l, routes)).transpose()?;
        let mut sinks = Vec::new();
        for s in setup.sinks {
            sinks.push(SinkThread::start(&s.name, s.sink, Arc::clone(&trouble))?);
        }
        let resume = Arc::new(Resume::default());
        let log = match setup.log {
            Some(slot) => Some(LogThread::start(LogJob {
                writer: slot.writer,
                disk: slot.disk,
                folder: slot.folder,
                sources: setup.plan.layout.sources.iter().map(|s| s.name.clone()).collect(),
                counters: Arc::clone(&setup.counters),
                resume: Arc::clone(&resume),
                bell: Arc::clone(&bell),
                timing: setup.timing,
            })?),
            None => None,
        };
        let (stop, stopped) = watch::channel(false);
        let mut sources = Vec::new();
        for s in setup.sources {
            let ring = Ring::new(s.setup.id, s.queue, Arc::clone(&bell));
            let job = SourceJob { plugin: s.plugin, setup: s.setup, source: s.source };
            sources.push(SourceThread::start(job, ring, Arc::clone(&setup.clock), stopped.clone())?);
        }
        let (operator, inputs): (_, Receiver<OperatorAction>) = sync_channel(64);
        let job = SequencerJob {
            plan: setup.plan,
            clock: setup.clock,
            counters: setup.counters,
            sources,
            sinks,
            log,
            tap: setup.tap,
            resume,
            inputs,
            stop: stopped,
            bell: Arc::clone(&bell),
            trouble: Arc::clone(&trouble),
            timing: setup.timing,
        };
        let sequencer =
            std::thread::Builder::new().name("sequencer".to_owned()).spawn(move || Sequencing::new(job).run())?;
        Ok(Run { stop, operator, sequencer, http, trouble, bell, timing: setup.timing })
    }

    /// Where metrics are served.
    pub fn address(&self) -> Option<SocketAddr> {
        self.http.as_ref().map(Http::address)
    }

    /// Hands over what an operator did. False where sixty-four inputs wait already.
    pub fn operator(&self, action: OperatorAction) -> bool {
        let taken = self.operator.try_send(action).is_ok();
        self.bell.ring();
        taken
    }

    /// Whether the run has come to its end by itself (it does not, but for a panic of the sequencer).
    pub fn is_over(&self) -> bool {
        self.sequencer.is_finished()
    }

    /// Stops in order: sources, what still waits in the rings, an end entry, log, sinks, listener.
    pub fn stop(self) -> Outcome {
        let _ = self.stop.send(true);
        self.bell.ring();
        let sequenced = self.sequencer.join().map_err(|p| panic_text(&*p));
        let Sequenced { counts, ended, sinks, log, in_order } = sequenced.unwrap_or_else(|text| {
            self.trouble.add(format!("internal error, please report it: the sequencer panicked: {text}"));
            Sequenced::nothing()
        });
        let (mut incomplete_sinks, mut abandoned_sinks) = (Vec::new(), Vec::new());
        let log = log.map(LogThread::close);
        for (name, end) in sinks.into_iter().map(|s| s.close(self.timing.sink_patience)) {
            match end {
                SinkEnd::Whole => {}
                SinkEnd::Incomplete => incomplete_sinks.push(name),
                SinkEnd::Abandoned => abandoned_sinks.push(name),
            }
        }
        if let Some(h) = self.http {
            h.close();
        }
        let LogEnd { mut troubles, whole, tail } =
            log.unwrap_or(LogEnd { troubles: Vec::new(), whole: false, tail: None });
        troubles.extend(self.trouble.take());
        let tail_lost = tail.map(|t| (counts.entries.saturating_sub(t.first), t.from));
        let log_whole = whole && in_order;
        Outcome { counts, ended, in_order, log_whole, tail_lost, incomplete_sinks, abandoned_sinks, troubles }
    }
}

/// Copies what the core counted to where summary and metrics read it.
pub(crate) fn publish(counts: &Counts, counters: &Counters) {
    let set = |a: &AtomicU64, v: u64| a.store(v, Ordering::Relaxed);
    for (from, to) in counts.sources.iter().zip(&counters.sources) {
        set(&to.records, from.records);
        set(&to.bytes, from.bytes);
        set(&to.samples, from.samples);
        set(&to.lost, from.lost);
        set(&to.late, from.late);
        set(&to.unmapped, from.unmapped);
        set(&to.undecodable, from.undecodable);
        set(&to.link_losses, from.link_losses);
        from.faults.iter().zip(&to.faults).for_each(|(n, a)| set(a, *n));
    }
    set(&counters.snapshots, counts.snapshots);
}
