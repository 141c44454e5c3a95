//! Metrics: what a Prometheus server scrapes at `/metrics`, text format 0.0.4.
//!
//! * [`families`]: which series there are, and what each says
//! * [`names`]: SI units as they end a metric's name
//!
//! **Invariant:** a value that is stale, bad or missing has no series: nothing here turns "no value" into a number.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod families;
pub mod names;

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use families::Latest;
use plugin_api::{ConfigError, Counters, Sink, SinkError, SinkPlugin, SinkSetup};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use stream::{Batch, Layout};

/// The plugin.
pub static PLUGIN: SinkPlugin = SinkPlugin {
    kind: "prometheus",
    summary: "serves values, ages, qualities, limit states and the program's own counts at /metrics",
    schema: || schemars::schema_for!(PrometheusOptions).to_value(),
    build,
};

/// The Content-Type of text format 0.0.4; a Prometheus server of version 3 refuses an answer without one.
pub const CONTENT_TYPE: &str = "text/plain; version=0.0.4; charset=utf-8";

/// The options: none. Where the listener is belongs to the run file's `[metrics]` table.
#[derive(serde::Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
struct PrometheusOptions {}

fn build(setup: &SinkSetup) -> Result<Box<dyn Sink>, ConfigError> {
    let PrometheusOptions {} = setup.options.read()?;
    Ok(Box::new(Metrics::new(setup.layout.clone(), setup.counters.clone())))
}

struct Metrics {
    shared: Arc<Shared>,
}

struct Shared {
    layout: Arc<Layout>,
    counters: Arc<Counters>,
    latest: Mutex<Latest>,
}

impl Metrics {
    fn new(layout: Arc<Layout>, counters: Arc<Counters>) -> Metrics {
        let latest = Mutex::new(Latest::new(&layout));
        Metrics { shared: Arc::new(Shared { layout, counters, latest }) }
    }
}

impl Sink for Metrics {
    fn write(&mut self, batch: &Batch) -> Result<(), SinkError> {
        self.shared.latest.lock().unwrap_or_else(PoisonError::into_inner).take(batch);
        Ok(())
    }

    fn routes(&self) -> Option<axum::Router> {
        let shared = self.shared.clone();
        Some(axum::Router::new().route("/metrics", get(move || async move { shared.answer() })))
    }

    fn latest_only(&self) -> bool {
        true
    }

    fn close(self: Box<Self>) -> Result<(), SinkError> {
        Ok(())
    }
}

/// Without a snapshot for so long (and three grid steps) the run stands still.
const STANDS_STILL: Duration = Duration::from_secs(5);

impl Shared {
    fn text(&self) -> Result<String, prometheus::Error> {
        let grid = Duration::from_nanos(self.layout.grid.0.unsigned_abs());
        let latest = self.latest.lock().unwrap_or_else(PoisonError::into_inner).of_now(STANDS_STILL.max(grid * 3));
        let families = families::all(&self.layout, &self.counters, &latest);
        prometheus::TextEncoder::new().encode_to_string(&families)
    }

    fn answer(&self) -> Response {
        match self.text() {
            Ok(text) => ([(header::CONTENT_TYPE, CONTENT_TYPE)], text).into_response(),
            Err(e) => {
                let text = format!("the metrics could not be put into text: {e}; please report this\n");
                (StatusCode::INTERNAL_SERVER_ERROR, text).into_response()
            }
        }
    }
}

#[cfg(test)]
mod tests;
