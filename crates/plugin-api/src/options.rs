//! A plugin's part of the run file.

use serde::de::{DeserializeOwned, IntoDeserializer};
use std::ops::Range;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A configuration error with its place in the file it came from.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct ConfigError {
    /// What is wrong.
    pub message: String,
    /// What to do about it; may be empty.
    pub help: String,
    /// Where, in bytes of the file; `None` where the whole table is meant.
    pub span: Option<Range<usize>>,
}

impl ConfigError {
    /// An error about a place in the file.
    pub fn new(message: impl Into<String>, help: impl Into<String>, span: Option<Range<usize>>) -> ConfigError {
        ConfigError { message: message.into(), help: help.into(), span }
    }
}

/// The options of one plugin: a table of the run file, less the keys that the program itself reads there.
#[derive(Clone, Debug)]
pub struct Options {
    file: Arc<str>,
    /// Array of tables and index in it; `None` = the whole file is the table.
    place: Option<(&'static str, usize)>,
    not_ours: &'static [&'static str],
}

impl Options {
    /// The `index`th table of the array `array` in a run file, less the keys `not_ours`.
    pub fn of_table(file: Arc<str>, array: &'static str, index: usize, not_ours: &'static [&'static str]) -> Options {
        Options { file, place: Some((array, index)), not_ours }
    }

    /// Options from text that holds nothing else: tests and defaults.
    pub fn from_text(text: &str) -> Options {
        Options { file: text.into(), place: None, not_ours: &[] }
    }

    fn table(&self) -> Result<Spanned<DeTable<'_>>, ConfigError> {
        let whole = DeTable::parse(&self.file).map_err(|e| ConfigError::new(e.message(), "", e.span()))?;
        let Some((array, index)) = self.place else { return Ok(whole) };
        let missing = || ConfigError::new(format!("no [[{array}]] number {}", index + 1), "", None);
        let list = whole.into_inner().remove(array).ok_or_else(missing)?;
        let DeValue::Array(list) = list.into_inner() else { return Err(missing()) };
        let entry = list.into_iter().nth(index).ok_or_else(missing)?;
        let span = entry.span();
        let DeValue::Table(mut table) = entry.into_inner() else { return Err(missing()) };
        for key in self.not_ours {
            table.remove(*key);
        }
        Ok(Spanned::new(span, table))
    }

    /// Where the value of a key stands in its file, else the table's place.
    pub fn span_of(&self, key: &str) -> Option<Range<usize>> {
        let table = self.table().ok()?;
        Some(table.get_ref().get(key).map_or_else(|| table.span(), Spanned::span))
    }

    /// Reads the options into the plugin's own struct, which should deny unknown fields and give defaults.
    ///
    /// # Errors
    /// The first thing that does not fit, with its place.
    pub fn read<T: DeserializeOwned>(&self) -> Result<T, ConfigError> {
        let table = self.table()?;
        let span = table.span();
        T::deserialize(Spanned::new(span.clone(), DeValue::Table(table.into_inner())).into_deserializer())
            .map_err(|e: toml::de::Error| ConfigError::new(e.message(), "", e.span().or(Some(span.clone()))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize, Debug)]
    #[serde(deny_unknown_fields)]
    struct Mine {
        baud: u32,
    }

    #[test]
    fn reads_its_own_keys_and_points_at_the_wrong_one() {
        let file: Arc<str> = "[[source]]\nname = \"a\"\nbaud = 9600\n[[source]]\nname = \"b\"\nbaud = \"x\"\n".into();
        let at = |i| Options::of_table(file.clone(), "source", i, &["name"]);
        assert_eq!(at(0).read::<Mine>().unwrap().baud, 9600);
        let e = at(1).read::<Mine>().unwrap_err();
        assert_eq!(&file[e.span.unwrap()], "\"x\"");
        assert!(at(2).read::<Mine>().unwrap_err().message.contains("number 3"));
        let e = Options::from_text("bauds = 1").read::<Mine>().unwrap_err();
        assert!(e.message.contains("unknown field `bauds`"), "{e}");
    }
}
