//! Raw signal to physical value and back.
//!
//! * [`linear`]: a factor and an offset, or a line through two points
//! * [`table`]: points with straight lines between, never beyond the ends
//! * [`current_loop`]: 4–20 mA with fault currents
//! * [`conversion`]: one of these, as a channel carries it
//!
//! **Invariant:** no conversion extrapolates, clips or guesses: a signal that stands for no value is a [`Fault`].
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod conversion;
pub mod current_loop;
pub mod fault;
pub mod linear;
pub mod table;

pub use conversion::Conversion;
pub use current_loop::CurrentLoop;
pub use fault::{Fault, SensorError};
pub use linear::Linear;
pub use table::Table;
