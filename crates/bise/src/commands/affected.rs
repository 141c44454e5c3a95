//! `bise affected`

use crate::args::{AffectedArgs, Format};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::affected::{Affected, Used, affected};
use recording::RealDisk;
use serde_json::{Value, json};

pub(crate) fn run(args: &AffectedArgs) -> Result<Exit, Error> {
    let found = affected(&RealDisk, &args.sensor, args.since, &args.folders)?;
    match args.format {
        Format::Json => say!("{:#}", as_json(&found, args)),
        Format::Text => as_text(&found, args),
    }
    Ok(if found.unreadable.is_empty() { Exit::Done } else { Exit::Incomplete })
}

fn as_text(found: &Affected, args: &AffectedArgs) {
    for r in &found.recordings {
        say!("{}  {}  started {}", r.folder.display(), r.run, r.started);
        say!("  the sensor  {}", show::sensor(&r.sensor));
        for (what, names) in [("channels", &r.channels), ("results", &r.results), ("limits", &r.limits)] {
            say!("  {what:<10}  {}", if names.is_empty() { "none".to_owned() } else { names.join(", ") });
        }
    }
    let since = args.since.map_or_else(String::new, |d| format!(" since {d}"));
    let used = found.recordings.len();
    say!("{} of {} recordings used {}{since}", used, found.looked_at, args.sensor);
    if used == 0 && !found.known.is_empty() {
        say!("sensors that were used: {}", found.known.join(", "));
    }
    for folder in &found.silent {
        say!("cannot say: the channels of {} name no sensor", folder.display());
    }
    for (folder, why) in &found.unreadable {
        say!("NOT READ: {}: {why}", folder.display());
    }
}

fn as_json(found: &Affected, args: &AffectedArgs) -> Value {
    let used = |r: &Used| {
        json!({
            "recording": r.folder, "run": r.run, "started": r.started.to_string(),
            "sensor": show::sensor_json(&r.sensor),
            "channels": r.channels, "results": r.results, "limits": r.limits,
        })
    };
    let unreadable: Vec<Value> =
        found.unreadable.iter().map(|(folder, why)| json!({ "recording": folder, "why": why })).collect();
    json!({
        "sensor": args.sensor, "since": args.since.map(|d| d.to_string()), "looked_at": found.looked_at,
        "used_by": found.recordings.iter().map(used).collect::<Vec<_>>(),
        "cannot_say": found.silent, "not_read": unreadable,
    })
}
