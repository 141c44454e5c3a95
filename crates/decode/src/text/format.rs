//! Fields in a line.

use super::field::{Field, TextField};
use super::pattern::Pattern;
use super::{Misfit, TextFormatError};
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};
use smallvec::SmallVec;

/// How a line is cut into readings: prefix, then pieces between separators, blanks around each piece ignored; or by a
/// pattern. With a blank as separator any run of blanks separates once. A line with more pieces than the highest
/// position is refused, unless more are allowed: its pieces need not be those the positions mean.
#[derive(Clone, Debug, PartialEq)]
pub struct TextFormat {
    prefix: Option<String>,
    layout: Layout,
    fields: Vec<Field>,
}

#[derive(Clone, Debug, PartialEq)]
enum Layout {
    /// Pieces between separators; indices into `fields`, by position.
    Pieces { separator: char, order: Vec<u16>, more_fields: bool },
    /// A pattern whose fields are `fields`, in its order.
    Pattern(Pattern),
}

impl TextFormat {
    /// A format of these fields, in the order given.
    ///
    /// # Errors
    /// See [`TextFormatError`].
    pub fn new(prefix: Option<String>, separator: char, fields: Vec<TextField>) -> Result<TextFormat, TextFormatError> {
        TextFormat::delimited(prefix, separator, false, fields)
    }

    /// As [`TextFormat::new`], for numbers with a decimal comma where `comma` says so.
    ///
    /// # Errors
    /// See [`TextFormatError`].
    pub fn delimited(
        prefix: Option<String>,
        separator: char,
        comma: bool,
        fields: Vec<TextField>,
    ) -> Result<TextFormat, TextFormatError> {
        let mark = if comma { ',' } else { '.' };
        if separator.is_ascii_alphanumeric() || matches!(separator, '+' | '-' | '\r' | '\n' | '\0') || separator == mark
        {
            return Err(TextFormatError::Separator(separator));
        }
        let fields = compiled(fields, comma, Some(separator))?;
        for (i, Field { field, .. }) in fields.iter().enumerate() {
            if field.position == 0 || fields[..i].iter().any(|f| f.field.position == field.position) {
                return Err(TextFormatError::Position { name: field.name.clone(), position: field.position });
            }
        }
        let mut order: Vec<u16> = (0..fields.len() as u16).collect();
        order.sort_by_key(|i| fields[usize::from(*i)].field.position);
        let layout = Layout::Pieces { separator, order, more_fields: false };
        Ok(TextFormat { prefix: prefix.filter(|p| !p.is_empty()), layout, fields })
    }

    /// A format by a pattern (see [`super::pattern`]), which must name every field and no other.
    ///
    /// # Errors
    /// See [`TextFormatError`].
    pub fn pattern(pattern: &str, comma: bool, fields: Vec<TextField>) -> Result<TextFormat, TextFormatError> {
        let (layout, names) = Pattern::new(pattern, comma)?;
        let mut fields = compiled(fields, comma, None)?;
        let place = |f: &Field| names.iter().position(|n| *n == f.field.name);
        if let Some(f) = fields.iter().find(|f| place(f).is_none()) {
            let (name, pattern) = (f.field.name.clone(), pattern.to_owned());
            return Err(TextFormatError::NotInPattern { name, pattern });
        }
        if let Some(name) = names.iter().find(|n| !fields.iter().any(|f| f.field.name == **n)) {
            return Err(TextFormatError::NoField(name.clone()));
        }
        fields.sort_by_key(place);
        for (i, f) in (1..).zip(&mut fields) {
            f.field.position = i;
        }
        Ok(TextFormat { prefix: None, layout: Layout::Pattern(layout), fields })
    }

    /// The same format for lines that may go on behind the highest position; what stands there is not read.
    #[must_use]
    pub fn with_more_fields(self) -> TextFormat {
        let layout = match self.layout {
            Layout::Pieces { separator, order, .. } => Layout::Pieces { separator, order, more_fields: true },
            pattern => pattern,
        };
        TextFormat { layout, ..self }
    }

