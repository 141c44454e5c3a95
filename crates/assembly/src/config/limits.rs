//! The limit file. The program ships none: each limit names the site's document it is taken from.

use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// Limits of one document.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise limit file")]
pub struct LimitsFile {
    /// The limits.
    #[schemars(with = "Vec<LimitTable>")]
    pub limit: Vec<Spanned<LimitTable>>,
}

/// One limit.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitTable {
    /// Its name.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// The channel or derived quantity it watches.
    #[schemars(with = "String")]
    pub column: Spanned<String>,
    /// `above` or `below`: which side is outside.
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// With its unit: `85 degC`. That of a pressure is absolute, and says so: `36 psia`, or `250 kPa` with `reference`.
    #[schemars(with = "String")]
    pub threshold: Spanned<String>,
    /// For a pressure in a unit that does not name its reference: `absolute`. There are no gauge limits.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub reference: Option<Spanned<String>>,
    /// How far back inside the value must be to be met again, with its unit. Default 0.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub dead_band: Option<Spanned<String>>,
    /// How long outside before it counts. Default 0s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub on_delay: Option<Spanned<String>>,
    /// How long inside before it is met again. Default 0s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub off_delay: Option<Spanned<String>>,
    /// `snapshot` (default) or `sample`: judged on the grid or on every sample.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub basis: Option<Spanned<String>>,
    /// The document it is taken from.
    pub document: String,
    /// The document's revision.
    pub revision: String,
    /// The paragraph.
    #[serde(default)]
    pub paragraph: String,
}
