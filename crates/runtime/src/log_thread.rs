//! The one thread that writes the log and makes it durable. It decides nothing: what the disk does not take is
//! counted, said, and made good as soon as there is room.

use crate::converter::Converter;
use crate::ring::{Bell, lock};
use crate::timing::Timing;
use plugin_api::Counters;
use recording::{Disk, LogError, LogWriter};
use std::path::PathBuf;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Instant;
use stream::{EntryBody, EventTime, GapCause, LogEntry};

/// A block is written when it has so many bytes, or at every sync.
const BLOCK_BYTES: usize = 256 << 10;
/// Free space before a full disk is written to again.
const RESUME_BYTES: u64 = 8 << 20;
/// Blocks of entries that may wait for the disk; beyond that the sequencer waits too and the rings fill.
const WAITING: usize = 4096;

/// A stretch of the log that the disk did not take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lost {
    /// The first ordinal of it.
    pub(crate) first: u64,
    /// When the last entry before it was logged.
    pub(crate) from: EventTime,
}

/// The way back after a failure: when the disk takes bytes again the log thread says what was lost, and the
/// sequencer answers with a gap entry. Until that comes, entries are dropped: the gap tells of them all.
#[derive(Default)]
pub(crate) struct Resume(Mutex<Option<Lost>>);

impl Resume {
    fn ask(&self, lost: Lost) {
        *lock(&self.0) = Some(lost);
    }

    pub(crate) fn take(&self) -> Option<Lost> {
        lock(&self.0).take()
    }
}

/// What the log thread is made of.
pub(crate) struct LogJob {
    pub(crate) writer: LogWriter,
    pub(crate) disk: Arc<dyn Disk>,
    pub(crate) folder: PathBuf,
    pub(crate) sources: Vec<String>,
    pub(crate) counters: Arc<Counters>,
    pub(crate) resume: Arc<Resume>,
    pub(crate) bell: Arc<Bell>,
    pub(crate) timing: Timing,
}

/// How the log ended.
pub(crate) struct LogEnd {
    /// What went wrong, in words.
    pub(crate) troubles: Vec<String>,
    /// Whether every entry is in a final file.
    pub(crate) whole: bool,
    /// What is missing at the end, with no gap entry to tell of it.
    pub(crate) tail: Option<Lost>,
}

/// The sequencer's end of the log.
pub(crate) struct LogThread {
    to: SyncSender<Arc<Vec<LogEntry>>>,
    thread: JoinHandle<LogEnd>,
}

impl LogThread {
    pub(crate) fn start(job: LogJob) -> std::io::Result<LogThread> {
        let (to, from) = sync_channel(WAITING);
        job.counters.recording.writing.store(1, Ordering::Relaxed);
        let thread = std::thread::Builder::new().name("log".to_owned()).spawn(move || Writer::new(job).run(&from))?;
        Ok(LogThread { to, thread })
    }

    /// Hands entries over; waits only when thousands of blocks wait already. False when the thread is gone.
    pub(crate) fn append(&self, entries: Arc<Vec<LogEntry>>) -> bool {
        self.to.send(entries).is_ok()
    }

    /// Writes, syncs and closes everything.
    pub(crate) fn close(self) -> LogEnd {
        drop(self.to);
        self.thread.join().unwrap_or_else(|p| {
            let text = format!("NOT RECORDED: the log thread panicked: {}", crate::source_thread::panic_text(&*p));
            LogEnd { troubles: vec![text], whole: false, tail: None }
        })
    }
}

enum Phase {
    Writing,
    /// The disk refused: entries are dropped; ask again at this time.
    Refused {
        ask: Instant,
    },
    /// The disk takes bytes again: dropping goes on until the gap entry comes.
    Waiting,
}

struct Writer {
    job: LogJob,
    phase: Phase,
    /// What is lost so far and not told of by a gap entry.
    lost: Option<Lost>,
    /// The gap entry that tells of a loss, until it is durable itself.
    told: Option<(u64, Lost)>,
    /// The ordinal after the newest entry that came.
    next: u64,
    /// When the newest entry was logged that came, that was written, that is durable.
    came: EventTime,
    written: EventTime,
    synced: EventTime,
    converter: Converter,
    troubles: Vec<String>,
}

impl Writer {
    fn new(job: LogJob) -> Writer {
        let converter = Converter::start(Arc::clone(&job.disk), job.folder.clone(), job.sources.clone());
        let never = EventTime(i64::MIN);
        Writer {
            job,
            phase: Phase::Writing,
            lost: None,
            told: None,
            next: 0,
            came: never,
            written: never,
            synced: never,
            converter,
            troubles: Vec::new(),
        }
    }

