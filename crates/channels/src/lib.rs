//! The channel map: an instrument's reading becomes a named channel in SI with a quality.
//!
//! * [`spec`]: what a map says about a channel: plain data
//! * [`convert`], [`accuracy`], [`calibration`]: parts of it
//! * [`channel`]: a channel that has been checked, and the step every sample goes through
//! * [`watch`]: what only a row of samples shows: a change too fast, no change for too long
//! * [`map`]: what can only be checked with all channels at hand
//! * [`error`]: what can be wrong with a map, and what to do
//!
//! **Invariant:** a channel that was built is consistent; a reading that leaves here is finite SI, or has no number
//! and says why. Nothing is clipped, filled in or passed on from before.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod accuracy;
pub mod calibration;
pub mod channel;
mod check;
pub mod convert;
pub mod error;
pub mod map;
pub mod spec;

pub mod watch;

pub use accuracy::{HalfWidth, Part, Uncertainty};
pub use calibration::Calibration;
pub use channel::Channel;
pub use check::POSITIONS;
pub use convert::{Convert, Pair};
pub use error::ChannelError;
pub use map::check_map;
pub use spec::{Barometer, ChannelSpec, Probe, Reference};
pub use watch::Watch;
