//! What the program's exit status says.

use assembly::Error;
use std::process::ExitCode;

/// The exit status.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Exit {
    /// All well.
    Done = 0,
    /// It could not be done.
    Failed = 1,
    /// The command line or a configuration file is wrong.
    Wrong = 2,
    /// Done, but not everything was recorded, read or written.
    Incomplete = 3,
    /// Compared, and it differs.
    Different = 4,
    /// Checked, and the run is not ready.
    NotReady = 5,
}

/// The table in `--help`.
pub(crate) const TABLE: &str = "\
Exit status:
  0  all well
  1  it could not be done
  2  the command line or a configuration file is wrong
  3  done, but not everything was recorded, read or written
  4  compared, and it differs
  5  checked, and the run is not ready
A replay of several recordings goes on after one that cannot be replayed and ends with the
gravest status of them all: 1, else 4, else 2, else 3, else 0.";

impl Exit {
    /// The graver of two, in the order of the table's last line.
    pub(crate) fn or_graver(self, other: Exit) -> Exit {
        let gravity = |e: Exit| match e {
            Exit::Failed => 5,
            Exit::Different => 4,
            Exit::Wrong => 3,
            Exit::NotReady => 2,
            Exit::Incomplete => 1,
            Exit::Done => 0,
        };
        if gravity(other) > gravity(self) { other } else { self }
    }
}

impl From<Exit> for ExitCode {
    fn from(e: Exit) -> ExitCode {
        ExitCode::from(e as u8)
    }
}

/// The status for an error.
pub(crate) fn of(e: &Error) -> Exit {
    match e {
        Error::Config(_) | Error::Options(_) | Error::Neither { .. } | Error::NotThere(_) => Exit::Wrong,
        _ => Exit::Failed,
    }
}
