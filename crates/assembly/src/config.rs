//! Configuration files as they are written: serde structs, one file a kind. Nothing is looked up or converted here.

pub mod channels;
pub mod databases;
pub mod instrument;
pub mod limits;
pub mod pack;
pub mod run;
pub mod sensors;
pub mod text;
pub mod wording;

use crate::problem::Problem;
use serde::de::{DeserializeOwned, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::fmt;
use std::marker::PhantomData;
use std::sync::Arc;
use toml::Spanned;

/// Reads a file's text into its struct.
///
/// # Errors
/// The first thing that does not fit, with its place.
pub fn read<T: DeserializeOwned>(name: &str, text: &Arc<str>) -> Result<T, Problem> {
    toml::from_str(text).map_err(|e| {
        let (message, help) = wording::plain(e.message());
        Problem::at(name, text, e.span(), message, help)
    })
}

/// A table in the order it is written (the parser hands it over by name), keys with their places.
#[derive(Debug)]
pub struct Ordered<T>(pub Vec<(Spanned<String>, T)>);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Ordered<T> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Entries<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for Entries<T> {
            type Value = Ordered<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a table")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Ordered<T>, A::Error> {
                let mut all = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    all.push(entry);
                }
                all.sort_by_key(|(key, _): &(Spanned<String>, T)| key.span().start);
                Ok(Ordered(all))
            }
        }
        d.deserialize_map(Entries(PhantomData))
    }
}

impl<T> Default for Ordered<T> {
    fn default() -> Self {
        Ordered(Vec::new())
    }
}
