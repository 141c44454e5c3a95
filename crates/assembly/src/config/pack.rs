//! The pack file: how the pack is built, so far as formulas need to know.

use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A pack.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise pack file")]
pub struct PackFile {
    /// `simple`, `two-wheel`, `three-wheel` or `four-wheel`.
    #[schemars(with = "String")]
    pub arrangement: Spanned<String>,
    /// `none`, `low-pressure` or `high-pressure`.
    #[schemars(with = "String")]
    pub water_separation: Spanned<String>,
    /// How ram air meets the exchangers: `secondary-first` (one behind the other, the usual case) or `parallel`.
    #[schemars(with = "String")]
    pub ram: Spanned<String>,
    /// What stands before a place's name where there are several packs: `["left", "right"]`. Default one pack
    /// without a name.
    #[serde(default)]
    #[schemars(with = "Option<Vec<String>>")]
    pub packs: Option<Vec<Spanned<String>>>,
}
