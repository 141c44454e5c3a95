//! Why a format is refused, and why a line does not fit.

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
    /// A word that is listed twice, or can never be found.
    #[error("field `{name}`: the word {word:?} is listed twice, or can never stand in a field")]
    Word {
        /// Field.
        name: String,
        /// Word.
        word: String,
    },
    /// What must stand beside the number holds the character that parts the pieces.
    #[error(
        "field `{name}`: {text:?} holds the separator, so it never stands in one piece with the number; write a \
         pattern, which tells the whole line"
    )]
    Beside {
        /// Field.
        name: String,
        /// What must stand before or after the number.
        text: String,
    },
    /// A pattern that cannot be read.
    #[error("pattern {pattern:?}: {what}")]
    Pattern {
        /// The pattern.
        pattern: String,
        /// What is wrong.
        what: &'static str,
    },
    /// A field that the pattern does not name.
    #[error("field `{name}` does not stand in the pattern {pattern:?}; write {{{name}}} where its number stands")]
    NotInPattern {
        /// Field.
        name: String,
        /// The pattern.
        pattern: String,
    },
    /// A name in the pattern without a field.
    #[error("the pattern names {{{0}}}, and no field is called so; add it, or write {{}} for text that is not read")]
    NoField(String),
    /// Lines of two kinds that cannot be told apart.
    #[error(
        "lines that begin with {0:?} are of two kinds; tell them apart by their prefix or the beginning of \
         their pattern"
    )]
    Kinds(String),
    /// A checksum of text that can never be found.
    #[error("the checksum's mark {0:?} can never be found: it is empty, or holds an end of line")]
    Mark(String),
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
    /// The pattern's text does not stand there.
    #[error("the text that the pattern has next does not stand there")]
    Literal,
    /// The line ends inside a field of fixed width.
    #[error("the line ends inside a field of the pattern")]
    Short,
    /// The line goes on behind the pattern.
    #[error("the line goes on behind the pattern's end; end it with {{}} where the instrument sends more")]
    Rest,
    /// The checksum's mark is not there.
    #[error("the mark before the checksum is not there")]
    NoChecksum,
    /// The checksum is not written as declared.
    #[error("the checksum is not written as the format says")]
    ChecksumText,
    /// The checksum is wrong.
    #[error("the checksum is wrong")]
    Checksum,
}
