//! CAN: the payload of a frame record, databases that say what is in a frame, J1939, the length of frames.

mod build;
mod database;
pub mod dbc;
mod encode;
pub mod frame;
pub mod j1939;
mod signal;
pub mod timing;

pub use database::{CanDatabase, CodeError, Note, Outcome};
pub use dbc::{DatabaseText, DbcError, DbcFault, text_of};
pub use encode::{EncodeError, OwnedFrame};
pub use frame::{CanFrame, FrameError};
pub use signal::Code;
