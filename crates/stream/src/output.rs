//! What the core makes of the log.

use crate::reading::Reading;
use crate::{ChannelId, EventTime, SourceId};

/// One value of one channel at full rate, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// When it was received.
    pub time: EventTime,
    /// The channel.
    pub channel: ChannelId,
    /// The value.
    pub reading: Reading,
}

/// Every channel and derived quantity at one grid time.
#[derive(Clone, Debug, PartialEq)]
pub struct Snapshot {
    /// The grid time.
    pub time: EventTime,
    /// One reading a column: channels in map order, then derived quantities.
    pub readings: Box<[Reading]>,
    /// Standard uncertainty in SI of each column that has one, in column order; `None` where it is not known.
    pub uncertainties: Box<[Option<f64>]>,
    /// One state a limit, in limit order.
    pub limits: Box<[LimitState]>,
    /// The alarms of each limit, in limit order. Not in tables: events tell every change of them.
    pub alarms: Box<[Alarms]>,
}

/// The state of a limit. The numbers are in tables: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum LimitState {
    /// Inside.
    Inside = 0,
    /// Outside, but not yet for as long as the delay asks.
    Pending = 1,
    /// Outside for long enough.
    Outside = 2,
    /// Inside again, but not yet for as long as the return delay asks.
    Returning = 3,
    /// No usable value and not outside when the last one was: not judged.
    NotJudged = 4,
    /// No usable value, and outside when the last one was: stays so.
    OutsideNotJudged = 5,
    /// Its enable condition does not hold, or has not held for as long as the hold-off asks: not judged.
    NotEnabled = 6,
    /// Inside again for long enough, and outside before: stays so until an operator resets it.
    Latched = 7,
}

impl LimitState {
    /// All states, in the order of their numbers.
    pub const ALL: [LimitState; 8] = [
        Self::Inside,
        Self::Pending,
        Self::Outside,
        Self::Returning,
        Self::NotJudged,
        Self::OutsideNotJudged,
        Self::NotEnabled,
        Self::Latched,
    ];

    /// Whether the limit counts as crossed.
    pub fn is_outside(self) -> bool {
        matches!(self, Self::Outside | Self::Returning | Self::OutsideNotJudged | Self::Latched)
    }

    /// The word on screens, in tables and metrics.
    pub fn word(self) -> &'static str {
        match self {
            LimitState::Inside => "inside",
            LimitState::Pending => "pending",
            LimitState::Outside => "outside",
            LimitState::Returning => "returning",
            LimitState::NotJudged => "not-judged",
            LimitState::OutsideNotJudged => "outside-not-judged",
            LimitState::NotEnabled => "not-enabled",
            LimitState::Latched => "latched",
        }
    }

    /// Whether it had a value to judge.
    pub fn is_judged(self) -> bool {
        !matches!(self, Self::NotJudged | Self::OutsideNotJudged | Self::NotEnabled)
    }
}

/// The two alarms of a limit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Alarms {
    /// That the limit is crossed.
    pub crossed: AlarmState,
    /// That there is no usable value to judge it by.
    pub no_data: AlarmState,
}

/// Where an alarm stands in its life. The words are those of ISA-18.2 and IEC 62682 as public texts give them (from
/// memory); the numbers are frozen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum AlarmState {
    /// Nothing there, nothing waits.
    #[default]
    Normal = 0,
    /// There, and nobody has seen it.
    Unacknowledged = 1,
    /// There, and seen.
    Acknowledged = 2,
    /// Gone before anybody saw it.
    ReturnedUnacknowledged = 3,
    /// Gone, nobody has seen it, and stays until it is reset.
    LatchedUnacknowledged = 4,
    /// Gone, seen, and stays until it is reset.
    LatchedAcknowledged = 5,
    /// Set aside by an operator for a limited time.
    Shelved = 6,
    /// Not announced while another limit, which explains it, is crossed.
    SuppressedByDesign = 7,
    /// Taken away for maintenance.
    OutOfService = 8,
}

impl AlarmState {
    /// All states, in the order of their numbers.
    pub const ALL: [AlarmState; 9] = [
        Self::Normal,
        Self::Unacknowledged,
        Self::Acknowledged,
        Self::ReturnedUnacknowledged,
        Self::LatchedUnacknowledged,
        Self::LatchedAcknowledged,
        Self::Shelved,
        Self::SuppressedByDesign,
        Self::OutOfService,
    ];

