//! Reading the tables back as what they were made from, to the bit.

use super::rows::QUALITIES;
use super::schema::{limit_column, quality_column, quality_words, uncertainty_column};
use super::{EVENTS, SAMPLES, SNAPSHOTS, TableError};
use crate::cells::{Cells, Timestamps, dictionary_words};
use crate::disk::{Disk, doing};
use crate::part::Chunks;
use arrow_array::types::{ArrowDictionaryKeyType, UInt8Type, UInt16Type};
use arrow_array::{Array, DictionaryArray, Float64Array, RecordBatch, StringArray, UInt64Array};
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::vec;
use stream::{
    ChannelId, Event, EventKind, EventTime, Layout, LimitState, Quality, Reading, Reason, Sample, Snapshot, SourceId,
};

/// Reads the tables of a recording back, piece by piece.
pub struct TablesReader {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    layout: Layout,
}

impl TablesReader {
    /// The tables of the recording in `folder`, whose manifest says `layout`.
    pub fn open(disk: Arc<dyn Disk>, folder: &Path, layout: &Layout) -> TablesReader {
        TablesReader { disk, folder: folder.to_owned(), layout: layout.clone() }
    }

    /// All samples in order.
    ///
    /// # Errors
    /// Where the parts cannot be listed; later, where one cannot be read.
    pub fn samples(&self) -> Result<impl Iterator<Item = Result<Sample, TableError>> + '_, TableError> {
        self.table(SAMPLES, 8192, samples)
    }

    /// All snapshots in order.
    ///
    /// # Errors
    /// As [`TablesReader::samples`].
    pub fn snapshots(&self) -> Result<impl Iterator<Item = Result<Snapshot, TableError>> + '_, TableError> {
        self.table(SNAPSHOTS, 512, snapshots)
    }

    /// All events in order.
    ///
    /// # Errors
    /// As [`TablesReader::samples`].
    pub fn events(&self) -> Result<impl Iterator<Item = Result<Event, TableError>> + '_, TableError> {
        self.table(EVENTS, 1024, events)
    }

    fn table<T>(&self, name: &str, batch: usize, parse: Parse<T>) -> Result<Parts<'_, T>, TableError> {
        let folder = self.folder.join(name);
        let mut files = self.disk.list(&folder).map_err(doing("list", &folder))?;
        files.retain(|f| f.ends_with(".parquet"));
        let files: Vec<PathBuf> = files.into_iter().map(|f| folder.join(f)).collect();
        let files = files.into_iter();
        Ok(Parts { reader: self, files, open: None, batch, parse, rows: Vec::new().into_iter(), failed: false })
    }
}

type Parse<T> = fn(&Layout, &RecordBatch) -> Result<Vec<T>, String>;

/// The rows of all parts of a table; ends after the first error.
struct Parts<'a, T> {
    reader: &'a TablesReader,
    files: vec::IntoIter<PathBuf>,
    open: Option<(PathBuf, ParquetRecordBatchReader)>,
    batch: usize,
    parse: Parse<T>,
    rows: vec::IntoIter<T>,
    failed: bool,
}

impl<T> Parts<'_, T> {
    fn next_row(&mut self) -> Result<Option<T>, TableError> {
        loop {
            if let Some(row) = self.rows.next() {
                return Ok(Some(row));
            }
            let Some((file, rows)) = &mut self.open else {
                let Some(file) = self.files.next() else { return Ok(None) };
                let chunks = Chunks::open(self.reader.disk.as_ref(), &file)?;
                let open = ParquetRecordBatchReaderBuilder::try_new(chunks)
                    .and_then(|b| b.with_batch_size(self.batch).build())
                    .map_err(|e| TableError::File { file: file.clone(), what: e.to_string() })?;
                self.open = Some((file, open));
                continue;
            };
            let wrong = |what| TableError::File { file: file.clone(), what };
            match rows.next() {
                None => self.open = None,
                Some(Err(e)) => return Err(wrong(e.to_string())),
                Some(Ok(rows)) => {
                    self.rows = (self.parse)(&self.reader.layout, &rows).map_err(wrong)?.into_iter();
                }
            }
        }
    }
}

impl<T> Iterator for Parts<'_, T> {
    type Item = Result<T, TableError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.failed {
            return None;
        }
        let next = self.next_row().transpose();
        self.failed = matches!(next, Some(Err(_)));
        next
    }
}

/// A column of words with what each means.
struct Words<'a, K: ArrowDictionaryKeyType, T> {
    column: &'a DictionaryArray<K>,
    name: String,
    meaning: Vec<Option<T>>,
}

impl<'a, K: ArrowDictionaryKeyType, T: Copy> Words<'a, K, T> {
    fn of(cells: &Cells<'a>, name: &str, meaning: impl FnMut(&str) -> Option<T>) -> Result<Self, String> {
        let column: &DictionaryArray<K> = cells.column(name)?;
        Ok(Words { column, name: name.to_owned(), meaning: dictionary_words(column, meaning)? })
    }

