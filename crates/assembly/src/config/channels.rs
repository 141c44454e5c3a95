//! The channel map: one line a channel.

use super::Ordered;
use super::databases::SignalNothing;
use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A channel map.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise channel map")]
pub struct ChannelsFile {
    /// The channels: `"place.quantity" = { from = "...", unit = "..." }`.
    #[schemars(with = "std::collections::BTreeMap<String, ChannelTable>")]
    pub channel: Ordered<ChannelTable>,
}

/// One channel.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChannelTable {
    /// Where it comes from: `source/device/reading`, `source/MESSAGE.SIGNAL` or `source/column`.
    #[schemars(with = "String")]
    pub from: Spanned<String>,
    /// The unit of the value after the conversion.
    #[schemars(with = "String")]
    pub unit: Spanned<String>,
    /// What it measures, where the name does not say: `temperature`, `pressure`, `flow`, ...
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub quantity: Option<Spanned<String>>,
    /// For a pressure: `absolute`, `gauge` or `difference`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub reference: Option<Spanned<String>>,
    /// For a gauge pressure: the channel of the barometer, or a declared value with its unit (`101.3 kPa`).
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub barometer: Option<Spanned<String>>,
    /// How the reading becomes the value. Default: it is the value.
    #[serde(default)]
    #[schemars(with = "Option<ConversionTable>")]
    pub conversion: Option<Spanned<ConversionTable>>,
    /// For a signal of a CAN database: raw values that are no number, and why; in place of the codes that a J1939
    /// database brings.
    #[serde(default)]
    #[schemars(with = "Option<Vec<SignalNothing>>")]
    pub nothing: Option<Spanned<Vec<SignalNothing>>>,
    /// What is plausible, in `unit`: outside it the value is uncertain.
    #[serde(default)]
    #[schemars(with = "Option<[f64; 2]>")]
    pub range: Option<Spanned<Vec<f64>>>,
    /// Older than this is stale. Default 2s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub stale: Option<Spanned<String>>,
}

/// How a reading becomes a value.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConversionTable {
    /// `linear` (scale, offset), `two-point` (raw, value), `table` (raw, value) or `current-loop` (low, high).
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// Linear: value = reading × scale + offset.
    #[serde(default)]
    pub scale: Option<f64>,
    /// Linear. Default 0.
    #[serde(default)]
    pub offset: Option<f64>,
    /// Two-point and table: the readings.
    #[serde(default)]
    pub raw: Option<Vec<f64>>,
    /// Two-point and table: the values at these readings.
    #[serde(default)]
    pub value: Option<Vec<f64>>,
    /// Current loop: the value at 4 mA.
    #[serde(default)]
    pub low: Option<f64>,
    /// Current loop: the value at 20 mA.
    #[serde(default)]
    pub high: Option<f64>,
    /// Current loop: at this many mA and below the wire is open. Default 3.6.
    #[serde(default)]
    pub open_below: Option<f64>,
    /// Current loop: at this many mA and above it is shorted. Default 21.
    #[serde(default)]
    pub short_above: Option<f64>,
}
