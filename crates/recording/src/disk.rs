//! The file system as a recording needs it: the one edge through which every byte of a recording goes.
//!
//! Narrow on purpose: what is not here, a recording does not do. [`RealDisk`] is the operating system's;
//! [`fake`] holds disks for tests: one in memory and one that fills up and fails on demand.

pub mod fake;
mod real;

pub use real::RealDisk;

use std::io;
use std::path::{Path, PathBuf};

/// A file system.
///
/// A rename replaces what has the new name, in one step. A name is durable once [`Disk::sync_folder`] of its
/// folder has returned, content once [`DiskFile::sync`] has.
pub trait Disk: Send + Sync {
    /// Makes a folder and those above it; one that is there is left as it is.
    fn make_folder(&self, folder: &Path) -> io::Result<()>;

    /// Makes a new, empty file to write to; fails where one is there.
    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Opens a file to write at its end; makes it where it is missing.
    fn append(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;

    /// Opens a file to read.
    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskRead>>;

    /// Gives a file another name, replacing what has that name.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Makes the names in a folder durable.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// The names in a folder, sorted; empty where there is no such folder.
    fn list(&self, folder: &Path) -> io::Result<Vec<String>>;

    /// The size of a file in bytes; `None` where there is no such file.
    fn size(&self, path: &Path) -> io::Result<Option<u64>>;

    /// Bytes that can still be written in this folder.
    fn free_space(&self, folder: &Path) -> io::Result<u64>;

    /// Takes the lock that a file stands for, making the file where it is missing. `None` where somebody else
    /// holds it. A lock ends when it is dropped and when its process ends, however that comes about.
    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn DiskLock>>>;
}

/// A file being written, at its end only.
pub trait DiskFile: io::Write + Send {
    /// Makes everything written so far durable.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts the file to this length; what is written next follows there.
    fn truncate(&mut self, bytes: u64) -> io::Result<()>;
}

/// A file being read.
pub trait DiskRead: Send + Sync {
    /// Its size in bytes.
    fn size(&self) -> io::Result<u64>;

    /// Reads at an offset, as many bytes as come; 0 at the end.
    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize>;
}

/// A lock that is held.
pub trait DiskLock: Send + Sync {}

/// The file system refused something.
#[derive(Debug, thiserror::Error)]
#[error("cannot {action} {}: {source}{}", .path.display(), remedy(.source))]
pub struct DiskError {
    /// What was tried.
    pub action: &'static str,
    /// With which file or folder.
    pub path: PathBuf,
    /// What the system said.
    #[source]
    pub source: io::Error,
}

fn remedy(e: &io::Error) -> &'static str {
    match e.kind() {
        io::ErrorKind::StorageFull => "; free some space on that disk",
        io::ErrorKind::PermissionDenied => "; check who owns the folder",
        io::ErrorKind::ReadOnlyFilesystem => "; choose a folder on a disk that can be written to",
        _ => "",
    }
}

impl DiskError {
    /// Whether the disk was full.
    pub fn is_full(&self) -> bool {
        self.source.kind() == io::ErrorKind::StorageFull
    }
}

/// Says what was tried with which path, for `map_err`.
pub(crate) fn doing(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> DiskError {
    let path = path.to_owned();
    move |source| DiskError { action, path, source }
}

/// Reads exactly as many bytes as there is room for, or fails with `UnexpectedEof`.
pub(crate) fn read_exact_at(file: &dyn DiskRead, mut offset: u64, mut into: &mut [u8]) -> io::Result<()> {
    while !into.is_empty() {
        match file.read_at(offset, into) {
            Ok(0) => return Err(io::ErrorKind::UnexpectedEof.into()),
            Ok(n) => {
                offset += n as u64;
                into = &mut into[n..];
            }
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// The whole content of a file.
pub(crate) fn read_all(disk: &dyn Disk, path: &Path) -> Result<Vec<u8>, DiskError> {
    let read = || {
        let file = disk.open(path)?;
        let size = usize::try_from(file.size()?).map_err(|_| io::Error::from(io::ErrorKind::FileTooLarge))?;
        let mut bytes = vec![0; size];
        read_exact_at(file.as_ref(), 0, &mut bytes)?;
        Ok(bytes)
    };
    read().map_err(doing("read", path))
}

/// Removes a file; one that is not there is no error.
pub(crate) fn remove_if_there(disk: &dyn Disk, path: &Path) -> Result<(), DiskError> {
    match disk.remove(path) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(doing("remove", path)(e)),
        _ => Ok(()),
    }
}

/// Writes a whole file so that after a crash either the old or the new content is there: temporary name, sync,
/// rename, sync of the folder.
pub(crate) fn write_whole(disk: &dyn Disk, folder: &Path, name: &str, content: &[u8]) -> Result<(), DiskError> {
    let (path, temporary) = (folder.join(name), folder.join(format!("{name}.tmp")));
    remove_if_there(disk, &temporary)?;
    let mut file = disk.create(&temporary).map_err(doing("create", &temporary))?;
    file.write_all(content).map_err(doing("write", &temporary))?;
    file.sync().map_err(doing("sync", &temporary))?;
    drop(file);
    disk.rename(&temporary, &path).map_err(doing("put in place", &path))?;
    disk.sync_folder(folder).map_err(doing("sync", folder))
}
