//! The bounded queue between a source and the sequencer. The source never waits: when the queue is full the
//! newest message is dropped and counted, and the loss is told as a gap as soon as there is room.

use plugin_api::{Inlet, Message};
use std::sync::atomic::{AtomicBool, Ordering, fence};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::Thread;
use stream::{EventTime, Gap, GapCause, SourceId};

/// Wakes the sequencer when it sleeps.
#[derive(Default)]
pub(crate) struct Bell {
    asleep: AtomicBool,
    sleeper: Mutex<Option<Thread>>,
}

impl Bell {
    pub(crate) fn ring(&self) {
        // Either the sleeper sees the message, or this sees it asleep: never neither.
        fence(Ordering::SeqCst);
        if self.asleep.load(Ordering::Relaxed)
            && self.asleep.swap(false, Ordering::AcqRel)
            && let Some(t) = lock(&self.sleeper).as_ref()
        {
            t.unpark();
        }
    }

    /// The calling thread is the one to wake.
    pub(crate) fn adopt(&self) {
        *lock(&self.sleeper) = Some(std::thread::current());
    }

    /// Sleeps until rung or the time is over, unless `ready` says that there is work.
    pub(crate) fn sleep(&self, time: std::time::Duration, ready: impl Fn() -> bool) {
        self.asleep.store(true, Ordering::Relaxed);
        fence(Ordering::SeqCst);
        if !ready() {
            std::thread::park_timeout(time);
        }
        self.asleep.store(false, Ordering::Release);
    }
}

struct Inner {
    queue: Vec<Message>,
    lost: Option<(u64, EventTime, EventTime)>,
    /// A source that was abandoned hands over nothing any more.
    closed: bool,
}

/// One source's queue.
pub(crate) struct Ring {
    source: SourceId,
    capacity: usize,
    inner: Mutex<Inner>,
    bell: Arc<Bell>,
}

impl Ring {
    pub(crate) fn new(source: SourceId, capacity: usize, bell: Arc<Bell>) -> Arc<Ring> {
        let inner = Mutex::new(Inner { queue: Vec::new(), lost: None, closed: false });
        Arc::new(Ring { source, capacity: capacity.max(1), inner, bell })
    }

    /// The source's end.
    pub(crate) fn inlet(self: &Arc<Ring>) -> Box<dyn Inlet> {
        Box::new(RingInlet(Arc::clone(self)))
    }

    /// Swaps everything that waits into `into` (which is emptied first), then the loss after it, if any.
    pub(crate) fn drain(&self, into: &mut Vec<Message>) {
        into.clear();
        let mut inner = lock(&self.inner);
        std::mem::swap(&mut inner.queue, into);
        if let Some((lost, from, to)) = inner.lost.take() {
            into.push(Message::Gap(Gap { source: Some(self.source), lost, from, to, cause: GapCause::QueueFull }));
        }
    }

    pub(crate) fn len(&self) -> usize {
        let inner = lock(&self.inner);
        inner.queue.len() + usize::from(inner.lost.is_some())
    }

    pub(crate) fn capacity(&self) -> usize {
        self.capacity
    }

    /// Takes nothing from now on.
    pub(crate) fn close(&self) {
        lock(&self.inner).closed = true;
    }

    fn push(&self, message: Message) {
        let mut inner = lock(&self.inner);
        if inner.closed {
            return;
        }
        // What is lost stays behind the messages that were there before it: nothing joins the queue until the
        // loss has been taken along.
        let full = inner.queue.len() >= self.capacity || inner.lost.is_some();
        let dropped = match &message {
            Message::Record(r) if full => Some((1, r.event_time)),
            Message::Gap(g) if full => Some((g.lost, g.to)),
            // A link's change is never dropped: there are few, and their loss would be silent.
            _ => None,
        };
        match dropped {
            Some((count, time)) => {
                let (n, from, _) = inner.lost.unwrap_or((0, time, time));
                inner.lost = Some((n + count, from, time));
            }
            None => inner.queue.push(message),
        }
        drop(inner);
        self.bell.ring();
    }
}

struct RingInlet(Arc<Ring>);

impl Inlet for RingInlet {
    fn push(&mut self, message: Message) {
        self.0.push(message);
    }
}

/// A poisoned lock only says that a thread panicked elsewhere; the data are plain.
pub(crate) fn lock<T>(m: &Mutex<T>) -> MutexGuard<'_, T> {
    m.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use stream::{Payload, RawRecord, RecordKind};

    fn record(sequence: u64) -> Message {
        Message::Record(RawRecord {
            source: SourceId(3),
            sequence,
            event_time: EventTime(sequence as i64),
            kind: RecordKind::TextLine,
            payload: Payload::new(),
        })
    }

    #[test]
    fn full_drops_the_newest_and_tells_how_many_and_when() {
        let ring = Ring::new(SourceId(3), 4, Arc::default());
        let mut inlet = ring.inlet();
        (0..10).for_each(|i| inlet.push(record(i)));
        let mut got = Vec::new();
        ring.drain(&mut got);
        let gap = Gap {
            source: Some(SourceId(3)),
            lost: 6,
            from: EventTime(4),
            to: EventTime(9),
            cause: GapCause::QueueFull,
        };
        assert_eq!(got, [record(0), record(1), record(2), record(3), Message::Gap(gap)]);
        inlet.push(record(10));
        ring.drain(&mut got);
        assert_eq!(got, [record(10)], "room again, nothing lost any more");
    }

    #[test]
    fn a_gap_told_by_the_source_counts_as_what_it_lost() {
        let ring = Ring::new(SourceId(0), 1, Arc::default());
        let mut inlet = ring.inlet();
        inlet.push(record(0));
        let told = Gap {
            source: Some(SourceId(0)),
            lost: 5,
            from: EventTime(1),
            to: EventTime(2),
            cause: GapCause::KernelDrop,
        };
        inlet.push(Message::Gap(told));
        let mut got = Vec::new();
        ring.drain(&mut got);
        assert!(matches!(&got[1], Message::Gap(g) if g.lost == 5), "{got:?}");
    }

    #[test]
    fn an_abandoned_source_hands_over_nothing() {
        let ring = Ring::new(SourceId(0), 4, Arc::default());
        ring.close();
        ring.inlet().push(record(0));
        assert_eq!(ring.len(), 0);
    }
}
