//! The folder of a recording as a whole: made, opened, finished.
//!
//! The file `lock` is locked for as long as a process writes the recording; the lock ends with the process. A
//! recording whose manifest reports no end is unfinished: being written where the lock is held, else left by a
//! crash.

use crate::digests::{self, DigestError, Line};
use crate::disk::{Disk, DiskError, DiskLock, doing, remove_if_there, write_whole};
use crate::log::{LogError, LogOptions, LogReader, LogWriter};
use crate::manifest::{self, End, Ending, Manifest, ManifestError};
use crate::tables::TablesReader;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file whose lock says that the recording is being written.
pub const LOCK: &str = "lock";

/// A recording being written; holds its lock until it is finished or dropped.
pub struct Recording {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    manifest: Manifest,
    lock: Box<dyn DiskLock>,
}

/// In which state a recording is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Ended in order.
    Complete,
    /// Salvaged after a crash.
    Salvaged,
    /// Some process is writing it.
    BeingWritten,
    /// Ended by a crash, not salvaged.
    Unfinished,
}

/// A recording that is there.
#[derive(Clone, Debug)]
pub struct Stored {
    /// Its folder.
    pub folder: PathBuf,
    /// Its manifest.
    pub manifest: Manifest,
    /// Its state.
    pub state: State,
}

/// A folder is not the recording it should be.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// The manifest.
    #[error(transparent)]
    Manifest(#[from] ManifestError),
    /// The digests.
    #[error(transparent)]
    Digests(#[from] DigestError),
    /// A new recording needs a new folder.
    #[error("{} is not empty: {found:?} is there; a recording needs a folder of its own", .folder.display())]
    NotEmpty {
        /// The folder.
        folder: PathBuf,
        /// Something in it.
        found: String,
    },
    /// Another process writes there.
    #[error("{} is being written by another process; wait until that has ended", .0.display())]
    BeingWritten(PathBuf),
    /// There is no recording.
    #[error("{} is not a recording: there is no manifest.toml in it", .0.display())]
    NotARecording(PathBuf),
    /// A run that crashed before its manifest was in place.
    #[error(
        "{} is a recording that ended before its manifest was written: nothing was recorded; the folder can go",
        .0.display()
    )]
    NeverBegan(PathBuf),
}

impl Recording {
    /// Makes the folder, takes its lock and writes the manifest.
    ///
    /// # Errors
    /// Where the folder is not empty or the disk refuses.
    pub fn create(disk: Arc<dyn Disk>, folder: &Path, mut manifest: Manifest) -> Result<Recording, FolderError> {
        manifest.end = None;
        disk.make_folder(folder).map_err(doing("make", folder))?;
        if let Some(found) = disk.list(folder).map_err(doing("list", folder))?.into_iter().next() {
            return Err(FolderError::NotEmpty { folder: folder.to_owned(), found });
        }
        if let Some(above) = folder.parent().filter(|p| !p.as_os_str().is_empty()) {
            disk.sync_folder(above).map_err(doing("sync", above))?;
        }
        let lock = take_lock(disk.as_ref(), folder)?;
        write_whole(disk.as_ref(), folder, manifest::FILE, manifest.to_text()?.as_bytes())?;
        Ok(Recording { disk, folder: folder.to_owned(), manifest, lock })
    }

    /// Takes up a recording again that is there: what salvage does.
    pub(crate) fn take_up(disk: Arc<dyn Disk>, stored: Stored) -> Result<Recording, FolderError> {
        let lock = take_lock(disk.as_ref(), &stored.folder)?;
        Ok(Recording { disk, folder: stored.folder, manifest: stored.manifest, lock })
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The disk.
    pub fn disk(&self) -> &Arc<dyn Disk> {
        &self.disk
    }

    /// The manifest as it was written at the start.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Starts the log.
    ///
    /// # Errors
    /// Where its first segment cannot be made.
    pub fn log(&self, segment_bytes: u64) -> Result<LogWriter, LogError> {
        let options = LogOptions { run_id: self.manifest.run_id, segment_bytes };
        LogWriter::create(self.disk.clone(), &self.folder, options)
    }

    /// Writes the manifest for the last time and gives the lock back. Log and tables must be closed and converted
    /// before. The manifest's digest is noted first, so that a recording that reports its end is whole.
    ///
    /// # Errors
    /// The recording is then unfinished and can be salvaged.
    pub fn finish(mut self, end: End) -> Result<Manifest, FolderError> {
        self.manifest.end = Some(end);
        let text = self.manifest.to_text()?;
        let line = Line { sha256: digests::sha256(text.as_bytes()), path: manifest::FILE.to_owned() };
        digests::append(self.disk.as_ref(), &self.folder, self.manifest.run_id, line)?;
        write_whole(self.disk.as_ref(), &self.folder, manifest::FILE, text.as_bytes())?;
        drop(self.lock);
        // Left behind, it says nothing: nobody holds it.
        let _ = remove_if_there(self.disk.as_ref(), &self.folder.join(LOCK));
        Ok(self.manifest)
    }
}

fn take_lock(disk: &dyn Disk, folder: &Path) -> Result<Box<dyn DiskLock>, FolderError> {
    let path = folder.join(LOCK);
    disk.lock(&path).map_err(doing("lock", &path))?.ok_or_else(|| FolderError::BeingWritten(folder.to_owned()))
}

impl Stored {
    /// Opens a recording that is there, to read it.
    ///
    /// # Errors
    /// Where there is none or its manifest cannot be read.
    pub fn open(disk: &dyn Disk, folder: &Path) -> Result<Stored, FolderError> {
        let size = |name| {
            let path = folder.join(name);
            disk.size(&path).map_err(doing("read", &path))
        };
        if size(manifest::FILE)?.is_none() {
            let folder = folder.to_owned();
            let began = size(LOCK)?.is_some();
            return Err(if began { FolderError::NeverBegan(folder) } else { FolderError::NotARecording(folder) });
        }
        let manifest = Manifest::read(disk, folder)?;
        let state = match manifest.end.as_ref().map(|e| e.how) {
            Some(Ending::Complete) => State::Complete,
            Some(Ending::Salvaged) => State::Salvaged,
            None if size(LOCK)?.is_none() => State::Unfinished,
            None => match take_lock(disk, folder) {
                Ok(_given_back_at_once) => State::Unfinished,
                Err(FolderError::BeingWritten(_)) => State::BeingWritten,
                Err(e) => return Err(e),
            },
        };
        Ok(Stored { folder: folder.to_owned(), manifest, state })
    }

    /// Its log.
    ///
    /// # Errors
    /// Where the files cannot be listed.
    pub fn log(&self, disk: &Arc<dyn Disk>) -> Result<LogReader, LogError> {
        LogReader::open(disk, &self.folder, self.manifest.run_id)
    }

    /// Its tables.
    pub fn tables(&self, disk: &Arc<dyn Disk>) -> TablesReader {
        TablesReader::open(disk.clone(), &self.folder, &self.manifest.layout)
    }

    /// Checks its digests.
    ///
    /// # Errors
    /// Where the digests cannot be read or their chain is broken.
    pub fn verify(&self, disk: &dyn Disk) -> Result<digests::Verified, DigestError> {
        digests::verify(disk, &self.folder, self.manifest.run_id, self.manifest.end.is_some())
    }
}

#[cfg(test)]
mod tests;
