//! One number in a line: its label, its unit, the words and numbers that mean there is none.

use super::{Misfit, TextFormatError};
use crate::number;
use crate::reading::Raw;
use smallvec::SmallVec;
use stream::Reason;

/// One number in a line.
#[derive(Clone, Debug, PartialEq)]
pub struct TextField {
    /// The reading's name.
    pub name: String,
    /// Which piece of the line, from 1, counted after the prefix; in a pattern set by the place that names the field.
    pub position: u16,
    /// Unit of the value.
    pub unit: Option<String>,
    /// Text that must stand before the number, such as `T1=`.
    pub label: Option<String>,
    /// Text that must stand after the number, such as `C`: a number whose end was lost is refused then.
    pub unit_text: Option<String>,
    /// Words in place of a number, and for what reason they stand. A word that is a number (`9999.9`) stands for every
    /// way to write that number.
    pub nothing: Vec<(String, Reason)>,
    /// value = number · scale + offset.
    pub scale: f64,
    /// See scale.
    pub offset: f64,
}

/// A field, ready to read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Field {
    pub(super) field: TextField,
    /// Numbers among `nothing`.
    numbers: Vec<(f64, Reason)>,
    comma: bool,
}

impl Field {
    /// Checks a field of a line whose numbers have this decimal mark; `never` = a character that no piece can hold.
    pub(super) fn new(field: TextField, comma: bool, never: Option<char>) -> Result<Field, TextFormatError> {
        let name = || field.name.clone();
        if field.name.is_empty() {
            return Err(TextFormatError::NoName(field.position));
        }
        if field.scale == 0.0 || !field.scale.is_finite() || !field.offset.is_finite() {
            return Err(TextFormatError::Scale { name: name(), scale: field.scale, offset: field.offset });
        }
        for text in [&field.label, &field.unit_text].into_iter().flatten() {
            if never.is_some_and(|c| text.contains(c)) {
                return Err(TextFormatError::Beside { name: name(), text: text.clone() });
            }
        }
        let mut numbers: Vec<(f64, Reason)> = Vec::new();
        for (i, (word, reason)) in field.nothing.iter().enumerate() {
            let impossible =
                word.trim_ascii() != word || word.contains(['\r', '\n']) || never.is_some_and(|c| word.contains(c));
            let number = parse(word.as_bytes(), comma);
            let again = field.nothing[..i].iter().any(|w| w.0 == *word) || numbers.iter().any(|n| Some(n.0) == number);
            if impossible || again {
                return Err(TextFormatError::Word { name: name(), word: word.clone() });
            }
            numbers.extend(number.map(|n| (n, *reason)));
        }
        Ok(Field { field, numbers, comma })
    }

    /// The reading in a piece of the line, blanks around it taken off.
    #[inline]
    pub(super) fn read(&self, piece: &[u8]) -> Result<Raw, Misfit> {
        let TextField { position, label, unit_text, nothing, scale, offset, .. } = &self.field;
        let text = match label {
            Some(label) => piece.strip_prefix(label.as_bytes()).ok_or(Misfit::Label(*position))?.trim_ascii_start(),
            None => piece,
        };
        if let Some((_, reason)) = nothing.iter().find(|(word, _)| word.as_bytes() == text) {
            return Ok(Raw::Nothing(*reason));
        }
        let digits = match unit_text {
            Some(unit) => {
                let number = text.strip_suffix(unit.as_bytes()).ok_or(Misfit::UnitText(*position))?;
                number.trim_ascii_end()
            }
            None => text,
        };
        let number = parse(digits, self.comma).ok_or(Misfit::Number(*position))?;
        if let Some((_, reason)) = self.numbers.iter().find(|n| n.0 == number) {
            return Ok(Raw::Nothing(*reason));
        }
        Ok(Raw::finite(number * scale + offset))
    }
}

/// The number that the whole text is. With a decimal comma a point is none, and the other way round.
#[inline]
fn parse(text: &[u8], comma: bool) -> Option<f64> {
    if !comma {
        return number::parse(text);
    }
    if text.contains(&b'.') {
        return None;
    }
    let pointed: SmallVec<[u8; 40]> = text.iter().map(|b| if *b == b',' { b'.' } else { *b }).collect();
    number::parse(&pointed)
}
