//! Heat exchangers: the effectiveness–NTU method and what is built on it.
//!
//! * [`temperature_effectiveness`]: from three temperatures
//! * [`effectiveness`], [`transfer_units`]: ε(NTU, C_r) of an [`Arrangement`] and its inverse
//! * [`duty`]: heat, outlets and conductance from capacity flows and inlets, heat balance, fouling
//! * [`stations`]: heat and capacity flow of a side from what is measured there, flow of the side without a meter
//! * [`scaling`]: conductance at reference flows
//! * [`wet`]: an exchanger in which water condenses, on enthalpy

pub mod arrangement;
mod closed_form;
pub mod duty;
mod inverse;
mod passes;
pub mod scaling;
pub mod stations;
mod temperature;
mod unmixed;
pub mod wet;

pub use arrangement::{Arrangement, MAX_TRANSFER_UNITS, Mixing, effectiveness};
pub use inverse::transfer_units;
pub use temperature::{MIN_INLET_DIFFERENCE, hot_side_effectiveness, temperature_effectiveness};
