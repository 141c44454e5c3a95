//! All that can be known before the run.

use crate::error::Error;
use crate::files::Files;
use crate::load::{Assembled, CaptureFiles, SourceSpec, load};
use crate::problem::Problems;
use crate::sensors::states;
use crate::understood::Understood;
use plugin_api::{DeviceSetup, Port};
use recording::manifest::SensorState;
use recording::{Disk, RealDisk};
use std::path::{Path, PathBuf};
use stream::EventTime;

/// What a check found.
pub struct Checked {
    /// The run, as it would be started.
    pub assembled: Assembled,
    /// Every channel and derived quantity with where it comes from.
    pub columns: Vec<Resolved>,
    /// What the recording may take, and what is free.
    pub space: Space,
    /// The sensors as they stand now.
    pub sensors: Vec<SensorState>,
    /// The channels whose calibration the run demands and does not have now.
    pub not_calibrated: Vec<String>,
    /// The ports of live sources, where they were asked for.
    pub ports: Vec<(String, Port)>,
    /// What was understood of each capture.
    pub captures: Vec<Understood>,
}

/// One column.
pub struct Resolved {
    /// Its name.
    pub name: String,
    /// Its SI unit.
    pub unit: String,
    /// Where it comes from, or which channels are missing.
    pub from: String,
    /// Whether it can have a value in this run.
    pub there: bool,
}

/// Space on the disk.
pub struct Space {
    /// The folder recordings are made in.
    pub folder: PathBuf,
    /// Bytes free there.
    pub free: u64,
    /// Bytes the planned length needs, by a rough estimate; `None` where no length is planned.
    pub needed: Option<u64>,
}

impl Space {
    /// Twice what is needed is there, as it should be before a run that cannot be repeated (common practice, no
    /// source).
    pub fn is_enough(&self) -> bool {
        self.needed.is_none_or(|n| self.free / 2 >= n)
    }
}

/// Checks a run file and, with `ports`, whether its ports are there and can be opened.
///
/// # Errors
/// Every problem of the configuration.
pub fn check(run: &Path, ports: bool) -> Result<Checked, Error> {
    let assembled = load(&Files::disk(), run, &CaptureFiles::default())?;
    let columns = columns(&assembled);
    let folder = assembled.recordings.clone();
    let there = folder.ancestors().find(|p| p.is_dir()).unwrap_or(Path::new(".")).to_owned();
    let free =
        RealDisk.free_space(&there).map_err(Error::io(format!("asking for free space in {}", there.display())))?;
    let needed = assembled.length.map(|l| (l.as_secs_f64() * bytes_per_second(&assembled)) as u64);
    let mut found = Vec::new();
    if ports {
        for s in &assembled.sources {
            if let SourceSpec::Live { plugin, setup, .. } = s {
                let port = (plugin.probe)(setup)
                    .map_err(|e| Problems::from(crate::problem::Problem::bare(e.message, e.help)))?;
                found.push((setup.name.clone(), port));
            }
        }
    }
    let captures = crate::understood::captures(&assembled)?;
    let now = EventTime(i64::try_from(jiff::Timestamp::now().as_nanosecond()).unwrap_or(i64::MAX));
    let specs = assembled.plan.channels.iter().map(|c| c.channel.spec());
    Ok(Checked {
        space: Space { folder, free, needed },
        sensors: states(&assembled.sensors, now),
        not_calibrated: specs.filter(|s| !s.calibration.holds_at(now)).map(|s| s.name.clone()).collect(),
        ports: found,
        columns,
        captures,
        assembled,
    })
}

fn columns(a: &Assembled) -> Vec<Resolved> {
    let mut all = Vec::new();
    for c in &a.plan.layout.columns {
        all.push(Resolved { name: c.name.clone(), unit: c.unit.clone(), from: c.provenance.clone(), there: true });
    }
    for absent in &a.plan.pack.absent {
        let from = format!("missing: {}", absent.missing.join(", "));
        all.push(Resolved { name: absent.name.clone(), unit: String::new(), from, there: false });
    }
    all
}

/// A rough estimate, on the safe side: CAN frames as planned (`rate`, and a full bus where the run file says nothing),
/// devices as they are polled; a record at 30 bytes in the log while it is a segment and 20 bytes a sample in the
/// tables, snapshots at 10 bytes a column.
fn bytes_per_second(a: &Assembled) -> f64 {
    let snapshots = 1e9 / a.plan.layout.grid.0 as f64;
    let mut bytes = snapshots * a.plan.layout.columns.len() as f64 * 10.0;
    for s in &a.sources {
        let SourceSpec::Live { setup, queue, .. } = s else { continue };
        // A device that streams is taken to send ten lines a second.
        let polled = |d: &DeviceSetup| match d.queries.len() {
            0 => 10.0,
            n => n as f64 / d.period.as_secs_f64().max(1e-3),
        };
        let planned = *queue as f64 / 10.0;
        let records = if setup.devices.is_empty() { planned } else { setup.devices.iter().map(polled).sum() };
        bytes += records * (30.0 + 2.0 * 20.0);
    }
    bytes
}

/// Every port of every kind on this machine.
pub fn ports() -> Vec<(&'static str, Vec<Port>)> {
    crate::registry::SOURCES.iter().map(|p| (p.kind, (p.list)())).collect()
}
