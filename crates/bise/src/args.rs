//! The command line.

use crate::exit;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;
use std::time::Duration;

/// Records and evaluates live sensor streams of aircraft air-conditioning packs.
///
/// It measures and judges; it never commands, protects nobody and decides no airworthiness. Follow the approved
/// maintenance data, the bench's own instructions and the local safety rules.
#[derive(Debug, Parser)]
#[command(name = "bise", version, after_help = exit::TABLE, max_term_width = 100)]
pub(crate) struct Cli {
    /// Say more on standard error.
    #[arg(long, short, global = true)]
    pub(crate) verbose: bool,
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// The whole main job with nothing attached: a simulated pack, recorded and evaluated.
    ///
    /// A simulated pack stands behind real pseudo-terminals (a Modbus RTU line, a text instrument) and CAN frames.
    /// They go through the real plugins, map, evaluator, limits, recording and metrics. All values are invented.
    #[command(after_help = "Example: bise demo --for 60s --pace fast")]
    Demo(DemoArgs),
    /// All that can be known before the run: files, channels, space, ports.
    #[command(after_help = "Example: bise check runs/bench.toml --ports")]
    Check(CheckArgs),
    /// Acquires, evaluates, records, serves metrics, until Ctrl-C.
    ///
    /// Recording starts at once; the test is marked in it later. What you type becomes part of the recording, stamped
    /// when you press Enter: a line is a note, `begin NAME` and `end` mark the test, `quit` stops. For a limit:
    /// `ack NAME`, `reset NAME`, `shelve NAME 30min WHY`, `unshelve NAME`, `out-of-service NAME WHY`,
    /// `in-service NAME`.
    #[command(after_help = "Example: bise record runs/bench.toml --for 45min --author mk")]
    Record(RecordArgs),
    /// Recordings or captures through the same core as fast as it goes.
    #[command(after_help = "Examples: bise replay recordings/20260301-081500Z-bench --compare\n          \
                            bise replay bus.log bench.csv --with runs/replay.toml --out recordings")]
    Replay(ReplayArgs),
    /// Compares the clocks of two recorders by events that both saw, and proposes what the run file should say.
    ///
    /// The first channel is of the recorder whose clock counts. Nothing is changed: copy the proposal into the run
    /// file, beneath the source's other keys, and it is applied, told and kept with every replay.
    #[command(after_help = "Example: bise align runs/replay.toml acm.speed bench.speed")]
    Align(AlignArgs),
    /// Every word on the lines, mapped or not: rate, bits that move, and what moved when something was done.
    ///
    /// A run file's live sources, a recording, or captures (through a run file; frames that candump wrote need none).
    /// Press Enter, or type `mark move the door`, at the moment of the action; do it some times, with rest between. In
    /// a recording notes that begin with `mark` are marks. Live nothing is recorded: what cannot be done again is
    /// recorded with `bise record` and listened to afterwards.
    #[command(after_help = "Examples: bise listen runs/bench.toml --for 60s\n          \
                            bise listen recordings/20260301-081500Z-bench --with valve.ram_door.position\n          \
                            bise listen bus.log --mark 12s --mark 31.5s")]
    Listen(ListenArgs),
    /// Turns what a crash left into a complete recording and says what was cut.
    #[command(after_help = "Example: bise salvage recordings/20260301-081500Z-bench")]
    Salvage(SalvageArgs),
    /// Serial devices and CAN interfaces: stable identity, openable or why not.
    #[command(after_help = "Example: bise ports --format json")]
    Ports(PortsArgs),
    /// Writes a commented starter run with everything it names, and JSON schemas for editors.
    #[command(after_help = "Example: bise new bench my-bench")]
    New(NewArgs),
    /// Readings taken by hand, a line a point, through the same evaluation as a run's.
    ///
    /// The file has a header of channel names, a row of units, and one line a point; a column `<channel>.u` holds a
    /// standard uncertainty.
    #[command(after_help = "Example: bise point readings.csv --pack packs/unit.toml --format json")]
    Point(PointArgs),
    /// Every recording and result that used a sensor: what to look at again when it is found out of tolerance.
    #[command(after_help = "Example: bise affected T-0417 --since 2026-01-31")]
    Affected(AffectedArgs),
    /// Formula, inputs, units, validity and source of a derived quantity; without a name, all of them.
    #[command(after_help = "Example: bise explain primary.effectiveness")]
    Explain(ExplainArgs),
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For a person.
    #[default]
    Text,
    /// For a script: one JSON object.
    Json,
}

#[derive(Debug, Args)]
pub(crate) struct DemoArgs {
    /// How long, in simulated time.
    #[arg(long = "for", value_name = "TIME", default_value = "60s", value_parser = duration)]
    pub(crate) length: Duration,
    /// Real time, or ten times as fast.
    #[arg(long, value_enum, default_value_t = Pace::Real)]
    pub(crate) pace: Pace,
    /// Send the CAN frames on this virtual interface, never another. Default: an in-process link.
    #[arg(long, value_name = "INTERFACE")]
    pub(crate) can: Option<String>,
    /// The folder recordings are made in.
    #[arg(long, value_name = "DIR", default_value = "recordings")]
    pub(crate) out: PathBuf,
    /// Serve metrics here; port 0 takes a free one.
    #[arg(long, value_name = "ADDRESS")]
    pub(crate) metrics: Option<std::net::SocketAddr>,
    /// How the summary is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Pace {
    /// Real time.
    Real,
    /// Ten times as fast.
    Fast,
}

