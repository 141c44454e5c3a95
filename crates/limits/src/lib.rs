//! Limits: when a value counts as outside, and when it counts as back.
//!
//! * [`spec`]: what a limit file says: plain data
//! * [`kinds`]: which values are outside, one file per kind
//! * [`limit`]: the state of a limit as readings come in
//!
//! **Invariant:** a state depends on the sequence of (time, reading) alone; a reading without a number neither raises
//! a limit nor hides one.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod kinds;
pub mod limit;
pub mod spec;

pub use kinds::{Kind, Position, UnknownKind};
pub use limit::{Change, Limit};
pub use spec::{Basis, LimitError, LimitSpec};
