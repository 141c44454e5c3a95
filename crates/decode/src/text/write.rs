//! The other direction: a line as the instrument would send it.

use super::TextFormat;
use crate::reading::Raw;
use stream::Reason;

/// Why a line cannot be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WriteError {
    /// Lines by a pattern are read, not written.
    #[error("a line by a pattern cannot be written")]
    Pattern,
    /// As many values as fields are needed.
    #[error("{found} values for a line of {expected} fields")]
    Count {
        /// Fields.
        expected: usize,
        /// Values given.
        found: usize,
    },
    /// A number that cannot be written.
    #[error("field `{name}`: {value} is not finite")]
    Number {
        /// Field.
        name: String,
        /// Value.
        value: f64,
    },
    /// No word stands for this reason.
    #[error("field `{name}` has no word that stands for `{}`", reason.word())]
    Reason {
        /// Field.
        name: String,
        /// Reason asked for.
        reason: Reason,
    },
}

impl TextFormat {
    /// The line, without terminator, that says these readings: one a field, in the order of the fields. Positions
    /// without a field stay empty. Numbers are written with as many digits as it takes to read the same number back.
    ///
    /// # Errors
    /// Another count, a number that is not finite, a reason without a word.
    pub fn write_line(&self, values: &[Raw]) -> Result<String, WriteError> {
        let Some(separator) = self.separator() else { return Err(WriteError::Pattern) };
        let fields = self.fields();
        if values.len() != fields.len() {
            return Err(WriteError::Count { expected: fields.len(), found: values.len() });
        }
        let last = self.fields().map(|f| f.position).max().unwrap_or(0);
        let mut line = self.prefix().unwrap_or("").to_owned();
        for position in 1..=last {
            if position > 1 {
                line.push(separator);
            }
            let Some((field, value)) = self.fields().zip(values).find(|(f, _)| f.position == position) else {
                // An empty piece would vanish between blanks.
                line.push_str(if separator == ' ' { "-" } else { "" });
                continue;
            };
            line.push_str(field.label.as_deref().unwrap_or(""));
            match *value {
                Raw::Number(x) => {
                    let number = (x - field.offset) / field.scale;
                    if !number.is_finite() {
                        return Err(WriteError::Number { name: field.name.clone(), value: x });
                    }
                    line.push_str(&format!("{number}{}", field.unit_text.as_deref().unwrap_or("")));
                }
                Raw::Nothing(reason) => match field.nothing.iter().find(|w| w.1 == reason) {
                    Some((word, _)) => line.push_str(word),
                    None => return Err(WriteError::Reason { name: field.name.clone(), reason }),
                },
            }
        }
        Ok(line)
    }
}
