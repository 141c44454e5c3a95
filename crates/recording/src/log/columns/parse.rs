//! Rows become entries.

use super::BODIES;
use crate::cells::{Cells, Timestamps, dictionary_words};
use arrow_array::types::UInt8Type;
use arrow_array::{
    Array, BinaryArray, DictionaryArray, Int64Array, RecordBatch, StringArray, UInt8Array, UInt16Array, UInt64Array,
};
use stream::{
    Anchor, EntryBody, EventTime, Gap, GapCause, Link, LinkState, LogEntry, OperatorAction, OperatorContent, Payload,
    RawRecord, RecordKind, SourceId,
};

/// Appends the entries in these rows to `into`.
///
/// # Errors
/// What does not fit, and in which entry.
pub(crate) fn parse(rows: &RecordBatch, into: &mut Vec<LogEntry>) -> Result<(), String> {
    let c = Columns::of(rows)?;
    for row in 0..rows.num_rows() {
        let ordinal = c.ordinal.value(row);
        let body = c.body(row).map_err(|what| format!("entry {ordinal}: {what}"))?;
        into.push(LogEntry { ordinal, logged_at: EventTime(c.logged_at.value(row)), body });
    }
    Ok(())
}

struct Columns<'a> {
    ordinal: &'a UInt64Array,
    logged_at: &'a Timestamps,
    body: &'a DictionaryArray<UInt8Type>,
    /// For every key of `body` its place in [`BODIES`].
    bodies: Vec<Option<usize>>,
    source: &'a UInt16Array,
    sequence: &'a UInt64Array,
    event_time: &'a Timestamps,
    until: &'a Timestamps,
    kind_id: &'a UInt8Array,
    device: &'a UInt16Array,
    lost: &'a UInt64Array,
    payload: &'a BinaryArray,
    author: &'a StringArray,
    text: &'a StringArray,
    wall_offset: &'a Int64Array,
}

impl<'a> Columns<'a> {
    fn of(rows: &'a RecordBatch) -> Result<Columns<'a>, String> {
        let cells = Cells(rows);
        let body = cells.column::<DictionaryArray<UInt8Type>>("body")?;
        Ok(Columns {
            ordinal: cells.column("ordinal")?,
            logged_at: cells.column("logged_at")?,
            bodies: dictionary_words(body, |w| BODIES.iter().position(|b| *b == w))?,
            body,
            source: cells.column("source")?,
            sequence: cells.column("sequence")?,
            event_time: cells.column("event_time")?,
            until: cells.column("until")?,
            kind_id: cells.column("kind_id")?,
            device: cells.column("device")?,
            lost: cells.column("lost")?,
            payload: cells.column("payload")?,
            author: cells.column("author")?,
            text: cells.column("text")?,
            wall_offset: cells.column("wall_offset_ns")?,
        })
    }

    fn body(&self, row: usize) -> Result<EntryBody, String> {
        let key = usize::from(self.body.keys().value(row));
        let body = self.bodies.get(key).copied().flatten().ok_or("its body is of an unknown kind")?;
        Ok(match BODIES[body] {
            "record" => EntryBody::Record(RawRecord {
                source: self.source(row).ok_or("it has no source")?,
                sequence: there(self.sequence, row).map(|a| a.value(row)).ok_or("it has no sequence")?,
                event_time: self.time(row)?,
                kind: self.kind(row, RecordKind::from_id)?,
                payload: Payload::from_slice(there(self.payload, row).ok_or("it has no payload")?.value(row)),
            }),
            "tick" => EntryBody::Tick,
            "gap" => EntryBody::Gap(Gap {
                source: self.source(row),
                lost: there(self.lost, row).map(|a| a.value(row)).ok_or("it has no count")?,
                from: self.time(row)?,
                to: EventTime(there(self.until, row).ok_or("it has no end")?.value(row)),
                cause: self.kind(row, GapCause::from_id)?,
            }),
            "link" => EntryBody::Link(Link {
                source: self.source(row).ok_or("it has no source")?,
                device: there(self.device, row).map(|a| a.value(row)),
                event_time: self.time(row)?,
                state: self.kind(row, LinkState::from_id)?,
                detail: self.text(row)?,
            }),
            "anchor" => EntryBody::Anchor(Anchor {
                event_time: self.time(row)?,
                wall_offset_ns: there(self.wall_offset, row).ok_or("it has no offset")?.value(row),
            }),
            "operator" => EntryBody::Operator(OperatorAction {
                author: there(self.author, row).ok_or("it has no author")?.value(row).to_owned(),
                pressed_at: self.time(row)?,
                content: {
                    let id = there(self.kind_id, row).ok_or("it has no kind")?.value(row);
                    OperatorContent::from_stored(id, self.text(row)?)
                        .ok_or_else(|| format!("kind {id} is not known"))?
                },
            }),
            _ => EntryBody::End,
        })
    }

    fn source(&self, row: usize) -> Option<SourceId> {
        there(self.source, row).map(|a| SourceId(a.value(row)))
    }

    fn time(&self, row: usize) -> Result<EventTime, String> {
        Ok(EventTime(there(self.event_time, row).ok_or("it has no event time")?.value(row)))
    }

    fn text(&self, row: usize) -> Result<String, String> {
        Ok(there(self.text, row).ok_or("it has no text")?.value(row).to_owned())
    }

    fn kind<T>(&self, row: usize, from: fn(u8) -> Option<T>) -> Result<T, String> {
        let id = there(self.kind_id, row).ok_or("it has no kind")?.value(row);
        from(id).ok_or_else(|| format!("kind {id} is not known"))
    }
}

/// The column, where it has something in this row.
fn there<A: Array>(column: &A, row: usize) -> Option<&A> {
    column.is_valid(row).then_some(column)
}
