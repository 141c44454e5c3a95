//! Fields in a line.

use crate::number;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};
use smallvec::SmallVec;
use stream::Reason;

/// One number in a line.
#[derive(Clone, Debug, PartialEq)]
pub struct TextField {
    /// The reading's name.
    pub name: String,
    /// Which piece of the line, from 1, counted after the prefix.
    pub position: u16,
    /// Unit of the value.
    pub unit: Option<String>,
    /// Text that must stand before the number, such as `T1=`.
    pub label: Option<String>,
    /// Text that must stand after the number, such as `C`: a number whose end was lost is refused then.
    pub unit_text: Option<String>,
    /// Words in place of a number, and for what reason they stand.
    pub nothing: Vec<(String, Reason)>,
    /// value = number · scale + offset.
    pub scale: f64,
    /// See scale.
    pub offset: f64,
}

/// How a line is cut into readings: prefix, then pieces between separators, blanks around each piece ignored. With
/// a blank as separator any run of blanks separates once. A line with more pieces than the highest position is refused,
/// unless more are allowed: its pieces need not be those the positions mean.
#[derive(Clone, Debug, PartialEq)]
pub struct TextFormat {
    prefix: Option<String>,
    separator: char,
    fields: Vec<TextField>,
    /// Indices into `fields`, by position.
    order: Vec<u16>,
    more_fields: bool,
}

/// Why a format is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TextFormatError {
    /// No field.
    #[error("the line format has no field; list at least one")]
    Empty,
    /// Too many fields.
    #[error("the line format has {0} fields, at most 65535 are possible")]
    TooMany(usize),
    /// A separator that numbers are written with, or that ends lines.
    #[error("separator {0:?} is refused: numbers are written with it, or it ends lines; take one such as ',' or ';'")]
    Separator(char),
    /// Two fields of one name, or none.
    #[error("two fields are called `{0}`; give one of them another name")]
    Name(String),
    /// A field without a name.
    #[error("the field at position {0} has no name; give it one")]
    NoName(u16),
    /// Position 0 or taken.
    #[error("field `{name}`: position {position} is taken by another field, or is 0; positions count from 1")]
    Position {
        /// Field.
        name: String,
        /// Position.
        position: u16,
    },
    /// Scale 0, or scale or offset not finite.
    #[error("field `{name}`: scale {scale:?} and offset {offset:?}: the scale must not be 0 and both must be finite")]
    Scale {
        /// Field.
        name: String,
        /// Scale.
        scale: f64,
        /// Offset.
        offset: f64,
    },
    /// A word that is a number, is listed twice, or can never be found.
    #[error("field `{name}`: the word {word:?} is a number, is listed twice, or can never stand in a field")]
    Word {
        /// Field.
        name: String,
        /// Word.
        word: String,
    },
}

/// Why a line does not fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Misfit {
    /// The line ends before the field.
    #[error("the line has {pieces} pieces, field at position {position} is missing")]
    Missing {
        /// Pieces there.
        pieces: u16,
        /// Position that is missing.
        position: u16,
    },
    /// The label is not there.
    #[error("the piece at position {0} does not begin with its label")]
    Label(u16),
    /// The text after the number is not there.
    #[error(
        "the piece at position {0} does not end with its unit_text and is no word listed for it; was its end lost?"
    )]
    UnitText(u16),
    /// More pieces than the highest position.
    #[error(
        "the line goes on behind position {0}, the last field; where the instrument sends more, write \
         more_fields = true in its file"
    )]
    More(u16),
    /// Neither a number nor a listed word.
    #[error("the piece at position {0} is neither a plain number nor a word listed for it")]
    Number(u16),
}

impl TextFormat {
    /// A format of these fields, in the order given.
    ///
    /// # Errors
    /// See [`TextFormatError`].
    pub fn new(prefix: Option<String>, separator: char, fields: Vec<TextField>) -> Result<TextFormat, TextFormatError> {
        if fields.is_empty() {
            return Err(TextFormatError::Empty);
        }
        if separator.is_ascii_alphanumeric() || matches!(separator, '+' | '-' | '.' | '\r' | '\n' | '\0') {
            return Err(TextFormatError::Separator(separator));
        }
        let count = u16::try_from(fields.len()).map_err(|_| TextFormatError::TooMany(fields.len()))?;
        for (i, field) in fields.iter().enumerate() {
            check_field(field, separator)?;
            if fields[..i].iter().any(|f| f.name == field.name) {
                return Err(TextFormatError::Name(field.name.clone()));
            }
            if field.position == 0 || fields[..i].iter().any(|f| f.position == field.position) {
                return Err(TextFormatError::Position { name: field.name.clone(), position: field.position });
            }
        }
        let mut order: Vec<u16> = (0..count).collect();
        order.sort_by_key(|i| fields[usize::from(*i)].position);
        Ok(TextFormat { prefix: prefix.filter(|p| !p.is_empty()), separator, fields, order, more_fields: false })
    }

