//! Which capture belongs to which source of a run file.

use crate::config::run::RunFile;
use crate::config::{self};
use crate::error::Error;
use crate::files::Files;
use crate::load::{CaptureFiles, Text};
use crate::problem::Problems;
use crate::registry::{self, SourceKind};
use decode::capture::candump::{Form, parse_line, parse_terminal_line};
use decode::capture::table::Head;
use plugin_api::{CaptureError, Carries};
use source_replay::lines::Lines;
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
    match sniff(path) {
        Ok(Carries::CanFrames) => true,
        Ok(_) => {
            // A table has two lines one after the other with as many cells, the second of which begins with a digit.
            let lines: Vec<Vec<u8>> = first_lines(path).unwrap_or_default();
            let lines: Vec<_> =
                lines.into_iter().filter(|l| !l.trim_ascii().is_empty() && !l.starts_with(b"#")).collect();
            let digit = |l: &[u8]| l.iter().find(|b| !b" \t\"+-".contains(b)).is_some_and(u8::is_ascii_digit);
            let pair = |w: &[Vec<u8>], mark: u8| {
                let [a, b] = [&w[0], &w[1]].map(|l| l.iter().filter(|b| **b == mark).count());
                a == b && a > 0
            };
            lines.windows(2).any(|w| digit(&w[1]) && b",;\t".iter().any(|m| pair(w, *m)))
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
        Carries::Recorded => "a recording",
    }
}

/// What a capture holds, by its first lines: a frame, or cells.
fn sniff(path: &Path) -> Result<Carries, String> {
    let lines = first_lines(path)?;
    let used: Vec<&[u8]> =
        lines.iter().map(Vec::as_slice).filter(|l| !l.trim_ascii().is_empty() && !l.starts_with(b"#")).collect();
    let Some(first) = used.first() else { return Err("it is empty".to_owned()) };
    let frame = |l: &&[u8]| match Form::of(l) {
        Some(Form::Log) => matches!(parse_line(l), Ok(Some(_))),
        Some(Form::Terminal) => matches!(parse_terminal_line(l), Ok(Some(_))),
        None => false,
    };
    if first.starts_with(b"(") || used.iter().any(frame) {
        return Ok(Carries::CanFrames);
    }
    if used.iter().any(|l| l.iter().any(|b| b",;\t".contains(b))) {
        return Ok(Carries::Rows);
    }
    let start: String = String::from_utf8_lossy(first).trim_end().chars().take(40).collect();
    Err(format!("its first line is neither a CAN frame `(time) interface id#data` nor a table's head: {start:?}"))
}

/// The first lines of a file, as many as a table's head may take.
fn first_lines(path: &Path) -> Result<Vec<Vec<u8>>, String> {
    let lines = || -> Result<Vec<Vec<u8>>, CaptureError> {
        let (mut lines, mut first) = (Lines::open(path)?, Vec::new());
        while first.len() < Head::LINES
            && let Some(l) = lines.next_line()?
        {
            first.push(l.bytes.to_vec());
        }
        Ok(first)
    };
    lines().map_err(|e| e.to_string())
}
