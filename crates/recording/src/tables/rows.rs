//! Samples, snapshots and events are collected as columns.

use super::schema::{self, quality_key, quality_words};
use arrow_array::builder::{
    Float64Builder, StringBuilder, TimestampNanosecondBuilder, UInt8Builder, UInt16Builder, UInt64Builder,
};
use arrow_array::{
    ArrayRef, DictionaryArray, Float64Array, RecordBatch, StringArray, TimestampNanosecondArray, UInt8Array,
    UInt16Array,
};
use arrow_buffer::NullBufferBuilder;
use arrow_schema::{ArrowError, SchemaRef};
use std::sync::Arc;
use stream::{Event, EventKind, Layout, LimitState, Quality, Reading, Reason, Sample, Snapshot};

/// All qualities, in the order of their numbers.
pub(super) const QUALITIES: [Quality; 5] =
    [Quality::Good, Quality::Uncertain, Quality::Bad, Quality::Stale, Quality::Missing];

/// Rows of one table being collected.
pub(super) trait Collect {
    /// What a row is made from.
    type Row;

    /// Takes a row.
    ///
    /// # Errors
    /// Where it does not fit the layout.
    fn push(&mut self, row: &Self::Row) -> Result<(), String>;

    /// Rows collected.
    fn len(&self) -> usize;

    /// So many are enough to be written.
    fn enough(&self) -> usize;

    /// What was collected; nothing is left.
    fn take(&mut self) -> Result<RecordBatch, ArrowError>;
}

fn utc(times: &mut TimestampNanosecondBuilder) -> ArrayRef {
    Arc::new(times.finish().with_timezone("UTC"))
}

fn words(keys: &mut UInt8Builder, words: &ArrayRef) -> Result<ArrayRef, ArrowError> {
    Ok(Arc::new(DictionaryArray::try_new(keys.finish(), words.clone())?))
}

fn names(keys: &mut UInt16Builder, names: &ArrayRef) -> Result<ArrayRef, ArrowError> {
    Ok(Arc::new(DictionaryArray::try_new(keys.finish(), names.clone())?))
}

fn texts<S: AsRef<str>>(texts: impl IntoIterator<Item = S>) -> ArrayRef {
    Arc::new(StringArray::from_iter_values(texts))
}

/// Samples. The one table with many rows: plain vectors, which cost half of what Arrow's builders do.
pub(super) struct Samples {
    schema: SchemaRef,
    columns: usize,
    names: ArrayRef,
    qualities: ArrayRef,
    reasons: ArrayRef,
    time: Vec<i64>,
    channel: Vec<u16>,
    value: Vec<f64>,
    has_value: NullBufferBuilder,
    quality: Vec<u8>,
    reason: Vec<u8>,
}

/// Samples in a batch.
const SAMPLES_ENOUGH: usize = 65_536;

impl Samples {
    pub(super) fn new(layout: &Layout) -> Samples {
        Samples {
            schema: schema::samples(),
            columns: layout.columns.len(),
            names: texts(layout.columns.iter().map(|c| &c.name)),
            qualities: texts(QUALITIES.map(Quality::word)),
            reasons: texts(Reason::WORDS.map(|w| w.1)),
            time: Vec::new(),
            channel: Vec::new(),
            value: Vec::new(),
            has_value: NullBufferBuilder::new(SAMPLES_ENOUGH),
            quality: Vec::new(),
            reason: Vec::new(),
        }
    }
}

impl Collect for Samples {
    type Row = Sample;

    #[inline]
    fn push(&mut self, s: &Sample) -> Result<(), String> {
        if usize::from(s.channel.0) >= self.columns {
            return Err(format!("a sample of channel {} where the layout has {}", s.channel.0, self.columns));
        }
        let number = s.reading.number();
        self.time.push(s.time.0);
        self.channel.push(s.channel.0);
        self.value.push(number.unwrap_or_default());
        self.has_value.append(number.is_some());
        self.quality.push(s.reading.quality() as u8);
        self.reason.push(s.reading.reason() as u8);
        Ok(())
    }

    fn len(&self) -> usize {
        self.time.len()
    }

    fn enough(&self) -> usize {
        SAMPLES_ENOUGH
    }

    fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        let time = TimestampNanosecondArray::from(taken(&mut self.time)).with_timezone("UTC");
        let channel = DictionaryArray::try_new(UInt16Array::from(taken(&mut self.channel)), self.names.clone())?;
        let value = Float64Array::try_new(taken(&mut self.value).into(), self.has_value.finish())?;
        let quality = DictionaryArray::try_new(UInt8Array::from(taken(&mut self.quality)), self.qualities.clone())?;
        let reason = DictionaryArray::try_new(UInt8Array::from(taken(&mut self.reason)), self.reasons.clone())?;
        let columns: Vec<ArrayRef> =
            vec![Arc::new(time), Arc::new(channel), Arc::new(value), Arc::new(quality), Arc::new(reason)];
        RecordBatch::try_new(self.schema.clone(), columns)
    }
}

/// What was collected, with as much room left behind.
fn taken<T>(column: &mut Vec<T>) -> Vec<T> {
    let room = column.capacity();
    std::mem::replace(column, Vec::with_capacity(room))
}

