//! Run files and channel maps for the cases, written as a user would write them.

use crate::error::Error;
use assembly::files::Files;
use assembly::load::{Assembled, CaptureFiles, load};
use decode::ReadingInfo;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Writes a run file into `folder` that replays a CAN log through a map of every signal of its database, in SI.
pub(crate) fn whole_bus(folder: &Path, log: &Path, dbc: &Path) -> Result<PathBuf, Error> {
    let text = std::fs::read_to_string(dbc).map_err(Error::io("reading", dbc))?;
    let database = decode::can::CanDatabase::load(&text, &dbc.display().to_string());
    let database = database.map_err(|e| Error::Failed(e.to_string()))?;
    let mut map = String::from("[channel]\n");
    for reading in database.readings() {
        let _ = writeln!(map, "{}", channel(reading));
    }
    put(&folder.join("channels.toml"), &map)?;
    let run = format!(
        "[run]\nname = \"bench\"\nchannels = [\"channels.toml\"]\n\n[[source]]\nname = \"bus\"\nkind = \"candump\"\n\
         path = {log:?}\ndatabases = [{dbc:?}]\n",
        log = absolute(log)?,
        dbc = absolute(dbc)?,
    );
    let path = folder.join("run.toml");
    put(&path, &run)?;
    Ok(path)
}

/// A line of the map for a signal: its own unit, `1` where it has none; pressures as differences, which may have
/// either sign.
fn channel(reading: &ReadingInfo) -> String {
    let name = reading.name.rsplit('.').next().unwrap_or(&reading.name).to_lowercase();
    let unit = reading.unit.as_deref().filter(|u| !u.is_empty()).unwrap_or("1");
    let pressure = ["kPa", "psi"].contains(&unit);
    let kind = if pressure { ", quantity = \"pressure_difference\", reference = \"difference\"" } else { "" };
    format!("\"bus.{name}\" = {{ from = \"bus/{}\", unit = \"{unit}\"{kind} }}", reading.name)
}

/// The message that [`pack`] reads: 16 numbers of 16 bits in one frame of 32 bytes.
pub(crate) const PACK_MESSAGE: u32 = 0x100;

/// The channels of [`pack`], each with its unit, scale, offset and the middle of its walk.
pub(crate) const PACK: [(&str, &str, f64, f64, f64); 16] = [
    ("pack_in.temperature", "degC", 0.01, -100.0, 197.0),
    ("primary_out.temperature", "degC", 0.01, -100.0, 107.0),
    ("compressor_out.temperature", "degC", 0.01, -100.0, 157.0),
    ("secondary_out.temperature", "degC", 0.01, -100.0, 47.0),
    ("turbine1_in.temperature", "degC", 0.01, -100.0, 27.0),
    ("turbine1_out.temperature", "degC", 0.01, -100.0, -3.0),
    ("secondary_ram_out.temperature", "degC", 0.01, -100.0, 67.0),
    ("ram_in.temperature", "degC", 0.01, -100.0, 15.0),
    ("pack_in.pressure", "kPa", 0.01, 0.0, 320.0),
    ("compressor_in.pressure", "kPa", 0.01, 0.0, 290.0),
    ("compressor_out.pressure", "kPa", 0.01, 0.0, 440.0),
    ("turbine1_in.pressure", "kPa", 0.01, 0.0, 420.0),
    ("turbine1_out.pressure", "kPa", 0.01, 0.0, 105.0),
    ("pack_in.flow", "kg/s", 0.0001, 0.0, 0.5),
    ("ambient.relative_humidity", "%", 0.01, 0.0, 50.0),
    ("acm.speed", "rpm", 1.0, 0.0, 43_000.0),
];

/// Limits of [`pack`] beside one above each channel: those of the derived quantities, and below two channels.
const MORE_LIMITS: [(&str, &str, &str); 8] = [
    ("primary.effectiveness", "below", "0.1 1"),
    ("secondary.effectiveness", "below", "0.1 1"),
    ("compressor.pressure_ratio", "above", "1.6 1"),
    ("turbine1.pressure_ratio", "above", "5 1"),
    ("pack_in.corrected_flow", "above", "0.9 kg/s"),
    ("acm.corrected_speed", "above", "39500 rpm"),
    ("turbine1_out.temperature", "below", "-30 degC"),
    ("pack_in.flow", "below", "0.1 kg/s"),
];

/// A pack with 16 channels on a bus, everything derived that a three-wheel pack has, and 24 limits.
pub(crate) fn pack(folder: &Path) -> Result<Assembled, Error> {
    let mut dbc = format!("VERSION \"\"\n\nBS_:\n\nBU_: RIG\n\nBO_ {PACK_MESSAGE} PACK: 32 RIG\n");
    let mut map = String::from("[channel]\n");
    let mut limits = String::new();
    for (i, (name, unit, scale, offset, middle)) in PACK.iter().enumerate() {
        let _ = writeln!(dbc, " SG_ S{i} : {}|16@1+ ({scale},{offset}) [0|0] \"{unit}\" RIG", i * 16);
        let kind = if name.ends_with("pressure") { ", reference = \"absolute\"" } else { "" };
        let _ = writeln!(map, "\"{name}\" = {{ from = \"bus/PACK.S{i}\", unit = \"{unit}\"{kind} }}");
        // A limit of a pressure says against what: here absolute, `kPaa`.
        let against = if name.ends_with("pressure") { "a" } else { "" };
        limit(&mut limits, name, "above", &format!("{} {unit}{against}", middle + 180.0 * scale));
    }
    MORE_LIMITS.iter().for_each(|(column, kind, threshold)| limit(&mut limits, column, kind, threshold));
    put(&folder.join("pack.dbc"), &dbc)?;
    put(&folder.join("channels.toml"), &map)?;
    put(&folder.join("limits.toml"), &limits)?;
    let pack = "arrangement = \"three-wheel\"\nwater_separation = \"high-pressure\"\nram = \"secondary-first\"\n";
    put(&folder.join("pack.toml"), pack)?;
    let run = "[run]\nname = \"bench\"\npack = \"pack.toml\"\nchannels = [\"channels.toml\"]\n\
               limits = [\"limits.toml\"]\n\n[[source]]\nname = \"bus\"\nkind = \"candump\"\n\
               databases = [\"pack.dbc\"]\n";
    let path = folder.join("run.toml");
    put(&path, run)?;
    Ok(load(&Files::disk(), &path, &CaptureFiles::default())?)
}

fn limit(text: &mut String, column: &str, kind: &str, threshold: &str) {
    let _ = writeln!(
        text,
        "[[limit]]\nname = \"{column} {kind}\"\ncolumn = \"{column}\"\nkind = \"{kind}\"\nthreshold = \"{threshold}\"\n\
         on_delay = \"500ms\"\noff_delay = \"500ms\"\ndocument = \"invented\"\nrevision = \"-\"\n"
    );
}

fn put(path: &Path, text: &str) -> Result<(), Error> {
    std::fs::write(path, text).map_err(Error::io("writing", path))
}

fn absolute(path: &Path) -> Result<PathBuf, Error> {
    std::path::absolute(path).map_err(Error::io("finding", path))
}
