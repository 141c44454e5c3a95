//! The pure core: log entries in, samples, snapshots and events out.
//!
//! * [`sequencer`]: gives what arrives its one order
//! * [`plan`]: what a run consists of, ready to run
//! * [`core`]: decode > normalise > align > evaluate > check, one entry at a time
//! * [`align`]: what belongs to which grid time
//! * `held`: what is known of a channel up to a moment; `guard`: how its samples change; `order`: where it stands
//!   against its neighbours along the air's way
//! * `judge`: limits and their alarms
//! * [`counts`]: what the core counts on the way
//!
//! **Invariant:** results depend on (plan, log) alone, to the bit. Time comes in as data; nothing here owns a
//! timer, reads a clock, or iterates over a hash map.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod align;
pub mod core;
pub mod counts;
mod events;
mod guard;
mod held;
mod judge;
mod order;
pub mod plan;
pub mod sequencer;

pub use crate::core::Core;
pub use counts::{Counts, LimitCounts, SourceCounts};
pub use plan::{ChannelPlan, Plan, SourcePlan};
pub use sequencer::Sequencer;
