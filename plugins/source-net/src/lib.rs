//! Instruments on a network: Modbus TCP, lines of text and binary frames over TCP, and datagrams over UDP.
//!
//! * [`options`]: what a run file says about the address, and the checks of what is there
//! * [`source`]: connects or listens, again and again, and runs what belongs there
//! * [`modbus`]: the Modbus TCP client; the transaction number tells late answers from the one that is waited for
//! * [`door`]: what may be written at all
//!
//! **Invariant:** nothing is written but Modbus read requests (functions 1 to 4) and queries listed in the instrument's
//! file, checked byte by byte right before they are written; to a UDP socket nothing is ever written.
#![warn(missing_docs)]

mod door;
mod modbus;
mod options;
mod source;

pub use options::{Net, OptionsError, Transport};

use plugin_api::SourcePlugin;

/// Instruments on a network.
pub static PLUGIN: SourcePlugin = SourcePlugin {
    kind: "net",
    summary: "network: Modbus TCP devices, or one instrument that sends lines of text or binary frames over TCP or UDP",
    carries: plugin_api::Carries::DeviceMessages,
    schema: options::schema,
    build: source::build,
    probe: source::probe,
    list: Vec::new,
};
