//! Raw signal to physical value and back.
//!
//! * [`linear`]: a factor and an offset, or a line through two points
//! * [`polynomial`]: any degree, over a declared range
//! * [`table`]: points with straight lines or a monotone curve between, never beyond the ends
//! * [`current_loop`]: 4–20 mA with fault currents
//! * [`thermocouple`]: IEC 60584-1, emf and temperature, reference junction, tolerance classes
//! * [`platinum`]: IEC 60751, resistance and temperature, tolerance classes
//! * [`ratiometric`]: LVDT, RVDT, potentiometer: two readings to a position
//! * [`conversion`]: one of these, as a channel carries it
//! * [`fault`], [`formula`]: what a signal, a description, a formula's argument can have wrong
//!
//! Every formula is written over [`units::Real`]: with dual numbers it carries its sensitivities. A number whose name
//! ends in `_c`, `_mv`, `_ohm`, `_k` is in °C, mV, Ω, K: the units the standards give their equations in.
//!
//! **Invariant:** no conversion extrapolates, clips or guesses: a signal that stands for no value is a [`Fault`] or a
//! [`FormulaError`].
#![forbid(unsafe_code)]
#![cfg_attr(test, allow(clippy::disallowed_methods))]
#![warn(missing_docs)]

pub mod conversion;
pub mod current_loop;
pub mod fault;
pub mod formula;
pub mod linear;
pub mod platinum;
pub mod polynomial;
pub mod ratiometric;
pub mod table;
pub mod thermocouple;

mod horner;
mod root;

pub use conversion::{Conversion, FixedJunction, PairConversion};
pub use current_loop::CurrentLoop;
pub use fault::{Fault, SensorError};
pub use formula::FormulaError;
pub use linear::Linear;
pub use platinum::{Construction, Platinum, PlatinumClass, ResistorClass};
pub use polynomial::Polynomial;
pub use ratiometric::{Polarity, Ratio, Ratiometric, RatiometricSpec};
pub use table::Table;
pub use thermocouple::{Thermocouple, ToleranceClass};
