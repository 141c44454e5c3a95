//! The tables of the recording: samples, snapshots and events as Parquet, in the recording's folder.
//!
//! A thin wrapper around [`recording::TablesWriter`]. When the disk refuses, the part being written is dropped and
//! the next batch starts a new one; that is said once, and again when the run ends. The log is not concerned:
//! the tables can be made again from it.
//!
//! **Invariant:** what has a final name is whole; whether it is everything, `close` says.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

use plugin_api::{ConfigError, Sink, SinkError, SinkPlugin, SinkSetup};
use recording::{Manifest, RealDisk, TablesOptions, TablesWriter};
use std::sync::Arc;
use stream::Batch;

/// The plugin.
pub static PLUGIN: SinkPlugin = SinkPlugin {
    kind: "parquet",
    summary: "writes samples, snapshots and events as Parquet tables into the recording",
    schema: || schemars::schema_for!(ParquetOptions).to_value(),
    build,
};

/// The options.
#[derive(serde::Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields, default)]
struct ParquetOptions {
    /// zstd compression level, 1 (fast) to 22 (small). Default 1.
    #[schemars(range(min = 1, max = 22))]
    compression_level: i32,
    /// Rows after which a part of a table is completed and the next one begun. Default 16 million.
    #[schemars(range(min = 1))]
    part_rows: u64,
}

impl Default for ParquetOptions {
    fn default() -> Self {
        let TablesOptions { compression_level, part_rows, .. } = TablesOptions::default();
        ParquetOptions { compression_level, part_rows }
    }
}

fn build(setup: &SinkSetup) -> Result<Box<dyn Sink>, ConfigError> {
    let ParquetOptions { compression_level, part_rows } = setup.options.read()?;
    let wrong = |key: &str, what: String, help: &str| Err(ConfigError::new(what, help, setup.options.span_of(key)));
    if !(1..=22).contains(&compression_level) {
        let what = format!("compression_level {compression_level} is not one of zstd's levels");
        return wrong("compression_level", what, "choose 1 (fast) to 22 (small)");
    }
    if part_rows == 0 {
        return wrong("part_rows", "a part of 0 rows holds nothing".to_owned(), "choose 1 or more, or leave it out");
    }
    let Some(folder) = &setup.folder else {
        return wrong("", "the tables are part of a recording, and this run has none".to_owned(), "");
    };
    let started = Manifest::read(&RealDisk, folder).map_err(|e| e.to_string()).and_then(|manifest| {
        let options = TablesOptions { compression_level, part_rows, ..TablesOptions::default() };
        TablesWriter::create(Arc::new(RealDisk), folder, manifest.run_id, &setup.layout, options)
            .map_err(|e| e.to_string())
    });
    match started {
        Ok(tables) => Ok(Box::new(Tables { tables, said: false })),
        Err(what) => wrong("", what, ""),
    }
}

struct Tables {
    tables: TablesWriter,
    /// Whether the run was told that rows are missing.
    said: bool,
}

impl Sink for Tables {
    fn write(&mut self, batch: &Batch) -> Result<(), SinkError> {
        match self.tables.write(batch) {
            Err(e) if !self.said => {
                self.said = true;
                let what = "rows are missing from the tables from here on; they can be made again from the log";
                Err(SinkError(format!("{e}; {what}")))
            }
            _ => Ok(()),
        }
    }

    fn close(self: Box<Self>) -> Result<(), SinkError> {
        let (summary, closed) = self.tables.close();
        let missing = summary.dropped;
        let counts = format!(
            "{} samples, {} snapshots and {} events are missing from the tables",
            missing.samples, missing.snapshots, missing.events
        );
        match closed {
            Err(e) => Err(SinkError(format!("{e}; {counts}"))),
            Ok(()) if !summary.is_complete() => Err(SinkError(counts)),
            Ok(()) => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests;
