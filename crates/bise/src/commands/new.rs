//! `bise new`

use crate::args::NewArgs;
use crate::exit::Exit;
use assembly::Error;
use assembly::starter;

pub(crate) fn run(args: &NewArgs) -> Result<Exit, Error> {
    let written = starter::write(&args.kind, &args.folder)?;
    for f in &written {
        say!("{}", f.display());
    }
    if let Some(run) = written.first() {
        let next = if args.kind == "replay" {
            format!("bise replay --with {}", run.display())
        } else {
            format!("put in your ports, channels and limits, then: bise check {} --ports", run.display())
        };
        say!("\nnext: {next}");
    }
    Ok(Exit::Done)
}
