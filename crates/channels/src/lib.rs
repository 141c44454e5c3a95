//! The channel map: an instrument's reading becomes a named channel in SI with a quality.
//!
//! * [`spec`]: what a map says about a channel: plain data
//! * [`channel`]: a channel that has been checked, and the step every sample goes through
//! * [`map`]: what can only be checked with all channels at hand
//! * [`error`]: what can be wrong with a map, and what to do
//!
//! **Invariant:** a channel that was built is consistent; a reading that leaves here is finite SI, or has no number
//! and says why. Nothing is clipped, filled in or passed on from before.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod channel;
mod check;
pub mod error;
pub mod map;
pub mod spec;

pub use channel::Channel;
pub use error::ChannelError;
pub use map::check_map;
pub use spec::{Barometer, ChannelSpec, Reference};
