//! All lines of an instrument: their kinds, and the checksum that each carries.

use super::{Misfit, TextFormat, TextFormatError};
use crate::checksum::Checksum;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};

/// The lines of an instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct TextLines {
    checksum: Option<LineChecksum>,
    /// Each kind with the index of its first reading. An instrument that is asked: one a query, in the order of the
    /// queries.
    kinds: Vec<(u16, TextFormat)>,
}

/// The checksum at the end of a line.
#[derive(Clone, Debug, PartialEq)]
pub struct LineChecksum {
    /// How it is made.
    pub algorithm: Checksum,
    /// It covers what stands behind the first of these; `None` = from the line's beginning.
    pub after: Option<String>,
    /// It stands behind the last of these, and does not cover what follows; `None` = the last characters are it.
    pub before: Option<String>,
    /// Whether `after` and `before` themselves are covered.
    pub covers_marks: bool,
    /// How its value is written.
    pub written: Written,
}

/// How a checksum's value is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// Two hexadecimal digits a byte, capital or small.
    Hex,
    /// Decimal digits; three for one byte, five for two where no mark stands before it.
    Decimal,
}

impl From<TextFormat> for TextLines {
    fn from(format: TextFormat) -> TextLines {
        TextLines { checksum: None, kinds: vec![(0, format)] }
    }
}

impl TextLines {
    /// Lines of these kinds, told apart by what they begin with.
    ///
    /// # Errors
    /// Two kinds that begin alike, two fields of one name, a mark that can never be found.
    pub fn new(checksum: Option<LineChecksum>, kinds: Vec<TextFormat>) -> Result<TextLines, TextFormatError> {
        for (i, a) in kinds.iter().enumerate() {
            let alike = |b: &&TextFormat| {
                let (a, b) = (a.begins_with(), b.begins_with());
                a.starts_with(b) || b.starts_with(a)
            };
            if let Some(b) = kinds[..i].iter().find(alike) {
                let (a, b) = (a.begins_with(), b.begins_with());
                return Err(TextFormatError::Kinds(if a.len() > b.len() { a } else { b }.to_owned()));
            }
        }
        TextLines::answers(checksum, kinds)
    }

    /// Lines that answer queries: the n-th kind answers the n-th query.
    ///
    /// # Errors
    /// Two fields of one name, a mark that can never be found.
    pub fn answers(checksum: Option<LineChecksum>, kinds: Vec<TextFormat>) -> Result<TextLines, TextFormatError> {
        if kinds.is_empty() {
            return Err(TextFormatError::Empty);
        }
        let marks = checksum.iter().flat_map(|c| [&c.after, &c.before]).flatten();
        if let Some(mark) = marks.into_iter().find(|m| m.is_empty() || m.contains(['\r', '\n'])) {
            return Err(TextFormatError::Mark(mark.clone()));
        }
        let mut names: Vec<&str> = kinds.iter().flat_map(|k| k.fields().map(|f| f.name.as_str())).collect();
        let total = names.len();
        names.sort_unstable();
        if let Some(pair) = names.windows(2).find(|w| w[0] == w[1]) {
            return Err(TextFormatError::Name(pair[0].to_owned()));
        }
        u16::try_from(total).map_err(|_| TextFormatError::TooMany(total))?;
        let mut first = 0;
        let numbered = kinds.into_iter().map(|k| {
            let at = first;
            first += k.fields().len() as u16;
            (at, k)
        });
        Ok(TextLines { checksum, kinds: numbered.collect() })
    }

    /// What the readings are called.
    pub fn readings(&self) -> Vec<ReadingInfo> {
        self.kinds.iter().flat_map(|(_, k)| k.readings()).collect()
    }

    /// Reads a line that came unasked.
    #[inline]
    pub(crate) fn decode(&self, line: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let line = self.sound(line)?;
        let last = self.kinds.len() - 1;
        for (i, (first, kind)) in self.kinds.iter().enumerate() {
            if i == last || line.starts_with(kind.begins_with().as_bytes()) {
                return kind.decode(line, &mut |reading, raw| each(first + reading, raw));
            }
        }
        Err(Unmapped::Prefix.into())
    }

    /// Reads an answer: query number as two bytes, low one first, then the line.
    pub(crate) fn decode_answer(&self, payload: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let [low, high, line @ ..] = payload else {
            return Err(Unfit::TooShort { needed: 2, found: payload.len() }.into());
        };
        let query = u16::from_le_bytes([*low, *high]);
        let Some((first, kind)) = self.kinds.get(usize::from(query)) else {
            return Err(Unmapped::Query(query).into());
        };
        kind.decode(self.sound(line)?, &mut |reading, raw| each(first + reading, raw))
    }

    /// The line without its checksum, which must be right.
    #[inline]
    fn sound<'a>(&self, line: &'a [u8]) -> Result<&'a [u8], DecodeError> {
        match &self.checksum {
            None => Ok(line),
            Some(c) => c.check(line).map_err(|(at, what)| Unfit::Line { column: at + 1, what }.into()),
        }
    }
}

impl LineChecksum {
    fn check<'a>(&self, line: &'a [u8]) -> Result<&'a [u8], (usize, Misfit)> {
        let line = line.trim_ascii_end();
        let width = match self.written {
            Written::Hex => 2 * self.algorithm.bytes(),
            // 3, 5, 8, 10 or 20 digits: as many as the largest value has.
            Written::Decimal => (self.algorithm.bytes() * 8 * 301).div_ceil(1000),
        };
        let missing = (line.len(), Misfit::NoChecksum);
        let (body, covered_to, text_at) = match &self.before {
            Some(mark) => {
                let last = line.windows(mark.len()).rposition(|w| w == mark.as_bytes()).ok_or(missing)?;
                (last, if self.covers_marks { last + mark.len() } else { last }, last + mark.len())
            }
            None => {
                let at = line.len().checked_sub(width).ok_or(missing)?;
                (at, at, at)
            }
        };
        let from = match &self.after {
            Some(mark) => {
                let first =
                    line.windows(mark.len()).position(|w| w == mark.as_bytes()).ok_or((0, Misfit::NoChecksum))?;
                if self.covers_marks { first } else { first + mark.len() }
            }
            None => 0,
        };
        let covered = line.get(from..covered_to).ok_or((from, Misfit::NoChecksum))?;
        let value = self.value(&line[text_at..], width).ok_or((text_at, Misfit::ChecksumText))?;
        if value == self.algorithm.of(covered) { Ok(&line[..body]) } else { Err((text_at, Misfit::Checksum)) }
    }

    fn value(&self, text: &[u8], width: usize) -> Option<u64> {
        let text = std::str::from_utf8(text).ok()?;
        match self.written {
            Written::Hex if text.len() == width && text.bytes().all(|b| b.is_ascii_hexdigit()) => {
                u64::from_str_radix(text, 16).ok()
            }
            Written::Decimal if !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit()) => text.parse().ok(),
            _ => None,
        }
    }
}
