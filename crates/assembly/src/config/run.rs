//! The run file: what is recorded, with which map, against which limits.

use super::databases::{DatabaseEntry, DatabaseWords};
use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A run.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise run file")]
pub struct RunFile {
    /// What the run is.
    pub run: RunTable,
    /// Where metrics are served; leave out for none.
    #[serde(default)]
    pub metrics: Option<MetricsTable>,
    /// The sources, each with `name`, `kind` and the options of its kind.
    #[serde(default)]
    #[schemars(with = "Vec<SourceCommon>")]
    pub source: Vec<Spanned<SourceCommon>>,
}

/// What the run is.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunTable {
    /// Its name: part of the recording's folder name. Letters, digits, `-` and `_`.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// The folder that recordings are made in, relative to this file. Default: `recordings` in the working folder.
    #[serde(default)]
    pub recordings: Option<String>,
    /// How long the run is planned to be (`30min`): the check before the run compares it with the free space.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub length: Option<Spanned<String>>,
    /// The pack file, relative to this file; leave out where nothing is derived.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub pack: Option<Spanned<String>>,
    /// The channel map files, relative to this file.
    #[schemars(with = "Vec<String>")]
    pub channels: Vec<Spanned<String>>,
    /// The sensor files: calibrations by serial number; relative to this file.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub sensors: Vec<Spanned<String>>,
    /// `told` (default): the state of every sensor is told and stored. `required`: also, a channel whose calibration is
    /// unknown or overdue when the run starts is uncertain (`not-calibrated`).
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub calibration: Option<Spanned<String>>,
    /// The limit files, relative to this file.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub limits: Vec<Spanned<String>>,
    /// Distance of the snapshots. Default 100ms.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub grid: Option<Spanned<String>>,
    /// How long after a grid time its snapshot waits for slow sources. Default 250ms.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub lateness: Option<Spanned<String>>,
}

/// Where metrics are served.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MetricsTable {
    /// Address and port, on this machine only: `127.0.0.1:9773`; port 0 takes a free one.
    #[schemars(with = "String")]
    pub address: Spanned<String>,
}

/// The keys of a source that the program itself reads; the rest are the options of its kind.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
pub struct SourceCommon {
    /// Its name: first part of the addresses in the channel map.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// Its kind: `bise ports --kinds` lists them.
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// The devices on its line.
    #[serde(default)]
    pub device: Vec<DeviceTable>,
    /// For frames of a CAN bus: its databases (.dbc), relative to this file; all of them are the bus's.
    #[serde(default)]
    #[schemars(with = "Vec<DatabaseWords>")]
    pub databases: Vec<Spanned<DatabaseEntry>>,
    /// For a capture: the file, relative to this file. May be left out and named on the command line.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub path: Option<Spanned<String>>,
    /// For a capture: what is done to its times, because its recorder's clock was another. Default: nothing.
    /// `bise align` proposes it.
    #[serde(default)]
    #[schemars(with = "Option<ClockTable>")]
    pub clock: Option<Spanned<ClockTable>>,
    /// The most records a second that are planned for; the queue holds 10 s of them. Default 12000 for a CAN bus (a
    /// full classic bus of 1 Mbit/s carries 9009 frames of 8 bytes), else 2000. The check before the run takes it for
    /// the space that frames will need: write what your bus carries at most, and the estimate comes down to it.
    #[serde(default)]
    pub rate: Option<u32>,
    /// Whether what it says comes from a simulator. Where other sources of the run are real, every value of it is
    /// uncertain (`simulated`); a run that is simulated as a whole is marked as a whole.
    #[serde(default)]
    pub simulated: bool,
}

/// The keys of [`SourceCommon`]: what is left is for the plugin.
pub const NOT_THE_PLUGINS: &[&str] = &["name", "kind", "device", "databases", "path", "clock", "rate", "simulated"];

/// What is done to the times of a capture: time + offset + drift_ppm / 10⁶ × (time − since).
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockTable {
    /// What is added to every time, with its unit and sign: `+3.25s`, `-120ms`.
    #[schemars(with = "String")]
    pub offset: Spanned<String>,
    /// What is added further, per million of the time since `since`. Default 0.
    #[serde(default)]
    #[schemars(with = "Option<f64>")]
    pub drift_ppm: Option<Spanned<f64>>,
    /// The time, on the capture's own clock, at which the offset holds; needed with a drift: `2026-03-01T08:00:00Z`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub since: Option<Spanned<String>>,
    /// How this was found and how sure it is: kept in the manifest.
    pub found: String,
}

/// A device on a line.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DeviceTable {
    /// Its name: second part of the addresses in the channel map.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// The instrument file, relative to this file.
    #[schemars(with = "String")]
    pub instrument: Spanned<String>,
    /// Modbus: its address, 1 to 247; over TCP its unit id, 0 to 255, by default 255 (the device itself).
    #[serde(default)]
    #[schemars(with = "Option<u8>")]
    pub address: Option<Spanned<u8>>,
    /// How often it is polled. Default 1s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub period: Option<Spanned<String>>,
    /// How long to wait for an answer. Default 300ms.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub time_out: Option<Spanned<String>>,
    /// The longest it may take for an answer at all; after a time-out the line is kept silent so long.
    /// Default 1s.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub worst_answer: Option<Spanned<String>>,
}
