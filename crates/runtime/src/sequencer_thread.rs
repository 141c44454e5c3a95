//! The one thread that puts everything in order: takes what the rings hold, numbers it, hands it to the log,
//! evaluates it, hands the results to the sinks. Evaluation follows the append to memory, not the sync.

use crate::log_thread::{LogThread, Resume};
use crate::ring::Bell;
use crate::run::publish;
use crate::sink_thread::SinkThread;
use crate::source_thread::{SourceThread, Trouble, panic_text};
use crate::timing::Timing;
use pipeline::{Core, Counts, Plan, Sequencer};
use plugin_api::{Clock, Counters, Message};
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError};
use std::time::{Duration, Instant};
use stream::{
    Anchor, Batch, EntryBody, EventTime, Gap, GapCause, Link, LinkState, LogEntry, OperatorAction, SourceId, Span,
};
use tokio::sync::watch;

/// A wall clock that moved by more than this against event time makes an anchor entry.
const CLOCK_MOVED_NS: i64 = 5_000_000;
/// Two clocks read within this time are read at once.
const READ_AT_ONCE: Span = Span::from_millis(1);
/// A look at clocks and watchdogs that is later than this makes a gap entry: the program stood still.
const STOOD_STILL: Duration = Duration::from_secs(1);
/// A sleep longer than this makes a gap entry.
const SLEPT_NS: i64 = 100_000_000;
/// Entries handed to the log in one block.
const BLOCK: usize = 4096;

pub(crate) struct SequencerJob {
    pub(crate) plan: Arc<Plan>,
    pub(crate) clock: Arc<dyn Clock>,
    pub(crate) counters: Arc<Counters>,
    pub(crate) sources: Vec<SourceThread>,
    pub(crate) sinks: Vec<SinkThread>,
    pub(crate) log: Option<LogThread>,
    pub(crate) tap: Option<SyncSender<Arc<Vec<LogEntry>>>>,
    pub(crate) resume: Arc<Resume>,
    pub(crate) inputs: Receiver<OperatorAction>,
    pub(crate) stop: watch::Receiver<bool>,
    pub(crate) bell: Arc<Bell>,
    pub(crate) trouble: Arc<Trouble>,
    pub(crate) timing: Timing,
}

/// What the sequencer leaves behind.
pub(crate) struct Sequenced {
    pub(crate) counts: Counts,
    pub(crate) ended: EventTime,
    pub(crate) sinks: Vec<SinkThread>,
    pub(crate) log: Option<LogThread>,
    /// Whether it came to its end, not to a panic.
    pub(crate) in_order: bool,
}

impl Sequenced {
    pub(crate) fn nothing() -> Sequenced {
        let (sinks, log) = (Vec::new(), None);
        Sequenced { counts: Counts::default(), ended: EventTime(0), sinks, log, in_order: false }
    }
}

pub(crate) struct Sequencing {
    job: SequencerJob,
    sequencer: Sequencer,
    core: Core,
    block: Vec<LogEntry>,
    drained: Vec<Message>,
    looked: Instant,
    wall_offset: Option<i64>,
    slept: i64,
    last_event: EventTime,
}

impl Sequencing {
    pub(crate) fn new(job: SequencerJob) -> Sequencing {
        let core = Core::new(Arc::clone(&job.plan));
        let sequencer = Sequencer::new(job.plan.layout.grid);
        Sequencing {
            sequencer,
            core,
            block: Vec::with_capacity(BLOCK),
            drained: Vec::new(),
            looked: Instant::now(),
            wall_offset: None,
            slept: (job.timing.slept_ns)(),
            last_event: job.clock.now(),
            job,
        }
    }

    /// Until the run is stopped. Log and sinks are handed back to be closed, whatever happens.
    pub(crate) fn run(mut self) -> Sequenced {
        let run = std::panic::catch_unwind(AssertUnwindSafe(|| self.work()));
        if let Err(p) = &run {
            let what = "internal error, please report it: the sequencer panicked";
            self.job.trouble.add(format!("{what}: {}; the log up to there is kept", panic_text(&**p)));
        }
        let Sequencing { job, core, last_event: ended, .. } = self;
        Sequenced { counts: core.counts().clone(), ended, sinks: job.sinks, log: job.log, in_order: run.is_ok() }
    }

