//! Samples, snapshots and events of a run as the Parquet tables of its recording.
//!
//! **Invariant:** the log is ground state: a table that could not be written costs nothing that salvage cannot make
//! again.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

use plugin_api::{ConfigError, Sink, SinkError, SinkPlugin, SinkSetup};
use recording::{Manifest, RealDisk, TablesOptions, TablesWriter};
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;
use stream::Batch;

/// The Parquet tables of a recording.
pub static PLUGIN: SinkPlugin = SinkPlugin {
    kind: "parquet",
    summary: "samples, snapshots and events as Parquet tables in the recording's folder",
    schema: || schemars::schema_for!(ParquetOptions).to_value(),
    build,
};

/// Options of the sink.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ParquetOptions {
    /// zstd level, 1 (fast) to 22 (small). Default 1.
    #[serde(default)]
    compression_level: Option<i32>,
    /// Rows of a table before a new part of it is begun. Default 16 million.
    #[serde(default)]
    part_rows: Option<u64>,
}

fn build(setup: &SinkSetup) -> Result<Box<dyn Sink>, ConfigError> {
    let options: ParquetOptions = setup.options.read()?;
    let Some(folder) = &setup.folder else {
        return Err(ConfigError::new("there is no recording to write tables into", "record the run", None));
    };
    let mut tables = TablesOptions::default();
    tables.compression_level = options.compression_level.unwrap_or(tables.compression_level);
    tables.part_rows = options.part_rows.unwrap_or(tables.part_rows);
    let refused = |e: &dyn std::fmt::Display| ConfigError::new(e.to_string(), "", None);
    let run_id = Manifest::read(&RealDisk, folder).map_err(|e| refused(&e))?.run_id;
    let writer = TablesWriter::create(Arc::new(RealDisk), folder, run_id, &setup.layout, tables);
    Ok(Box::new(Tables { writer: writer.map_err(|e| refused(&e))? }))
}

struct Tables {
    writer: TablesWriter,
}

impl Sink for Tables {
    fn write(&mut self, batch: &Batch) -> Result<(), SinkError> {
        self.writer.write(batch).map_err(|e| SinkError(e.to_string()))
    }

    fn close(self: Box<Self>) -> Result<(), SinkError> {
        let (summary, closed) = self.writer.close();
        closed.map_err(|e| SinkError(e.to_string()))?;
        if summary.is_complete() {
            Ok(())
        } else {
            let d = summary.dropped;
            let text = format!("{} samples, {} snapshots and {} events are not in the tables", d.samples, d.snapshots, d.events);
            Err(SinkError(text))
        }
    }
}
