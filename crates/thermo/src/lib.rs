//! Relations of the air path: functions only, one file per subject. Knows nothing of channels.
//!
//! * [`domain`]: the error of every function here: which argument, its value, what is valid
//! * [`exchanger`]: heat exchangers
//! * [`pressure_ratio`]: compressors and turbines
//! * [`corrected`]: flow and speed referred to a standard inlet state
//!
//! **Invariant:** every function is a formula without state; outside its range it returns a [`DomainError`], inside it
//! a finite number.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod corrected;
pub mod domain;
pub mod exchanger;
pub mod pressure_ratio;

pub use domain::DomainError;
