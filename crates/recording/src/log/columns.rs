//! The columns of the log in Parquet: every entry one row, lossless, and readable by a person.
//!
//! | column | what |
//! |---|---|
//! | `ordinal`, `logged_at` | of every entry |
//! | `body` | record, tick, gap, link, anchor, operator, end |
//! | `source`, `source_name` | of records and links, and of gaps where not all sources are concerned |
//! | `sequence` | of a record |
//! | `event_time` | of records, links and anchors; where a gap begins; when an operator pressed the key |
//! | `until` | where a gap ends |
//! | `kind`, `kind_id` | of a record, the cause of a gap, the state of a link, what an operator did |
//! | `device` | of a link |
//! | `lost` | of a gap |
//! | `payload` | the bytes of a record |
//! | `author`, `text` | of an operator's action; `text` also of a link |
//! | `wall_offset_ns` | of an anchor |

mod build;
mod parse;

pub(crate) use build::Builder;
pub(crate) use parse::parse;

use arrow_schema::{DataType, Field, Schema, SchemaRef, TimeUnit};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use std::sync::Arc;
use stream::RecordKind;

/// Words of the entries' bodies; the place is the id in segments less one.
pub(crate) const BODIES: [&str; 7] = ["record", "tick", "gap", "link", "anchor", "operator", "end"];

/// Words of the operator's actions; the place is the id less one.
pub(crate) const ACTIONS: [&str; 9] =
    ["note", "test-begin", "test-end", "acknowledge", "reset", "shelve", "unshelve", "out-of-service", "in-service"];

/// The word for a record kind in the log's tables.
pub fn record_kind_word(kind: RecordKind) -> &'static str {
    match kind {
        RecordKind::ModbusAnswer => "modbus-answer",
        RecordKind::TextLine => "text-line",
        RecordKind::CanFrame => "can-frame",
        RecordKind::Row => "row",
        RecordKind::Fault => "fault",
        RecordKind::TextAnswer => "text-answer",
        RecordKind::Frame => "frame",
    }
}

pub(crate) fn word_type() -> DataType {
    DataType::Dictionary(Box::new(DataType::UInt8), Box::new(DataType::Utf8))
}

pub(crate) fn name_type() -> DataType {
    DataType::Dictionary(Box::new(DataType::UInt16), Box::new(DataType::Utf8))
}

pub(crate) fn time_type() -> DataType {
    DataType::Timestamp(TimeUnit::Nanosecond, Some("UTC".into()))
}

pub(crate) fn schema() -> SchemaRef {
    let field = |name: &str, of: DataType, nullable| Field::new(name, of, nullable);
    Arc::new(Schema::new(vec![
        field("ordinal", DataType::UInt64, false),
        field("logged_at", time_type(), false),
        field("body", word_type(), false),
        field("source", DataType::UInt16, true),
        field("source_name", name_type(), true),
        field("sequence", DataType::UInt64, true),
        field("event_time", time_type(), true),
        field("until", time_type(), true),
        field("kind", word_type(), true),
        field("kind_id", DataType::UInt8, true),
        field("device", DataType::UInt16, true),
        field("lost", DataType::UInt64, true),
        field("payload", DataType::Binary, true),
        field("author", DataType::Utf8, true),
        field("text", DataType::Utf8, true),
        field("wall_offset_ns", DataType::Int64, true),
    ]))
}

pub(crate) fn properties() -> WriterProperties {
    let mut p = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_statistics_enabled(EnabledStatistics::Chunk)
        .set_offset_index_disabled(true);
    for name in ["ordinal", "logged_at", "sequence", "event_time", "until"] {
        let path = ColumnPath::from(name);
        p = p
            .set_column_dictionary_enabled(path.clone(), false)
            .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
    }
    for name in ["payload", "text"] {
        p = p.set_column_dictionary_enabled(ColumnPath::from(name), false);
    }
    p.set_column_statistics_enabled(ColumnPath::from("payload"), EnabledStatistics::None).build()
}

#[cfg(test)]
mod tests;
