//! What a limit file says.

use crate::Kind;
use stream::{ChannelId, Span};
use thiserror::Error;
use units::{PressureReference, Unit};

/// One limit as described; [`Limit::new`](crate::Limit::new) checks it.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitSpec {
    /// Its name.
    pub name: String,
    /// The column it watches.
    pub column: ChannelId,
    /// Which values are outside.
    pub kind: &'static Kind,
    /// The limit itself, in SI.
    pub threshold: f64,
    /// The unit it is written in: events show it and the value so.
    pub unit: &'static Unit,
    /// What a pressure is measured against: events say it where the unit does not.
    pub reference: Option<PressureReference>,
    /// How far inside a value must be to count as back, in SI, 0 or more.
    pub dead_band: f64,
    /// How long a value must be outside without a break before the limit counts as crossed.
    pub on_delay: Span,
    /// How long it must be inside by the dead band without a break before the limit counts as met again.
    pub off_delay: Span,
    /// Which readings it sees.
    pub basis: Basis,
    /// The document it is taken from.
    pub document: String,
    /// The document's revision.
    pub revision: String,
    /// The paragraph in the document.
    pub paragraph: String,
}

/// Which readings a limit sees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The column's reading in each snapshot.
    Snapshot,
    /// Every sample of the channel, at full rate.
    EverySample,
}

impl LimitSpec {
    /// Document, revision and paragraph in one line.
    pub fn source(&self) -> String {
        [&self.document, &self.revision, &self.paragraph]
            .into_iter()
            .filter(|s| !s.trim().is_empty())
            .map(String::as_str)
            .collect::<Vec<_>>()
            .join(", ")
    }
}

/// A limit that cannot be used, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LimitError {
    /// No name.
    #[error("a limit has no name; name it, events and tables refer to it")]
    NoName,
    /// Threshold or dead band that no value can be held against.
    #[error("limit '{limit}': {field} is {value}; give a finite number")]
    NotFinite {
        /// The limit.
        limit: String,
        /// Threshold or dead band.
        field: &'static str,
        /// Its value.
        value: f64,
    },
    /// Something below zero that counts from zero.
    #[error("limit '{limit}': {field} is {value}; give 0 or more")]
    Negative {
        /// The limit.
        limit: String,
        /// The field.
        field: &'static str,
        /// Its value.
        value: f64,
    },
    /// Nobody knows where the limit comes from.
    #[error(
        "limit '{limit}' names no document; enter document, revision and paragraph it is taken from, a verdict is \
         worth what its limit is worth"
    )]
    NoDocument {
        /// The limit.
        limit: String,
    },
}
