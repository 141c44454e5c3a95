//! Columns of rows read from Parquet, by name and type.

use arrow_array::types::{ArrowDictionaryKeyType, TimestampNanosecondType};
use arrow_array::{Array, DictionaryArray, PrimitiveArray, RecordBatch, StringArray};

/// A column of times.
pub(crate) type Timestamps = PrimitiveArray<TimestampNanosecondType>;

/// Rows whose columns are asked for by name.
pub(crate) struct Cells<'a>(pub(crate) &'a RecordBatch);

impl<'a> Cells<'a> {
    /// The column with this name.
    pub(crate) fn column<A: Array + 'static>(&self, name: &str) -> Result<&'a A, String> {
        let column = self.0.column_by_name(name).ok_or_else(|| format!("there is no column {name:?}"))?;
        column
            .as_any()
            .downcast_ref()
            .ok_or_else(|| format!("column {name:?} is of type {}, which is not expected there", column.data_type()))
    }
}

/// For every key of a column of words what the word means; `None` for words that mean nothing here.
pub(crate) fn dictionary_words<K: ArrowDictionaryKeyType, T>(
    column: &DictionaryArray<K>,
    mut meaning: impl FnMut(&str) -> Option<T>,
) -> Result<Vec<Option<T>>, String> {
    let words = column.values().as_any().downcast_ref::<StringArray>().ok_or("a column of words holds no text")?;
    Ok(words.iter().map(|w| w.and_then(&mut meaning)).collect())
}
