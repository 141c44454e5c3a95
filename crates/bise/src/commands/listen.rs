//! `bise listen`

mod json;
mod live;
mod text;

use crate::args::{Format, ListenArgs};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::files::Files;
use assembly::listen::{Findings, Heard, Listening, captures, is_live, recording};
use assembly::load::{CaptureFiles, load};
use assembly::merge::Unused;
use assembly::problem::{Problem, Problems};
use assembly::replay::{Named, what_is};
use decode::seen::MarkOptions;
use recording::{Disk, RealDisk};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use stream::Span;

/// What is told at the end, live or not.
struct Told {
    what: String,
    listening: Listening,
    findings: Findings,
    notes: Vec<String>,
    unused: Unused,
    /// What did not come.
    missing: Vec<String>,
}

pub(crate) fn run(args: &ListenArgs) -> Result<Exit, Error> {
    for path in &args.paths {
        if !path.exists() {
            return Err(Error::NotThere(path.clone()));
        }
    }
    let (run, others) = match args.paths.split_first() {
        Some((first, rest)) if is_run_file(first) => (Some(first.as_path()), rest),
        _ => (None, args.paths.as_slice()),
    };
    if let (Some(run), []) = (run, others) {
        let assembled = load(&Files::disk(), run, &CaptureFiles::default())?;
        if is_live(&assembled)? {
            if !args.marks.is_empty() {
                return Err(wrong("--mark is for what was recorded", "live, press Enter at the moment of the action"));
            }
            let told = live::listen(args, assembled)?;
            return Ok(tell(args, &told));
        }
    }
    if args.length.is_some() {
        return Err(wrong("--for is for live sources", "what was recorded is listened to as a whole"));
    }
    let Heard { what, mut listening, unused, notes } = after_the_fact(args, run, others)?;
    args.marks.iter().for_each(|m| listening.mark_after(span(*m)));
    let findings = listening.findings(options(args));
    Ok(tell(args, &Told { what, listening, findings, notes, unused, missing: Vec::new() }))
}

fn after_the_fact(args: &ListenArgs, run: Option<&Path>, paths: &[PathBuf]) -> Result<Heard, Error> {
    let bar = show::progress("listening");
    let mut progress = |p: f64| bar.set_position((p * 1000.0) as u64);
    let with = args.with.as_deref();
    let recordings = paths.iter().map(|p| what_is(p)).collect::<Result<Vec<_>, Error>>()?;
    let heard = match (run, paths) {
        (None, [one]) if recordings == [Named::Recording] => {
            let disk: Arc<dyn Disk> = Arc::new(RealDisk);
            recording(&disk, one, with, &mut progress)
        }
        _ if recordings.contains(&Named::Recording) => {
            Err(wrong("a recording is listened to by itself", "name one recording and nothing else"))
        }
        _ => match recordings.iter().position(|n| *n == Named::Neither) {
            Some(i) => Err(Error::Neither { path: paths[i].clone(), why: NEITHER.to_owned() }),
            None => captures(run, paths, with, &mut progress),
        },
    };
    bar.finish_and_clear();
    heard
}

const NEITHER: &str = "no run file, no folder with a manifest.toml in it, no candump text, no table";

fn is_run_file(path: &Path) -> bool {
    path.is_file() && path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"))
}

/// A command line that asks for what cannot be.
fn wrong(message: &str, help: &str) -> Error {
    Error::Config(Problems::from(Problem::bare(message, help)))
}

fn options(args: &ListenArgs) -> MarkOptions {
    MarkOptions { within: span(args.within), ..MarkOptions::default() }
}

fn span(d: Duration) -> Span {
    Span(i64::try_from(d.as_nanos()).unwrap_or(i64::MAX))
}

fn tell(args: &ListenArgs, told: &Told) -> Exit {
    match args.format {
        Format::Text => text::all(told),
        Format::Json => say!("{:#}", json::all(told)),
    }
    let whole = told.missing.is_empty() && told.unused.bad_lines == 0;
    if whole { Exit::Done } else { Exit::Incomplete }
}

/// `source/device place`, as a run file and a database would name it.
fn name(listening: &Listening, word: &decode::seen::WordId) -> String {
    let source = listening.plan().layout.sources.get(usize::from(word.source.0));
    let device = source.zip(word.key.device()).and_then(|(s, d)| s.devices.get(usize::from(d)));
    let source = source.map_or("", |s| s.name.as_str());
    match device {
        Some(d) => format!("{source}/{d} {}", word.key),
        None => format!("{source} {}", word.key),
    }
}
