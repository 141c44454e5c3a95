//! A Parquet file being written under a temporary name, and one being read.

use crate::digests::{self, DigestError, Line, hex};
use crate::disk::{Disk, DiskError, DiskFile, DiskRead, doing, read_exact_at, remove_if_there};
use crate::manifest::RunId;
use arrow_array::RecordBatch;
use arrow_schema::SchemaRef;
use bytes::Bytes;
use parquet::arrow::ArrowWriter;
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{ChunkReader, Length};
use sha2::{Digest, Sha256};
use std::io::{self, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// A part cannot be written.
#[derive(Debug)]
pub(crate) enum PartError {
    /// The file system refused something.
    Disk(DiskError),
    /// Parquet did.
    Parquet(PathBuf, String),
}

/// A Parquet file being written. Dropped before [`Part::finish`], it leaves at most a temporary file.
pub(crate) struct Part {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    /// Relative to the recording.
    relative: String,
    temporary: PathBuf,
    writer: ArrowWriter<Hashed>,
    /// What the file system said, which Parquet's own error only quotes.
    refused: Arc<Mutex<Option<io::Error>>>,
    pub(crate) rows: u64,
    /// A row group is ended when it takes this much memory.
    pub(crate) group_bytes: usize,
}

/// A row group is ended when it takes this much memory, unless something else is asked for.
pub(crate) const GROUP_BYTES: usize = 16 << 20;

impl Part {
    /// Starts the file `relative` of the recording in `folder`.
    pub(crate) fn create(
        disk: &Arc<dyn Disk>,
        folder: &Path,
        relative: String,
        schema: SchemaRef,
        properties: WriterProperties,
    ) -> Result<Part, PartError> {
        let temporary = folder.join(format!("{relative}.tmp"));
        remove_if_there(disk.as_ref(), &temporary).map_err(PartError::Disk)?;
        let file = disk.create(&temporary).map_err(|e| PartError::Disk(doing("create", &temporary)(e)))?;
        let refused = Arc::new(Mutex::new(None));
        let out = Hashed { file, sha: Sha256::new(), refused: refused.clone() };
        let writer = ArrowWriter::try_new(out, schema, Some(properties))
            .map_err(|e| PartError::Parquet(temporary.clone(), e.to_string()))?;
        let (disk, folder) = (disk.clone(), folder.to_owned());
        Ok(Part { disk, folder, relative, temporary, writer, refused, rows: 0, group_bytes: GROUP_BYTES })
    }

    /// Takes rows. After an error the part is of no use.
    pub(crate) fn write(&mut self, rows: &RecordBatch) -> Result<(), PartError> {
        self.rows += rows.num_rows() as u64;
        let mut write = || {
            self.writer.write(rows)?;
            if self.writer.memory_size() > self.group_bytes { self.writer.flush() } else { Ok(()) }
        };
        write().map_err(|e| self.error(&e))
    }

    /// Adds to the file's own metadata.
    pub(crate) fn note(&mut self, key: &str, value: impl ToString) {
        self.writer.append_key_value_metadata(KeyValue::new(key.to_owned(), value.to_string()));
    }

    /// Completes the file: synced, then renamed. To be followed by [`note`].
    pub(crate) fn finish(mut self) -> Result<Line, PartError> {
        let finished = self.writer.finish().and_then(|_| Ok(self.writer.sync()?));
        if let Err(e) = finished {
            return Err(self.error(&e));
        }
        let out = self.writer.inner_mut();
        let sha256 = hex(&out.sha.finalize_reset());
        out.file.sync().map_err(|e| PartError::Disk(doing("sync", &self.temporary)(e)))?;
        let path = self.folder.join(&self.relative);
        self.disk.rename(&self.temporary, &path).map_err(|e| PartError::Disk(doing("put in place", &path)(e)))?;
        Ok(Line { sha256, path: self.relative })
    }

    /// Gives the part up and removes what there is of it, where the disk lets it.
    pub(crate) fn discard(self) {
        let (disk, temporary) = (self.disk.clone(), self.temporary.clone());
        drop(self);
        let _ = disk.remove(&temporary);
    }

    fn error(&self, e: &ParquetError) -> PartError {
        match self.refused.lock().unwrap_or_else(PoisonError::into_inner).take() {
            Some(io) => PartError::Disk(doing("write", &self.temporary)(io)),
            None => PartError::Parquet(self.temporary.clone(), e.to_string()),
        }
    }
}

/// Makes the name of a file that is in place durable and notes its digest. May be repeated until it succeeds.
pub(crate) fn note(disk: &dyn Disk, folder: &Path, run_id: RunId, line: Line) -> Result<(), DigestError> {
    let path = folder.join(&line.path);
    let parent = path.parent().unwrap_or(folder);
    disk.sync_folder(parent).map_err(doing("sync", parent))?;
    digests::append(disk, folder, run_id, line)
}

/// Passes bytes on to the file and into the digest.
struct Hashed {
    file: Box<dyn DiskFile>,
    sha: Sha256,
    refused: Arc<Mutex<Option<io::Error>>>,
}

impl Write for Hashed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.file.write(bytes) {
            Ok(n) => {
                self.sha.update(&bytes[..n]);
                Ok(n)
            }
            Err(e) => {
                let copy = e.raw_os_error().map_or_else(|| io::Error::from(e.kind()), io::Error::from_raw_os_error);
                *self.refused.lock().unwrap_or_else(PoisonError::into_inner) = Some(copy);
                Err(e)
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// A file of a disk as the Parquet reader wants it.
#[derive(Clone)]
pub(crate) struct Chunks {
    file: Arc<dyn DiskRead>,
    size: u64,
}

impl Chunks {
    pub(crate) fn open(disk: &dyn Disk, path: &Path) -> Result<Chunks, DiskError> {
        let open = || {
            let file: Arc<dyn DiskRead> = disk.open(path)?.into();
            Ok(Chunks { size: file.size()?, file })
        };
        open().map_err(doing("open", path))
    }
}

impl Length for Chunks {
    fn len(&self) -> u64 {
        self.size
    }
}

impl ChunkReader for Chunks {
    type T = BufReader<From>;

    fn get_read(&self, start: u64) -> parquet::errors::Result<Self::T> {
        Ok(BufReader::new(From { file: self.file.clone(), at: start }))
    }

    fn get_bytes(&self, start: u64, length: usize) -> parquet::errors::Result<Bytes> {
        if start.checked_add(length as u64).is_none_or(|end| end > self.size) {
            return Err(ParquetError::EOF(format!("{length} bytes at {start} are beyond the end of the file")));
        }
        let mut bytes = vec![0; length];
        read_exact_at(self.file.as_ref(), start, &mut bytes)?;
        Ok(bytes.into())
    }
}

/// Reads a file from an offset on.
pub(crate) struct From {
    file: Arc<dyn DiskRead>,
    at: u64,
}

impl Read for From {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let n = self.file.read_at(self.at, into)?;
        self.at += n as u64;
        Ok(n)
    }
}
