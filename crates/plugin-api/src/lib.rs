//! What a plugin is: the traits for sources and sinks, what they are given, and the fakes to test them with.
//!
//! * [`source`]: a live instrument line: [`Source`], made by a [`SourcePlugin`]
//! * [`capture`]: a file that is replayed: [`Capture`]
//! * [`sink`]: where results go: [`Sink`], made by a [`SinkPlugin`]
//! * [`intake`]: the one way from a source into the program: stamps, counts, never blocks
//! * [`wire`], [`messages`], [`asking`]: a line of bytes, instruments that send unasked, instruments that are asked
//! * [`clock`]: the only clock a plugin may read
//! * [`options`]: a plugin's part of the run file, errors with their place in it
//! * [`counters`]: what is counted about a run, for summary and metrics
//! * [`fake`]: an intake that collects and a clock that follows tokio's paused time
//! * [`conformance`]: what every plugin must do, as functions for its tests
//!
//! **Invariant:** plain data and traits; no thread, no file, no socket. Plugins do I/O and nothing else: no
//! decoding into channels, no judging.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod asking;
pub mod capture;
pub mod clock;
pub mod conformance;
pub mod counters;
pub mod fake;
pub mod intake;
pub mod messages;
pub mod options;
pub mod sink;
pub mod source;
pub mod wire;

pub use capture::{Capture, CaptureError, CapturePlugin, CaptureSetup, Captures, OpenError};
pub use clock::Clock;
pub use counters::Counters;
pub use intake::{Inlet, Intake, Message, until_stopped};
pub use messages::Messages;
pub use options::{ConfigError, Options};
pub use sink::{Sink, SinkError, SinkPlugin, SinkSetup};
pub use source::{Carries, DeviceSetup, Framing, LinkLost, Port, Query, Source, SourcePlugin, SourceSetup};
pub use wire::Wire;
