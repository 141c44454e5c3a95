//! The operating system's file system.

use super::{Disk, DiskFile, DiskLock, DiskRead};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::os::unix::fs::FileExt;
use std::path::Path;

/// The operating system's file system.
#[derive(Clone, Copy, Debug, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        fs::create_dir_all(folder)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(Written(OpenOptions::new().append(true).create_new(true).open(path)?)))
    }

    fn append(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(Written(OpenOptions::new().append(true).create(true).open(path)?)))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskRead>> {
        Ok(Box::new(Read(File::open(path)?)))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        File::open(folder)?.sync_all()
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        let entries = match fs::read_dir(folder) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            r => r?,
        };
        let mut names =
            entries.map(|e| Ok(e?.file_name().to_string_lossy().into_owned())).collect::<io::Result<Vec<String>>>()?;
        names.sort();
        Ok(names)
    }

    fn size(&self, path: &Path) -> io::Result<Option<u64>> {
        match fs::metadata(path) {
            Ok(m) => Ok(Some(m.len())),
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(e),
        }
    }

    fn free_space(&self, folder: &Path) -> io::Result<u64> {
        let s = rustix::fs::statvfs(folder)?;
        // For whoever is not root: what is kept back for root is no room for a recording.
        Ok(s.f_bavail.saturating_mul(s.f_frsize))
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn DiskLock>>> {
        // What is there is only opened to read, so that a recording on a read-only disk can be looked at.
        let file = match File::open(path) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                OpenOptions::new().read(true).append(true).create(true).open(path)?
            }
            r => r?,
        };
        match file.try_lock() {
            Ok(()) => Ok(Some(Box::new(Locked { _file: file }))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(e)) => Err(e),
        }
    }
}

struct Written(File);

impl Write for Written {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl DiskFile for Written {
    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.0.set_len(bytes)
    }
}

struct Read(File);

impl DiskRead for Read {
    fn size(&self) -> io::Result<u64> {
        Ok(self.0.metadata()?.len())
    }

    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        self.0.read_at(into, offset)
    }
}

struct Locked {
    _file: File,
}

impl DiskLock for Locked {}
