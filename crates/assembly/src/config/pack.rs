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
    /// How the two fluids flow through each exchanger.
    #[serde(default)]
    pub exchanger: ExchangerTable,
    /// The cabin that capacities and fresh air refer to.
    #[serde(default)]
    pub cabin: CabinTable,
    /// What is known of the supply air without an instrument.
    #[serde(default)]
    pub supply: SupplyTable,
}

/// How the two fluids flow: `counter-flow`, `parallel-flow`, `cross-flow` (both unmixed, a plate-fin core),
/// `cross-flow-hot-mixed`, `cross-flow-cold-mixed`, `two-pass-cross-counter-flow`, `three-pass-cross-counter-flow`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct ExchangerTable {
    /// The primary exchanger.
    #[schemars(with = "Option<String>")]
    pub primary: Option<Spanned<String>>,
    /// The secondary exchanger.
    #[schemars(with = "Option<String>")]
    pub secondary: Option<Spanned<String>>,
    /// The reheater.
    #[schemars(with = "Option<String>")]
    pub reheater: Option<Spanned<String>>,
    /// The condenser.
    #[schemars(with = "Option<String>")]
    pub condenser: Option<Spanned<String>>,
}

/// The cabin.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct CabinTable {
    /// Temperature that cooling capacities refer to: `"27 degC"`.
    #[schemars(with = "Option<String>")]
    pub temperature: Option<Spanned<String>>,
    /// Humidity ratio that cooling capacities refer to: `"9 g/kg"`.
    #[schemars(with = "Option<String>")]
    pub humidity_ratio: Option<Spanned<String>>,
    /// How many people fresh air is counted for.
    #[schemars(with = "Option<u32>")]
    pub occupants: Option<Spanned<u32>>,
}

/// The supply air.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct SupplyTable {
    /// Humidity ratio of a bench's dried air, where no instrument tells: `"0.5 g/kg"`. Results say it was declared.
    #[schemars(with = "Option<String>")]
    pub humidity_ratio: Option<Spanned<String>>,
}
