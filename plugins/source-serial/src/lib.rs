//! Serial lines: a Modbus RTU polling master, a listener on another master's line, and instruments that send lines of
//! text or binary frames, unasked or in answer to queries.
//!
//! * [`options`]: what a run file says about a port
//! * [`source`]: opens the port, again and again, and runs what belongs on it
//! * [`modbus`]: the master; why a late answer never becomes another register's value
//! * [`overheard`]: another master's line
//! * [`door`]: what may be written at all
//! * [`ports`]: which ports there are, and why one cannot be opened
//!
//! **Invariant:** nothing is written to a port but Modbus read requests (functions 1 to 4) and queries listed in the
//! instrument's file, checked byte by byte right before they are written; and a value is handed over only with the
//! request it surely answers.
#![warn(missing_docs)]

mod door;
mod modbus;
mod options;
mod overheard;
mod ports;
mod source;

pub use options::{Line, OptionsError};

use plugin_api::SourcePlugin;

/// Serial lines.
pub static PLUGIN: SourcePlugin = SourcePlugin {
    kind: "serial",
    summary: "serial line: Modbus RTU devices, or one instrument that sends lines of text or binary frames",
    carries: plugin_api::Carries::DeviceMessages,
    schema: options::schema,
    build: source::build,
    probe: ports::probe,
    list: ports::list,
};
