//! Entries become rows.

use super::{ACTIONS, BODIES, record_kind_word, schema};
use arrow_array::builder::{
    BinaryBuilder, Int64Builder, StringBuilder, TimestampNanosecondBuilder, UInt8Builder, UInt16Builder, UInt64Builder,
};
use arrow_array::{ArrayRef, DictionaryArray, RecordBatch, StringArray};
use arrow_schema::{ArrowError, SchemaRef};
use std::borrow::Cow;
use std::sync::Arc;
use stream::{EntryBody, EventTime, GapCause, LinkState, LogEntry, RecordKind};

/// The words of the `kind` column: a block of eight each for records, gaps, links and operators, so that the
/// key is the id plus the start of the block. Rows without a kind have none.
const RECORDS: u8 = 0;
const GAPS: u8 = 32;
const LINKS: u8 = 64;
const ACTS: u8 = 96;

/// Collects entries as rows.
pub(crate) struct Builder {
    schema: SchemaRef,
    bodies: ArrayRef,
    kinds: ArrayRef,
    names: ArrayRef,
    sources: usize,
    ordinal: UInt64Builder,
    logged_at: TimestampNanosecondBuilder,
    body: UInt8Builder,
    source: UInt16Builder,
    source_name: UInt16Builder,
    sequence: UInt64Builder,
    event_time: TimestampNanosecondBuilder,
    until: TimestampNanosecondBuilder,
    kind: UInt8Builder,
    kind_id: UInt8Builder,
    device: UInt16Builder,
    lost: UInt64Builder,
    payload: BinaryBuilder,
    author: StringBuilder,
    text: StringBuilder,
    wall_offset: Int64Builder,
    bytes: usize,
}

/// The cells of one entry; what it does not have is `None`.
#[derive(Default)]
struct Row<'a> {
    body: u8,
    source: Option<u16>,
    sequence: Option<u64>,
    event_time: Option<EventTime>,
    until: Option<EventTime>,
    /// Start of the block of words, and the id.
    kind: Option<(u8, u8)>,
    device: Option<u16>,
    lost: Option<u64>,
    payload: Option<&'a [u8]>,
    author: Option<&'a str>,
    text: Option<Cow<'a, str>>,
    wall_offset: Option<i64>,
}

impl Builder {
    /// Nothing collected yet. `sources` are the names of the sources by id.
    pub(crate) fn new(sources: &[String]) -> Builder {
        Builder {
            schema: schema(),
            bodies: Arc::new(StringArray::from_iter_values(BODIES)),
            kinds: Arc::new(kind_words()),
            names: Arc::new(StringArray::from_iter_values(sources)),
            sources: sources.len(),
            ordinal: UInt64Builder::new(),
            logged_at: TimestampNanosecondBuilder::new(),
            body: UInt8Builder::new(),
            source: UInt16Builder::new(),
            source_name: UInt16Builder::new(),
            sequence: UInt64Builder::new(),
            event_time: TimestampNanosecondBuilder::new(),
            until: TimestampNanosecondBuilder::new(),
            kind: UInt8Builder::new(),
            kind_id: UInt8Builder::new(),
            device: UInt16Builder::new(),
            lost: UInt64Builder::new(),
            payload: BinaryBuilder::new(),
            author: StringBuilder::new(),
            text: StringBuilder::new(),
            wall_offset: Int64Builder::new(),
            bytes: 0,
        }
    }

    /// Takes an entry.
    pub(crate) fn push(&mut self, entry: &LogEntry) {
        let row = Row::of(&entry.body);
        self.ordinal.append_value(entry.ordinal);
        self.logged_at.append_value(entry.logged_at.0);
        self.body.append_value(row.body);
        self.source.append_option(row.source);
        self.source_name.append_option(row.source.filter(|s| usize::from(*s) < self.sources));
        self.sequence.append_option(row.sequence);
        self.event_time.append_option(row.event_time.map(|t| t.0));
        self.until.append_option(row.until.map(|t| t.0));
        self.kind.append_option(row.kind.map(|(block, id)| block + id));
        self.kind_id.append_option(row.kind.map(|(_, id)| id));
        self.device.append_option(row.device);
        self.lost.append_option(row.lost);
        self.payload.append_option(row.payload);
        self.author.append_option(row.author);
        self.text.append_option(row.text.as_deref());
        self.wall_offset.append_option(row.wall_offset);
        self.bytes += row.payload.map_or(0, <[u8]>::len) + row.text.map_or(0, |t| t.len());
    }

