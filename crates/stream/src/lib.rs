//! Plain data of the stream: what flows from an instrument to a recording, and nothing that acts on it.
//!
//! * [`time`]: event time, the one time line
//! * [`record`]: what a source hands over, bytes untouched
//! * [`framer`]: what finds messages in bytes, as a trait
//! * [`entry`]: the log entry: a record, or anything else that can change a result
//! * [`reading`]: a number with its quality, or the reason why there is none
//! * [`output`]: what the core makes of the log: samples, snapshots, events
//! * [`layout`]: what every id in the stream stands for
//!
//! **Invariant:** nothing here reads a clock, a file or a socket, and nothing here is serialised by derive:
//! the layouts on disk are written out in `recording`, where ids are frozen once shipped.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod entry;
pub mod framer;
pub mod layout;
pub mod output;
pub mod reading;
pub mod record;
pub mod time;

pub use entry::{Anchor, EntryBody, Gap, GapCause, Link, LinkState, LogEntry, OperatorAction, OperatorContent};
pub use framer::{Each, Framed, Framer};
pub use layout::{Column, Layout, LimitInfo, Origin, SourceInfo};
pub use output::{AlarmState, Alarms, Batch, Event, EventKind, LimitState, Sample, Snapshot};
pub use reading::{Quality, Reading, Reason};
pub use record::{FaultKind, NO_DEVICE, Payload, RawRecord, RecordKind};
pub use time::{EventTime, Span};

/// A source, by its place in the run file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(pub u16);

/// A channel or derived quantity: its column in the snapshot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ChannelId(pub u16);
