//! Checking that a recording is as it was written.

use super::{DigestError, Digests, FILE, sha256_of_file};
use crate::disk::{Disk, doing};
use crate::manifest::{self, RunId};
use crate::{log, tables};
use std::collections::BTreeSet;
use std::path::Path;

/// What verification found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// Files whose digest is right.
    pub files: usize,
    /// What is wrong, one sentence each; empty when nothing is.
    pub wrong: Vec<String>,
}

/// Checks the digest of every file, the chain, and that every final file has its line. `ended` says whether the
/// manifest reports an end: then the manifest's own line must be there too, and last.
///
/// # Errors
/// Where `digests` cannot be read or its chain is broken.
pub fn verify(disk: &dyn Disk, folder: &Path, run_id: RunId, ended: bool) -> Result<Verified, DigestError> {
    let digests = Digests::read(disk, folder, run_id)?;
    let mut found = Verified::default();
    let size = disk.size(&folder.join(FILE)).map_err(doing("read", &folder.join(FILE)))?.unwrap_or(0);
    if size > digests.whole as u64 {
        found.wrong.push(format!("{FILE}: the last line is torn ({} bytes)", size - digests.whole as u64));
    }
    for line in &digests.lines {
        let path = folder.join(&line.path);
        match disk.size(&path).map_err(doing("read", &path))? {
            None => found.wrong.push(format!("{}: the file is missing", line.path)),
            Some(_) if sha256_of_file(disk, &path)? != line.sha256 => {
                found.wrong.push(format!("{}: the file was changed: its SHA-256 is another", line.path));
            }
            Some(_) => found.files += 1,
        }
    }
    let listed: BTreeSet<&str> = digests.lines.iter().map(|l| l.path.as_str()).collect();
    for sub in [log::FOLDER, tables::SAMPLES, tables::SNAPSHOTS, tables::EVENTS] {
        for name in disk.list(&folder.join(sub)).map_err(doing("list", &folder.join(sub)))? {
            let path = format!("{sub}/{name}");
            if path.ends_with(".parquet") && !listed.contains(path.as_str()) {
                found.wrong.push(format!("{path}: the file has no line in {FILE}"));
            }
        }
    }
    if ended && digests.lines.last().is_none_or(|l| l.path != manifest::FILE) {
        found.wrong.push(format!("{FILE}: the last line is not that of {}: lines are missing", manifest::FILE));
    }
    Ok(found)
}
