//! Database text (DBC). The one place that knows the parser; it gives no lines, so they are looked up beside it.

use super::build;
use super::database::CanDatabase;
use can_dbc::{Dbc, DbcError as ParserError, MessageId};
use pest::error::LineColLocation;

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

/// What is wrong with a database.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DbcFault {
    /// Not the language.
    #[error("{0}")]
    Syntax(String),
    /// No message at all.
    #[error("the database has no message that can be decoded; check that it is the right file")]
    Empty,
    /// More than can be counted.
    #[error("the database has more than 65535 signals; take out messages that are not needed")]
    TooMany,
    /// An identifier beyond 11 or 29 bits.
    #[error("message `{message}`: id {id} is neither an 11-bit id (up to 2047) nor 2147483648 + a 29-bit id")]
    Id {
        /// Message.
        message: String,
        /// As written.
        id: u64,
    },
    /// One identifier twice.
    #[error("message `{message}` has id {id}, which `{other}` on line {other_line} has already; remove one of them")]
    DuplicateId {
        /// Message.
        message: String,
        /// As written.
        id: u64,
        /// The other.
        other: String,
        /// Its line.
        other_line: usize,
    },
    /// One name twice.
    #[error("a message called `{message}` is on line {other_line} already; rename one of them")]
    DuplicateMessage {
        /// Message.
        message: String,
        /// Line of the other.
        other_line: usize,
    },
    /// One signal name twice.
    #[error("message `{message}` has a signal called `{signal}` on line {other_line} already; rename one of them")]
    DuplicateSignal {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Line of the other.
        other_line: usize,
    },
    /// Longer than any frame.
    #[error("message `{message}`: {length} bytes; a frame has at most 8, or 64 with CAN FD")]
    MessageLength {
        /// Message.
        message: String,
        /// Bytes as written.
        length: u64,
    },
    /// No bits, or more than 64.
    #[error("message `{message}`, signal `{signal}`: {size} bits; 1 to 64 are possible")]
    Size {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Bits as written.
        size: u64,
    },
    /// Reaches past the message.
    #[error(
        "message `{message}`, signal `{signal}`: bits {start}|{size}@{order} reach byte {reaches}, the message has \
         {length}; check start bit, size and byte order, or the message's length"
    )]
    Outside {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Start bit.
        start: u64,
        /// Bits.
        size: u64,
        /// 0 or 1.
        order: u8,
        /// The last byte it reaches, from 1.
        reaches: u64,
        /// Bytes of the message.
        length: u64,
    },
    /// Shares bits with another.
    #[error(
        "message `{message}`: signals `{signal}` and `{other}` (line {other_line}) share bit {bit}; check start bits, \
         sizes and byte orders"
    )]
    Overlap {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// The other.
        other: String,
        /// Its line.
        other_line: usize,
        /// The first bit that both have.
        bit: u16,
    },
    /// Two multiplexors.
    #[error("message `{message}`: `{signal}` and `{other}` are both marked M; only one multiplexor is possible")]
    TwoMultiplexors {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// The first.
        other: String,
    },
    /// No multiplexor.
    #[error("message `{message}`, signal `{signal}`: multiplexed (m{value}), but no signal of the message is marked M")]
    NoMultiplexor {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Its multiplexor value.
        value: u64,
    },
    /// A multiplexor that is a float.
    #[error("message `{message}`, signal `{signal}`: a multiplexor must be an integer, SIG_VALTYPE_ makes it a float")]
    FloatMultiplexor {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
    },
    /// A multiplexor value that its bits cannot hold.
    #[error(
        "message `{message}`, signal `{signal}`: multiplexor value {value} does not fit the {size} bits of `{selector}`"
    )]
    MultiplexorValue {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Value.
        value: u64,
        /// Multiplexor.
        selector: String,
        /// Its bits.
        size: u64,
    },
    /// A float of the wrong size.
    #[error("message `{message}`, signal `{signal}`: SIG_VALTYPE_ says IEEE {says} bits, the signal has {size}")]
    FloatSize {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// 32 or 64.
        says: u16,
        /// Bits of the signal.
        size: u64,
    },
    /// A value type for nothing.
    #[error("SIG_VALTYPE_ names signal `{signal}` of message id {id}, which the database does not have")]
    ValueType {
        /// Signal.
        signal: String,
        /// Id as written.
        id: u64,
    },
    /// A scale that hides the bus, or numbers that overflow.
    #[error(
        "message `{message}`, signal `{signal}`: scale {scale:?}, offset {offset:?}: the scale must not be 0, and no \
         value may overflow"
    )]
    Scale {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Scale.
        scale: f64,
        /// Offset.
        offset: f64,
    },
}

/// A place in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct At {
    pub(super) line: usize,
    pub(super) column: usize,
}

/// Where messages, signals and value types stand, in file order.
#[derive(Debug, Default)]
pub(super) struct Places {
    pub(super) messages: Vec<MessagePlace>,
    pub(super) value_types: Vec<At>,
    /// A signal marked `m` without a value, which the parser takes for one that is always there.
    bare_m: Option<At>,
}

/// Where a message stands.
#[derive(Debug)]
pub(super) struct MessagePlace {
    pub(super) at: At,
    /// The identifier as written: the parser cuts bits off.
    pub(super) id: u64,
    pub(super) signals: Vec<At>,
}

/// A parsed database and where its parts stand.
pub(super) struct Parsed {
    pub(super) dbc: Dbc,
    pub(super) places: Places,
}

