//! One file a command.

pub(crate) mod affected;
pub(crate) mod align;
pub(crate) mod check;
pub(crate) mod demo;
pub(crate) mod explain;
pub(crate) mod listen;
pub(crate) mod new;
pub(crate) mod point;
pub(crate) mod ports;
pub(crate) mod record;
pub(crate) mod replay;
pub(crate) mod salvage;
pub(crate) mod what_if;

use assembly::Error;

/// What was tried, for errors of the system.
pub(crate) fn io(what: &str) -> impl FnOnce(std::io::Error) -> Error + '_ {
    move |source| Error::Io { what: what.to_owned(), source }
}
