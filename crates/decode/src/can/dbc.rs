//! Database text (DBC): reading it, and where in it something is wrong.

mod cursor;
mod fault;
mod statements;

pub use fault::DbcFault;
pub(super) use statements::{MessageText, Number, Selection, SignalText, Statements};

use super::build;
use super::database::CanDatabase;
use super::j1939::Senders;

/// Why a database is refused, and where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{file}:{line}:{column}: {fault}")]
pub struct DbcError {
    /// The file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column (character), from 1.
    pub column: usize,
    /// What is wrong and what to do.
    pub fault: Box<DbcFault>,
}

/// A place in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct At {
    pub(super) line: usize,
    pub(super) column: usize,
}

/// One of the databases of a bus.
#[derive(Clone, Debug)]
pub struct DatabaseText<'a> {
    /// Its name in messages.
    pub file: &'a str,
    /// The text.
    pub text: &'a str,
    /// Whether signals in frames with 29-bit identifiers have the codes of SAE J1939 for "not available" and "error";
    /// `None`: as the file says of itself (attributes `ProtocolType`, `VFrameFormat`).
    pub j1939: Option<bool>,
    /// Whose frames belong to a message besides those with exactly its identifier.
    pub senders: Senders,
}

impl CanDatabase {
    /// Reads a database; `file` is its name in messages. Numbers only: codes of J1939 are not looked for.
    ///
    /// # Errors
    /// Text that is no database, and where. A message or signal with something wrong is no error: it is left out, or
    /// may not be mapped, and listed in [`CanDatabase::notes`]; the rest is there.
    pub fn load(text: &str, file: &str) -> Result<CanDatabase, DbcError> {
        CanDatabase::load_all(&[DatabaseText { file, text, j1939: Some(false), senders: Senders::AsWritten }])
    }

    /// Reads all databases of one bus.
    ///
    /// # Errors
    /// As [`CanDatabase::load`]; also two databases that say different things of one identifier or name.
    pub fn load_all(databases: &[DatabaseText<'_>]) -> Result<CanDatabase, DbcError> {
        let mut read = Vec::with_capacity(databases.len());
        for d in databases {
            let at = |(at, fault): (At, DbcFault)| error(d.file, at, fault);
            let statements = Statements::read(&lines(d.text)).map_err(at)?;
            read.push(build::database_file(d, &statements).map_err(at)?);
        }
        build::bus(read)
    }

    /// As [`CanDatabase::load`] from a file's bytes.
    ///
    /// # Errors
    /// As [`CanDatabase::load`].
    pub fn load_bytes(bytes: &[u8], file: &str) -> Result<CanDatabase, DbcError> {
        CanDatabase::load(&text_of(bytes), file)
    }
}

pub(super) fn error(file: &str, at: At, fault: DbcFault) -> DbcError {
    DbcError { file: file.to_owned(), line: at.line, column: at.column, fault: Box::new(fault) }
}

/// Without a byte-order mark, line ends as they are today.
fn lines(text: &str) -> String {
    text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n")
}

/// A database's bytes as text: UTF-8, or else Windows' western code page, which editors of such files write (common
/// practice, no source). Only texts such as units can differ.
pub fn text_of(bytes: &[u8]) -> String {
    /// What 0x80 to 0x9F stand for; the five that stand for nothing stay as they are. Equal to what Python calls
    /// cp1252; all other bytes are the code point of the same number.
    const UPPER: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘',
        '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    let western = |b: &u8| if (0x80..0xa0).contains(b) { UPPER[usize::from(*b) - 0x80] } else { char::from(*b) };
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(western).collect(),
    }
}
