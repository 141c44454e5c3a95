//! A closed segment becomes Parquet.
use super::{ClosedSegment, LogError};
use crate::disk::Disk;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Turns a closed segment into Parquet. `sources` are the names of the sources by id.
///
/// # Errors
/// The segment is then still there; the call may be repeated.
pub fn segment_to_parquet(
    _disk: &Arc<dyn Disk>,
    _folder: &Path,
    _closed: &ClosedSegment,
    _sources: &[String],
) -> Result<PathBuf, LogError> {
    unimplemented!()
}
