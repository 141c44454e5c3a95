//! `bise check`

use crate::args::{CheckArgs, Format};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::check::{Checked, check};
use serde_json::json;

pub(crate) fn run(args: &CheckArgs) -> Result<Exit, Error> {
    let found = match check(&args.run, args.ports) {
        Err(Error::Config(p)) if args.format == Format::Json => {
            say!("{:#}", json!({ "ready": false, "problems": p.0.iter().map(|p| p.line()).collect::<Vec<_>>() }));
            return Ok(Exit::Wrong);
        }
        r => r?,
    };
    let ports_open = found.ports.iter().all(|(_, p)| p.openable.is_ok());
    let ready = ports_open && found.space.is_enough() && found.not_calibrated.is_empty();
    match args.format {
        Format::Json => say!("{:#}", as_json(&found, ready)),
        Format::Text => as_text(&found, args, ready),
    }
    Ok(if ready { Exit::Done } else { Exit::NotReady })
}

fn as_text(c: &Checked, args: &CheckArgs, ready: bool) {
    let rows = c.columns.iter().filter(|r| r.there).map(|r| vec![r.name.clone(), r.unit.clone(), r.from.clone()]);
    say!("{}\n", show::table(&["channel or quantity", "SI unit", "from"], 9, rows));
    c.assembled.notes.iter().for_each(|n| say!("note: {n}"));
    for u in &c.captures {
        say!("{} reads {}:", u.source, u.file);
        u.lines.iter().for_each(|l| say!("  {l}"));
    }
    show::sensors(&c.sensors);
    if !c.not_calibrated.is_empty() {
        say!("NOT CALIBRATED, and the run demands it: {}", c.not_calibrated.join(", "));
    }
    let needed = c
        .space
        .needed
        .map_or("no length is planned".to_owned(), |n| format!("about {} for the planned length", show::bytes(n)));
    let enough = if c.space.is_enough() { "" } else { ": NOT ENOUGH, twice that should be free" };
    say!("space in {}: {} free, {needed}{enough}", c.space.folder.display(), show::bytes(c.space.free));
    for (source, port) in &c.ports {
        match &port.openable {
            Ok(()) => say!("port of {source}: {} can be opened ({})", port.name, port.detail),
            Err(why) => say!("port of {source}: {} CANNOT be opened: {why}", port.name),
        }
    }
    if !args.ports {
        say!("ports: not looked at; --ports does");
    }
    say!("{}", if ready { "ready, as far as can be known before the run" } else { "NOT READY" });
}

fn as_json(c: &Checked, ready: bool) -> serde_json::Value {
    let columns: Vec<_> =
        c.columns.iter().map(|r| json!({ "name": r.name, "unit": r.unit, "from": r.from, "there": r.there })).collect();
    let ports: Vec<_> = c
        .ports
        .iter()
        .map(|(s, p)| {
            let why = p.openable.as_ref().err();
            json!({ "source": s, "port": p.name, "detail": p.detail, "openable": why.is_none(), "why": why })
        })
        .collect();
    let captures: Vec<_> =
        c.captures.iter().map(|u| json!({ "source": u.source, "file": u.file, "understood": u.lines })).collect();
    json!({
        "ready": ready, "columns": columns, "notes": c.assembled.notes, "ports": ports, "captures": captures,
        "sensors": c.sensors.iter().map(show::sensor_json).collect::<Vec<_>>(), "not_calibrated": c.not_calibrated,
        "space": { "folder": c.space.folder, "free_bytes": c.space.free, "needed_bytes": c.space.needed },
    })
}
