//! The databases of a CAN bus, as a run file names them: `"bus.dbc"` or `{ file = "bus.dbc", j1939 = true }`.

use schemars::JsonSchema;
use serde::de::{self, MapAccess, SeqAccess, Visitor, value::MapAccessDeserializer};
use serde::{Deserialize, Deserializer};
use std::fmt;
use toml::Spanned;

/// One database of a bus.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DatabaseTable {
    /// The file (.dbc), relative to the run file.
    #[schemars(with = "String")]
    pub file: Spanned<String>,
    /// Whether unsigned signals of frames with 29-bit identifiers have the codes of SAE J1939 for "not available" and
    /// "error", which are then no numbers. Default: what the file says of itself (attribute `ProtocolType`).
    #[serde(default)]
    pub j1939: Option<bool>,
    /// J1939: whose frames belong to a message besides those with exactly its identifier: `"any"`, or a list of
    /// addresses. Priority and destination do not matter then, the parameter group does. Default: nobody's.
    #[serde(default)]
    #[schemars(with = "Option<SenderWords>")]
    pub senders: Option<SendersEntry>,
}

/// A database by its file alone, or a table.
#[derive(Clone, Debug)]
pub struct DatabaseEntry(pub DatabaseTable);

/// What `senders` may be, for the schema.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)]
pub enum SenderWords {
    /// `"any"`.
    Any(String),
    /// Addresses.
    These(Vec<u8>),
}

/// What `databases` may hold, for the schema.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)]
pub enum DatabaseWords {
    /// The file (.dbc), relative to the run file.
    File(String),
    /// With more about it.
    Table(DatabaseTable),
}

/// Whose frames belong to a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SendersEntry {
    /// Everybody's.
    Any,
    /// Those of these addresses.
    These(Vec<u8>),
}

impl<'de> Deserialize<'de> for DatabaseEntry {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = DatabaseEntry;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the name of a .dbc file, or a table with it in `file`")
            }
            fn visit_str<E: de::Error>(self, file: &str) -> Result<DatabaseEntry, E> {
                // The place is that of the entry.
                let file = Spanned::new(0..0, file.to_owned());
                Ok(DatabaseEntry(DatabaseTable { file, j1939: None, senders: None }))
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<DatabaseEntry, A::Error> {
                DatabaseTable::deserialize(MapAccessDeserializer::new(map)).map(DatabaseEntry)
            }
        }
        d.deserialize_any(Either)
    }
}

impl<'de> Deserialize<'de> for SendersEntry {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = SendersEntry;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("\"any\" or a list of addresses, 0 to 253")
            }
            fn visit_str<E: de::Error>(self, word: &str) -> Result<SendersEntry, E> {
                if word == "any" {
                    Ok(SendersEntry::Any)
                } else {
                    Err(E::invalid_value(de::Unexpected::Str(word), &self))
                }
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut all: A) -> Result<SendersEntry, A::Error> {
                let mut list = Vec::new();
                while let Some(address) = all.next_element::<u8>()? {
                    list.push(address);
                }
                Ok(SendersEntry::These(list))
            }
        }
        d.deserialize_any(Either)
    }
}

/// A raw value, or a word of the database's value table, that means no value.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SignalNothing {
    /// The raw value (before scale and offset), or `raw` to `to`.
    #[serde(default)]
    pub raw: Option<i64>,
    /// The last raw value of a range that begins at `raw`.
    #[serde(default)]
    pub to: Option<i64>,
    /// The word that the database's value table has for it.
    #[serde(default)]
    pub word: Option<String>,
    /// Why: `open`, `short`, `rail`, `not-available` or `error-code`.
    #[schemars(with = "String")]
    pub reason: Spanned<String>,
}
