//! What is counted about a run while it goes on. Written by the runtime, read by summary, metrics and page.

use std::sync::Mutex;
use std::sync::atomic::{AtomicI64, AtomicU8, AtomicU64};
use stream::{FaultKind, Layout};

/// All counts of a run.
#[derive(Debug, Default)]
pub struct Counters {
    /// One per source, in order.
    pub sources: Vec<SourceCounters>,
    /// The recording's.
    pub recording: RecordingCounters,
    /// Snapshots closed.
    pub snapshots: AtomicU64,
    /// Latest event time the core has seen, ns; 0 before the first entry.
    pub event_time_ns: AtomicI64,
    /// Wall clock − event time at the latest anchor, ns.
    pub wall_offset_ns: AtomicI64,
}

/// The counts of one source.
#[derive(Debug, Default)]
pub struct SourceCounters {
    /// Records that came, faults included.
    pub records: AtomicU64,
    /// Bytes in them.
    pub bytes: AtomicU64,
    /// Samples made of them.
    pub samples: AtomicU64,
    /// Records known to be lost (queue full, kernel drop, suspend).
    pub lost: AtomicU64,
    /// Records that came after their snapshot had closed.
    pub late: AtomicU64,
    /// Records that no channel is mapped to.
    pub unmapped: AtomicU64,
    /// Records that did not decode.
    pub undecodable: AtomicU64,
    /// Faults by kind: index `kind as usize - 1`.
    pub faults: [AtomicU64; FaultKind::ALL.len()],
    /// Link: 0 down, 1 up, 2 degraded.
    pub link: AtomicU8,
    /// How often the link went down.
    pub link_losses: AtomicU64,
    /// Messages waiting in the ring.
    pub queue: AtomicU64,
    /// Room in the ring.
    pub queue_capacity: AtomicU64,
    /// Event time of the newest record, ns; 0 before the first.
    pub newest_ns: AtomicI64,
}

/// The recording's counts.
#[derive(Debug, Default)]
pub struct RecordingCounters {
    /// Entries appended.
    pub entries: AtomicU64,
    /// Entries that a sync has made durable: all with an ordinal below this.
    pub synced: AtomicU64,
    /// Bytes written to the log.
    pub bytes: AtomicU64,
    /// Entries that could not be written.
    pub lost: AtomicU64,
    /// 1 while entries are being recorded, 0 while not.
    pub writing: AtomicU8,
    /// Why not, in words.
    pub trouble: Mutex<String>,
}

impl Counters {
    /// Counters for a run of this layout, all 0.
    pub fn new(layout: &Layout) -> Counters {
        Counters { sources: layout.sources.iter().map(|_| SourceCounters::default()).collect(), ..Counters::default() }
    }
}
