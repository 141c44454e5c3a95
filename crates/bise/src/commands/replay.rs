//! `bise replay`

use crate::args::{Format, ReplayArgs};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::replay::{ReplayOptions, Replayed, captures, is_recording, recording};
use recording::RealDisk;
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

pub(crate) fn run(args: ReplayArgs) -> Result<Exit, Error> {
    let (recordings, files): (Vec<PathBuf>, Vec<PathBuf>) = args.paths.iter().cloned().partition(|p| is_recording(p));
    if !recordings.is_empty() && !files.is_empty() {
        let text = format!("recordings and captures cannot be mixed; {} is no recording", files[0].display());
        return Err(Error::Refused(text));
    }
    let mut worst = Exit::Done;
    let mut all = Vec::new();
    let jobs: Vec<Option<PathBuf>> =
        if recordings.is_empty() { vec![None] } else { recordings.into_iter().map(Some).collect() };
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
        let done = done?;
        let exit = exit_of(&done);
        if exit != Exit::Done {
            worst = exit;
        }
        match args.format {
            Format::Text => as_text(&done, started.elapsed()),
            Format::Json => all.push(as_json(&done, started.elapsed())),
        }
    }
    if args.format == Format::Json {
        say!("{:#}", Value::Array(all));
    }
    Ok(worst)
}

fn exit_of(r: &Replayed) -> Exit {
    if r.compared.as_ref().is_some_and(|c| c.different > 0) {
        Exit::Different
    } else if r.unused.bad_lines > 0 {
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
