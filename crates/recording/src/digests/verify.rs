//! Checking that a recording is as it was written.

use super::{DigestError, Digests, FILE, sha256_of_file};
use crate::disk::{Disk, doing};
use crate::manifest::{self, RunId};
use crate::{log, tables};
use std::collections::BTreeSet;
use std::fmt;
use std::path::Path;

/// What verification found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// Files whose digest is right.
    pub files: usize,
    /// What is wrong, one sentence each; empty when nothing is.
    pub wrong: Vec<String>,
}

/// A file that is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Its path, relative to the recording.
    pub path: String,
    /// What is wrong.
    pub what: String,
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path, self.what)
    }
}

/// Checks the digest of every file, the chain, and that every final file has its line. `ended` says whether the
/// manifest reports an end: then the manifest's own line must be there too, and last.
///
/// # Errors
/// Where `digests` cannot be read or its chain is broken.
pub fn verify(disk: &dyn Disk, folder: &Path, run_id: RunId, ended: bool) -> Result<Verified, DigestError> {
    let (files, wrong) = wrong(disk, folder, run_id, ended, |_| true)?;
    Ok(Verified { files, wrong: wrong.iter().map(Wrong::to_string).collect() })
}

/// The same; the content only of the files that `read` names. How many are right, and which are wrong.
pub(crate) fn wrong(
    disk: &dyn Disk,
    folder: &Path,
    run_id: RunId,
    ended: bool,
    read: impl Fn(&str) -> bool,
) -> Result<(usize, Vec<Wrong>), DigestError> {
    let digests = Digests::read(disk, folder, run_id)?;
    let (mut files, mut found) = (0, Vec::new());
    let mut tell = |path: &str, what: String| found.push(Wrong { path: path.to_owned(), what });
    let size = disk.size(&folder.join(FILE)).map_err(doing("read", &folder.join(FILE)))?;
    match size {
        None if ended => tell(FILE, "the file is missing".to_owned()),
        Some(n) if n > digests.whole as u64 => {
            tell(FILE, format!("the last line is torn ({} bytes)", n - digests.whole as u64));
        }
        _ => {}
    }
    for line in &digests.lines {
        let path = folder.join(&line.path);
        match disk.size(&path).map_err(doing("read", &path))? {
            None => tell(&line.path, "the file is missing".to_owned()),
            Some(_) if read(&line.path) && sha256_of_file(disk, &path)? != line.sha256 => {
                tell(&line.path, "the file was changed: its SHA-256 is another".to_owned());
            }
            Some(_) => files += 1,
        }
    }
    let listed: BTreeSet<&str> = digests.lines.iter().map(|l| l.path.as_str()).collect();
    for sub in [log::FOLDER, tables::SAMPLES, tables::SNAPSHOTS, tables::EVENTS] {
        for name in disk.list(&folder.join(sub)).map_err(doing("list", &folder.join(sub)))? {
            let path = format!("{sub}/{name}");
            let is_final = path.ends_with(".parquet") || ended && path.ends_with(".seg");
            if is_final && !listed.contains(path.as_str()) {
                tell(&path, format!("the file has no line in {FILE}"));
            }
        }
    }
    if ended && size.is_some() && digests.lines.last().is_none_or(|l| l.path != manifest::FILE) {
        tell(FILE, format!("the last line is not that of {}: lines are missing", manifest::FILE));
    }
    Ok((files, found))
}
