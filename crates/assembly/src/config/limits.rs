//! The limit file. The program ships none: each limit names the site's document it is taken from.

use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// Limits of one document.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise limit file")]
pub struct LimitsFile {
    /// Who entered the limits of this file, where a limit does not say it.
    #[serde(default)]
    pub entered_by: Option<String>,
    /// When, as a date: `2026-03-01`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub entered_on: Option<Spanned<String>>,
    /// Groups of limits, of which the first one crossed counts.
    #[serde(default)]
    pub group: Vec<GroupTable>,
    /// The limits.
    #[schemars(with = "Vec<LimitTable>")]
    pub limit: Vec<Spanned<LimitTable>>,
}

/// A group of limits.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupTable {
    /// Its name.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// How long after the first crossing others are still put in order with it.
    #[schemars(with = "String")]
    pub window: Spanned<String>,
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
    /// `above` or `below` a threshold, outside a `band`, a `rate` too fast, beyond a `curve` over another column,
    /// `disagreement` with another column, `stuck`, a `count` of crossings too high, a `deviation` from what is
    /// expected.
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// above, below, count, disagreement: with its unit: `85 degC`. That of a pressure is absolute, and says so:
    /// `36 psia`, or `250 kPa` with `reference`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub threshold: Option<Spanned<String>>,
    /// band, deviation: the lower limit.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub low: Option<Spanned<String>>,
    /// band, deviation: the upper limit.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub high: Option<Spanned<String>>,
    /// disagreement: as a share of both columns' mean magnitude, in place of a threshold: `3 %`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub share: Option<Spanned<String>>,
    /// rate: the change per second: `2 K`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub per_second: Option<Spanned<String>>,
    /// rate, stuck, count: the time it looks back over.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub window: Option<Spanned<String>>,
    /// count: how many times are still met.
    #[serde(default)]
    #[schemars(with = "Option<u32>")]
    pub count: Option<Spanned<u32>>,
    /// rate, curve, count: `above` (rising), `below` (falling) or `either`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub side: Option<Spanned<String>>,
    /// curve: points, each the value of the column it lies over and the limit there, both with units.
    #[serde(default)]
    #[schemars(with = "Option<Vec<Vec<String>>>")]
    pub points: Option<Spanned<Vec<Vec<Spanned<String>>>>>,
    /// stuck: a change that is more than this is one.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub change: Option<Spanned<String>>,
    /// stuck: how far the driver must have moved.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub driver_change: Option<Spanned<String>>,
    /// curve: the column it lies over.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub over: Option<Spanned<String>>,
    /// disagreement: the other column.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub with: Option<Spanned<String>>,
    /// deviation: the column of what is expected.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub expected: Option<Spanned<String>>,
    /// stuck: the column that makes the other one move.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub driver: Option<Spanned<String>>,
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
    /// In place of on_delay: `[3, 5]` counts it as crossed when 3 of the last 5 judged values were outside.
    #[serde(default)]
    #[schemars(with = "Option<Vec<u8>>")]
    pub n_of_m: Option<Spanned<Vec<u8>>>,
    /// `snapshot` (default) or `sample`: judged on the grid or on every sample.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub basis: Option<Spanned<String>>,
    /// When it is judged at all: `{ all = [...] }` or `{ any = [...] }`. Default: always.
    #[serde(default)]
    #[schemars(with = "Option<EnableTable>")]
    pub enable: Option<Spanned<EnableTable>>,
    /// How long the condition must have held before it is judged. Default 0s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub hold_off: Option<Spanned<String>>,
    /// Whether it stays crossed until an operator resets it. Default false.
    #[serde(default)]
    pub latching: bool,
    /// The group of the file in which the first one crossed counts.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub group: Option<Spanned<String>>,
    /// Limits that explain it: while one of them is crossed its alarm is kept in the log and not announced.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub suppressed_by: Vec<Spanned<String>>,
    /// The longest time for which an operator may shelve its alarms; 0s: never. Default 30min.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub longest_shelving: Option<Spanned<String>>,
    /// How urgent it is, in the site's own words.
    #[serde(default)]
    pub priority: String,
    /// How a measured value is judged against it for a verdict: `simple`, `guarded-acceptance`, `guarded-rejection` or
    /// `guarded`. Default: guarded, 95 %, and the verdict says that the document is silent.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub rule: Option<Spanned<String>>,
    /// The guard band of the rule: `95 %` (so sure), `2 u` (so many standard uncertainties) or a width with its unit.
    /// Default 95 %.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub guard_band: Option<Spanned<String>>,
    /// The document it is taken from.
    pub document: String,
    /// The document's revision.
    pub revision: String,
    /// The paragraph.
    #[serde(default)]
    pub paragraph: String,
    /// Who entered it here.
    #[serde(default)]
    pub entered_by: Option<String>,
    /// When, as a date: `2026-03-01`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub entered_on: Option<Spanned<String>>,
}

/// A condition on other columns.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EnableTable {
    /// Every one of these must hold.
    #[serde(default)]
    pub all: Vec<ComparisonTable>,
    /// One of these must hold.
    #[serde(default)]
    pub any: Vec<ComparisonTable>,
}

/// A column beyond a threshold.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ComparisonTable {
    /// The column.
    #[schemars(with = "String")]
    pub column: Spanned<String>,
    /// It holds above this.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub above: Option<Spanned<String>>,
    /// It holds below this.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub below: Option<Spanned<String>>,
    /// How far back the value must go before it does not hold any more. Default 0.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub dead_band: Option<Spanned<String>>,
}