/// Snapshots.
pub(super) struct Snapshots {
    schema: SchemaRef,
    quality_words: ArrayRef,
    states: ArrayRef,
    time: TimestampNanosecondBuilder,
    columns: Vec<SnapshotColumn>,
    uncertainties: usize,
    limits: Vec<UInt8Builder>,
}

#[derive(Default)]
struct SnapshotColumn {
    value: Float64Builder,
    quality: UInt8Builder,
    uncertainty: Option<Float64Builder>,
}

impl Snapshots {
    pub(super) fn new(layout: &Layout) -> Snapshots {
        Snapshots {
            schema: schema::snapshots(layout),
            quality_words: texts(quality_words().into_iter().map(|w| w.2)),
            states: texts(LimitState::ALL.map(LimitState::word)),
            time: TimestampNanosecondBuilder::new(),
            columns: layout
                .columns
                .iter()
                .map(|c| SnapshotColumn {
                    uncertainty: c.with_uncertainty.then(Float64Builder::new),
                    ..SnapshotColumn::default()
                })
                .collect(),
            uncertainties: layout.columns.iter().filter(|c| c.with_uncertainty).count(),
            limits: layout.limits.iter().map(|_| UInt8Builder::new()).collect(),
        }
    }
}

impl Collect for Snapshots {
    type Row = Snapshot;

    fn push(&mut self, s: &Snapshot) -> Result<(), String> {
        let fits = (self.columns.len(), self.uncertainties, self.limits.len());
        let has = (s.readings.len(), s.uncertainties.len(), s.limits.len());
        if has != fits {
            return Err(format!(
                "the snapshot at {} has {} readings, {} uncertainties and {} limits, the layout {}, {} and {}",
                s.time, has.0, has.1, has.2, fits.0, fits.1, fits.2
            ));
        }
        self.time.append_value(s.time.0);
        let mut uncertainties = s.uncertainties.iter();
        for (column, reading) in self.columns.iter_mut().zip(&s.readings) {
            column.value.append_option(Reading::number(*reading));
            column.quality.append_value(quality_key(reading.quality(), reading.reason()));
            if let Some(u) = &mut column.uncertainty {
                u.append_option(uncertainties.next().copied().flatten());
            }
        }
        for (column, state) in self.limits.iter_mut().zip(&s.limits) {
            column.append_value(*state as u8);
        }
        Ok(())
    }

    fn len(&self) -> usize {
        self.time.values_slice().len()
    }

    /// About 2 MiB.
    fn enough(&self) -> usize {
        ((2 << 20) / (8 + 9 * self.columns.len() + 8 * self.uncertainties + self.limits.len())).clamp(16, 8192)
    }

    fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        let mut columns = vec![utc(&mut self.time)];
        for column in &mut self.columns {
            columns.push(Arc::new(column.value.finish()));
            columns.push(words(&mut column.quality, &self.quality_words)?);
            if let Some(u) = &mut column.uncertainty {
                columns.push(Arc::new(u.finish()));
            }
        }
        for limit in &mut self.limits {
            columns.push(words(limit, &self.states)?);
        }
        RecordBatch::try_new(self.schema.clone(), columns)
    }
}

/// Events.
pub(super) struct Events {
    schema: SchemaRef,
    kinds: ArrayRef,
    sources: ArrayRef,
    time: TimestampNanosecondBuilder,
    ordinal: UInt64Builder,
    kind: UInt8Builder,
    source: UInt16Builder,
    subject: StringBuilder,
    value: Float64Builder,
    text: StringBuilder,
}

impl Events {
    pub(super) fn new(layout: &Layout) -> Events {
        Events {
            schema: schema::events(),
            kinds: texts(EventKind::WORDS.map(|w| w.1)),
            sources: texts(layout.sources.iter().map(|s| &s.name)),
            time: TimestampNanosecondBuilder::new(),
            ordinal: UInt64Builder::new(),
            kind: UInt8Builder::new(),
            source: UInt16Builder::new(),
            subject: StringBuilder::new(),
            value: Float64Builder::new(),
            text: StringBuilder::new(),
        }
    }
}

impl Collect for Events {
    type Row = Event;

    fn push(&mut self, e: &Event) -> Result<(), String> {
        if let Some(s) = e.source.filter(|s| usize::from(s.0) >= self.sources.len()) {
            return Err(format!("an event of source {} where the layout has {}", s.0, self.sources.len()));
        }
        self.time.append_value(e.time.0);
        self.ordinal.append_value(e.ordinal);
        self.kind.append_value(e.kind as u8 - 1);
        self.source.append_option(e.source.map(|s| s.0));
        self.subject.append_value(&e.subject);
        self.value.append_option(e.value);
        self.text.append_value(&e.text);
        Ok(())
    }

    fn len(&self) -> usize {
        self.time.values_slice().len()
    }

    fn enough(&self) -> usize {
        4096
    }

    fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        let columns = vec![
            utc(&mut self.time),
            Arc::new(self.ordinal.finish()),
            words(&mut self.kind, &self.kinds)?,
            names(&mut self.source, &self.sources)?,
            Arc::new(self.subject.finish()),
            Arc::new(self.value.finish()),
            Arc::new(self.text.finish()),
        ];
        RecordBatch::try_new(self.schema.clone(), columns)
    }
}
