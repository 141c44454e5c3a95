//! Disks for tests: one in memory, and one that fills up, fails and cuts writes short on demand.

use super::{Disk, DiskFile, DiskLock, DiskRead};
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Files in memory. Clones are the same disk.
#[derive(Clone, Default)]
pub struct MemoryDisk(Arc<Mutex<Files>>);

#[derive(Default)]
struct Files {
    content: BTreeMap<PathBuf, Arc<Mutex<Vec<u8>>>>,
    locks: BTreeMap<PathBuf, Arc<()>>,
}

fn held<T>(m: &Mutex<T>) -> MutexGuard<'_, T> {
    m.lock().unwrap_or_else(PoisonError::into_inner)
}

fn not_found() -> io::Error {
    io::ErrorKind::NotFound.into()
}

impl MemoryDisk {
    /// An independent copy as things stand now; nobody holds a lock on it.
    pub fn copy(&self) -> MemoryDisk {
        let content =
            held(&self.0).content.iter().map(|(p, c)| (p.clone(), Arc::new(Mutex::new(held(c).clone())))).collect();
        MemoryDisk(Arc::new(Mutex::new(Files { content, locks: BTreeMap::new() })))
    }

    /// The content of a file.
    pub fn content(&self, path: &Path) -> Option<Vec<u8>> {
        held(&self.0).content.get(path).map(|c| held(c).clone())
    }

    /// Puts a file there, or another content into it.
    pub fn put(&self, path: &Path, content: &[u8]) {
        held(&self.0).content.insert(path.to_owned(), Arc::new(Mutex::new(content.to_vec())));
    }

    /// The paths of all files.
    pub fn paths(&self) -> Vec<PathBuf> {
        held(&self.0).content.keys().cloned().collect()
    }
}

impl Disk for MemoryDisk {
    fn make_folder(&self, _folder: &Path) -> io::Result<()> {
        Ok(())
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        if held(&self.0).content.contains_key(path) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        self.append(path)
    }

    fn append(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(MemoryFile(held(&self.0).content.entry(path.to_owned()).or_default().clone())))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskRead>> {
        Ok(Box::new(MemoryFile(held(&self.0).content.get(path).ok_or_else(not_found)?.clone())))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut files = held(&self.0);
        let content = files.content.remove(from).ok_or_else(not_found)?;
        files.content.insert(to.to_owned(), content);
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        held(&self.0).content.remove(path).map(drop).ok_or_else(not_found)
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        Ok(())
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        let files = held(&self.0);
        let first = |p: &PathBuf| Some(p.strip_prefix(folder).ok()?.iter().next()?.to_string_lossy().into_owned());
        let mut names: Vec<String> = files.content.keys().filter_map(first).collect();
        names.dedup();
        Ok(names)
    }

    fn size(&self, path: &Path) -> io::Result<Option<u64>> {
        Ok(held(&self.0).content.get(path).map(|c| held(c).len() as u64))
    }

    fn free_space(&self, _folder: &Path) -> io::Result<u64> {
        Ok(u64::MAX)
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn DiskLock>>> {
        let mut files = held(&self.0);
        files.content.entry(path.to_owned()).or_default();
        let token = files.locks.entry(path.to_owned()).or_default();
        Ok((Arc::strong_count(token) == 1).then(|| Box::new(MemoryLock { _token: token.clone() }) as _))
    }
}

struct MemoryLock {
    _token: Arc<()>,
}

impl DiskLock for MemoryLock {}

struct MemoryFile(Arc<Mutex<Vec<u8>>>);

impl Write for MemoryFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        held(&self.0).extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl DiskFile for MemoryFile {
    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        held(&self.0).truncate(bytes as usize);
        Ok(())
    }
}

impl DiskRead for MemoryFile {
    fn size(&self) -> io::Result<u64> {
        Ok(held(&self.0).len() as u64)
    }

    fn read_at(&self, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        let content = held(&self.0);
        let from = content.len().min(offset as usize);
        let n = into.len().min(content.len() - from);
        into[..n].copy_from_slice(&content[from..from + n]);
        Ok(n)
    }
}

