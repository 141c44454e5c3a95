//! `bise ports`

use crate::args::{Format, PortsArgs};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::check::ports;
use assembly::registry::{CAPTURES, SOURCES};
use serde_json::json;

pub(crate) fn run(args: &PortsArgs) -> Result<Exit, Error> {
    if args.kinds {
        kinds(args.format);
    } else {
        list(args.format);
    }
    Ok(Exit::Done)
}

fn kinds(format: Format) {
    let all: Vec<(&str, &str)> =
        SOURCES.iter().map(|p| (p.kind, p.summary)).chain(CAPTURES.iter().map(|p| (p.kind, p.summary))).collect();
    match format {
        Format::Json => {
            let all: Vec<_> = all.iter().map(|(k, s)| json!({ "kind": k, "summary": s })).collect();
            say!("{:#}", json!(all));
        }
        Format::Text => {
            say!("{}", show::table(&["kind", ""], 9, all.iter().map(|(k, s)| vec![k.to_string(), s.to_string()])));
        }
    }
}

fn list(format: Format) {
    let all = ports();
    if format == Format::Json {
        let rows: Vec<_> = all
            .iter()
            .flat_map(|(kind, list)| list.iter().map(move |p| (kind, p)))
            .map(|(kind, p)| {
                let why = p.openable.as_ref().err();
                json!({ "kind": kind, "port": p.name, "detail": p.detail, "openable": why.is_none(), "why": why })
            })
            .collect();
        return say!("{:#}", json!(rows));
    }
    for (kind, list) in &all {
        if list.is_empty() {
            say!("{kind}: none found\n");
            continue;
        }
        let rows = list.iter().map(|p| {
            let open = match &p.openable {
                Ok(()) => "can be opened".to_owned(),
                Err(why) => format!("cannot be opened: {why}"),
            };
            vec![p.name.clone(), p.detail.clone(), open]
        });
        say!("{}\n", show::table(&[kind, "", ""], 9, rows));
    }
}
