//! Digests that name files which salvage makes again are set aside, and vouched for by the new ones.

use super::SalvageError;
use crate::digests::{self, Digests, Line, sha256_of_file};
use crate::disk::{Disk, doing, remove_if_there, write_whole};
use crate::folder::Recording;
use crate::log;
use std::path::Path;

const ASIDE: &str = "digests.salvaged-";
const NEW: &str = "digests.new";

/// Sets the digests aside where they name anything but files of the log that are there, or cannot be read; begins new
/// ones.
pub(super) fn old_digests(recording: &Recording) -> Result<(), SalvageError> {
    let (disk, folder) = (recording.disk().as_ref(), recording.folder());
    let run_id = recording.manifest().run_id;
    let (file, new) = (folder.join(digests::FILE), folder.join(NEW));
    let is_there = disk.size(&file).map_err(doing("read", &file))?.is_some();
    let mut aside = set_aside_before(disk, folder)?;
    let old = match Digests::read(disk, folder, run_id) {
        Ok(d) => Some(d.lines),
        Err(digests::DigestError::Line { .. }) => None,
        Err(e) => return Err(e.into()),
    };
    let mut there = disk.list(&folder.join(log::FOLDER)).map_err(doing("list", &folder.join(log::FOLDER)))?;
    there.iter_mut().for_each(|name| *name = format!("{}/{name}", log::FOLDER));
    let stays = |l: &Line| l.path.starts_with(ASIDE) || there.contains(&l.path);
    let good = old.as_ref().is_some_and(|lines| lines.iter().all(stays));
    if good && (is_there || aside.is_empty()) {
        return Ok(remove_if_there(disk, &new)?);
    }
    // Where a crash came between the two renames below, the old file has its new name already.
    let mut lines = Vec::new();
    if is_there {
        let name = format!("{ASIDE}{}", aside.len() + 1);
        lines.push(Line { sha256: sha256_of_file(disk, &file)?, path: name.clone() });
        aside.push(name);
    }
    for name in aside.iter().filter(|n| lines.iter().all(|l| l.path != **n)).cloned().collect::<Vec<_>>() {
        lines.push(Line { sha256: sha256_of_file(disk, &folder.join(&name))?, path: name });
    }
    lines.extend(old.into_iter().flatten().filter(|l| stays(l) && !l.path.starts_with(ASIDE)));
    write_whole(disk, folder, NEW, Digests::text_of(run_id, lines).as_bytes())?;
    if let (true, Some(name)) = (is_there, aside.last()) {
        let to = folder.join(name);
        disk.rename(&file, &to).map_err(doing("set aside", &file))?;
    }
    disk.rename(&new, &file).map_err(doing("put in place", &file))?;
    Ok(disk.sync_folder(folder).map_err(doing("sync", folder))?)
}

fn set_aside_before(disk: &dyn Disk, folder: &Path) -> Result<Vec<String>, SalvageError> {
    let mut names = disk.list(folder).map_err(doing("list", folder))?;
    names.retain(|n| n.starts_with(ASIDE));
    Ok(names)
}
