//! `bise explain`

use crate::args::{ExplainArgs, Format};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::explain::{Explained, ExplainedWay, all, find};
use serde_json::json;

pub(crate) fn run(args: &ExplainArgs) -> Result<Exit, Error> {
    let all = all();
    let Some(name) = &args.quantity else {
        match args.format {
            Format::Text => {
                let rows = all.iter().map(|e| vec![e.name.clone(), e.unit.clone(), e.summary.clone()]);
                say!("{}", show::table(&["quantity", "SI unit", ""], 9, rows));
            }
            Format::Json => say!("{:#}", json!(all.iter().map(as_json).collect::<Vec<_>>())),
        }
        return Ok(Exit::Done);
    };
    let Some(found) = find(name) else {
        let known: Vec<&str> = all.iter().map(|e| e.name.as_str()).collect();
        let text = format!("{name:?} is no derived quantity; one of: {}", known.join(", "));
        return Err(Error::Refused(text));
    };
    match args.format {
        Format::Text => as_text(&found),
        Format::Json => say!("{:#}", as_json(&found)),
    }
    Ok(Exit::Done)
}

fn as_text(e: &Explained) {
    say!("{} [{}]: {}\n", e.name, e.unit, e.summary);
    for (i, way) in e.ways.iter().enumerate() {
        let before = if e.ways.len() > 1 { format!("way {}  ", i + 1) } else { String::new() };
        say!("{before}{}", way.applies);
        say!("  formula   {}", way.formula);
        if !way.inputs.is_empty() {
            say!("  inputs    {}", way.inputs.join(", "));
        }
        if !way.assumes.is_empty() {
            say!("  taken for granted: {}", way.assumes);
        }
    }
    say!("validity  {}", e.validity);
    say!("source    {}", e.source);
}

fn as_json(e: &Explained) -> serde_json::Value {
    let way = |w: &ExplainedWay| {
        let ExplainedWay { formula, inputs, assumes, applies } = w;
        json!({ "formula": formula, "inputs": inputs, "assumes": assumes, "applies": applies })
    };
    let ways: Vec<_> = e.ways.iter().map(way).collect();
    json!({
        "name": e.name, "unit": e.unit, "summary": e.summary, "ways": ways, "validity": e.validity,
        "source": e.source,
    })
}
