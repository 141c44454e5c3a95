//! Live sources.

use crate::intake::Intake;
use crate::messages::Messages;
use crate::options::{ConfigError, Options};
use std::future::Future;
use std::pin::Pin;
use std::time::Duration;
use stream::SourceId;

/// A kind of source, describing itself. One `static` each, listed in `assembly::registry`.
pub struct SourcePlugin {
    /// The word for it in a run file: `kind = "serial"`.
    pub kind: &'static str,
    /// One line for a person.
    pub summary: &'static str,
    /// What its records hold: decides how they are decoded and what the run file must say.
    pub carries: Carries,
    /// The JSON schema of its options: every option with doc, unit in the doc, default.
    pub schema: fn() -> serde_json::Value,
    /// Checks options and devices, makes the source. Opens nothing.
    pub build: fn(&SourceSetup) -> Result<Box<dyn Source>, ConfigError>,
    /// The port or interface that the options name, and whether it is there and can be opened, or why not.
    pub probe: fn(&SourceSetup) -> Result<Port, ConfigError>,
    /// Every port of this kind on the machine.
    pub list: fn() -> Vec<Port>,
}

/// What the records of a source hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carries {
    /// Messages of devices, each with an instrument file.
    DeviceMessages,
    /// CAN frames, with a database.
    CanFrames,
    /// Rows of a table, which name their columns themselves.
    Rows,
    /// What a source of another recording carried, with the configuration that the recording stores.
    Recorded,
}

/// What a source is made from.
#[derive(Clone, Debug)]
pub struct SourceSetup {
    /// Its id in the stream.
    pub id: SourceId,
    /// Its name in the run file.
    pub name: String,
    /// Its own options.
    pub options: Options,
    /// The devices on its line, in the order of their indices.
    pub devices: Vec<DeviceSetup>,
}

/// One device on a line, as far as I/O needs to know it.
#[derive(Clone, Debug)]
pub struct DeviceSetup {
    /// Its name in the run file.
    pub name: String,
    /// How its messages are found in the bytes.
    pub framing: Framing,
    /// What it is asked, in order; empty for a device that streams.
    pub queries: Vec<Query>,
    /// How often the whole list of queries is asked.
    pub period: Duration,
    /// How long to wait for an answer.
    pub time_out: Duration,
    /// The longest the device may take for an answer at all: after a time-out the line is kept silent so long.
    pub worst_answer: Duration,
}

/// How messages are found in the bytes of a line.
#[derive(Clone, Debug)]
pub enum Framing {
    /// Modbus: a register map, asked in the frames of the line that carries it.
    Modbus,
    /// Lines of text or binary frames, sent unasked or, where queries are listed, one in answer to each.
    Messages(Messages),
}

/// One question, ready to send. Only read functions and listed queries get here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Query {
    /// The bytes as they go out; of Modbus the frame of a serial line.
    pub bytes: Vec<u8>,
    /// How often it is asked; `None` = as often as the device's whole list.
    pub period: Option<Duration>,
}

/// Something that can be opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Port {
    /// What to write in a run file: the stable path or interface name.
    pub name: String,
    /// What it is: maker and serial number of an adapter, kind and state of an interface.
    pub detail: String,
    /// `Ok`, or why it cannot be opened and what to do.
    pub openable: Result<(), String>,
}

/// The link is lost; the runtime says so, waits and calls `run` again.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct LinkLost(pub String);

/// A live source.
pub trait Source: Send {
    /// Opens the link, says `LinkState::Up`, and hands over what comes until the run is being closed (`Ok`) or the
    /// link is lost (`Err`). Called again after a pause with the same `self`; it must open anew, by stable identity.
    ///
    /// Runs on a thread of its own with a single-threaded tokio runtime. Must return within a second after
    /// [`Intake::stopped`] resolves. Must not block the thread for longer than that.
    fn run<'a>(&'a mut self, intake: &'a mut Intake) -> Pin<Box<dyn Future<Output = Result<(), LinkLost>> + 'a>>;
}