/// A disk around another one that fills up and fails on demand. Clones are the same disk.
///
/// Every operation that changes something (create, append, write, sync, truncate, rename, remove, sync of a
/// folder) is numbered from 0.
#[derive(Clone)]
pub struct LimitedDisk {
    inner: Arc<dyn Disk>,
    state: Arc<Mutex<Limits>>,
}

struct Limits {
    room: u64,
    operations: u64,
    fault: Option<Fault>,
}

/// What goes wrong at an operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The operation, from 0.
    pub at: u64,
    /// Whether all that follow fail as well.
    pub lasting: bool,
    /// What the system says.
    pub error: FaultError,
}

/// What the system says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultError {
    /// Input/output error; a write has already put half of its bytes there.
    Io,
    /// No space left; a write has already put half of its bytes there.
    Full,
}

impl FaultError {
    fn error(self) -> io::Error {
        io::Error::from_raw_os_error(match self {
            FaultError::Io => rustix::io::Errno::IO.raw_os_error(),
            FaultError::Full => rustix::io::Errno::NOSPC.raw_os_error(),
        })
    }
}

impl LimitedDisk {
    /// A disk around `inner` that has no limit yet.
    pub fn new(inner: Arc<dyn Disk>) -> LimitedDisk {
        LimitedDisk { inner, state: Arc::new(Mutex::new(Limits { room: u64::MAX, operations: 0, fault: None })) }
    }

    /// From now on this many bytes can be written; then writes are cut short and fail with "no space left".
    pub fn set_room(&self, bytes: u64) {
        held(&self.state).room = bytes;
    }

    /// Sets what goes wrong, or takes it away.
    pub fn set_fault(&self, fault: Option<Fault>) {
        held(&self.state).fault = fault;
    }

    /// How many operations there were.
    pub fn operations(&self) -> u64 {
        held(&self.state).operations
    }

    fn step(&self) -> io::Result<()> {
        let mut s = held(&self.state);
        let n = s.operations;
        s.operations += 1;
        match s.fault {
            Some(f) if n == f.at || (f.lasting && n > f.at) => Err(f.error.error()),
            _ => Ok(()),
        }
    }

    fn limited(&self, file: Box<dyn DiskFile>) -> Box<dyn DiskFile> {
        Box::new(LimitedFile { disk: self.clone(), file })
    }
}

impl Disk for LimitedDisk {
    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        self.step()?;
        self.inner.make_folder(folder)
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        self.step()?;
        Ok(self.limited(self.inner.create(path)?))
    }

    fn append(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        self.step()?;
        Ok(self.limited(self.inner.append(path)?))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn DiskRead>> {
        self.inner.open(path)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.step()?;
        self.inner.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.step()?;
        self.inner.remove(path)
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        self.step()?;
        self.inner.sync_folder(folder)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        self.inner.list(folder)
    }

    fn size(&self, path: &Path) -> io::Result<Option<u64>> {
        self.inner.size(path)
    }

    fn free_space(&self, _folder: &Path) -> io::Result<u64> {
        Ok(held(&self.state).room)
    }

    fn lock(&self, path: &Path) -> io::Result<Option<Box<dyn DiskLock>>> {
        self.inner.lock(path)
    }
}

struct LimitedFile {
    disk: LimitedDisk,
    file: Box<dyn DiskFile>,
}

impl Write for LimitedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if let Err(e) = self.disk.step() {
            self.file.write_all(&bytes[..bytes.len() / 2])?;
            return Err(e);
        }
        let room = held(&self.disk.state).room;
        let n = bytes.len().min(usize::try_from(room).unwrap_or(usize::MAX));
        if n == 0 && !bytes.is_empty() {
            return Err(FaultError::Full.error());
        }
        let n = self.file.write(&bytes[..n])?;
        held(&self.disk.state).room -= n as u64;
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl DiskFile for LimitedFile {
    fn sync(&mut self) -> io::Result<()> {
        self.disk.step()?;
        self.file.sync()
    }

    fn truncate(&mut self, bytes: u64) -> io::Result<()> {
        self.disk.step()?;
        self.file.truncate(bytes)
    }
}
