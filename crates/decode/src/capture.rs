//! Captures made by something else, line by line. The file is the caller's; a line and its meaning are here.

pub mod candump;
pub mod table;
mod time;

/// A line that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("column {column}: {what}")]
pub struct LineError {
    /// Where, in bytes from 1.
    pub column: usize,
    /// What is wrong and what was expected.
    pub what: String,
}

impl LineError {
    #[cold]
    fn new(column: usize, what: impl Into<String>) -> LineError {
        LineError { column, what: what.into() }
    }
}
