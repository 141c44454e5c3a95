//! What a run consists of, by name: the meaning of every id in the stream. Fixed for the length of a run.

use crate::{ChannelId, SourceId, Span};

/// Sources, columns and limits of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// The run's name.
    pub run: String,
    /// Distance of the snapshots.
    pub grid: Span,
    /// One per `SourceId`, in order.
    pub sources: Vec<SourceInfo>,
    /// One per `ChannelId`, in order: channels first, then derived quantities.
    pub columns: Vec<Column>,
    /// One per limit, in the order of `Snapshot::limits`.
    pub limits: Vec<LimitInfo>,
}

/// A source of the run.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceInfo {
    /// Its name in the run file.
    pub name: String,
    /// The plugin kind that reads it.
    pub kind: String,
    /// Its devices by index, where it has any.
    pub devices: Vec<String>,
    /// Whether what it says comes from a simulator.
    pub simulated: bool,
}

/// A column of the snapshot: a channel or a derived quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name; `place.quantity` where it feeds the model.
    pub name: String,
    /// The unit its values are in: always the coherent SI unit, as people write it (`K`, `Pa`, `kg/s`, `1`).
    pub unit: String,
    /// The same as a UCUM code.
    pub ucum: String,
    /// Where it comes from.
    pub origin: Origin,
    /// For a channel: `source/reading` as the map says. For a derived quantity: its formula and its inputs.
    pub provenance: String,
    /// Whether snapshots hold its standard uncertainty too.
    pub with_uncertainty: bool,
    /// What else is known of it, word by word: unit in the map, uncertainty, sensors, the columns it is made from.
    pub about: Vec<(String, String)>,
}

/// Where a column comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Mapped from a source.
    Channel(SourceId),
    /// Computed.
    Derived,
}

/// A limit of the run.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitInfo {
    /// Its name.
    pub name: String,
    /// The column it watches.
    pub column: ChannelId,
    /// Document, revision and paragraph it is taken from, as the site entered them.
    pub source: String,
}

impl Layout {
    /// Whether some sources are simulated and others are not: there a simulated value could pass for a measured one.
    pub fn is_mixed(&self) -> bool {
        self.sources.iter().any(|s| s.simulated) && self.sources.iter().any(|s| !s.simulated)
    }

    /// The column with this name.
    pub fn column(&self, name: &str) -> Option<ChannelId> {
        self.columns.iter().position(|c| c.name == name).map(|i| ChannelId(i as u16))
    }
}
