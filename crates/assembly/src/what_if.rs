//! What other limits would have told of a recording: its alarms counted before and after.

use crate::error::Error;
use crate::replay::{ReplayOptions, Replayed, recording, with_limits};
use pipeline::LimitCounts;
use recording::Disk;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A limit under the recorded settings and under others; `None` where one of them has it not.
pub struct Row {
    /// Its name.
    pub limit: String,
    /// With the recorded limit files.
    pub before: Option<LimitCounts>,
    /// With the others.
    pub after: Option<LimitCounts>,
}

/// Both replays and the limits of both, in the order of the recorded files, new ones last.
pub struct WhatIf {
    /// With the recorded limit files.
    pub before: Replayed,
    /// With the others.
    pub after: Replayed,
    /// One row a limit.
    pub rows: Vec<Row>,
}

/// Replays a recording with its own limit files and with others.
///
/// # Errors
/// Where the recording cannot be replayed or a limit file cannot be used.
pub fn what_if(
    disk: &Arc<dyn Disk>,
    folder: &Path,
    limits: &[PathBuf],
    progress: &mut dyn FnMut(f64),
) -> Result<WhatIf, Error> {
    // What is wrong with the other limits is told before the longer part of the work.
    let mut half = |from: f64| {
        let mut progress = |p: f64| progress(from + p / 2.0);
        let disk = Arc::clone(disk);
        let options = ReplayOptions { disk, with: None, out: None, compare: false, progress: &mut progress };
        if from == 0.0 { with_limits(folder, options, limits) } else { recording(folder, options) }
    };
    let (after, before) = (half(0.0)?, half(0.5)?);
    let rows = rows(&before, &after);
    Ok(WhatIf { before, after, rows })
}

fn rows(before: &Replayed, after: &Replayed) -> Vec<Row> {
    let of = |r: &Replayed, name: &str| {
        let found = r.plan.layout.limits.iter().position(|l| l.name == name);
        found.and_then(|i| r.counts.limits.get(i).copied())
    };
    let name = |l: &stream::LimitInfo| l.name.clone();
    let mut names: Vec<String> = before.plan.layout.limits.iter().map(name).collect();
    let new = after.plan.layout.limits.iter().map(name).filter(|n| !names.contains(n)).collect::<Vec<_>>();
    names.extend(new);
    names.into_iter().map(|n| Row { before: of(before, &n), after: of(after, &n), limit: n }).collect()
}
