//! Lines of a file, without copying them.

use plugin_api::CaptureError;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A line longer than this is no line of a capture.
const LONGEST: usize = 1 << 20;
/// Bytes read at once.
const PIECE: usize = 1 << 20;

/// Reads lines.
pub struct Lines {
    path: PathBuf,
    file: File,
    /// What ends a line: LF, or CR in a file whose first piece has no LF.
    end_mark: Option<u8>,
    buffer: Vec<u8>,
    /// What of the buffer is still to be given out.
    at: usize,
    end: usize,
    line: u64,
    read: u64,
    total: u64,
}

/// What is said of a last line without a terminator: a number in it may have lost its last digits.
pub(crate) const CUT_OFF: &str = "the file ends without a line end: it may have been cut off; add one if it is whole";

/// One line, without its terminator.
pub struct Line<'a> {
    /// The bytes.
    pub bytes: &'a [u8],
    /// Its number, from 1.
    pub number: u64,
    /// Whether the file ended without a terminator after it: it may have been cut off.
    pub unterminated: bool,
}

impl Lines {
    /// Lines of this file.
    ///
    /// # Errors
    /// A file that is not there or cannot be read.
    pub fn open(path: &Path) -> Result<Lines, CaptureError> {
        let trouble = |e: std::io::Error| trouble(path, &e);
        let file = File::open(path).map_err(trouble)?;
        let facts = file.metadata().map_err(trouble)?;
        if facts.is_dir() {
            return Err(CaptureError::File { file: name(path), what: "is a folder, not a capture".to_owned() });
        }
        let buffer = vec![0; PIECE.min(facts.len() as usize + 1).max(64)];
        let (path, total) = (path.to_owned(), facts.len());
        Ok(Lines { path, file, end_mark: None, buffer, at: 0, end: 0, line: 0, read: 0, total })
    }

    /// The file's name, for messages.
    pub fn file(&self) -> String {
        name(&self.path)
    }

    /// How far through the file it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        if self.total == 0 { 1.0 } else { (self.read - (self.end - self.at) as u64) as f64 / self.total as f64 }
    }

    /// The next line, or `None` after the last one.
    ///
    /// # Errors
    /// A file that cannot be read, or a line that never ends.
    pub fn next_line(&mut self) -> Result<Option<Line<'_>>, CaptureError> {
        let mut seen = 0;
        loop {
            if let Some(mark) = self.end_mark
                && let Some(n) = memchr::memchr(mark, &self.buffer[self.at + seen..self.end])
            {
                let (start, stop) = (self.at, self.at + seen + n);
                self.at = stop + 1;
                return Ok(Some(self.line(start, stop, false)));
            }
            seen = self.end - self.at;
            if seen > LONGEST {
                let what = format!("line {} is longer than {LONGEST} bytes: not a capture of lines", self.line + 1);
                return Err(CaptureError::File { file: self.file(), what });
            }
            if self.fill()? {
                seen = if self.end_mark.is_some() { seen } else { 0 };
                self.find_end_mark();
                continue;
            }
            if seen > 0 {
                let (start, stop) = (self.at, self.end);
                self.at = self.end;
                return Ok(Some(self.line(start, stop, true)));
            }
            return Ok(None);
        }
    }

    /// By the first piece: programs that end lines with CR alone never write an LF.
    fn find_end_mark(&mut self) {
        if self.end_mark.is_none() {
            let piece = &self.buffer[self.at..self.end];
            let only_cr = memchr::memchr(b'\n', piece).is_none() && memchr::memchr(b'\r', piece).is_some();
            // A CR that is the piece's last byte may be the first half of a CR LF.
            let half = self.read < self.total && piece.last() == Some(&b'\r');
            self.end_mark = Some(if only_cr && !half { b'\r' } else { b'\n' });
        }
    }

    fn line(&mut self, start: usize, stop: usize, unterminated: bool) -> Line<'_> {
        self.line += 1;
        let bytes = &self.buffer[start..stop];
        Line { bytes: bytes.strip_suffix(b"\r").unwrap_or(bytes), number: self.line, unterminated }
    }

    /// Reads more of the file behind what is left; false at its end.
    fn fill(&mut self) -> Result<bool, CaptureError> {
        self.buffer.copy_within(self.at..self.end, 0);
        self.end -= self.at;
        self.at = 0;
        if self.buffer.len() - self.end < PIECE / 2 && self.read < self.total {
            self.buffer.resize(self.end + PIECE, 0);
        } else if self.buffer.len() == self.end {
            // The file has grown since it was opened, or the last line fills the buffer.
            self.buffer.resize(self.end + PIECE / 2, 0);
        }
        let n = loop {
            match self.file.read(&mut self.buffer[self.end..]) {
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
                r => break r.map_err(|e| trouble(&self.path, &e))?,
            }
        };
        self.end += n;
        self.read += n as u64;
        Ok(n > 0)
    }
}

fn name(f: &Path) -> String {
    f.display().to_string()
}

fn trouble(f: &Path, e: &std::io::Error) -> CaptureError {
    CaptureError::File { file: name(f), what: format!("cannot be read: {e}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &[u8]) -> Vec<(u64, Vec<u8>, bool)> {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("f");
        std::fs::write(&file, text).unwrap();
        let mut lines = Lines::open(&file).unwrap();
        let mut got = Vec::new();
        while let Some(l) = lines.next_line().unwrap() {
            got.push((l.number, l.bytes.to_vec(), l.unterminated));
        }
        assert_eq!(lines.progress(), 1.0);
        got
    }

    #[test]
    fn a_last_line_without_end() {
        let want: [(u64, &[u8], bool); 3] = [(1, b"a", false), (2, b"", false), (3, b"b", true)];
        assert_eq!(all(b"a\r\n\nb"), want.map(|(n, b, u)| (n, b.to_vec(), u)));
        assert!(all(b"").is_empty());
    }

    #[test]
    fn lines_that_end_with_cr_alone() {
        let want: [(u64, &[u8], bool); 3] = [(1, b"a", false), (2, b"", false), (3, b"b", true)];
        assert_eq!(all(b"a\r\rb"), want.map(|(n, b, u)| (n, b.to_vec(), u)));
        assert_eq!(all(b"a\rb\n"), [(1, b"a\rb".to_vec(), false)]);
    }

    #[test]
    fn lines_across_pieces_are_whole() {
        let long = vec![b'x'; PIECE - 3];
        let text = [&long[..], b"\n", &long[..], b"\nend\n"].concat();
        let got = all(&text);
        assert_eq!(got.iter().map(|g| g.1.len()).collect::<Vec<_>>(), [long.len(), long.len(), 3]);
    }

    #[test]
    fn a_line_without_end_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let f = folder.path().join("zeros");
        std::fs::write(&f, vec![0; 3 * PIECE]).unwrap();
        let e = Lines::open(&f).unwrap().next_line().err().unwrap();
        assert!(e.to_string().contains("longer than 1048576 bytes"), "{e}");
    }
}
