//! The sensor file of a site: what was calibrated when, and what was found.

use super::Ordered;
use super::channels::{ConversionTable, Texts};
use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A sensor file.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise sensor file")]
pub struct SensorsFile {
    /// The sensors, transmitters and modules by serial number: `"T-0417" = { kind = "...", calibrated = "..." }`.
    #[schemars(with = "std::collections::BTreeMap<String, SensorTable>")]
    pub sensor: Ordered<SensorTable>,
}

/// One sensor.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SensorTable {
    /// What it is, in words.
    #[serde(default)]
    pub kind: String,
    /// The day of its calibration: `2026-01-31`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub calibrated: Option<Spanned<String>>,
    /// The day it is due; that day still counts.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub due: Option<Spanned<String>>,
    /// The certificate.
    #[serde(default)]
    pub certificate: String,
    /// Why it must not be used, where that is so: it counts as not calibrated.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub suspended: Option<Spanned<String>>,
    /// How well its values are known, as in a channel map. Adds to what the channel says.
    #[serde(default)]
    #[schemars(with = "Option<Texts>")]
    pub uncertainty: Option<Spanned<Texts>>,
    /// What the calibration found: from the value as indicated to the corrected value, both in `unit`.
    #[serde(default)]
    #[schemars(with = "Option<ConversionTable>")]
    pub correction: Option<Spanned<ConversionTable>>,
    /// The unit of the correction; the channel must have the same.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub unit: Option<Spanned<String>>,
}
