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
//! * [`constant_heat_capacity`]: machines of the textbook
//! * [`corrected`]: flow and speed referred to a standard inlet state
//! * [`shaft`], [`speed_work`], [`coast_down`], [`fan`], [`nozzle_flow_function`]: the machine as one
//! * [`stream`], [`mixing`], [`moisture`], [`capacity`]: balances of air and water, and what the pack is for
//! * [`flow_resistance`], [`reference_day`]: laws learned on a unit, and what is compared with them
//! * [`fresh_air`], [`contaminant`]: the occupants' air
//!
//! **Invariant:** every function is a formula without state; outside its range it returns a [`DomainError`], inside it
//! a finite number.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod atmosphere;
pub mod capacity;
pub mod coast_down;
pub mod constant_heat_capacity;
pub mod contaminant;
pub mod corrected;
pub mod critical_nozzle;
pub mod domain;
pub mod dry_air;
pub mod exchanger;
pub mod fan;
pub mod flow_meter;
pub mod flow_resistance;
pub mod fresh_air;
pub mod gas;
pub mod humid_air;
pub mod isentropic;
pub mod leak_down;
pub mod machine;
pub mod mixing;
pub mod moisture;
pub mod nozzle_flow_function;
pub mod pressure_drop;
pub mod pressure_ratio;
pub mod reference_day;
mod root;
pub mod saturation;
pub mod shaft;
mod smooth;
pub mod speed_work;
pub mod stream;
pub mod total_static;
pub mod valve_flow;

pub use domain::DomainError;
