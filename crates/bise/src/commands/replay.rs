//! `bise replay`

use super::what_if;
use crate::args::{Format, ReplayArgs};
use crate::exit::{self, Exit};
use crate::show;
use assembly::Error;
use assembly::replay::{Named, ReplayOptions, Replayed, captures, recording, what_is};
use assembly::shortfalls::shortfalls;
use recording::RealDisk;
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

pub(crate) fn run(args: ReplayArgs) -> Result<Exit, Error> {
    let Jobs { recordings, captures: files, skipped } = jobs(&args.paths, args.with.is_some())?;
    let mut worst = Exit::Done;
    let mut all = Vec::new();
    for path in &skipped {
        let why = "neither a recording nor a capture";
        match args.format {
            Format::Text => say!("skipped: {}: {why}", path.display()),
            Format::Json => all.push(json!({ "skipped": path, "why": why })),
        }
    }
    if !args.limits.is_empty() {
        return what_if::run(&recordings, &args, all);
    }
    let jobs: Vec<Option<PathBuf>> =
        if recordings.is_empty() { vec![None] } else { recordings.into_iter().map(Some).collect() };
    let several = jobs.len() > 1;
    for job in jobs {
        let label = job.as_ref().map_or("captures".to_owned(), |r| r.display().to_string());
        let bar = show::progress(&label);
        let started = Instant::now();
        let options = ReplayOptions {
            disk: Arc::new(RealDisk),
            with: args.with.clone(),
            out: args.out.clone(),
            compare: args.compare,
            progress: &mut |p| bar.set_position((p * 1000.0) as u64),
        };
        let done = match &job {
            Some(folder) => recording(folder, options),
            None => captures(&files, options),
        };
        bar.finish_and_clear();
        worst = worst.or_graver(done.as_ref().map_or_else(exit::of, exit_of));
        match (done, args.format) {
            (Ok(done), Format::Text) => as_text(&done, started.elapsed()),
            (Ok(done), Format::Json) => all.push(as_json(&done, started.elapsed())),
            (Err(e), Format::Text) => {
                if several {
                    say!("{label}\nNOT REPLAYED\n");
                    complain!("{label}:");
                }
                show::error(&e);
            }
            (Err(e), Format::Json) => {
                show::error(&e);
                all.push(json!({ "replayed": label, "error": e.to_string() }));
            }
        }
    }
    if args.format == Format::Json {
        say!("{:#}", Value::Array(all));
    }
    Ok(worst)
}

/// What is to be replayed.
struct Jobs {
    recordings: Vec<PathBuf>,
    captures: Vec<PathBuf>,
    /// What lies beside recordings and is neither.
    skipped: Vec<PathBuf>,
}

/// Recordings or captures, never both: `recordings/*` may hold other things too, which are passed over.
fn jobs(paths: &[PathBuf], has_run_file: bool) -> Result<Jobs, Error> {
    let mut named = Vec::new();
    for p in paths {
        named.push((p, what_is(p)?));
    }
    let of = |what| named.iter().filter(|n| n.1 == what).map(|n| n.0.clone()).collect::<Vec<_>>();
    let (recordings, captures, skipped) = (of(Named::Recording), of(Named::Capture), of(Named::Neither));
    match (recordings.first(), captures.first()) {
        (None, None) if !has_run_file && !skipped.is_empty() => {
            let why = "no folder with a manifest.toml in it, no candump text, no table".to_owned();
            Err(Error::Neither { path: skipped[0].clone(), why })
        }
        // Among captures, what is none is an error, which says why.
        (None, _) => Ok(Jobs { recordings, captures: paths.to_vec(), skipped: Vec::new() }),
        (Some(r), Some(c)) => {
            let (r, c) = (r.display(), c.display());
            let text =
                format!("recordings and captures cannot be mixed: {r} is a recording, {c} a capture; name one kind");
            Err(Error::Refused(text))
        }
        (Some(_), None) => Ok(Jobs { recordings, captures, skipped }),
    }
}

/// With `--compare` the status says whether the results are the same; else also whether everything came and was judged.
fn exit_of(r: &Replayed) -> Exit {
    let missing = r.compared.is_none() && !shortfalls(&r.plan, &r.counts).is_empty();
    if r.compared.as_ref().is_some_and(|c| c.different > 0) {
        Exit::Different
    } else if missing || r.unused.bad_lines > 0 {
        Exit::Incomplete
    } else {
        Exit::Done
    }
}

fn as_text(r: &Replayed, took: Duration) {
    say!("{}", r.what);
    if let Some((from, to)) = r.span {
        let seconds = (to - from).as_secs_f64();
        say!("{from} to {to}: {seconds:.1} s in {:.2} s\n", took.as_secs_f64());
    }
    show::counts(&r.plan, &r.counts);
    show::shortfalls(&r.plan, &r.counts);
    r.notes.iter().for_each(|n| say!("note: {n}"));
    r.unused.told.iter().for_each(|t| say!("not read: {t}"));
    if r.unused.bad_lines > r.unused.told.len() as u64 {
        say!("not read: {} more lines", r.unused.bad_lines - r.unused.told.len() as u64);
    }
    r.unused.other.iter().for_each(|(why, n)| say!("not used: {n} {why}"));
    if let Some(c) = &r.compared {
        let what = format!("{} samples, {} snapshots, {} events", c.samples, c.snapshots, c.events);
        if c.different == 0 {
            say!("\nrecomputed = stored, to the bit: {what}");
        } else {
            say!("\nDIFFERENT: {} rows; the same: {what}", c.different);
            c.told.iter().for_each(|t| say!("  {t}"));
        }
    }
    if let Some(f) = &r.folder {
        say!("\nrecorded in {}", f.display());
    }
}

fn as_json(r: &Replayed, took: Duration) -> Value {
    let mut all = show::counts_json(&r.plan, &r.counts);
    all["replayed"] = json!(r.what);
    all["took_s"] = json!(took.as_secs_f64());
    all["from_ns"] = json!(r.span.map(|s| s.0.0));
    all["to_ns"] = json!(r.span.map(|s| s.1.0));
    all["recording"] = json!(r.folder);
    all["notes"] = json!(r.notes);
    all["bad_lines"] = json!(r.unused.bad_lines);
    all["not_read"] = json!(r.unused.told);
    all["not_used"] = json!(r.unused.other.iter().map(|(w, n)| json!({ "what": w, "lines": n })).collect::<Vec<_>>());
    all["compared"] = json!(r.compared.as_ref().map(|c| {
        json!({
            "samples": c.samples, "snapshots": c.snapshots, "events": c.events, "different": c.different,
            "told": c.told,
        })
    }));
    all
}
