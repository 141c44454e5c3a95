//! Which capture belongs to which source of a run file.

use crate::config::run::RunFile;
use crate::config::{self};
use crate::error::Error;
use crate::files::Files;
use crate::load::{CaptureFiles, Text};
use crate::problem::Problems;
use crate::registry::{self, SourceKind};
use plugin_api::Carries;
use std::path::{Path, PathBuf};

/// A source of the run file, as far as it matters here.
struct Candidate {
    name: String,
    carries: Carries,
    file_name: Option<String>,
}

/// Gives every path to the source it fits: by the file name that the source names, by the source's own name, or as the
/// only source that holds what the capture holds. The order of the paths plays no part.
///
/// # Errors
/// A path that fits no source or several, or that is not there.
pub fn assign(run: &Path, paths: &[PathBuf]) -> Result<CaptureFiles, Error> {
    let text = Text::open(&Files::disk(), run).map_err(Problems::from)?;
    let file: RunFile = config::read(&text.name, &text.text).map_err(Problems::from)?;
    let mut candidates = Vec::new();
    for s in &file.source {
        let s = s.get_ref();
        let carries = match registry::source_kind(s.kind.get_ref()) {
            Some(SourceKind::Live(p)) => p.carries,
            Some(SourceKind::Capture(p)) => p.carries,
            None => continue,
        };
        let file_name = s.path.as_ref().and_then(|p| Path::new(p.get_ref()).file_name());
        let file_name = file_name.map(|n| n.to_string_lossy().into_owned());
        candidates.push(Candidate { name: s.name.get_ref().clone(), carries, file_name });
    }
    let mut files = CaptureFiles::default();
    let mut sorted = paths.to_vec();
    sorted.sort();
    sorted.dedup();
    for p in sorted {
        for c in fits(&p, &candidates)? {
            match files.by_source.iter_mut().find(|(s, _)| *s == c.name) {
                Some((_, all)) => all.push(p.clone()),
                None => files.by_source.push((c.name.clone(), vec![p.clone()])),
            }
        }
    }
    Ok(files)
}

/// Whether a file looks like a capture through and through: prose with a comma in its first line does not.
pub fn is_capture(path: &Path) -> bool {
    use std::io::{BufRead, BufReader, Read};
    let Ok(file) = std::fs::File::open(path) else { return false };
    match sniff(path) {
        Ok(Carries::CanFrames) => true,
        Ok(_) => {
            // A table has a head, a row of units, and rows that begin with a time, each with as many cells.
            let lines = BufReader::new(file.take(1 << 20)).split(b'\n').map_while(Result::ok);
            let lines: Vec<_> = lines.filter(|l| !l.trim_ascii().is_empty() && !l.starts_with(b"#")).take(3).collect();
            let cells = |l: &Vec<u8>| [b',', b';'].map(|c| l.iter().filter(|b| **b == c).count());
            lines.windows(2).all(|w| cells(&w[0]) == cells(&w[1]))
                && lines.iter().skip(1).any(|l| l.trim_ascii_start().first().is_some_and(u8::is_ascii_digit))
        }
        Err(_) => false,
    }
}

/// The sources that read a path. A bus capture may hold several interfaces, so every CAN source may read it.
fn fits<'a>(path: &Path, candidates: &'a [Candidate]) -> Result<Vec<&'a Candidate>, Error> {
    let neither = |why: String| Error::Neither { path: path.to_owned(), why };
    if !path.exists() {
        return Err(Error::NotThere(path.to_owned()));
    }
    if path.is_dir() {
        return Err(neither("it is a folder without a manifest.toml".to_owned()));
    }
    let carries = sniff(path).map_err(neither)?;
    let fitting: Vec<&Candidate> = candidates.iter().filter(|c| c.carries == carries).collect();
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let stem = path.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let by_name: Vec<&Candidate> =
        fitting.iter().copied().filter(|c| c.file_name.as_ref() == Some(&name) || c.name == stem).collect();
    if !by_name.is_empty() {
        return Ok(by_name);
    }
    match fitting.as_slice() {
        [] => Err(neither(format!("no source of the run file holds {}", word(carries)))),
        [_] => Ok(fitting),
        _ if carries == Carries::CanFrames => Ok(fitting),
        _ => {
            let names: Vec<&str> = fitting.iter().map(|c| c.name.as_str()).collect();
            let hint = format!("name the file like its source: {}.csv", names[0]);
            Err(neither(format!("it could belong to {}; {hint}", names.join(" or "))))
        }
    }
}

fn word(carries: Carries) -> &'static str {
    match carries {
        Carries::DeviceMessages => "messages of devices",
        Carries::CanFrames => "CAN frames",
        Carries::Rows => "rows of a table",
    }
}

/// What a capture holds, by its first line that is not blank and no comment.
fn sniff(path: &Path) -> Result<Carries, String> {
    use std::io::{BufRead, BufReader, Read};
    let file = std::fs::File::open(path).map_err(|e| format!("it cannot be read: {e}"))?;
    let mut lines = BufReader::new(file.take(1 << 20)).split(b'\n');
    let first = lines.by_ref().map_while(Result::ok).find(|l| !l.trim_ascii().is_empty() && !l.starts_with(b"#"));
    match first {
        None => Err("it is empty".to_owned()),
        Some(l) if l.starts_with(b"(") => Ok(Carries::CanFrames),
        Some(l) if l.contains(&b',') || l.contains(&b';') => Ok(Carries::Rows),
        Some(l) => {
            let start: String = String::from_utf8_lossy(&l).chars().take(40).collect();
            Err(format!(
                "its first line is neither a CAN frame `(time) interface id#data` nor a table's head: {start:?}"
            ))
        }
    }
}
