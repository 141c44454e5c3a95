//! How sure a number is, and what may be decided with it.
//!
//! * [`standard`]: from an accuracy class, a certificate, a resolution to a standard uncertainty
//! * [`type_a`]: from repeated readings to a mean with its uncertainty, correlated readings too
//! * [`propagate`]: through a formula to first order, with correlated inputs; the contributors ranked; whether the
//!   formula is too curved for that
//! * [`coverage`]: expanded uncertainty
//! * [`conformance`]: meets, does not meet, not decidable
//! * [`risk`]: wrong acceptances and rejections to be expected
//! * [`monte_carlo`]: through a formula by simulation, for formulas that curve
//! * [`steady`]: is it steady?
//! * [`settling`]: where does it settle?
//! * [`step_response`]: times and overshoot of first and second order
//! * [`line`](mod@line): the straight line through points
//! * [`fit`]: least squares, linear in its parameters or not
//! * [`distribution`]: the probability distributions behind all of these
//!
//! Everything but [`fit`] computes through `units::math` alone: the same bits on any 64-bit machine. The fits use
//! third-party linear algebra that picks its instructions by processor: good to ten digits, not promised to the bit.
//!
//! Clause and equation numbers of JCGM 100, 101 and 106 are from memory.
//!
//! **Invariant:** functions only, without clock or random source (a simulation's seed is an argument); no argument
//! makes them panic, and none returns a number that is not finite (degrees of freedom alone may be infinite): outside
//! the range is a [`DomainError`].
#![forbid(unsafe_code)]
#![cfg_attr(test, allow(clippy::disallowed_methods))]
#![warn(missing_docs)]

pub mod conformance;
pub mod coverage;
pub mod distribution;
pub mod domain;
pub mod fit;
pub mod line;
pub mod monte_carlo;
pub mod propagate;
pub mod risk;
pub mod settling;
pub mod standard;
pub mod steady;
pub mod step_response;
pub mod type_a;

pub use conformance::{Decision, GuardBand, Limits, Outcome, Rule};
pub use coverage::Coverage;
pub use distribution::Distribution;
pub use domain::DomainError;
pub use propagate::{Combined, Correlation, Input, Shared};
