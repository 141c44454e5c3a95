//! Puts a plan to work: threads, rings, log writer, sinks, supervision, shutdown in order.
//!
//! * [`run`]: start a run, give it operator input, stop it, read its outcome
//! * [`clock`]: the one real clock; [`timing`]: how long is waited for what
//! * `source_thread`: one thread a source, reopened with back-off, panics caught, watched
//! * `ring`: the bounded queue between a source and the sequencer
//! * `sequencer_thread`: the one thread that orders, hands to the log, evaluates
//! * `log_thread`: the one thread that writes and syncs; `converter`: the one that makes Parquet of what is closed
//! * `sink_thread`: one thread a sink
//! * `http`: the one listener
//!
//! **Invariant:** no result is made here: entries go to the pure core in the order of the log, and nothing else does.
//! **Invariant:** a source never waits for anything but its instrument; the recording outranks every sink.
#![warn(missing_docs)]

pub mod clock;
mod converter;
pub mod http;
mod log_thread;
mod ring;
pub mod run;
mod sequencer_thread;
mod sink_thread;
mod source_thread;
pub mod timing;

pub use clock::BootClock;
pub use run::{LogSlot, Outcome, Run, RunError, RunSetup, SinkSlot, SourceSlot};
pub use timing::Timing;
