//! What was recorded before, by something else or by this program, read one entry at a time.
//!
//! * [`candump`]: CAN frames as text, as candump of can-utils writes them
//! * [`table`]: rows of a table (CSV)
//! * [`recorded`]: a source of another recording
//! * [`lines`]: lines of a file without copying them
//!
//! **Invariant:** I/O only: what a line means is in `decode`. No line is passed over without being counted.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod candump;
pub mod lines;
pub mod recorded;
pub mod table;
mod when;

use plugin_api::{CapturePlugin, Carries};

/// CAN frames as text.
pub static CANDUMP: CapturePlugin = CapturePlugin {
    kind: "candump",
    summary: "CAN frames as text, as candump writes them",
    carries: Carries::CanFrames,
    schema: candump::schema,
    open: candump::open,
};

/// A source of another recording.
pub static RECORDING: CapturePlugin = CapturePlugin {
    kind: "recording",
    summary: "a source of another recording, entry by entry as it was logged",
    carries: Carries::Recorded,
    schema: recorded::schema,
    open: recorded::open,
};

/// Rows of a table.
pub static TABLE: CapturePlugin = CapturePlugin {
    kind: "table",
    summary: "rows of a table (CSV) with a header row and a units row",
    carries: Carries::Rows,
    schema: table::schema,
    open: table::open,
};
