//! CAN: the payload of a frame record, and databases that say what is in a frame.

mod build;
mod database;
pub mod dbc;
mod encode;
pub mod frame;
mod signal;

pub use database::{CanDatabase, Note};
pub use dbc::{DbcError, DbcFault};
pub use encode::{EncodeError, OwnedFrame};
pub use frame::{CanFrame, FrameError};
