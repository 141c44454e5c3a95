//! The columns of the tables and how they are encoded.

use super::{TableError, TablesOptions};
use crate::log::columns::{name_type, time_type, word_type};
use crate::manifest::RunId;
use arrow_schema::{DataType, Field, Schema, SchemaRef};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties, WriterPropertiesBuilder};
use parquet::schema::types::ColumnPath;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;
use stream::{Column, Layout, Origin, Quality, Reason};

/// The words of the snapshots' quality columns: place = key.
pub(super) fn quality_words() -> Vec<(Quality, Reason, String)> {
    let mut words = vec![
        (Quality::Good, Reason::None, Quality::Good.word().to_owned()),
        (Quality::Stale, Reason::Stale, Quality::Stale.word().to_owned()),
    ];
    for quality in [Quality::Uncertain, Quality::Bad, Quality::Missing] {
        for (reason, word) in Reason::WORDS {
            let both = if word.is_empty() { quality.word().to_owned() } else { format!("{}:{word}", quality.word()) };
            words.push((quality, reason, both));
        }
    }
    words
}

/// The key of a quality and reason in [`quality_words`].
pub(super) fn quality_key(quality: Quality, reason: Reason) -> u8 {
    let reasons = Reason::WORDS.len() as u8;
    match quality {
        Quality::Good => 0,
        Quality::Stale => 1,
        Quality::Uncertain => 2 + reason as u8,
        Quality::Bad => 2 + reasons + reason as u8,
        Quality::Missing => 2 + 2 * reasons + reason as u8,
    }
}

pub(super) fn quality_column(name: &str) -> String {
    format!("{name}.q")
}

pub(super) fn uncertainty_column(name: &str) -> String {
    format!("{name}.u")
}

pub(super) fn limit_column(name: &str) -> String {
    format!("limit.{name}")
}

pub(super) fn samples() -> SchemaRef {
    Arc::new(Schema::new(vec![
        Field::new("time", time_type(), false),
        Field::new("channel", name_type(), false),
        Field::new("value", DataType::Float64, true),
        Field::new("quality", word_type(), false),
        Field::new("reason", word_type(), false),
    ]))
}

pub(super) fn events() -> SchemaRef {
    Arc::new(Schema::new(vec![
        Field::new("time", time_type(), false),
        Field::new("ordinal", DataType::UInt64, false),
        Field::new("kind", word_type(), false),
        Field::new("source", name_type(), true),
        Field::new("subject", DataType::Utf8, false),
        Field::new("value", DataType::Float64, true),
        Field::new("text", DataType::Utf8, false),
    ]))
}

pub(super) fn snapshots(layout: &Layout) -> SchemaRef {
    let mut fields = vec![Field::new("time", time_type(), false)];
    for column in &layout.columns {
        fields.push(Field::new(&column.name, DataType::Float64, true).with_metadata(about_column(layout, column)));
        fields.push(Field::new(quality_column(&column.name), word_type(), false));
        if column.with_uncertainty {
            let about = [("unit", column.unit.clone()), ("of", column.name.clone())];
            let about = about.map(|(k, v)| (k.to_owned(), v)).into();
            fields.push(Field::new(uncertainty_column(&column.name), DataType::Float64, true).with_metadata(about));
        }
    }
    for limit in &layout.limits {
        let watched = layout.columns.get(usize::from(limit.column.0)).map_or("", |c| c.name.as_str());
        let about = [("column", watched), ("source", &limit.source)].map(|(k, v)| (k.to_owned(), v.to_owned()));
        fields.push(Field::new(limit_column(&limit.name), word_type(), false).with_metadata(about.into()));
    }
    Arc::new(Schema::new(fields))
}

fn about_column(layout: &Layout, column: &Column) -> HashMap<String, String> {
    let origin = match column.origin {
        Origin::Channel(s) => layout.sources.get(usize::from(s.0)).map_or("channel", |s| s.name.as_str()),
        Origin::Derived => "derived",
    };
    let mut about = vec![
        ("unit", column.unit.as_str()),
        ("ucum", &column.ucum),
        ("origin", origin),
        ("provenance", &column.provenance),
    ];
    if let Some((place, quantity)) = column.name.rsplit_once('.') {
        about.extend([("place", place), ("quantity", quantity)]);
    }
    if let Origin::Channel(s) = column.origin
        && layout.sources.get(usize::from(s.0)).is_some_and(|s| s.simulated)
    {
        about.push(("simulated", "true"));
    }
    about.extend(column.about.iter().map(|(k, v)| (k.as_str(), v.as_str())));
    about.into_iter().map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
}

/// Whether every id has a name of its own, so that tables can be read back.
pub(super) fn check_names(layout: &Layout) -> Result<(), TableError> {
    let wrong = |table, what| Err(TableError::Layout { table, what });
    let snapshots = snapshots(layout);
    let mut seen = BTreeSet::new();
    for field in snapshots.fields() {
        if !seen.insert(field.name()) {
            return wrong(super::SNAPSHOTS, format!("two columns would be called {:?}; rename one", field.name()));
        }
    }
    let mut seen = BTreeSet::new();
    match layout.sources.iter().find(|s| !seen.insert(&s.name)) {
        Some(s) => wrong(super::EVENTS, format!("two sources are called {:?}; rename one", s.name)),
        None => Ok(()),
    }
}

/// What every file says about itself.
pub(super) fn about_file(run_id: RunId, layout: &Layout, table: &str) -> Vec<KeyValue> {
    let mut about = vec![
        ("bise.version".to_owned(), env!("CARGO_PKG_VERSION").to_owned()),
        ("bise.run".to_owned(), layout.run.clone()),
        ("bise.run_id".to_owned(), run_id.to_string()),
        ("bise.grid_ns".to_owned(), layout.grid.0.to_string()),
        ("bise.table".to_owned(), table.to_owned()),
    ];
    if table == super::SAMPLES {
        about.extend(layout.columns.iter().map(|c| (format!("unit.{}", c.name), c.unit.clone())));
    }
    about.into_iter().map(|(k, v)| KeyValue::new(k, v)).collect()
}

/// Encodings: numbers as they are, times as differences, words by dictionary. But in the snapshots, with their column
/// of words for every column of numbers, words as they are: each column with a dictionary would hold 73 KiB ready for
/// it, and they pack as well. In the samples lowest and highest word are left out: no row group lacks a channel, and
/// comparing words is dear.
pub(super) fn properties(
    table: &str,
    schema: &Schema,
    about: Vec<KeyValue>,
    options: &TablesOptions,
) -> Result<WriterPropertiesBuilder, TableError> {
    let level = ZstdLevel::try_new(options.compression_level)
        .map_err(|e| TableError::Layout { table: "tables", what: format!("compression_level: {e}") })?;
    let mut p = WriterProperties::builder()
        .set_compression(Compression::ZSTD(level))
        .set_statistics_enabled(EnabledStatistics::Chunk)
        .set_offset_index_disabled(true)
        .set_dictionary_enabled(false)
        .set_key_value_metadata(Some(about));
    for field in schema.fields() {
        let path = ColumnPath::from(field.name().as_str());
        match field.data_type() {
            DataType::Timestamp(..) | DataType::UInt64 => {
                p = p.set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
            }
            DataType::Dictionary(..) if table == super::SNAPSHOTS => {}
            DataType::Dictionary(..) => {
                p = p.set_column_dictionary_enabled(path.clone(), true);
                if table == super::SAMPLES {
                    p = p.set_column_statistics_enabled(path, EnabledStatistics::None);
                }
            }
            _ => {}
        }
    }
    Ok(p)
}
