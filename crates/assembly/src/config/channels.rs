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
    /// The ends of the instrument's own range, as it says them: a reading at or beyond one is no value (`rail`). One
    /// end may be `-inf` or `inf`. For a thermocouple module: what its burn-out detection drives it to.
    #[serde(default)]
    #[schemars(with = "Option<[f64; 2]>")]
    pub rail: Option<Spanned<Vec<f64>>>,
    /// The greatest believable change within a second, in `unit`: a faster one makes the value uncertain (`rate`).
    #[serde(default)]
    #[schemars(with = "Option<f64>")]
    pub rate: Option<Spanned<f64>>,
    /// When no bit of the reading changed for this time, though readings came, the value is uncertain (`frozen`).
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub frozen: Option<Spanned<String>>,
    /// How well the value is known, part by part; their squares add up. Each says how much and how it is meant:
    /// `0.3 K k=2`, `0.05 % of 700 kPa rectangular`, `0.4 % of value triangular`, `type K class 1 rectangular`,
    /// `platinum class A film rectangular`, `0.1 K standard`.
    #[serde(default)]
    #[schemars(with = "Option<Texts>")]
    pub uncertainty: Option<Spanned<Texts>>,
    /// Channels with one word here share an error: one scanner, one reference junction.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub correlation: Option<Spanned<String>>,
    /// The serial number of the sensor, or of every link of its chain: sensor, transmitter, module.
    #[serde(default)]
    #[schemars(with = "Option<Texts>")]
    pub sensor: Option<Spanned<Texts>>,
    /// The day of the calibration, `2026-01-31`, where the sensor stands in no sensor file.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub calibrated: Option<Spanned<String>>,
    /// The day the calibration is due, where the sensor stands in no sensor file.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub due: Option<Spanned<String>>,
    /// The certificate, where the sensor stands in no sensor file.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub certificate: Option<Spanned<String>>,
    /// Why there is nothing to calibrate: a counter, a state, a command.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub needs_no_calibration: Option<Spanned<String>>,
    /// How the probe stands in the air. Temperatures and pressures: `total` or `static`. Humidity: `vapour` (a mirror
    /// or film in the duct) or `total-water` (a heated sample line).
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub probe: Option<Spanned<String>>,
    /// The recovery factor of a `static` temperature probe, 0 to 1.
    #[serde(default)]
    pub recovery: Option<f64>,
    /// The area of the duct at the probe, m2.
    #[serde(default)]
    pub duct_area_m2: Option<f64>,
}

/// One text or several.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Texts {
    /// One.
    One(String),
    /// Several.
    Several(Vec<String>),
}

impl Texts {
    /// All of them.
    pub fn all(&self) -> &[String] {
        match self {
            Texts::One(one) => std::slice::from_ref(one),
            Texts::Several(all) => all,
        }
    }
}

/// How a reading becomes a value.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConversionTable {
    /// `linear` (scale, offset), `two-point` (raw, value), `table` (raw, value), `polynomial` (coefficients, signals),
    /// `current-loop` (low, high), `thermocouple` (type, with), `platinum` (r0) or `ratiometric` (ratio, polarity,
    /// closed, open, sum, with).
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
    /// Table: `lines` (default) or `curve`, a smooth one that has no turn of its own.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub between: Option<Spanned<String>>,
    /// Polynomial: the factors of the powers 0, 1, 2 ... of the reading.
    #[serde(default)]
    pub coefficients: Option<Vec<f64>>,
    /// Polynomial: the lowest and the highest reading it holds for.
    #[serde(default)]
    #[schemars(with = "Option<[f64; 2]>")]
    pub signals: Option<Spanned<Vec<f64>>>,
    /// Thermocouple: its type, `K`, `T`, `J`, `E`, `N`, `S`, `R` or `B`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub r#type: Option<Spanned<String>>,
    /// Platinum: the resistance at 0 degC, 100 or 1000 ohm.
    #[serde(default)]
    pub r0: Option<f64>,
    /// Thermocouple, platinum, current loop, ratiometric: the unit of the reading where its source does not say it:
    /// `mV`, `V`, `ohm`, `mA`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub signal: Option<Spanned<String>>,
    /// Thermocouple: the channel of the reference junction, or its temperature where it is held: `0 degC`. Ratiometric:
    /// the channel of the other winding, or of the supply.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub with: Option<Spanned<String>>,
    /// Thermocouple, ratiometric: how old the other channel's value may be. Default: as its own channel says, and for a
    /// ratiometric one 200ms.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub within: Option<Spanned<String>>,
    /// Ratiometric: `difference-over-sum`, (a - b)/(a + b), for two windings; `part-of-whole`, a/b, for a wiper and
    /// its supply.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub ratio: Option<Spanned<String>>,
    /// Ratiometric: `rises-to-open` or `falls-to-open`, which way the ratio goes. Never guessed.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub polarity: Option<Spanned<String>>,
    /// Ratiometric: the ratio when closed.
    #[serde(default)]
    pub closed: Option<f64>,
    /// Ratiometric: the ratio when open.
    #[serde(default)]
    pub open: Option<f64>,
    /// Ratiometric: what the sum (or the supply) is while nothing is broken, lowest and highest, in `signal`.
    #[serde(default)]
    #[schemars(with = "Option<[f64; 2]>")]
    pub sum: Option<Spanned<Vec<f64>>>,
    /// Ratiometric: how far beyond closed and open it may read, as a share of the travel. Default 0.05.
    #[serde(default)]
    pub overtravel: Option<f64>,
}