    /// The same format for lines that may go on behind the highest position; what stands there is not read.
    #[must_use]
    pub fn with_more_fields(self) -> TextFormat {
        TextFormat { more_fields: true, ..self }
    }

    /// The prefix, if lines must have one.
    pub fn prefix(&self) -> Option<&str> {
        self.prefix.as_deref()
    }

    /// The separator.
    pub fn separator(&self) -> char {
        self.separator
    }

    /// The fields, in the order given.
    pub fn fields(&self) -> &[TextField] {
        &self.fields
    }

    /// What the readings are called, in the same order.
    pub fn readings(&self) -> Vec<ReadingInfo> {
        self.fields.iter().map(|f| ReadingInfo { name: f.name.clone(), unit: f.unit.clone() }).collect()
    }

    /// Reads a line without its terminator. One bad field refuses the whole line: the line is damaged then, and its
    /// other numbers are no better.
    pub(crate) fn decode(&self, line: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let rest = match &self.prefix {
            Some(prefix) => line.strip_prefix(prefix.as_bytes()).ok_or(Unmapped::Prefix)?,
            None => line,
        };
        let mut readings: SmallVec<[(u16, Raw); 16]> = SmallVec::new();
        let mut pieces = Pieces::new(rest, self.separator);
        let mut seen = 0u16;
        let misfit = |at: usize, what| Unfit::Line { column: line.len() - rest.len() + at + 1, what };
        for i in &self.order {
            let field = &self.fields[usize::from(*i)];
            let mut piece = None;
            while seen < field.position {
                piece = pieces.next();
                if piece.is_none() {
                    let what = Misfit::Missing { pieces: seen, position: field.position };
                    return Err(misfit(rest.len(), what).into());
                }
                seen += 1;
            }
            let (at, piece) = piece.unwrap_or((rest.len(), &[]));
            match field.read(piece) {
                Ok(raw) => readings.push((*i, raw)),
                Err(what) => return Err(misfit(at, what).into()),
            }
        }
        if !self.more_fields
            && let Some((at, _)) = pieces.next()
        {
            return Err(misfit(at, Misfit::More(seen)).into());
        }
        readings.into_iter().for_each(|(i, raw)| each(i, raw));
        Ok(())
    }
}

impl TextField {
    fn read(&self, piece: &[u8]) -> Result<Raw, Misfit> {
        let text = match &self.label {
            Some(label) => piece.strip_prefix(label.as_bytes()).ok_or(Misfit::Label(self.position))?.trim_ascii_start(),
            None => piece,
        };
        if let Some((_, reason)) = self.nothing.iter().find(|(word, _)| word.as_bytes() == text) {
            return Ok(Raw::Nothing(*reason));
        }
        let digits = match &self.unit_text {
            Some(unit) => {
                let number = text.strip_suffix(unit.as_bytes()).ok_or(Misfit::UnitText(self.position))?;
                number.trim_ascii_end()
            }
            None => text,
        };
        let number = number::parse(digits).ok_or(Misfit::Number(self.position))?;
        Ok(Raw::finite(number * self.scale + self.offset))
    }
}

/// The pieces of a line with where each begins, blanks around them taken off.
struct Pieces<'a> {
    line: &'a [u8],
    at: Option<usize>,
    separator: [u8; 4],
    width: usize,
}

impl<'a> Pieces<'a> {
    fn new(line: &'a [u8], separator: char) -> Pieces<'a> {
        let mut bytes = [0; 4];
        let width = separator.encode_utf8(&mut bytes).len();
        Pieces { line, at: Some(0), separator: bytes, width }
    }
}

impl<'a> Iterator for Pieces<'a> {
    type Item = (usize, &'a [u8]);

    fn next(&mut self) -> Option<(usize, &'a [u8])> {
        let mut at = self.at?;
        let separator = &self.separator[..self.width];
        let blank = |b: &u8| *b == b' ' || (*b == b'\t' && separator != b"\t");
        at += self.line[at..].iter().take_while(|b| blank(b)).count();
        if separator == b" " && at == self.line.len() {
            self.at = None;
            return None;
        }
        let rest = &self.line[at..];
        let end = rest.windows(self.width).position(|w| w == separator);
        self.at = end.map(|e| at + e + self.width);
        Some((at, rest[..end.unwrap_or(rest.len())].trim_ascii_end()))
    }
}

fn check_field(field: &TextField, separator: char) -> Result<(), TextFormatError> {
    let name = || field.name.clone();
    if field.name.is_empty() {
        return Err(TextFormatError::NoName(field.position));
    }
    if field.scale == 0.0 || !field.scale.is_finite() || !field.offset.is_finite() {
        return Err(TextFormatError::Scale { name: name(), scale: field.scale, offset: field.offset });
    }
    for (i, (word, _)) in field.nothing.iter().enumerate() {
        let never = word.trim_ascii() != word || word.contains([separator, '\r', '\n']);
        let number = number::parse(word.as_bytes()).is_some();
        if never || number || field.nothing[..i].iter().any(|w| w.0 == *word) {
            return Err(TextFormatError::Word { name: name(), word: word.clone() });
        }
    }
    Ok(())
}
