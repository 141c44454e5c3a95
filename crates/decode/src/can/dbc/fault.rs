//! What can be wrong with a database.

/// What is wrong with a database.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DbcFault {
    /// Not the language.
    #[error("{0}")]
    Syntax(String),
    /// No message at all.
    #[error("the database has no message that can be decoded; check that it is the right file")]
    Empty,
    /// Another database on the same bus has a message of this identifier or name that is not the same.
    #[error("message `{message}` ({what}) is in {other} too and differs; take one of them out")]
    Conflict {
        /// Message.
        message: String,
        /// Identifier or name.
        what: String,
        /// File and line of the other.
        other: String,
    },
    /// Which message a sender's frames belong to is open.
    #[error(
        "message `{message}` has parameter group {pgn}, which `{other}` on line {other_line} has too: with \
         `senders` only one of them is possible"
    )]
    DuplicateGroup {
        /// Message.
        message: String,
        /// Parameter group number.
        pgn: u32,
        /// The other.
        other: String,
        /// Its line.
        other_line: usize,
    },
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
    #[error(
        "message `{message}`: {length} bytes; a frame has at most 8, or 64 with CAN FD, and messages sent in several \
         frames are not put together"
    )]
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
    /// No multiplexor, or several and no word which.
    #[error(
        "message `{message}`, signal `{signal}`: multiplexed, and no SG_MUL_VAL_ says by which signal (others marked \
         M: {found}); correct the marks or add the statement"
    )]
    Unselected {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Signals marked M.
        found: usize,
    },
    /// Two statements name two multiplexors.
    #[error("message `{message}`, signal `{signal}`: SG_MUL_VAL_ names two multiplexors, `{first}` and `{second}`")]
    TwoSelectors {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// The first.
        first: String,
        /// The second.
        second: String,
    },
    /// Selected by something that cannot select.
    #[error("message `{message}`, signal `{signal}`: its multiplexor `{selector}` {why}")]
    Selector {
        /// Message.
        message: String,
        /// Signal.
        signal: String,
        /// Multiplexor.
        selector: String,
        /// What is wrong with it.
        why: &'static str,
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
    /// A statement about nothing.
    #[error("{statement} names signal `{signal}` of message id {id}, which the database does not have")]
    Dangling {
        /// Its keyword.
        statement: &'static str,
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