    fn work(&mut self) {
        self.job.bell.adopt();
        self.anchor();
        while !*self.job.stop.borrow() {
            if self.looked.elapsed() >= self.job.timing.housekeeping {
                self.housekeeping();
            }
            self.take_all();
            self.hand_over();
            self.sleep();
        }
        self.end_sources();
        self.take_all();
        let now = self.job.clock.now();
        self.push(EntryBody::End, now);
        self.hand_over();
    }

    /// Everything that waits, source by source, then a tick if nothing came for a grid step.
    fn take_all(&mut self) {
        let mut drained = std::mem::take(&mut self.drained);
        for i in 0..self.job.sources.len() {
            self.job.sources[i].ring.drain(&mut drained);
            // One reading for all: no message can be from after it was taken.
            let now = self.job.clock.now();
            for m in drained.drain(..) {
                let body = match m {
                    Message::Record(r) => EntryBody::Record(r),
                    Message::Gap(g) => EntryBody::Gap(g),
                    Message::Link(l) => EntryBody::Link(l),
                };
                self.push(body, now);
            }
        }
        self.drained = drained;
        while let Ok(action) = self.job.inputs.try_recv() {
            let now = self.job.clock.now();
            self.push(EntryBody::Operator(action), now);
        }
        if let Some(lost) = self.job.resume.take() {
            let now = self.job.clock.now();
            let n = self.sequencer.next_ordinal().saturating_sub(lost.first);
            let gap = Gap { source: None, lost: n, from: lost.from, to: now, cause: GapCause::NotRecorded };
            self.push(EntryBody::Gap(gap), now);
        }
        let now = self.job.clock.now();
        if let Some(tick) = self.sequencer.tick(now) {
            self.last_event = tick.logged_at;
            self.block.push(tick);
        }
    }

    fn push(&mut self, body: EntryBody, now: EventTime) {
        if let EntryBody::Link(l) = &body {
            self.tell_link(l);
        }
        if let EntryBody::Link(l) = &body
            && l.device.is_none()
            && let Some(c) = self.job.counters.sources.get(usize::from(l.source.0))
        {
            c.link.store(l.state as u8, Ordering::Relaxed);
        }
        let entry = self.sequencer.push(body, now);
        self.last_event = entry.logged_at;
        self.block.push(entry);
        if self.block.len() >= BLOCK {
            self.hand_over();
        }
    }

    /// A link that is not up is told on the terminal, whichever plugin it belongs to.
    fn tell_link(&self, l: &Link) {
        let source = self.job.plan.layout.sources.get(usize::from(l.source.0));
        let name = source.map_or("", |s| s.name.as_str());
        let device = source.zip(l.device).and_then(|(s, d)| s.devices.get(usize::from(d)));
        let subject = device.map_or_else(|| name.to_owned(), |d| format!("{name}/{d}"));
        match l.state {
            LinkState::Up => tracing::info!("{subject} up: {}", l.detail),
            state => tracing::warn!("{subject} {}: {}", state.word(), l.detail),
        }
    }

    /// The block goes to the log first, then through the core, then its results to the sinks.
    fn hand_over(&mut self) {
        if self.block.is_empty() {
            return;
        }
        let block = Arc::new(std::mem::replace(&mut self.block, Vec::with_capacity(64)));
        if let Some(log) = &self.job.log
            && !log.append(Arc::clone(&block))
        {
            self.job.trouble.add("NOT RECORDED: the log thread is gone".to_owned());
            self.job.counters.recording.writing.store(0, Ordering::Relaxed);
            self.job.log = None;
        }
        self.tell_tap(&block);
        let mut batch = Batch::default();
        for entry in block.iter() {
            if let EntryBody::Record(r) = &entry.body
                && let Some(c) = self.job.counters.sources.get(usize::from(r.source.0))
            {
                c.newest_ns.store(r.event_time.0, Ordering::Relaxed);
            }
            self.core.push(entry, &mut batch);
        }
        self.job.counters.event_time_ns.store(self.last_event.0, Ordering::Relaxed);
        publish(self.core.counts(), &self.job.counters);
        if !batch.is_empty() {
            let batch = Arc::new(batch);
            self.job.sinks.iter_mut().for_each(|s| s.write(&batch));
        }
    }

    /// Whoever listens beside is never waited for.
    fn tell_tap(&mut self, block: &Arc<Vec<LogEntry>>) {
        match self.job.tap.as_ref().map(|t| t.try_send(Arc::clone(block))) {
            Some(Err(TrySendError::Full(_))) => {
                self.job.trouble.add(format!("not heard: {} entries, there was no time for them", block.len()));
            }
            Some(Err(TrySendError::Disconnected(_))) => self.job.tap = None,
            Some(Ok(())) | None => {}
        }
    }

