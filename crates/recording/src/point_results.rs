//! Results of points as one Parquet file: a row a point and quantity.

use crate::disk::{Disk, RealDisk};
use crate::part::{Part, PartError};
use crate::tables::TableError;
use arrow_array::{ArrayRef, Float64Array, RecordBatch, StringArray};
use arrow_schema::{DataType, Field, Schema};
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use std::path::Path;
use std::sync::Arc;

/// One quantity at one point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PointResult {
    /// The point's name.
    pub point: String,
    /// The quantity's name.
    pub quantity: String,
    /// Its value, `None` where it has none.
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Standard uncertainty in that unit, `None` where it is not known.
    pub u: Option<f64>,
    /// Quality, or `quality:reason`.
    pub quality: String,
    /// The channels that contribute most, greatest first, with their share of the variance.
    pub contributors: String,
    /// What is to be said of it.
    pub remark: String,
    /// Formula and inputs.
    pub provenance: String,
}

/// The columns, in order.
pub const COLUMNS: [&str; 9] =
    ["point", "quantity", "value", "unit", "u", "quality", "contributors", "remark", "provenance"];

/// Writes them under this name; a file that is there is replaced, once the new one is whole.
///
/// # Errors
/// [`TableError`], where the file system refuses.
pub fn write(path: &Path, rows: &[PointResult]) -> Result<(), TableError> {
    let text =
        |of: fn(&PointResult) -> &String| -> ArrayRef { Arc::new(StringArray::from_iter_values(rows.iter().map(of))) };
    let number =
        |of: fn(&PointResult) -> Option<f64>| -> ArrayRef { Arc::new(rows.iter().map(of).collect::<Float64Array>()) };
    let columns: Vec<ArrayRef> = vec![
        text(|r| &r.point),
        text(|r| &r.quantity),
        number(|r| r.value),
        text(|r| &r.unit),
        number(|r| r.u),
        text(|r| &r.quality),
        text(|r| &r.contributors),
        text(|r| &r.remark),
        text(|r| &r.provenance),
    ];
    let fields: Vec<Field> = COLUMNS
        .iter()
        .zip(&columns)
        .map(|(name, column)| Field::new(*name, column.data_type().clone(), *column.data_type() == DataType::Float64))
        .collect();
    let schema = Arc::new(Schema::new(fields));
    let properties = WriterProperties::builder().set_compression(Compression::ZSTD(ZstdLevel::default())).build();
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let file = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let mut part = Part::create(&disk, folder, file, Arc::clone(&schema), properties)?;
    let batch = RecordBatch::try_new(schema, columns)
        .map_err(|e| PartError::Parquet(path.to_owned(), e.to_string()))
        .and_then(|rows| part.write(&rows));
    if let Err(e) = batch {
        part.discard();
        return Err(e.into());
    }
    part.finish()?;
    Ok(())
}
