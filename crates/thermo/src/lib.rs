//! Relations of the air path: functions only, one file per subject. Knows nothing of channels.
//!
//! * [`domain`]: the error of every function here: which argument, its value, what is valid
//! * [`exchanger`]: heat exchangers
//! * [`flow_meter`], [`critical_nozzle`]: flow from a pressure difference; from the state before a sonic throat
//! * [`valve_flow`], [`leak_down`], [`pressure_drop`]: valves and holes, closed volumes, ducts
//! * [`atmosphere`]: the standard atmosphere
//! * [`gas`], [`saturation`], [`humid_air`], [`dry_air`]: properties of air, vapour, water and ice;
//!   the range is 150…1000 K, 100 Pa…2 MPa, w 0…10, without vapour far above saturation: see [`humid_air`]
//! * [`isentropic`], [`machine`], [`total_static`]: changes of state, compressors, turbines, moving air
//! * [`pressure_ratio`]: compressors and turbines
//! * [`corrected`]: flow and speed referred to a standard inlet state
//!
//! **Invariant:** every function is a formula without state; outside its range it returns a [`DomainError`], inside it
//! a finite number.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod atmosphere;
pub mod corrected;
pub mod critical_nozzle;
pub mod domain;
pub mod dry_air;
pub mod exchanger;
pub mod flow_meter;
pub mod gas;
pub mod humid_air;
pub mod isentropic;
pub mod leak_down;
pub mod machine;
pub mod pressure_drop;
pub mod pressure_ratio;
mod root;
pub mod saturation;
mod smooth;
pub mod total_static;
pub mod valve_flow;

pub use domain::DomainError;
