//! The log entry: whatever can change a result, in one order.

use crate::record::RawRecord;
use crate::{EventTime, SourceId, Span};
use std::borrow::Cow;

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

/// The content of an operator's action. Its numbers and texts on disk are frozen, see [`OperatorContent::stored`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OperatorContent {
    /// A remark.
    Note(String),
    /// The test that this recording is for begins here (recording itself began at connect).
    TestBegin(String),
    /// It ends here.
    TestEnd,
    /// The alarms of a limit, by its name, were seen.
    Acknowledge(String),
    /// A latching limit, by its name, may let go.
    Reset(String),
    /// The alarms of a limit are set aside for a time.
    Shelve {
        /// The limit's name.
        limit: String,
        /// For how long.
        length: Span,
        /// Why.
        reason: String,
    },
    /// They are not set aside any more; by the limit's name.
    Unshelve(String),
    /// A limit is taken out of service, until it is put back.
    OutOfService {
        /// The limit's name.
        limit: String,
        /// Why.
        reason: String,
    },
    /// A limit, by its name, is in service again.
    InService(String),
}

impl OperatorContent {
    /// Number and text on disk: note 1, begin 2, end 3, acknowledge 4, reset 5, shelve 6, unshelve 7, out of service
    /// 8, in service 9. Several parts stand on a line each: limit, length in ns, reason.
    pub fn stored(&self) -> (u8, Cow<'_, str>) {
        match self {
            Self::Note(t) => (1, t.into()),
            Self::TestBegin(t) => (2, t.into()),
            Self::TestEnd => (3, "".into()),
            Self::Acknowledge(limit) => (4, limit.into()),
            Self::Reset(limit) => (5, limit.into()),
            Self::Shelve { limit, length, reason } => (6, format!("{limit}\n{}\n{reason}", length.0).into()),
            Self::Unshelve(limit) => (7, limit.into()),
            Self::OutOfService { limit, reason } => (8, format!("{limit}\n{reason}").into()),
            Self::InService(limit) => (9, limit.into()),
        }
    }

    /// Back from number and text on disk; `None` where they are not understood.
    pub fn from_stored(id: u8, text: String) -> Option<OperatorContent> {
        Some(match id {
            1 => Self::Note(text),
            2 => Self::TestBegin(text),
            3 => Self::TestEnd,
            4 => Self::Acknowledge(text),
            5 => Self::Reset(text),
            6 => {
                let mut parts = text.splitn(3, '\n');
                let limit = parts.next()?.to_owned();
                let length = Span(parts.next()?.parse().ok()?);
                Self::Shelve { limit, length, reason: parts.next()?.to_owned() }
            }
            7 => Self::Unshelve(text),
            8 => {
                let (limit, reason) = text.split_once('\n')?;
                Self::OutOfService { limit: limit.to_owned(), reason: reason.to_owned() }
            }
            9 => Self::InService(text),
            _ => return None,
        })
    }

    /// The limit it is about.
    pub fn limit(&self) -> Option<&str> {
        match self {
            Self::Note(_) | Self::TestBegin(_) | Self::TestEnd => None,
            Self::Acknowledge(l) | Self::Reset(l) | Self::Unshelve(l) | Self::InService(l) => Some(l),
            Self::Shelve { limit, .. } | Self::OutOfService { limit, .. } => Some(limit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_an_operator_does_is_stored_and_read_again() {
        let all = [
            OperatorContent::Note("two\nlines".to_owned()),
            OperatorContent::TestBegin("soak".to_owned()),
            OperatorContent::TestEnd,
            OperatorContent::Acknowledge("hot".to_owned()),
            OperatorContent::Reset("hot".to_owned()),
            OperatorContent::Shelve { limit: "hot".to_owned(), length: Span(-5), reason: "a\nb".to_owned() },
            OperatorContent::Unshelve("hot".to_owned()),
            OperatorContent::OutOfService { limit: "hot".to_owned(), reason: String::new() },
            OperatorContent::InService("hot".to_owned()),
        ];
        for (i, content) in all.into_iter().enumerate() {
            let (id, text) = content.stored();
            assert_eq!(usize::from(id), i + 1);
            assert_eq!(OperatorContent::from_stored(id, text.into_owned()), Some(content));
        }
        for (id, text) in [(0, "x"), (6, "hot"), (6, "hot\nsoon\nwhy"), (6, "hot\n5"), (8, "hot"), (10, "x")] {
            assert_eq!(OperatorContent::from_stored(id, text.to_owned()), None, "{id} {text:?}");
        }
    }
}
