//! The one thread that writes the log and makes it durable. It decides nothing: what the disk does not take is
//! counted, said, and made good as soon as there is room.

use crate::ring::Bell;
use plugin_api::Counters;
use recording::log::segment_to_parquet;
use recording::{ClosedSegment, Disk, LogError, LogWriter};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use stream::{EntryBody, GapCause, LogEntry};

/// How often the log is made durable.
pub(crate) const SYNC: Duration = Duration::from_secs(1);
/// A block is written when it has so many bytes, or at every sync.
const BLOCK_BYTES: usize = 256 << 10;
/// How often a disk that refused is asked again.
const RETRY: Duration = Duration::from_secs(1);
/// Free space before a full disk is written to again.
const RESUME_BYTES: u64 = 8 << 20;
/// Blocks of entries that may wait for the disk; beyond that the sequencer waits too and the rings fill.
const WAITING: usize = 4096;

/// `resume.first_lost` when nothing is lost.
pub(crate) const NOTHING_LOST: u64 = u64::MAX;

/// The way back after a failure: the log thread asks, the sequencer answers with a gap entry.
pub(crate) struct Resume {
    /// The first ordinal not recorded, set by the log thread when the disk takes bytes again.
    pub(crate) first_lost: AtomicU64,
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
}

/// The sequencer's end of the log.
pub(crate) struct LogThread {
    to: SyncSender<Arc<Vec<LogEntry>>>,
    thread: JoinHandle<Vec<String>>,
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

    /// Writes, syncs and closes everything; what went wrong, in words.
    pub(crate) fn close(self) -> Vec<String> {
        drop(self.to);
        self.thread.join().unwrap_or_else(|p| vec![format!("the log thread panicked: {}", super_text(&*p))])
    }
}

fn super_text(p: &(dyn std::any::Any + Send)) -> String {
    crate::source_thread::panic_text(p)
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
    first_lost: u64,
    converter: Converter,
    troubles: Vec<String>,
}

impl Writer {
    fn new(job: LogJob) -> Writer {
        let converter = Converter::start(Arc::clone(&job.disk), job.folder.clone(), job.sources.clone());
        Writer { job, phase: Phase::Writing, first_lost: NOTHING_LOST, converter, troubles: Vec::new() }
    }

    fn run(mut self, from: &Receiver<Arc<Vec<LogEntry>>>) -> Vec<String> {
        let mut next_sync = Instant::now() + SYNC;
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
                next_sync = Instant::now() + SYNC;
            }
        }
        let (closed, result) = self.job.writer.close();
        match result {
            Ok(()) => {
                let entries = self.job.counters.recording.entries.load(Ordering::Relaxed);
                if self.first_lost == NOTHING_LOST {
                    self.job.counters.recording.synced.store(entries, Ordering::Relaxed);
                }
            }
            Err(e) => {
                count_lost(&self.job.counters, &e);
                self.troubles.push(format!("closing the log: {e}"));
            }
        }
        closed.into_iter().for_each(|c| self.converter.take(c));
        self.troubles.extend(self.converter.finish());
        self.troubles
    }

    fn take(&mut self, entry: &LogEntry) {
        if let Phase::Waiting = self.phase
            && matches!(&entry.body, EntryBody::Gap(g) if g.cause == GapCause::NotRecorded)
        {
            tracing::warn!("recording again from entry {}", entry.ordinal);
            self.phase = Phase::Writing;
            self.first_lost = NOTHING_LOST;
            self.said(1, "");
        }
        let counters = &self.job.counters.recording;
        if !matches!(self.phase, Phase::Writing) {
            counters.lost.fetch_add(1, Ordering::Relaxed);
            return;
        }
        let mut result = self.job.writer.append(entry);
        if result.is_ok() {
            counters.entries.fetch_add(1, Ordering::Relaxed);
            if self.job.writer.waiting() >= BLOCK_BYTES {
                result = self.job.writer.flush();
            }
        }
        counters.bytes.store(self.job.writer.written(), Ordering::Relaxed);
        if let Err(e) = result {
            self.failed(&e);
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
            Ok(below) => self.job.counters.recording.synced.store(below, Ordering::Relaxed),
            Err(e) => self.failed(&e),
        }
        self.job.counters.recording.bytes.store(self.job.writer.written(), Ordering::Relaxed);
    }

    /// The disk refused. Loud, counted, and asked again.
    fn failed(&mut self, e: &LogError) {
        let first = count_lost(&self.job.counters, e);
        self.first_lost = self.first_lost.min(first);
        let text = format!("NOT RECORDED: {e}");
        tracing::error!("{text}");
        self.said(0, &text);
        self.troubles.push(text);
        self.phase = Phase::Refused { ask: Instant::now() + RETRY };
    }

    fn retry(&mut self) {
        let Phase::Refused { ask } = self.phase else { return };
        let free = self.job.disk.free_space(&self.job.folder).unwrap_or(0);
        if Instant::now() < ask || free < RESUME_BYTES {
            return;
        }
        match self.job.writer.resume() {
            Ok(closed) => {
                closed.into_iter().for_each(|c| self.converter.take(c));
                self.phase = Phase::Waiting;
                self.job.resume.first_lost.store(self.first_lost, Ordering::Release);
                self.job.bell.ring();
            }
            Err(e) => {
                tracing::error!("still not recorded: {e}");
                self.phase = Phase::Refused { ask: Instant::now() + RETRY };
            }
        }
    }

    fn said(&self, writing: u8, trouble: &str) {
        let r = &self.job.counters.recording;
        r.writing.store(writing, Ordering::Relaxed);
        trouble.clone_into(&mut r.trouble.lock().unwrap_or_else(PoisonError::into_inner));
    }
}

/// Counts what an error cost and says from which ordinal on.
fn count_lost(counters: &Counters, e: &LogError) -> u64 {
    let (LogError::NotWritten { lost: range, .. } | LogError::NotSynced { doubtful: range, .. }) = e else {
        return match e {
            LogError::NotRecording { ordinal } | LogError::Entry { ordinal, .. } => *ordinal,
            _ => counters.recording.entries.load(Ordering::Relaxed),
        };
    };
    let n = range.end.saturating_sub(range.start);
    counters.recording.lost.fetch_add(n, Ordering::Relaxed);
    range.start
}

/// Turns closed segments into Parquet on a thread of its own, one after the other.
struct Converter {
    to: Option<Sender<ClosedSegment>>,
    thread: Option<JoinHandle<Vec<String>>>,
}

impl Converter {
    fn start(disk: Arc<dyn Disk>, folder: PathBuf, sources: Vec<String>) -> Converter {
        let (to, from) = channel::<ClosedSegment>();
        let thread = std::thread::Builder::new().name("log-parquet".to_owned()).spawn(move || {
            let convert = |c: ClosedSegment| segment_to_parquet(&disk, &folder, &c, &sources).err();
            from.into_iter().filter_map(convert).map(|e| format!("log segment to Parquet: {e}")).collect()
        });
        Converter { to: Some(to), thread: thread.ok() }
    }

    fn take(&self, closed: ClosedSegment) {
        if let Some(to) = &self.to
            && to.send(closed).is_err()
        {
            tracing::error!("the thread that turns log segments into Parquet is gone; salvage will do it");
        }
    }

    fn finish(&mut self) -> Vec<String> {
        self.to = None;
        match self.thread.take().map(JoinHandle::join) {
            Some(Ok(troubles)) => troubles,
            Some(Err(_)) => vec!["turning log segments into Parquet panicked; salvage will do it".to_owned()],
            None => vec!["no thread to turn log segments into Parquet; salvage will do it".to_owned()],
        }
    }
}