    /// Whether enough is collected to be written.
    pub(crate) fn is_full(&self) -> bool {
        self.body.values_slice().len() >= 16_384 || self.bytes > 4 << 20
    }

    /// What was collected, as rows.
    pub(crate) fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        self.bytes = 0;
        let utc = |b: &mut TimestampNanosecondBuilder| Arc::new(b.finish().with_timezone("UTC")) as ArrayRef;
        let columns: Vec<ArrayRef> = vec![
            Arc::new(self.ordinal.finish()),
            utc(&mut self.logged_at),
            Arc::new(DictionaryArray::try_new(self.body.finish(), self.bodies.clone())?),
            Arc::new(self.source.finish()),
            Arc::new(DictionaryArray::try_new(self.source_name.finish(), self.names.clone())?),
            Arc::new(self.sequence.finish()),
            utc(&mut self.event_time),
            utc(&mut self.until),
            Arc::new(DictionaryArray::try_new(self.kind.finish(), self.kinds.clone())?),
            Arc::new(self.kind_id.finish()),
            Arc::new(self.device.finish()),
            Arc::new(self.lost.finish()),
            Arc::new(self.payload.finish()),
            Arc::new(self.author.finish()),
            Arc::new(self.text.finish()),
            Arc::new(self.wall_offset.finish()),
        ];
        RecordBatch::try_new(self.schema.clone(), columns)
    }
}

impl<'a> Row<'a> {
    fn of(body: &'a EntryBody) -> Row<'a> {
        match body {
            EntryBody::Record(r) => Row {
                source: Some(r.source.0),
                sequence: Some(r.sequence),
                event_time: Some(r.event_time),
                kind: Some((RECORDS, r.kind as u8)),
                payload: Some(&r.payload),
                ..Row::default()
            },
            EntryBody::Tick => Row { body: 1, ..Row::default() },
            EntryBody::Gap(g) => Row {
                body: 2,
                source: g.source.map(|s| s.0),
                event_time: Some(g.from),
                until: Some(g.to),
                kind: Some((GAPS, g.cause as u8)),
                lost: Some(g.lost),
                ..Row::default()
            },
            EntryBody::Link(l) => Row {
                body: 3,
                source: Some(l.source.0),
                event_time: Some(l.event_time),
                kind: Some((LINKS, l.state as u8)),
                device: l.device,
                text: Some(l.detail.as_str().into()),
                ..Row::default()
            },
            EntryBody::Anchor(a) => {
                Row { body: 4, event_time: Some(a.event_time), wall_offset: Some(a.wall_offset_ns), ..Row::default() }
            }
            EntryBody::Operator(o) => {
                let (id, text) = o.content.stored();
                Row {
                    body: 5,
                    event_time: Some(o.pressed_at),
                    kind: Some((ACTS, id)),
                    author: Some(&o.author),
                    text: Some(text),
                    ..Row::default()
                }
            }
            EntryBody::End => Row { body: 6, ..Row::default() },
        }
    }
}

/// The word for every key; places that stand for nothing are empty.
fn kind_words() -> StringArray {
    let word = |key: u8| match key {
        RECORDS..GAPS => RecordKind::from_id(key).map(record_kind_word),
        GAPS..LINKS => GapCause::from_id(key - GAPS).map(GapCause::word),
        LINKS..ACTS => LinkState::from_id(key - LINKS).map(LinkState::word),
        _ => ACTIONS.get(usize::from(key).wrapping_sub(usize::from(ACTS) + 1)).copied(),
    };
    StringArray::from_iter_values((0..128).map(|k| word(k).unwrap_or("")))
}