#[derive(Debug, Args)]
pub(crate) struct CheckArgs {
    /// The run file.
    #[arg(value_name = "RUN.toml")]
    pub(crate) run: PathBuf,
    /// Also whether the ports are there and can be opened.
    #[arg(long)]
    pub(crate) ports: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct PointArgs {
    /// The readings.
    #[arg(value_name = "READINGS.csv")]
    pub(crate) readings: PathBuf,
    /// The pack file.
    #[arg(long, value_name = "PACK.toml")]
    pub(crate) pack: PathBuf,
    /// Judge the results by the limits of this file.
    #[arg(long, value_name = "LIMITS.toml")]
    pub(crate) limits: Option<PathBuf>,
    /// How the results are written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: PointFormat,
    /// The file to write to; needed for Parquet. Default: standard output.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum PointFormat {
    /// For a person.
    #[default]
    Text,
    /// For a script: one JSON object.
    Json,
    /// One line a point and quantity.
    Csv,
    /// The same as a Parquet file.
    Parquet,
}

#[derive(Debug, Args)]
pub(crate) struct RecordArgs {
    /// The run file.
    #[arg(value_name = "RUN.toml")]
    pub(crate) run: PathBuf,
    /// Stop after this time. Default: until Ctrl-C.
    #[arg(long = "for", value_name = "TIME", value_parser = duration)]
    pub(crate) length: Option<Duration>,
    /// Who types the notes. Default: the user's name on this machine.
    #[arg(long)]
    pub(crate) author: Option<String>,
    /// How the summary is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct ReplayArgs {
    /// Recordings (folders) or captures (candump text, CSV). Without any: the captures that the run file names.
    #[arg(value_name = "PATH", required_unless_present = "with")]
    pub(crate) paths: Vec<PathBuf>,
    /// Another configuration than the one a recording stores; captures need one.
    #[arg(long, value_name = "RUN.toml")]
    pub(crate) with: Option<PathBuf>,
    /// What if: a recording's own limit files and this one in their place, alarms counted before and after. Several
    /// times for several files.
    #[arg(long, value_name = "LIMITS.toml", conflicts_with_all = ["with", "out", "compare"])]
    pub(crate) limits: Vec<PathBuf>,
    /// Make a new recording in this folder.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Compare what is recomputed with what is stored, to the last bit; the exit status then says whether it is the
    /// same, not whether everything had come.
    #[arg(long)]
    pub(crate) compare: bool,
    /// How the summary is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct AlignArgs {
    /// The run file: what its captures hold, and where they are.
    #[arg(value_name = "RUN.toml")]
    pub(crate) run: PathBuf,
    /// A channel of the recorder whose clock counts.
    #[arg(value_name = "REFERENCE")]
    pub(crate) reference: String,
    /// A channel of the other recorder that saw the same: a step, a run-up, a marker.
    #[arg(value_name = "CHANNEL")]
    pub(crate) channel: String,
    /// Captures, where they are not those that the run file names.
    #[arg(value_name = "PATH")]
    pub(crate) paths: Vec<PathBuf>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct ListenArgs {
    /// A run file, a recording, or captures; captures may have a run file before them.
    #[arg(value_name = "PATH", required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// Live: stop after this time. Default: until Ctrl-C or `quit`.
    #[arg(long = "for", value_name = "TIME", value_parser = duration)]
    pub(crate) length: Option<Duration>,
    /// Which fields go with this channel or derived quantity of the run.
    #[arg(long, value_name = "CHANNEL")]
    pub(crate) with: Option<String>,
    /// Of what was recorded: something was done so long after the first message. As often as it was done.
    #[arg(long = "mark", value_name = "TIME", value_parser = duration)]
    pub(crate) marks: Vec<Duration>,
    /// How long after a mark its effect may begin to show.
    #[arg(long, value_name = "TIME", default_value = "1.5s", value_parser = duration)]
    pub(crate) within: Duration,
    /// How what was heard is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct SalvageArgs {
    /// The recording's folder.
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct PortsArgs {
    /// The kinds of source a run file may name, instead of ports.
    #[arg(long)]
    pub(crate) kinds: bool,
    /// How the list is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct AffectedArgs {
    /// The sensor's serial number, as channel maps and sensor files write it.
    #[arg(value_name = "SENSOR")]
    pub(crate) sensor: String,
    /// Leave out what had ended before this day: the day of its last good calibration.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) since: Option<jiff::civil::Date>,
    /// Folders of recordings, or recordings.
    #[arg(value_name = "FOLDER", default_value = "recordings")]
    pub(crate) folders: Vec<PathBuf>,
    /// How the list is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct ExplainArgs {
    /// The quantity's name, with or without a pack's prefix.
    #[arg(value_name = "QUANTITY")]
    pub(crate) quantity: Option<String>,
    /// How the text is written.
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct NewArgs {
    /// What for: bench, ground-run or replay.
    #[arg(value_parser = ["bench", "ground-run", "replay"])]
    pub(crate) kind: String,
    /// The folder to write into; made where it is not there.
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
}

fn day(text: &str) -> Result<jiff::civil::Date, String> {
    text.parse().map_err(|_| "write a day so: 2026-01-31".to_owned())
}

fn duration(text: &str) -> Result<Duration, String> {
    let span = assembly::config::text::duration(text)?;
    if span.0 == 0 {
        return Err("0 is no time to run for".to_owned());
    }
    Ok(Duration::from_nanos(span.0.unsigned_abs()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_sound_and_every_command_has_an_example() {
        let cli = Cli::command();
        cli.clone().debug_assert();
        for c in cli.get_subcommands() {
            let help = c.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.starts_with("Example"), "{} has no example", c.get_name());
        }
    }
}
