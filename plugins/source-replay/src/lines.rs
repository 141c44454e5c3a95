//! Lines of several files, one after the other, without copying them.

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
    files: Vec<PathBuf>,
    /// Files opened so far.
    opened: usize,
    file: Option<File>,
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
    /// Its number in its file, from 1.
    pub number: u64,
    /// Whether the file ended without a terminator after it: it may have been cut off.
    pub unterminated: bool,
}

impl Lines {
    /// Lines of these files.
    ///
    /// # Errors
    /// A file that is not there or cannot be read.
    pub fn open(files: &[PathBuf]) -> Result<Lines, CaptureError> {
        let mut total = 0;
        for f in files {
            let facts = std::fs::metadata(f).map_err(|e| trouble(f, &e))?;
            if facts.is_dir() {
                return Err(CaptureError::File { file: name(f), what: "is a folder, not a capture".to_owned() });
            }
            total += facts.len();
        }
        Ok(Lines {
            files: files.to_vec(),
            opened: 0,
            file: None,
            buffer: vec![0; PIECE],
            at: 0,
            end: 0,
            line: 0,
            read: 0,
            total,
        })
    }

    /// The file the last line came from.
    pub fn file(&self) -> String {
        self.opened.checked_sub(1).and_then(|i| self.files.get(i)).map_or_else(String::new, |f| name(f))
    }

    /// Which of the files the last line came from.
    pub fn index(&self) -> usize {
        self.opened.saturating_sub(1)
    }

    /// How far through the files it is, 0 to 1.
    pub fn progress(&self) -> f64 {
        if self.total == 0 { 1.0 } else { (self.read - (self.end - self.at) as u64) as f64 / self.total as f64 }
    }

    /// The next line, or `None` after the last line of the last file.
    ///
    /// # Errors
    /// A file that cannot be read, or a line that never ends.
    pub fn next_line(&mut self) -> Result<Option<Line<'_>>, CaptureError> {
        let mut seen = 0;
        loop {
            if let Some(n) = memchr::memchr(b'\n', &self.buffer[self.at + seen..self.end]) {
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
                continue;
            }
            if seen > 0 {
                let (start, stop) = (self.at, self.end);
                self.at = self.end;
                return Ok(Some(self.line(start, stop, true)));
            }
            if !self.next_file()? {
                return Ok(None);
            }
        }
    }

    fn line(&mut self, start: usize, stop: usize, unterminated: bool) -> Line<'_> {
        self.line += 1;
        let bytes = &self.buffer[start..stop];
        Line { bytes: bytes.strip_suffix(b"\r").unwrap_or(bytes), number: self.line, unterminated }
    }

    /// Reads more of the open file behind what is left; false at its end.
    fn fill(&mut self) -> Result<bool, CaptureError> {
        let Some(file) = &mut self.file else { return Ok(false) };
        self.buffer.copy_within(self.at..self.end, 0);
        self.end -= self.at;
        self.at = 0;
        if self.buffer.len() - self.end < PIECE / 2 {
            self.buffer.resize(self.end + PIECE, 0);
        }
        let path = &self.files[self.opened - 1];
        let n = loop {
            match file.read(&mut self.buffer[self.end..]) {
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
                r => break r.map_err(|e| trouble(path, &e))?,
            }
        };
        self.end += n;
        self.read += n as u64;
        Ok(n > 0)
    }

    fn next_file(&mut self) -> Result<bool, CaptureError> {
        let Some(path) = self.files.get(self.opened) else { return Ok(false) };
        self.file = Some(File::open(path).map_err(|e| trouble(path, &e))?);
        self.opened += 1;
        self.line = 0;
        Ok(true)
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

    fn all(texts: &[&[u8]]) -> Vec<(usize, u64, Vec<u8>, bool)> {
        let folder = tempfile::tempdir().unwrap();
        let files: Vec<PathBuf> = (0..texts.len()).map(|i| folder.path().join(format!("{i}"))).collect();
        files.iter().zip(texts).for_each(|(f, t)| std::fs::write(f, t).unwrap());
        let mut lines = Lines::open(&files).unwrap();
        let mut got = Vec::new();
        while let Some(l) = lines.next_line().unwrap() {
            let (number, bytes, unterminated) = (l.number, l.bytes.to_vec(), l.unterminated);
            got.push((lines.index(), number, bytes, unterminated));
        }
        assert_eq!(lines.progress(), 1.0);
        got
    }

    #[test]
    fn several_files_and_a_last_line_without_end() {
        let got = all(&[b"a\r\n\nb", b"", b"c\n"]);
        let want: [(usize, u64, &[u8], bool); 4] =
            [(0, 1, b"a", false), (0, 2, b"", false), (0, 3, b"b", true), (2, 1, b"c", false)];
        assert_eq!(got, want.map(|(i, n, b, u)| (i, n, b.to_vec(), u)));
    }

    #[test]
    fn lines_across_pieces_are_whole() {
        let long = vec![b'x'; PIECE - 3];
        let text = [&long[..], b"\n", &long[..], b"\nend\n"].concat();
        let got = all(&[&text]);
        assert_eq!(got.iter().map(|g| g.2.len()).collect::<Vec<_>>(), [long.len(), long.len(), 3]);
    }

    #[test]
    fn a_line_without_end_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let f = folder.path().join("zeros");
        std::fs::write(&f, vec![0; 3 * PIECE]).unwrap();
        let e = Lines::open(&[f]).unwrap().next_line().err().unwrap();
        assert!(e.to_string().contains("longer than 1048576 bytes"), "{e}");
    }
}
