//! `bise explain`

use crate::args::{ExplainArgs, Format};
use crate::exit::Exit;
use crate::show;
use assembly::Error;
use assembly::explain::{Explained, all};
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
    // A pack's prefix says where, not what.
    let Some(found) = all.iter().find(|e| e.name == *name || name.ends_with(&format!(".{}", e.name))) else {
        let known: Vec<&str> = all.iter().map(|e| e.name.as_str()).collect();
        let text = format!("{name:?} is no derived quantity; one of: {}", known.join(", "));
        return Err(Error::Refused(text));
    };
    match args.format {
        Format::Text => as_text(found),
        Format::Json => say!("{:#}", as_json(found)),
    }
    Ok(Exit::Done)
}

fn as_text(e: &Explained) {
    say!("{} [{}]: {}\n", e.name, e.unit, e.summary);
    say!("formula   {}", e.formula);
    for (arrangement, inputs) in &e.inputs {
        say!("inputs    {} ({arrangement})", inputs.join(", "));
    }
    say!("validity  {}", e.validity);
    say!("source    {}", e.source);
}

fn as_json(e: &Explained) -> serde_json::Value {
    let inputs: Vec<_> = e.inputs.iter().map(|(a, i)| json!({ "arrangement": a, "inputs": i })).collect();
    json!({
        "name": e.name, "unit": e.unit, "summary": e.summary, "formula": e.formula, "inputs": inputs,
        "validity": e.validity, "source": e.source,
    })
}
