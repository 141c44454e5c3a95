//! `bise salvage`

use crate::args::{Format, SalvageArgs};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::salvage::{Salvage, salvage};
use recording::{Disk, RealDisk};
use serde_json::json;
use std::sync::Arc;

pub(crate) fn run(args: &SalvageArgs) -> Result<Exit, Error> {
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let bar = show::progress("salvage");
    let done = salvage(&disk, &args.folder, &mut |p| bar.set_position((p * 1000.0) as u64));
    bar.finish_and_clear();
    let done = done?;
    match args.format {
        Format::Text => as_text(args, &done),
        Format::Json => {
            let cuts: Vec<_> = done
                .cuts
                .iter()
                .map(|c| json!({ "file": c.file, "at": c.at, "bytes": c.bytes, "reason": c.reason, "kept": c.kept }))
                .collect();
            let missing: Vec<_> = done.missing.iter().map(|r| json!([r.start, r.end])).collect();
            let not_recorded: Vec<_> = done
                .not_recorded
                .iter()
                .map(|n| json!({ "from_ns": n.from.0, "to_ns": n.to.0, "lost": n.lost }))
                .collect();
            let all = json!({
                "recording": args.folder, "entries": done.entries, "snapshots": done.counts.snapshots,
                "cuts": cuts, "missing": missing, "not_recorded": not_recorded, "notes": done.notes,
            });
            say!("{all:#}");
        }
    }
    let whole = done.cuts.is_empty() && done.missing.is_empty() && done.not_recorded.is_empty();
    Ok(if whole { Exit::Done } else { Exit::Incomplete })
}

fn as_text(args: &SalvageArgs, s: &Salvage) {
    say!("{} is complete now: {} entries, {} snapshots", args.folder.display(), s.entries, s.counts.snapshots);
    for c in &s.cuts {
        match c.kept.as_str() {
            "" => say!("lost: {}: {}", c.file, c.reason),
            kept => say!("cut: {} bytes from byte {} of {}: {}; kept in {kept}", c.bytes, c.at, c.file, c.reason),
        }
    }
    if s.cuts.is_empty() {
        say!("nothing had to be cut");
    }
    for m in &s.missing {
        say!(
            "missing: entries {} to {} are not in the log; the evaluation starts afresh after them",
            m.start,
            m.end - 1
        );
    }
    for n in &s.not_recorded {
        say!("not recorded: {} entries from {} to {}", n.lost, n.from, n.to);
    }
    s.notes.iter().for_each(|n| say!("note: {n}"));
}