    fn run(mut self, from: &Receiver<Arc<Vec<LogEntry>>>) -> LogEnd {
        let mut next_sync = Instant::now() + self.job.timing.sync;
        loop {
            let wait = next_sync.saturating_duration_since(Instant::now());
            match from.recv_timeout(wait) {
                Ok(entries) => entries.iter().for_each(|e| self.take(e)),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            if Instant::now() >= next_sync {
                self.sync();
                self.retry();
                next_sync = Instant::now() + self.job.timing.sync;
            }
        }
        self.end()
    }

    fn end(mut self) -> LogEnd {
        self.sync();
        let (closed, result) = self.job.writer.close();
        if let Err(e) = result {
            self.troubles.push(format!("closing the log: {e}"));
        }
        closed.into_iter().for_each(|c| self.converter.take(c));
        let converting = self.converter.finish();
        let lost = self.job.counters.recording.lost.load(Ordering::Relaxed);
        let whole = lost == 0 && self.troubles.is_empty() && converting.is_empty();
        self.troubles.extend(converting);
        LogEnd { troubles: self.troubles, whole, tail: self.lost }
    }

    fn take(&mut self, entry: &LogEntry) {
        if let Phase::Waiting = self.phase
            && matches!(&entry.body, EntryBody::Gap(g) if g.cause == GapCause::NotRecorded)
        {
            tracing::warn!("recording again from entry {}", entry.ordinal);
            self.phase = Phase::Writing;
            self.told = self.lost.take().map(|lost| (entry.ordinal, lost));
            self.said(1, "");
        }
        let counters = Arc::clone(&self.job.counters);
        let counters = &counters.recording;
        if self.next == 0 {
            (self.came, self.written, self.synced) = (entry.logged_at, entry.logged_at, entry.logged_at);
        }
        let before = self.came;
        (self.next, self.came) = (entry.ordinal + 1, entry.logged_at);
        if !matches!(self.phase, Phase::Writing) {
            counters.lost.fetch_add(1, Ordering::Relaxed);
            return;
        }
        match self.job.writer.append(entry) {
            Ok(()) => {
                counters.entries.fetch_add(1, Ordering::Relaxed);
                if self.job.writer.waiting() >= BLOCK_BYTES {
                    self.flush();
                }
            }
            Err(e) => {
                counters.lost.fetch_add(1, Ordering::Relaxed);
                self.failed(&e, Lost { first: entry.ordinal, from: before });
                // An entry that no log can hold says nothing about the disk: no waiting.
                if self.job.writer.is_recording() {
                    self.resume();
                }
            }
        }
        counters.bytes.store(self.job.writer.written(), Ordering::Relaxed);
    }

    fn flush(&mut self) {
        match self.job.writer.flush() {
            Ok(()) => self.written = self.came,
            Err(e) => self.refused(&e),
        }
    }

    fn sync(&mut self) {
        if !matches!(self.phase, Phase::Writing) {
            return;
        }
        let rolled = if self.job.writer.needs_roll() { self.job.writer.roll() } else { Ok(None) };
        match rolled.and_then(|closed| {
            closed.into_iter().for_each(|c| self.converter.take(c));
            self.job.writer.sync()
        }) {
            Ok(below) => {
                self.job.counters.recording.synced.store(below, Ordering::Relaxed);
                (self.written, self.synced) = (self.came, self.came);
                self.told = None;
            }
            Err(e) => self.refused(&e),
        }
        self.job.counters.recording.bytes.store(self.job.writer.written(), Ordering::Relaxed);
    }

    /// Counts what a failure to write cost.
    fn refused(&mut self, e: &LogError) {
        let counters = &self.job.counters.recording;
        let lost = match e {
            LogError::NotWritten { lost, .. } => {
                let n = lost.end.saturating_sub(lost.start);
                counters.lost.fetch_add(n, Ordering::Relaxed);
                // They had been counted as appended when they went to memory.
                counters.entries.fetch_sub(n, Ordering::Relaxed);
                Lost { first: lost.start, from: self.written }
            }
            // They may be there, but nobody can promise it: counted as lost.
            LogError::NotSynced { doubtful, .. } => {
                counters.lost.fetch_add(doubtful.end.saturating_sub(doubtful.start), Ordering::Relaxed);
                Lost { first: doubtful.start, from: self.synced }
            }
            // The next segment could not be started; everything up to here is durable.
            _ => Lost { first: self.next, from: self.came },
        };
        self.failed(e, lost);
    }

    /// The disk refused. Loud, counted, and asked again.
    fn failed(&mut self, e: &LogError, lost: Lost) {
        // A gap entry that is lost itself told of nothing: its loss is still to be told.
        let lost = match self.told.take() {
            Some((gap, before)) if lost.first <= gap => before,
            _ => lost,
        };
        self.lost = Some(lost);
        let text = format!("NOT RECORDED: {e}");
        tracing::error!("{text}");
        self.said(0, &text);
        self.troubles.push(text);
        self.phase = Phase::Refused { ask: Instant::now() + self.job.timing.retry };
    }

    fn retry(&mut self) {
        let Phase::Refused { ask } = self.phase else { return };
        let free = self.job.disk.free_space(&self.job.folder).unwrap_or(0);
        if Instant::now() >= ask && free >= RESUME_BYTES {
            self.resume();
        }
    }

    fn resume(&mut self) {
        let Some(lost) = self.lost else { return };
        match self.job.writer.resume() {
            Ok(closed) => {
                closed.into_iter().for_each(|c| self.converter.take(c));
                self.phase = Phase::Waiting;
                self.job.resume.ask(lost);
                self.job.bell.ring();
            }
            Err(e) => {
                tracing::error!("still not recorded: {e}");
                self.phase = Phase::Refused { ask: Instant::now() + self.job.timing.retry };
            }
        }
    }

    fn said(&self, writing: u8, trouble: &str) {
        let r = &self.job.counters.recording;
        r.writing.store(writing, Ordering::Relaxed);
        trouble.clone_into(&mut lock(&r.trouble));
    }
}
