//! What is cut off a segment is kept, with a note that says what it is.

use super::{SalvageError, damaged};
use crate::disk::{Disk, DiskError, doing, read_all, read_exact_at, remove_if_there, write_whole};
use crate::log::{self, Prefix, segment_name};
use crate::manifest::{Cut, CutRow, placed};
use std::path::Path;

/// Keeps what follows the valid prefix of a segment; nothing to do where nothing follows.
pub(super) fn keep(disk: &dyn Disk, folder: &Path, prefix: &Prefix) -> Result<(), SalvageError> {
    let Some(reason) = &prefix.reason else { return Ok(()) };
    let number = prefix.whole.number;
    let (kept, note) = (format!("cut-{number:06}.bin"), format!("cut-{number:06}.toml"));
    let log = folder.join(log::FOLDER);
    copy(disk, &log, &segment_name(number), prefix.whole.bytes, prefix.cut_bytes, &kept)?;
    let cut = Cut {
        file: format!("{}/{}", log::FOLDER, segment_name(number)),
        at: prefix.whole.bytes,
        bytes: prefix.cut_bytes,
        reason: reason.to_string(),
        kept: format!("{}/{kept}", log::FOLDER),
    };
    write_note(disk, &log, &note, &cut)
}

/// Writes the note about a cut.
pub(super) fn write_note(disk: &dyn Disk, log: &Path, name: &str, cut: &Cut) -> Result<(), SalvageError> {
    let wrong = |e: toml::ser::Error| SalvageError::CutNote { file: log.join(name), what: e.to_string() };
    let text = toml::to_string(&CutRow::of(cut)).map_err(wrong)?;
    Ok(write_whole(disk, log, name, text.as_bytes())?)
}

/// Copies a stretch of a file, piece by piece, to a file that has its name only once it is whole.
fn copy(disk: &dyn Disk, log: &Path, from: &str, at: u64, bytes: u64, to: &str) -> Result<(), DiskError> {
    let (source, path, temporary) = (log.join(from), log.join(to), log.join(format!("{to}.tmp")));
    let file = disk.open(&source).map_err(doing("open", &source))?;
    remove_if_there(disk, &temporary)?;
    let mut out = disk.create(&temporary).map_err(doing("create", &temporary))?;
    let (mut piece, mut done) = (vec![0; 1 << 20], 0);
    while done < bytes {
        let n = usize::try_from(bytes - done).map_or(piece.len(), |n| n.min(piece.len()));
        read_exact_at(file.as_ref(), at + done, &mut piece[..n]).map_err(doing("read", &source))?;
        out.write_all(&piece[..n]).map_err(doing("write", &temporary))?;
        done += n as u64;
    }
    out.sync().map_err(doing("sync", &temporary))?;
    disk.rename(&temporary, &path).map_err(doing("put in place", &path))?;
    disk.sync_folder(log).map_err(doing("sync", log))
}

/// Everything that was ever cut off this recording's log or set aside from it.
pub(super) fn all(disk: &dyn Disk, folder: &Path) -> Result<Vec<Cut>, SalvageError> {
    let log = folder.join(log::FOLDER);
    let mut cuts = Vec::new();
    for name in disk.list(&log).map_err(doing("list", &log))? {
        if ["cut-", damaged::ASIDE, damaged::MISSING].iter().any(|p| name.starts_with(p)) && name.ends_with(".toml") {
            let file = log.join(name);
            let text = String::from_utf8_lossy(&read_all(disk, &file)?).into_owned();
            let row: CutRow =
                toml::from_str(&text).map_err(|e| SalvageError::CutNote { file, what: placed(&text, &e) })?;
            cuts.push(row.into_cut());
        }
    }
    Ok(cuts)
}