    /// Until something comes, at most until the next tick is due.
    fn sleep(&self) {
        let tick = Duration::from_nanos(self.job.plan.layout.grid.0.max(1_000_000) as u64);
        let wait = tick.div_f64(self.job.clock.pace().max(1.0)) / 4;
        let job = &self.job;
        job.bell.sleep(wait, || *job.stop.borrow() || job.sources.iter().any(|s| s.ring.len() > 0));
    }

    fn housekeeping(&mut self) {
        // Where the whole program stood still, by Ctrl-Z say, that is no silence of a source.
        let stood = self.looked.elapsed();
        let passed = stood.min(2 * self.job.timing.housekeeping);
        self.looked = Instant::now();
        self.anchor();
        if stood > self.job.timing.housekeeping + STOOD_STILL {
            let to = self.job.clock.now();
            let from = to - Span((stood.as_nanos() as f64 * self.job.clock.pace()) as i64);
            tracing::warn!(
                "the program stood still for {:.1} s: what came meanwhile was taken late",
                stood.as_secs_f64()
            );
            self.push(EntryBody::Gap(Gap { source: None, lost: 0, from, to, cause: GapCause::StoodStill }), to);
        }
        let slept = (self.job.timing.slept_ns)();
        if slept - self.slept > SLEPT_NS {
            let to = self.job.clock.now();
            let from = to - Span(slept - self.slept);
            self.push(EntryBody::Gap(Gap { source: None, lost: 0, from, to, cause: GapCause::Suspend }), to);
        }
        self.slept = slept;
        let patience = self.job.timing.patience;
        for i in 0..self.job.sources.len() {
            let s = &mut self.job.sources[i];
            if let Some(c) = self.job.counters.sources.get(i) {
                c.queue.store(s.ring.len() as u64, Ordering::Relaxed);
                c.queue_capacity.store(s.ring.capacity() as u64, Ordering::Relaxed);
            }
            if s.blocked_for(passed, patience) {
                s.abandoned = true;
                s.ring.close();
                let detail = format!("{} has not answered for {} s: abandoned", s.name, patience.as_secs_f64());
                self.job.trouble.add(format!("source {detail}"));
                // What it handed over before comes before.
                self.take_all();
                self.abandon(SourceId(i as u16), detail);
            }
        }
    }

    fn abandon(&mut self, source: SourceId, detail: String) {
        let now = self.job.clock.now();
        let from = now - Span(self.job.timing.patience.as_nanos() as i64);
        self.push(
            EntryBody::Gap(Gap { source: Some(source), lost: 0, from, to: now, cause: GapCause::SourceBlocked }),
            now,
        );
        self.push(EntryBody::Link(Link { source, device: None, event_time: now, state: LinkState::Down, detail }), now);
    }

    /// Tells the log when the wall clock has moved against event time.
    fn anchor(&mut self) {
        // In a fast demonstration event time runs away from the wall clock by design.
        if self.job.clock.pace() != 1.0 {
            return;
        }
        let (now, wall) = (self.job.clock.now(), self.job.clock.wall_ns());
        // A thread that was set aside between two readings must not look like a clock that moved.
        if self.job.clock.now() - now > READ_AT_ONCE {
            return;
        }
        let offset = wall - now.0;
        if self.wall_offset.is_none_or(|o| (offset - o).abs() > CLOCK_MOVED_NS) {
            self.wall_offset = Some(offset);
            self.job.counters.wall_offset_ns.store(offset, Ordering::Relaxed);
            self.push(EntryBody::Anchor(Anchor { event_time: now, wall_offset_ns: offset }), now);
        }
    }

    fn end_sources(&mut self) {
        let until = Instant::now() + self.job.timing.farewell;
        for i in 0..self.job.sources.len() {
            // Keep taking while they end, so that none waits and nothing is dropped.
            while !self.job.sources[i].join(Instant::now() + Duration::from_millis(20)) {
                self.take_all();
                self.hand_over();
                if self.job.sources[i].abandoned || Instant::now() > until {
                    if !self.job.sources[i].abandoned {
                        let name = self.job.sources[i].name.clone();
                        self.job.trouble.add(format!("source {name} did not end in time: abandoned"));
                    }
                    self.job.sources[i].ring.close();
                    break;
                }
            }
        }
    }
}
