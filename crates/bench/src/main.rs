//! `bise-bench`: what the data path costs in processor time and memory, one JSON line a case.
//!
//! The cases run the program's own parts as the program puts them together: run file and channel map through
//! `assembly::load`, captures, sequencer, core and tables as a replay has them. Each case runs in a process of its
//! own, so that its peak memory is its own.
//!
//! * [`cost`]: processor time, wall time, peak memory
//! * [`can`]: a CAN log to a recording's tables; frames to numbers   * [`again`]: a log several times over
//! * [`packs`]: snapshots of two packs, 200 channels, with uncertainty
//! * [`serial`]: a line of polled registers to numbers   * [`evaluate`]: snapshots
//! * [`humid`]: snapshots of humid air   * [`costs`]: one call of a formula   * [`rounds`]: work in turn
//! * [`configs`]: the configurations the cases need
//!
//! **Invariant:** no case takes a shorter way than the program does. What a figure holds is said beside its case.
#![forbid(unsafe_code)]

mod again;
mod can;
mod configs;
mod cost;
mod costs;
mod error;
mod evaluate;
mod humid;
mod packs;
mod rounds;
mod serial;

use clap::Parser;
use error::Error;
use serde_json::{Map, Value};
use std::path::PathBuf;
use std::process::{Command, ExitCode, Stdio};

/// Measures the data path.
#[derive(Parser)]
#[command(name = "bise-bench", after_help = "Example: bise-bench --data DATA --out SCRATCH --only can-text-long")]
struct Cli {
    /// Folder of the generated workload: frames.log, frames.bin, bus.dbc, serial.bin.
    #[arg(long)]
    data: PathBuf,
    /// Folder for what the cases write; it is removed again.
    #[arg(long)]
    out: PathBuf,
    /// Cases to run, with commas between. Default: all.
    #[arg(long, value_delimiter = ',')]
    only: Vec<String>,
    /// Leave what the cases write where it is.
    #[arg(long)]
    keep: bool,
    /// Run one case in this process.
    #[arg(long, hide = true)]
    here: bool,
}

/// Where a case reads and writes.
struct Place {
    data: PathBuf,
    out: PathBuf,
}

/// What a case came to: the fields of its line.
type Figures = Map<String, Value>;

type Case = (&'static str, fn(&Place) -> Result<Figures, Error>);

const CASES: [Case; 11] = [
    ("can-text-long", |p| can::text_long(p, 1)),
    ("can-text-long-4x", |p| can::text_long(p, 4)),
    ("can-text-replay", can::text_replay),
    ("can-bin-decode", can::bin_decode),
    ("evaluate", evaluate::with_records),
    ("evaluate-standing", evaluate::standing),
    ("evaluate-humid", humid::evaluate),
    ("evaluate-two-packs", packs::evaluate),
    ("costs", costs::formulas),
    ("costs-dry", costs::dry),
    ("serial", serial::serial),
];

fn main() -> ExitCode {
    let cli = Cli::parse();
    if let Some(unknown) = cli.only.iter().find(|name| CASES.iter().all(|c| c.0 != name.as_str())) {
        let known: Vec<&str> = CASES.iter().map(|c| c.0).collect();
        eprintln!("there is no case {unknown:?}; there are: {}", known.join(", "));
        return ExitCode::from(2);
    }
    let mut failed = false;
    for (name, run) in CASES.iter().filter(|c| cli.only.is_empty() || cli.only.iter().any(|o| o == c.0)) {
        let done = if cli.here { here(&cli, name, *run) } else { in_a_process(&cli, name) };
        if let Err(e) = done {
            eprintln!("{name}: {e}");
            failed = true;
        }
    }
    ExitCode::from(u8::from(failed))
}

fn here(cli: &Cli, name: &str, run: fn(&Place) -> Result<Figures, Error>) -> Result<(), Error> {
    let out = cli.out.join(format!("bise-{name}"));
    let place = Place { data: cli.data.clone(), out };
    clear(&place)?;
    std::fs::create_dir_all(&place.out).map_err(Error::io("making", &place.out))?;
    let mut line = Figures::new();
    line.insert("probe".to_owned(), "subject".into());
    line.insert("case".to_owned(), name.into());
    line.extend(run(&place)?);
    println!("{}", Value::Object(line));
    if cli.keep { Ok(()) } else { clear(&place) }
}

fn clear(place: &Place) -> Result<(), Error> {
    match std::fs::remove_dir_all(&place.out) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Error::io("removing", &place.out)(e)),
        _ => Ok(()),
    }
}

fn in_a_process(cli: &Cli, name: &str) -> Result<(), Error> {
    let program = std::env::current_exe().map_err(|e| Error::Failed(format!("cannot find this program: {e}")))?;
    let mut command = Command::new(program);
    command.arg("--data").arg(&cli.data).arg("--out").arg(&cli.out).args(["--only", name, "--here"]);
    if cli.keep {
        command.arg("--keep");
    }
    let status = command.stdin(Stdio::null()).status().map_err(|e| Error::Failed(format!("cannot start: {e}")))?;
    if status.success() { Ok(()) } else { Err(Error::Failed(status.to_string())) }
}
