//! Closed files of the log that are not as they were written are set aside, whole, under a name that nothing reads.

use super::{SalvageError, cut};
use crate::digests::{DigestError, Digests, sha256_of_file};
use crate::disk::{Disk, doing};
use crate::folder::Recording;
use crate::log::read::{log_parts, unreadable};
use crate::log::{self, segment_name};
use crate::manifest::Cut;
use std::path::Path;

/// How the names of damaged files begin.
pub(super) const ASIDE: &str = "damaged-";
/// How the names of notes about missing files begin.
pub(super) const MISSING: &str = "missing-";

/// Sets aside every closed file of the log that is damaged, and notes every one that the digests name and that is not
/// there. The note comes before the file gets its other name: a crash between the two leaves what is found again.
pub(super) fn set_aside(recording: &Recording) -> Result<(), SalvageError> {
    let (disk, folder) = (recording.disk().as_ref(), recording.folder());
    let digests = match Digests::read(disk, folder, recording.manifest().run_id) {
        Ok(d) => Some(d),
        Err(DigestError::Line { .. }) => None,
        Err(e) => return Err(e.into()),
    };
    let log = folder.join(log::FOLDER);
    for part in log_parts(disk, folder)?.iter().filter(|p| p.parquet) {
        let name = format!("{:06}.parquet", part.number);
        let line = digests.as_ref().and_then(|d| d.of(&format!("{}/{name}", log::FOLDER)));
        let fault = match line {
            Some(l) if sha256_of_file(disk, &log.join(&name))? == l.sha256 => None,
            Some(_) => Some("its SHA-256 is not the one in `digests`".to_owned()),
            None => unreadable(disk, &log.join(&name))?,
        };
        if let Some(fault) = fault {
            move_aside(disk, &log, &name, format!("the file is damaged: {fault}"))?;
        }
    }
    for line in digests.iter().flat_map(|d| &d.lines) {
        note_missing(disk, &log, &line.path)?;
    }
    Ok(())
}

fn move_aside(disk: &dyn Disk, log: &Path, name: &str, reason: String) -> Result<(), SalvageError> {
    let file = log.join(name);
    let names = disk.list(log).map_err(doing("list", log))?;
    let stem = name.trim_end_matches(".parquet");
    let kept = (1..).map(|n| format!("{ASIDE}{stem}-{n}")).find(|k| !names.contains(&format!("{k}.bin")));
    let kept = kept.unwrap_or_default();
    let cut = Cut {
        file: format!("{}/{name}", log::FOLDER),
        at: 0,
        bytes: disk.size(&file).map_err(doing("read", &file))?.unwrap_or(0),
        reason,
        kept: format!("{}/{kept}.bin", log::FOLDER),
    };
    cut::write_note(disk, log, &format!("{kept}.toml"), &cut)?;
    disk.rename(&file, &log.join(format!("{kept}.bin"))).map_err(doing("set aside", &file))?;
    Ok(disk.sync_folder(log).map_err(doing("sync", log))?)
}

/// Notes that a file with a line in the digests is not there, unless it was set aside or its segment still is.
fn note_missing(disk: &dyn Disk, log: &Path, path: &str) -> Result<(), SalvageError> {
    let name = path.strip_prefix(&format!("{}/", log::FOLDER)).unwrap_or_default();
    let Some(number) = name.strip_suffix(".parquet").and_then(|n| n.parse().ok()) else { return Ok(()) };
    let aside = format!("{ASIDE}{number:06}-");
    let explains =
        |n: &String| *n == name || *n == segment_name(number) || n.starts_with(&aside) && n.ends_with(".bin");
    if disk.list(log).map_err(doing("list", log))?.iter().any(explains) {
        return Ok(());
    }
    let reason = "the file is missing: `digests` names it".to_owned();
    let cut = Cut { file: path.to_owned(), at: 0, bytes: 0, reason, kept: String::new() };
    cut::write_note(disk, log, &format!("{MISSING}{number:06}.toml"), &cut)
}
