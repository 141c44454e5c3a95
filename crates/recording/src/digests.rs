//! `digests`: the SHA-256 of every final file, in lines that `sha256sum -c digests` checks, each followed by a
//! comment that chains it to the lines before:
//!
//! ```text
//! 5891b5b5…  log/000001.parquet
//! # chain 1 0f343b09…
//! ```
//! Link 0 is SHA-256 of `bise digests 1 <run id>\n`; link n is SHA-256 of link n−1 in hexadecimal, a blank, and the
//! file's line with its end. A line that is changed, removed or moved breaks every link after it. Lines taken off
//! the end are noticed by the manifest: its own line is the last of a recording that has ended.
//!
//! The file is only ever appended to. A line torn by a crash is no line: the next append writes over it.

use crate::disk::{Disk, DiskError, DiskRead, doing, read_all};
use crate::manifest::RunId;
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

mod verify;

pub(crate) use verify::wrong;
pub use verify::{Verified, Wrong, verify};

/// The file's name.
pub const FILE: &str = "digests";

/// Appends come from the thread that converts the log and from the one that writes tables; across processes the
/// lock of the recording keeps them apart.
static APPENDING: Mutex<()> = Mutex::new(());

/// `digests` is not what it should be.
#[derive(Debug, thiserror::Error)]
pub enum DigestError {
    /// The file system refused something.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// A line is damaged, missing or out of order.
    #[error("{}:{line}: {what}", .file.display())]
    Line {
        /// The file.
        file: PathBuf,
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        what: String,
    },
    /// A final file has changed.
    #[error("{}: {path} has a line already, with another digest; a final file must not change", .file.display())]
    Changed {
        /// The file with the digests.
        file: PathBuf,
        /// The file that changed, relative to the recording.
        path: String,
    },
}

/// The digest of one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its SHA-256, 64 hexadecimal digits.
    pub sha256: String,
    /// Its path, relative to the recording.
    pub path: String,
}

/// What a `digests` file holds.
#[derive(Clone, Debug)]
pub struct Digests {
    /// The lines in order; the chain over them is right.
    pub lines: Vec<Line>,
    chain: String,
    /// Bytes that hold them; what follows is a torn line.
    whole: usize,
}

impl Digests {
    fn empty(run_id: RunId) -> Digests {
        Digests { lines: Vec::new(), chain: sha256(format!("bise digests 1 {run_id}\n").as_bytes()), whole: 0 }
    }

    /// Reads the digests of a recording; none where the file is missing. A torn last line is left out.
    ///
    /// # Errors
    /// Where the file cannot be read, or its chain is broken.
    pub fn read(disk: &dyn Disk, folder: &Path, run_id: RunId) -> Result<Digests, DigestError> {
        let file = folder.join(FILE);
        let mut digests = Digests::empty(run_id);
        if disk.size(&file).map_err(doing("read", &file))?.is_none() {
            return Ok(digests);
        }
        let bytes = read_all(disk, &file)?;
        let wrong = |line, what: &str| DigestError::Line { file: file.clone(), line, what: what.to_owned() };
        let mut rest = bytes.as_slice();
        for n in 1.. {
            // A pair of lines is written at once: what has no end of its own is torn.
            let Some(end) = nth_line_end(rest, 2) else { break };
            let (pair, after) = rest.split_at(end);
            let text = std::str::from_utf8(pair).map_err(|_| wrong(2 * n - 1, "is not text"))?;
            let (line, chain) = text.trim_end_matches('\n').split_once('\n').unwrap_or_default();
            let (sha256, path) = line
                .split_once("  ")
                .filter(|(h, p)| h.len() == 64 && h.bytes().all(|b| b.is_ascii_hexdigit()) && !p.is_empty())
                .ok_or_else(|| wrong(2 * n - 1, "is no digest with two blanks and a path"))?;
            let line = Line { sha256: sha256.to_owned(), path: path.to_owned() };
            let expected = digests.push(line);
            if expected.trim_end().rsplit_once('\n').map(|p| p.1) != Some(chain) {
                return Err(wrong(2 * n, "the chain is broken: a line before was changed, removed or moved"));
            }
            rest = after;
        }
        digests.whole = bytes.len() - rest.len();
        Ok(digests)
    }

    /// The digest of a path.
    pub fn of(&self, path: &str) -> Option<&Line> {
        self.lines.iter().find(|l| l.path == path)
    }

    /// Takes a line; the text to be appended to the file for it.
    fn push(&mut self, line: Line) -> String {
        let text = format!("{}  {}\n", line.sha256, line.path);
        self.chain = sha256(format!("{} {text}", self.chain).as_bytes());
        self.lines.push(line);
        format!("{text}# chain {} {}\n", self.lines.len(), self.chain)
    }

    /// The content of a file with these lines and nothing else.
    pub(crate) fn text_of(run_id: RunId, lines: Vec<Line>) -> String {
        let mut digests = Digests::empty(run_id);
        lines.into_iter().map(|l| digests.push(l)).collect()
    }
}

fn nth_line_end(bytes: &[u8], n: usize) -> Option<usize> {
    bytes.iter().enumerate().filter(|(_, b)| **b == b'\n').nth(n - 1).map(|(i, _)| i + 1)
}

/// Appends the digest of a final file and makes it durable. The same digest once more changes nothing.
///
/// # Errors
/// Where the disk refuses, the chain is broken, or the path has another digest already.
pub fn append(disk: &dyn Disk, folder: &Path, run_id: RunId, line: Line) -> Result<(), DigestError> {
    let _one_at_a_time = APPENDING.lock().unwrap_or_else(PoisonError::into_inner);
    let file = folder.join(FILE);
    let mut digests = Digests::read(disk, folder, run_id)?;
    match digests.of(&line.path) {
        Some(l) if l.sha256 == line.sha256 => return Ok(()),
        Some(_) => return Err(DigestError::Changed { file, path: line.path }),
        None => {}
    }
    let size = disk.size(&file).map_err(doing("read", &file))?;
    let mut out = disk.append(&file).map_err(doing("open", &file))?;
    if size.unwrap_or(0) > digests.whole as u64 {
        out.truncate(digests.whole as u64).map_err(doing("cut a torn line off", &file))?;
    }
    out.write_all(digests.push(line).as_bytes()).map_err(doing("write", &file))?;
    out.sync().map_err(doing("sync", &file))?;
    if size.is_none() {
        disk.sync_folder(folder).map_err(doing("sync", folder))?;
    }
    Ok(())
}

/// SHA-256 of bytes, 64 hexadecimal digits.
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// SHA-256 of a file, read piece by piece.
///
/// # Errors
/// Where it cannot be read.
pub fn sha256_of_file(disk: &dyn Disk, path: &Path) -> Result<String, DiskError> {
    let read = |file: &dyn DiskRead| {
        let (mut sha, mut piece, mut at) = (Sha256::new(), vec![0; 1 << 20], 0);
        loop {
            match file.read_at(at, &mut piece)? {
                0 => return Ok(hex(&sha.finalize())),
                n => {
                    sha.update(&piece[..n]);
                    at += n as u64;
                }
            }
        }
    };
    disk.open(path).and_then(|f| read(f.as_ref())).map_err(doing("read", path))
}

/// Lower-case hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests;
