//! The file of an instrument that sends lines of text.

use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A device that sends lines of text, unasked or in answer to queries. What stands on a line is told by
/// `[[reading]]` where all lines are alike, by `[[line]]` where there are several kinds, by `[[query]]` where it is
/// asked.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise instrument file: text-line")]
pub struct TextFile {
    /// `text-line`.
    pub framing: String,
    /// One line for a person.
    #[serde(default)]
    pub summary: String,
    /// The longest line, bytes, 1 to 65535. Default 512.
    #[serde(default)]
    #[schemars(with = "Option<u16>")]
    pub longest: Option<Spanned<u16>>,
    /// Only lines that begin so are read. Default: all.
    #[serde(default)]
    pub prefix: Option<String>,
    /// The character between fields. Default a comma.
    #[serde(default)]
    #[schemars(with = "Option<char>")]
    pub separator: Option<Spanned<char>>,
    /// Instead of separator and positions: the whole line with {name} where a reading's number stands.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub pattern: Option<Spanned<String>>,
    /// Whether numbers are written with a decimal comma. Default: a point.
    #[serde(default)]
    pub decimal_comma: bool,
    /// Whether a line may go on behind the highest `position`; what stands there is not read. Default: no, such a line
    /// is a fault, for two lines run into one look so.
    #[serde(default)]
    pub more_fields: bool,
    /// The checksum at the end of every line. Default: none.
    #[serde(default)]
    #[schemars(with = "Option<TextChecksumTable>")]
    pub checksum: Option<Spanned<TextChecksumTable>>,
    /// The readings, where all lines are alike.
    #[serde(default)]
    #[schemars(with = "Vec<FieldTable>")]
    pub reading: Vec<Spanned<FieldTable>>,
    /// The kinds of lines, where there are several.
    #[serde(default)]
    #[schemars(with = "Vec<LineTable>")]
    pub line: Vec<Spanned<LineTable>>,
    /// What the instrument is asked, one by one; nothing else is ever sent to it.
    #[serde(default)]
    #[schemars(with = "Vec<QueryTable>")]
    pub query: Vec<Spanned<QueryTable>>,
    /// What is sent behind a query: `crlf` (default), `cr`, `lf` or `none`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub query_end: Option<Spanned<String>>,
}

/// One kind of line.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineTable {
    /// What lines of this kind begin with. Where a pattern is given, its beginning says it.
    #[serde(default)]
    pub prefix: Option<String>,
    /// The character between fields. Default: the file's.
    #[serde(default)]
    #[schemars(with = "Option<char>")]
    pub separator: Option<Spanned<char>>,
    /// Instead of prefix, separator and positions: the whole line with {name} where a reading's number stands.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub pattern: Option<Spanned<String>>,
    /// Whether such a line may go on behind the highest `position`. Default: no.
    #[serde(default)]
    pub more_fields: bool,
    /// The readings.
    #[schemars(with = "Vec<FieldTable>")]
    pub reading: Vec<Spanned<FieldTable>>,
}

/// One query and what its answer looks like.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct QueryTable {
    /// The query without its end. It must end in `?`, each part of it where semicolons join several.
    #[schemars(with = "String")]
    pub send: Spanned<String>,
    /// Declares that a query without `?` changes nothing in the instrument, as its documents say. Default: false.
    #[serde(default)]
    pub only_reads: bool,
    /// How often it is asked. Default: the device's period in the run file.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub period: Option<Spanned<String>>,
    /// What the answer begins with. Default: nothing in particular.
    #[serde(default)]
    pub prefix: Option<String>,
    /// The character between fields. Default: the file's.
    #[serde(default)]
    #[schemars(with = "Option<char>")]
    pub separator: Option<Spanned<char>>,
    /// Instead of prefix, separator and positions: the whole answer with {name} where a reading's number stands.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub pattern: Option<Spanned<String>>,
    /// Whether the answer may go on behind the highest `position`. Default: no.
    #[serde(default)]
    pub more_fields: bool,
    /// The readings in the answer.
    #[schemars(with = "Vec<FieldTable>")]
    pub reading: Vec<Spanned<FieldTable>>,
}

/// The checksum at the end of a line.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TextChecksumTable {
    /// `xor`, `sum-8`, `sum-16`, or a CRC by its name in the catalogue of CRC RevEng: `CRC-16/MODBUS`.
    #[schemars(with = "String")]
    pub algorithm: Spanned<String>,
    /// It covers what stands behind the first of these: `$`. Default: from the line's beginning.
    #[serde(default)]
    pub after: Option<String>,
    /// It stands behind the last of these and covers what is before: `*`. Default: the line's last characters are it.
    #[serde(default)]
    pub before: Option<String>,
    /// Whether `after` and `before` themselves are covered. Default: no.
    #[serde(default)]
    pub covers_marks: bool,
    /// How it is written: `hex` (default; two digits a byte, capital or small) or `decimal`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub written: Option<Spanned<String>>,
}

/// One reading in a line.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FieldTable {
    /// Its name.
    pub name: String,
    /// Which field of the line, from 1; left out where a pattern names the reading.
    #[serde(default)]
    #[schemars(with = "Option<u16>")]
    pub position: Option<Spanned<u16>>,
    /// What stands before the number and must be there: `RH=`.
    #[serde(default)]
    pub label: Option<String>,
    /// The unit of the value.
    #[serde(default)]
    pub unit: Option<String>,
    /// What follows the number in the line and must be there: `C`. It protects a field at the end of a line: without
    /// it, a number whose last digits were lost cannot be told from a whole one.
    #[serde(default)]
    pub unit_text: Option<String>,
    /// Value = number × scale + offset. Default 1.
    #[serde(default)]
    pub scale: Option<f64>,
    /// Default 0.
    #[serde(default)]
    pub offset: Option<f64>,
    /// Words that mean no value.
    #[serde(default)]
    pub nothing: Vec<WordNothing>,
}

/// A word that means no value.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WordNothing {
    /// The word as it stands in the line. A number (`9999.9`) stands for every way to write it.
    pub word: String,
    /// Why: `open`, `short`, `rail`, `not-available` or `error-code`.
    #[schemars(with = "String")]
    pub reason: Spanned<String>,
}
