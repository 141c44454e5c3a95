//! Where results go.

use crate::counters::Counters;
use crate::options::{ConfigError, Options};
use std::path::PathBuf;
use std::sync::Arc;
use stream::{Batch, Layout};

/// A kind of sink, describing itself. One `static` each, listed in `assembly::registry`.
pub struct SinkPlugin {
    /// The word for it in a run file.
    pub kind: &'static str,
    /// One line for a person.
    pub summary: &'static str,
    /// The JSON schema of its options.
    pub schema: fn() -> serde_json::Value,
    /// Makes the sink.
    pub build: fn(&SinkSetup) -> Result<Box<dyn Sink>, ConfigError>,
}

/// What a sink is made from.
#[derive(Clone)]
pub struct SinkSetup {
    /// Its own options.
    pub options: Options,
    /// The meaning of the ids.
    pub layout: Arc<Layout>,
    /// What is counted about the run.
    pub counters: Arc<Counters>,
    /// The recording's folder, where there is one.
    pub folder: Option<PathBuf>,
}

/// A sink could not do its work.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct SinkError(pub String);

/// Takes what the core makes. Runs on a thread of its own; a slow sink slows nothing else down.
pub trait Sink: Send {
    /// Takes one batch. After an error the runtime says so, goes on, and the sink is called again.
    ///
    /// # Errors
    /// What could not be done, and where.
    fn write(&mut self, batch: &Batch) -> Result<(), SinkError>;

    /// Routes for the one HTTP listener, asked for once before the run starts.
    fn routes(&self) -> Option<axum::Router> {
        None
    }

    /// Whether the sink only wants the newest state (metrics, page): then batches may be merged or skipped.
    fn latest_only(&self) -> bool {
        false
    }

    /// Ends in order.
    ///
    /// # Errors
    /// What could not be done, and where.
    fn close(self: Box<Self>) -> Result<(), SinkError>;
}