    /// The word on screens and in metrics.
    pub fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Unacknowledged => "unacknowledged",
            Self::Acknowledged => "acknowledged",
            Self::ReturnedUnacknowledged => "returned-unacknowledged",
            Self::LatchedUnacknowledged => "latched-unacknowledged",
            Self::LatchedAcknowledged => "latched-acknowledged",
            Self::Shelved => "shelved",
            Self::SuppressedByDesign => "suppressed-by-design",
            Self::OutOfService => "out-of-service",
        }
    }
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When it happened.
    pub time: EventTime,
    /// The entry that brought it about.
    pub ordinal: u64,
    /// What.
    pub kind: EventKind,
    /// The source it concerns.
    pub source: Option<SourceId>,
    /// What it is about: a limit's, channel's, device's or author's name.
    pub subject: String,
    /// The number that belongs to it: the value that crossed, the count lost; `None` where there is none.
    pub value: Option<f64>,
    /// In words.
    pub text: String,
}

/// What happened. The numbers are in tables: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum EventKind {
    /// A limit was crossed, delay served.
    LimitCrossed = 1,
    /// A limit is met again.
    LimitReturned = 2,
    /// A limit lost its value and is not judged.
    LimitNotJudged = 3,
    /// A link changed.
    Link = 4,
    /// Something is missing.
    Gap = 5,
    /// The wall clock moved against event time.
    Clock = 6,
    /// An operator's remark.
    Note = 7,
    /// The test begins.
    TestBegin = 8,
    /// The test ends.
    TestEnd = 9,
    /// A source's first fault of a kind; the counts are in the summary and in metrics.
    Fault = 10,
    /// A source's first late record; the count is in the summary and in metrics.
    Late = 11,
    /// A channel's quality changed.
    Quality = 12,
    /// The run ended in order.
    End = 13,
    /// What became of a limit's alarm, other than by crossing and returning: acknowledged, shelved, reset, ...
    Alarm = 14,
    /// Which limit of a group was crossed first.
    FirstOut = 15,
}

impl EventKind {
    /// All kinds with the word for each, in the order of their numbers.
    pub const WORDS: [(EventKind, &'static str); 15] = [
        (EventKind::LimitCrossed, "limit-crossed"),
        (EventKind::LimitReturned, "limit-returned"),
        (EventKind::LimitNotJudged, "limit-not-judged"),
        (EventKind::Link, "link"),
        (EventKind::Gap, "gap"),
        (EventKind::Clock, "clock"),
        (EventKind::Note, "note"),
        (EventKind::TestBegin, "test-begin"),
        (EventKind::TestEnd, "test-end"),
        (EventKind::Fault, "fault"),
        (EventKind::Late, "late"),
        (EventKind::Quality, "quality"),
        (EventKind::End, "end"),
        (EventKind::Alarm, "alarm"),
        (EventKind::FirstOut, "first-out"),
    ];

    /// The word in tables and on screens.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize - 1].1
    }

    /// The kind with this word.
    pub fn from_word(word: &str) -> Option<EventKind> {
        Self::WORDS.into_iter().find(|(_, w)| *w == word).map(|(k, _)| k)
    }
}

/// What a stretch of the log came to: handed to every sink.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Batch {
    /// Samples, in log order.
    pub samples: Vec<Sample>,
    /// Snapshots, in grid order.
    pub snapshots: Vec<Snapshot>,
    /// Events, in log order.
    pub events: Vec<Event>,
}

impl Batch {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty() && self.snapshots.is_empty() && self.events.is_empty()
    }

    /// Forgets the content, keeps the room.
    pub fn clear(&mut self) {
        self.samples.clear();
        self.snapshots.clear();
        self.events.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn state_ids_are_their_places() {
        assert!(LimitState::ALL.iter().enumerate().all(|(i, s)| *s as usize == i));
        assert!(AlarmState::ALL.iter().enumerate().all(|(i, s)| *s as usize == i));
    }

    #[test]
    fn event_ids_are_their_places() {
        for (i, (k, word)) in EventKind::WORDS.into_iter().enumerate() {
            assert_eq!(k as usize, i + 1);
            assert_eq!(EventKind::from_word(word), Some(k));
        }
    }
}
