//! The program: command line, terminal, signals. What it does is in `assembly`; here is only how it is asked and told.

/// Prints a line. A terminal or pipe that is gone is no reason to end a run, as `println` would.
macro_rules! say {
    ($($text:tt)*) => {{
        use std::io::Write as _;
        let _ = writeln!(std::io::stdout(), $($text)*);
    }};
}

/// The same on standard error.
macro_rules! complain {
    ($($text:tt)*) => {{
        use std::io::Write as _;
        let _ = writeln!(std::io::stderr(), $($text)*);
    }};
}

mod args;
mod commands;
mod exit;
mod keys;
mod show;
mod signals;

use args::{Cli, Command};
use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let level = if cli.verbose { tracing::Level::DEBUG } else { tracing::Level::WARN };
    tracing_subscriber::fmt()
        .with_max_level(level)
        .with_writer(std::io::stderr)
        .with_target(false)
        .with_ansi(show::colour(&std::io::stderr()))
        .init();
    let result = match cli.command {
        Command::Demo(a) => commands::demo::run(&a),
        Command::Check(a) => commands::check::run(&a),
        Command::Record(a) => commands::record::run(&a),
        Command::Replay(a) => commands::replay::run(a),
        Command::Align(a) => commands::align::run(&a),
        Command::Listen(a) => commands::listen::run(&a),
        Command::Salvage(a) => commands::salvage::run(&a),
        Command::Ports(a) => commands::ports::run(&a),
        Command::New(a) => commands::new::run(&a),
        Command::Point(a) => commands::point::run(&a),
        Command::Affected(a) => commands::affected::run(&a),
        Command::Explain(a) => commands::explain::run(&a),
    };
    match result {
        Ok(code) => code.into(),
        Err(e) => {
            show::error(&e);
            exit::of(&e).into()
        }
    }
}
