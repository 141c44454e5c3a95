//! The demonstration rig: a simulated pack of an invented unit behind real pseudo-terminals and CAN frames.
//!
//! * [`pack`]: the unit: a scripted run in simulated time
//! * [`script`]: what happens to it, and the faults on its lines
//! * [`signals`]: which number of the unit stands in which register, line or frame
//! * [`rig`]: the instruments: a Modbus RTU line, a text line, CAN frames, each on a thread of its own
//! * [`pty`]: pseudo-terminals under names that stay
//! * [`can_out`]: where frames go
//!
//! **Invariant:** nothing here is a measured unit or knows the program that reads it: bytes leave through the same
//! encodings as an instrument's. A CAN socket is opened only on the interface the caller has found to be virtual.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod can_out;
pub mod pack;
pub mod pty;
pub mod rig;
pub mod script;
pub mod signals;

mod faults;
mod hygrometer;
mod modbus_line;
mod report;
mod world;

pub use can_out::{CanOut, NotVirtual, VirtualInterface};
pub use pack::{Pack, State};
pub use report::{Counts, RigReport};
pub use rig::{Rig, RigError, RigOptions};
pub use script::{RigDevice, RigFault, RigLine, Script};
