//! Limits: when a value counts as outside, when it counts as back, what becomes of the alarm, and whether a measured
//! value meets its limit.
//!
//! * [`spec`]: what a limit file says: plain data; [`settings`]: the numbers in it
//! * [`kinds`]: which values are outside, one file per kind
//! * [`condition`]: when a limit is judged at all
//! * [`limit`]: the state of a limit as readings come in
//! * [`alarm`]: acknowledged, shelved, suppressed, out of service
//! * [`first_out`]: which limit of a group was crossed first
//! * [`specification`]: a measured value with its uncertainty against a limit: meets, does not meet, not decidable
//! * [`words`]: numbers as people read them
//!
//! **Invariant:** a state depends on the sequence of (time, reading, operator's action) alone; a reading without a
//! number neither raises a limit nor hides one.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod alarm;
pub mod condition;
pub mod first_out;
pub mod kinds;
pub mod limit;
pub mod settings;
pub mod spec;
pub mod specification;
pub mod words;

pub use alarm::Alarm;
pub use condition::{Comparison, Condition};
pub use first_out::FirstOut;
pub use kinds::{Kind, Position, UnknownKind};
pub use limit::{Change, Limit, Onset};
pub use settings::{Key, Settings, Side};
pub use spec::{Basis, Fault, Group, LimitError, LimitSpec};
pub use specification::{Specification, Verdict, judge};