    /// Text that every line of this format begins with.
    pub(super) fn begins_with(&self) -> &str {
        match &self.layout {
            Layout::Pieces { .. } => self.prefix.as_deref().unwrap_or(""),
            Layout::Pattern(p) => p.begins_with().unwrap_or(""),
        }
    }

    /// The prefix, if lines must have one.
    pub fn prefix(&self) -> Option<&str> {
        self.prefix.as_deref()
    }

    /// The separator; `None` for a pattern.
    pub fn separator(&self) -> Option<char> {
        match self.layout {
            Layout::Pieces { separator, .. } => Some(separator),
            Layout::Pattern(_) => None,
        }
    }

    /// The fields, in the order given; of a pattern in its order.
    pub fn fields(&self) -> impl ExactSizeIterator<Item = &TextField> {
        self.fields.iter().map(|f| &f.field)
    }

    /// What the readings are called, in the same order.
    pub fn readings(&self) -> Vec<ReadingInfo> {
        self.fields().map(|f| ReadingInfo { name: f.name.clone(), unit: f.unit.clone() }).collect()
    }

    /// Reads a line without its terminator. One bad field refuses the whole line: the line is damaged then, and its
    /// other numbers are no better.
    pub(crate) fn decode(&self, line: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let mut readings: SmallVec<[(u16, Raw); 16]> = SmallVec::new();
        match &self.layout {
            Layout::Pieces { separator, order, more_fields } => {
                self.pieces(line, *separator, order, *more_fields, &mut readings)?;
            }
            Layout::Pattern(pattern) => {
                // Another kind of line is no damaged one.
                line.strip_prefix(self.begins_with().as_bytes()).ok_or(Unmapped::Prefix)?;
                let read = pattern.cut(line, |i, _, text| {
                    readings.push((i as u16, self.fields[i].read(text)?));
                    Ok(())
                });
                read.map_err(|(at, what)| Unfit::Line { column: at + 1, what })?;
            }
        }
        readings.into_iter().for_each(|(i, raw)| each(i, raw));
        Ok(())
    }

    #[inline]
    fn pieces(
        &self,
        line: &[u8],
        separator: char,
        order: &[u16],
        more_fields: bool,
        readings: &mut SmallVec<[(u16, Raw); 16]>,
    ) -> Result<(), DecodeError> {
        let rest = match &self.prefix {
            Some(prefix) => line.strip_prefix(prefix.as_bytes()).ok_or(Unmapped::Prefix)?,
            None => line,
        };
        let mut pieces = Pieces::new(rest, separator);
        let mut seen = 0u16;
        let misfit = |at: usize, what| Unfit::Line { column: line.len() - rest.len() + at + 1, what };
        for i in order {
            let field = &self.fields[usize::from(*i)];
            let position = field.field.position;
            let mut piece = None;
            while seen < position {
                piece = pieces.next();
                if piece.is_none() {
                    return Err(misfit(rest.len(), Misfit::Missing { pieces: seen, position }).into());
                }
                seen += 1;
            }
            let (at, piece) = piece.unwrap_or((rest.len(), &[]));
            match field.read(piece) {
                Ok(raw) => readings.push((*i, raw)),
                Err(what) => return Err(misfit(at, what).into()),
            }
        }
        if !more_fields && let Some((at, _)) = pieces.next() {
            return Err(misfit(at, Misfit::More(seen)).into());
        }
        Ok(())
    }
}

/// Checks the fields of a line, each by itself and their names.
fn compiled(fields: Vec<TextField>, comma: bool, never: Option<char>) -> Result<Vec<Field>, TextFormatError> {
    if fields.is_empty() {
        return Err(TextFormatError::Empty);
    }
    u16::try_from(fields.len()).map_err(|_| TextFormatError::TooMany(fields.len()))?;
    let mut all: Vec<Field> = Vec::with_capacity(fields.len());
    for field in fields {
        let field = Field::new(field, comma, never)?;
        if all.iter().any(|f| f.field.name == field.field.name) {
            return Err(TextFormatError::Name(field.field.name));
        }
        all.push(field);
    }
    Ok(all)
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