    fn get(&self, row: usize) -> Result<T, String> {
        let known = self.column.key(row).and_then(|key| self.meaning.get(key).copied().flatten());
        known.ok_or_else(|| format!("row {row}: the word in column {:?} is not known here", self.name))
    }
}

fn number(values: &Float64Array, row: usize) -> Option<f64> {
    values.is_valid(row).then(|| values.value(row))
}

fn reading(number: Option<f64>, quality: Quality, reason: Reason, row: usize) -> Result<Reading, String> {
    let (word, has) = (quality.word(), if number.is_some() { "a" } else { "no" });
    Reading::from_parts(number, quality, reason).ok_or_else(|| format!("row {row}: {word}, but there is {has} number"))
}

fn samples(layout: &Layout, rows: &RecordBatch) -> Result<Vec<Sample>, String> {
    let cells = Cells(rows);
    let time: &Timestamps = cells.column("time")?;
    let channel = Words::<UInt16Type, ChannelId>::of(&cells, "channel", |w| layout.column(w))?;
    let value: &Float64Array = cells.column("value")?;
    let quality =
        Words::<UInt8Type, Quality>::of(&cells, "quality", |w| QUALITIES.into_iter().find(|q| q.word() == w))?;
    let reason = Words::<UInt8Type, Reason>::of(&cells, "reason", |w| {
        Reason::WORDS.into_iter().find(|r| r.1 == w).map(|r| r.0)
    })?;
    let row = |i| {
        Ok(Sample {
            time: EventTime(time.value(i)),
            channel: channel.get(i)?,
            reading: reading(number(value, i), quality.get(i)?, reason.get(i)?, i)?,
        })
    };
    (0..rows.num_rows()).map(row).collect()
}

fn snapshots(layout: &Layout, rows: &RecordBatch) -> Result<Vec<Snapshot>, String> {
    let cells = Cells(rows);
    let time: &Timestamps = cells.column("time")?;
    let known = quality_words();
    let meaning = |w: &str| known.iter().find(|k| k.2 == w).map(|k| (k.0, k.1));
    let mut columns = Vec::new();
    for column in &layout.columns {
        let values: &Float64Array = cells.column(&column.name)?;
        columns.push((values, Words::<UInt8Type, _>::of(&cells, &quality_column(&column.name), meaning)?));
    }
    let uncertainties: Vec<&Float64Array> = layout
        .columns
        .iter()
        .filter(|c| c.with_uncertainty)
        .map(|c| cells.column(&uncertainty_column(&c.name)))
        .collect::<Result<_, _>>()?;
    let mut limits = Vec::new();
    for limit in &layout.limits {
        let state = |w: &str| LimitState::ALL.into_iter().find(|s: &LimitState| s.word() == w);
        limits.push(Words::<UInt8Type, _>::of(&cells, &limit_column(&limit.name), state)?);
    }
    let row = |i| {
        let one = |(values, words): &(&Float64Array, Words<'_, UInt8Type, (Quality, Reason)>)| {
            let (quality, reason) = words.get(i)?;
            reading(number(values, i), quality, reason, i)
        };
        Ok(Snapshot {
            time: EventTime(time.value(i)),
            readings: columns.iter().map(one).collect::<Result<_, String>>()?,
            uncertainties: uncertainties.iter().map(|u| number(u, i)).collect(),
            limits: limits.iter().map(|l| l.get(i)).collect::<Result<_, String>>()?,
            alarms: Box::default(),
        })
    };
    (0..rows.num_rows()).map(row).collect()
}

fn events(layout: &Layout, rows: &RecordBatch) -> Result<Vec<Event>, String> {
    let cells = Cells(rows);
    let time: &Timestamps = cells.column("time")?;
    let ordinal: &UInt64Array = cells.column("ordinal")?;
    let kind = Words::<UInt8Type, EventKind>::of(&cells, "kind", EventKind::from_word)?;
    let source = Words::<UInt16Type, SourceId>::of(&cells, "source", |w| {
        layout.sources.iter().position(|s| s.name == w).map(|i| SourceId(i as u16))
    })?;
    let subject: &StringArray = cells.column("subject")?;
    let value: &Float64Array = cells.column("value")?;
    let text: &StringArray = cells.column("text")?;
    let row = |i| {
        Ok(Event {
            time: EventTime(time.value(i)),
            ordinal: ordinal.value(i),
            kind: kind.get(i)?,
            source: if source.column.is_null(i) { None } else { Some(source.get(i)?) },
            subject: subject.value(i).to_owned(),
            value: number(value, i),
            text: text.value(i).to_owned(),
        })
    };
    (0..rows.num_rows()).map(row).collect()
}
