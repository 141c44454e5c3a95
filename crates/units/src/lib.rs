//! Units and quantities: what a number means before it becomes part of a stream.
//!
//! * [`math`]: the one door to exp, ln, powf and sqrt
//! * [`real`], [`dual`]: the number a formula computes with: plain, or with its derivatives
//! * [`quantity`]: the kinds of quantity and the words that name them in channel names
//! * [`types`]: newtypes with only the operators that make sense
//! * [`unit`](mod@unit): a unit: how to get from it to SI and back
//! * [`table`]: the units met in the trade, one row each
//! * [`find`](mod@find): from the text somebody wrote to the row of the table
//!
//! **Invariant:** no function here has state, and no conversion factor stands anywhere else in the project.
#![forbid(unsafe_code)]
#![cfg_attr(test, allow(clippy::disallowed_methods))]
#![warn(missing_docs)]

pub mod dual;
pub mod find;
pub mod math;
pub mod quantity;
pub mod real;
pub mod table;
pub mod types;
pub mod unit;

pub use dual::Dual;
pub use find::{UnknownUnit, find};
pub use quantity::Quantity;
pub use real::Real;
pub use table::UNITS;
pub use types::{
    AbsolutePressure, AngularSpeed, GaugePressure, MassFlow, Power, PressureDifference, Ratio, Temperature,
    TemperatureDifference,
};
pub use unit::{PressureReference, Unit};
