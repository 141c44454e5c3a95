//! Which recordings and results used a sensor: what must be looked at again when it is found out of tolerance.

use crate::error::Error;
use crate::replay::{Named, what_is};
use crate::sensors::day_begins;
use jiff::civil::Date;
use recording::manifest::SensorState;
use recording::{Disk, Manifest};
use std::path::{Path, PathBuf};
use stream::{EventTime, Layout};

/// What was found.
#[derive(Debug, Default, PartialEq)]
pub struct Affected {
    /// The recordings that used it, in the order of their folders.
    pub recordings: Vec<Used>,
    /// Recordings looked at, those that ended before the day asked for included.
    pub looked_at: usize,
    /// Recordings of the time asked for whose channels name no sensor at all: nothing can be said of them.
    pub silent: Vec<PathBuf>,
    /// Recordings that could not be read, and why.
    pub unreadable: Vec<(PathBuf, String)>,
    /// Every serial number that was found, for one that was misspelt.
    pub known: Vec<String>,
}

/// A recording that used it, and what in it did.
#[derive(Clone, Debug, PartialEq)]
pub struct Used {
    /// Its folder.
    pub folder: PathBuf,
    /// The run's name.
    pub run: String,
    /// When it started.
    pub started: EventTime,
    /// How the sensor's calibration stood then.
    pub sensor: SensorState,
    /// The channels that name the sensor.
    pub channels: Vec<String>,
    /// The channels and derived quantities that are made from those.
    pub results: Vec<String>,
    /// The limits that were judged on any of them.
    pub limits: Vec<String>,
}

/// Looks through the recordings in these folders; a folder may be a recording itself. `since` leaves out those that
/// had ended before that day began anywhere on Earth.
///
/// # Errors
/// Where a folder is not there or cannot be listed. A recording that cannot be read is told in the result.
pub fn affected(disk: &dyn Disk, serial: &str, since: Option<Date>, folders: &[PathBuf]) -> Result<Affected, Error> {
    let since = since.and_then(day_begins);
    let mut found = Affected::default();
    for folder in folders {
        for recording in recordings(disk, folder)? {
            found.look(disk, serial, since, recording);
        }
    }
    found.known.sort_unstable();
    found.known.dedup();
    Ok(found)
}

/// The recordings in a folder, by name, or the folder itself where it is one.
fn recordings(disk: &dyn Disk, folder: &Path) -> Result<Vec<PathBuf>, Error> {
    if what_is(folder)? == Named::Recording {
        return Ok(vec![folder.to_owned()]);
    }
    let mut names = disk.list(folder).map_err(Error::io(format!("listing {}", folder.display())))?;
    names.sort_unstable();
    let inside = names.into_iter().map(|n| folder.join(n)).filter(|p| p.is_dir());
    // A folder with a log and no manifest was a recording: it is told, not passed over.
    Ok(inside.filter(|p| what_is(p).is_ok_and(|w| w == Named::Recording) || p.join("log").is_dir()).collect())
}

impl Affected {
    fn look(&mut self, disk: &dyn Disk, serial: &str, since: Option<EventTime>, folder: PathBuf) {
        self.looked_at += 1;
        let manifest = match Manifest::read(disk, &folder) {
            Ok(m) => m,
            Err(e) => return self.unreadable.push((folder, e.to_string())),
        };
        let ended = manifest.end.as_ref().map(|e| e.ended);
        if ended.zip(since).is_some_and(|(ended, since)| ended < since) {
            return;
        }
        if manifest.sensors.is_empty() {
            return self.silent.push(folder);
        }
        self.known.extend(manifest.sensors.iter().map(|s| s.serial.clone()));
        let Some(sensor) = manifest.sensors.iter().find(|s| s.serial == serial) else { return };
        let (results, limits) = made_from(&manifest.layout, &sensor.channels);
        self.recordings.push(Used {
            folder,
            run: manifest.layout.run.clone(),
            started: manifest.started,
            channels: sensor.channels.clone(),
            sensor: sensor.clone(),
            results,
            limits,
        });
    }
}

/// The columns that are made from these channels, by way of any other, and the limits on all of them.
fn made_from(layout: &Layout, channels: &[String]) -> (Vec<String>, Vec<String>) {
    let mut touched: Vec<bool> = layout.columns.iter().map(|c| channels.contains(&c.name)).collect();
    loop {
        let more = layout.columns.iter().enumerate().position(|(i, c)| {
            let inputs = c.about.iter().filter(|(k, _)| k == "inputs").flat_map(|(_, v)| v.split(", "));
            let mut ids = inputs.filter_map(|name| layout.column(name));
            !touched[i] && ids.any(|id| touched[usize::from(id.0)])
        });
        match more {
            Some(i) => touched[i] = true,
            None => break,
        }
    }
    let own = |name: &str| channels.iter().any(|c| c == name);
    let named = layout.columns.iter().zip(&touched).filter(|(c, touched)| **touched && !own(&c.name));
    let results = named.map(|(c, _)| c.name.clone()).collect();
    let on = |l: &&stream::LimitInfo| touched.get(usize::from(l.column.0)).is_some_and(|t| *t);
    (results, layout.limits.iter().filter(on).map(|l| l.name.clone()).collect())
}
