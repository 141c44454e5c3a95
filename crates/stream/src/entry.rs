//! The log entry: whatever can change a result, in one order.

use crate::record::RawRecord;
use crate::{EventTime, SourceId};

/// One entry of the log. `ordinal` and `logged_at` never go back; the event time inside may interleave
/// between sources.
#[derive(Clone, Debug, PartialEq)]
pub struct LogEntry {
    /// Counts the entries of a run from 0.
    pub ordinal: u64,
    /// When the sequencer took it.
    pub logged_at: EventTime,
    /// What it is.
    pub body: EntryBody,
}

/// What an entry holds.
#[derive(Clone, Debug, PartialEq)]
pub enum EntryBody {
    /// A message of an instrument.
    Record(RawRecord),
    /// Time passed.
    Tick,
    /// Something is missing here.
    Gap(Gap),
    /// A source's link came up or went down.
    Link(Link),
    /// The wall clock against event time.
    Anchor(Anchor),
    /// An operator did something.
    Operator(OperatorAction),
    /// The run ended in order; nothing follows.
    End,
}

/// A stretch where something is known to be missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The source that lost records; `None` where all did.
    pub source: Option<SourceId>,
    /// How many records, where that is known; 0 = unknown.
    pub lost: u64,
    /// From when.
    pub from: EventTime,
    /// Until when.
    pub to: EventTime,
    /// Why.
    pub cause: GapCause,
}

/// Why a gap is there. The numbers are on disk: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum GapCause {
    /// The source's queue was full.
    QueueFull = 1,
    /// The kernel dropped frames before they were read (its own counter says so).
    KernelDrop = 2,
    /// The machine slept.
    Suspend = 3,
    /// The disk took nothing. The core starts afresh after such a gap, live and in replay alike.
    NotRecorded = 4,
    /// A source did not answer its watchdog and was abandoned.
    SourceBlocked = 5,
    /// The program itself stood still (stopped, or starved of processor time): what came meanwhile was taken late,
    /// and instruments without a queue of their own may have lost something.
    StoodStill = 6,
}

impl GapCause {
    /// All causes, in the order of their numbers.
    pub const ALL: [GapCause; 6] =
        [Self::QueueFull, Self::KernelDrop, Self::Suspend, Self::NotRecorded, Self::SourceBlocked, Self::StoodStill];

    /// The cause with this number on disk.
    pub fn from_id(id: u8) -> Option<GapCause> {
        Self::ALL.into_iter().find(|c| *c as u8 == id)
    }

    /// The word in summaries and events.
    pub fn word(self) -> &'static str {
        match self {
            Self::QueueFull => "queue-full",
            Self::KernelDrop => "kernel-drop",
            Self::Suspend => "suspend",
            Self::NotRecorded => "not-recorded",
            Self::SourceBlocked => "source-blocked",
            Self::StoodStill => "stood-still",
        }
    }
}

/// A source's link, or one device on it, came up or went down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// The source.
    pub source: SourceId,
    /// The device on its line, by index; `None` = the line itself.
    pub device: Option<u16>,
    /// When it was noticed.
    pub event_time: EventTime,
    /// Up or down.
    pub state: LinkState,
    /// What happened, for a person: path, error text, bus state.
    pub detail: String,
}

/// The state of a link. The numbers are on disk: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum LinkState {
    /// Not there: what depends on it is missing (source-down).
    Down = 0,
    /// There.
    Up = 1,
    /// There, and in trouble: CAN error-passive, bus warning.
    Degraded = 2,
}

impl LinkState {
    /// The state with this number on disk.
    pub fn from_id(id: u8) -> Option<LinkState> {
        [Self::Down, Self::Up, Self::Degraded].into_iter().find(|s| *s as u8 == id)
    }

    /// The word in summaries and events.
    pub fn word(self) -> &'static str {
        match self {
            Self::Down => "down",
            Self::Up => "up",
            Self::Degraded => "degraded",
        }
    }
}

/// Wall clock minus event time at a moment. Moves no event and no duration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Anchor {
    /// When it was read.
    pub event_time: EventTime,
    /// Wall clock − event time, ns.
    pub wall_offset_ns: i64,
}

/// What an operator did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OperatorAction {
    /// Who.
    pub author: String,
    /// When the key was pressed, which may be before the entry.
    pub pressed_at: EventTime,
    /// What.
    pub content: OperatorContent,
}

/// The content of an operator's action. Tags on disk: note 1, begin 2, end 3; frozen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OperatorContent {
    /// A remark.
    Note(String),
    /// The test that this recording is for begins here (recording itself began at connect).
    TestBegin(String),
    /// It ends here.
    TestEnd,
}