impl CanDatabase {
    /// Reads a database; `file` is its name in messages.
    ///
    /// # Errors
    /// The first thing wrong, with file, line, column, message and signal. Messages with extended multiplexing are
    /// no error: they are left out and listed in [`CanDatabase::notes`].
    pub fn load(text: &str, file: &str) -> Result<CanDatabase, DbcError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        parse(text).and_then(|parsed| build::database(&parsed)).map_err(|(at, fault)| DbcError {
            file: file.to_owned(),
            line: at.line,
            column: at.column,
            fault: Box::new(fault),
        })
    }

    /// The same from a file's bytes: UTF-8, or else Windows-1252, which editors of such files write (common practice,
    /// no source); only texts such as units can differ.
    ///
    /// # Errors
    /// As [`CanDatabase::load`].
    pub fn load_bytes(bytes: &[u8], file: &str) -> Result<CanDatabase, DbcError> {
        match std::str::from_utf8(bytes) {
            Ok(text) => CanDatabase::load(text, file),
            Err(_) => CanDatabase::load(&can_dbc::decode_cp1252(bytes).unwrap_or_default(), file),
        }
    }
}

/// The identifier as a database writes it.
pub(super) fn written(id: MessageId) -> u64 {
    u64::from(id.raw())
}

fn parse(text: &str) -> Result<Parsed, (At, DbcFault)> {
    // The grammar wants a line end after some last statements.
    let text = format!("{text}\n");
    let places = places(&text);
    if let Some(at) = places.bare_m {
        return Err((at, DbcFault::Syntax("the signal is marked `m` without a multiplexor value; add it".to_owned())));
    }
    let dbc = Dbc::try_from(text.as_str()).map_err(|e| syntax(&text, e))?;
    let same = dbc.messages.len() == places.messages.len()
        && dbc.messages.iter().zip(&places.messages).all(|(m, p)| m.signals.len() == p.signals.len())
        && dbc.signal_extended_value_type_list.len() == places.value_types.len();
    if same {
        return Ok(Parsed { dbc, places });
    }
    let fault = "BO_, SG_ and SIG_VALTYPE_ must each begin a line of their own, SG_ below its BO_; one here does not";
    Err((At { line: 1, column: 1 }, DbcFault::Syntax(fault.to_owned())))
}

/// Finds the statements whose places are reported: lines that begin with them, outside texts in quotes.
fn places(text: &str) -> Places {
    let mut places = Places::default();
    let mut quoted = false;
    for (number, line) in text.split('\n').enumerate() {
        let begins_quoted = quoted;
        quoted ^= quotes(line) % 2 == 1;
        if begins_quoted {
            continue;
        }
        let statement = line.trim_start();
        let at = At { line: number + 1, column: line.chars().count() - statement.chars().count() + 1 };
        let mut words = statement.split_ascii_whitespace();
        match (words.next(), words.next()) {
            (Some("BO_"), Some(id)) => {
                let id = id.parse().unwrap_or(u64::MAX);
                places.messages.push(MessagePlace { at, id, signals: Vec::new() });
            }
            (Some("SG_"), Some(_)) => {
                places.messages.last_mut().into_iter().for_each(|m| m.signals.push(at));
                if words.next().is_some_and(|w| w == "m" || w.starts_with("m:")) {
                    places.bare_m = places.bare_m.or(Some(at));
                }
            }
            (Some("SIG_VALTYPE_"), Some(_)) => places.value_types.push(at),
            _ => {}
        }
    }
    places
}

/// Quotation marks that open or close a text.
fn quotes(line: &str) -> usize {
    line.replace("\\\"", "").matches('"').count()
}

fn syntax(text: &str, error: ParserError) -> (At, DbcFault) {
    let token = match &error {
        ParserError::Pest(e) => {
            let (LineColLocation::Pos((line, column)) | LineColLocation::Span((line, column), _)) = e.line_col;
            let stopped = text.lines().nth(line - 1).unwrap_or("");
            let found = stopped.char_indices().nth(column - 1).map_or("", |c| &stopped[c.0..]);
            return (At { line, column }, DbcFault::Syntax(unexpected(stopped, found)));
        }
        ParserError::InvalidFloat(t) | ParserError::InvalidInt(t) | ParserError::InvalidUint(t) => t.clone(),
        ParserError::InvalidNumericValue(t) | ParserError::UnknownMultiplexIndicator(t) => t.clone(),
        ParserError::MessageIdOutOfRange(id) => id.to_string(),
        _ => String::new(),
    };
    let place = text.lines().enumerate().find_map(|(n, l)| l.find(&token).map(|at| (n, l[..at].chars().count())));
    let at = place.map_or(At { line: 1, column: 1 }, |(n, c)| At { line: n + 1, column: c + 1 });
    (at, DbcFault::Syntax(format!("{error}; correct it, or take the statement out")))
}

/// Says what stands where the parser stopped, and the form of the statement on that line.
fn unexpected(line: &str, found: &str) -> String {
    let form = match line.split_ascii_whitespace().next() {
        Some("BO_") => "`BO_ id name: bytes sender`",
        Some("SG_") => "`SG_ name : start|bits@order sign (scale,offset) [min|max] \"unit\" receivers`",
        Some("SIG_VALTYPE_") => "`SIG_VALTYPE_ id signal : 1;` (1 = 32 bits, 2 = 64)",
        _ => return "no DBC statement begins like this, or it is incomplete; correct it or take it out".to_owned(),
    };
    match found.split_whitespace().next() {
        None => format!("the line ends before its statement does; the form is {form}"),
        Some(word) => {
            let word: String = word.chars().take(40).collect();
            format!("the statement cannot be read from `{word}` on; the form is {form}")
        }
    }
}
