//! Why a format of frames is refused, and why a frame does not fit.

/// Why a format of frames is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BinaryFormatError {
    /// No reading.
    #[error("the frame format has no reading; list at least one")]
    Empty,
    /// Too many readings.
    #[error("the frame format has {0} readings, at most 65535 are possible")]
    TooMany(usize),
    /// Nothing to find frames by.
    #[error("frames of kind sync begin with fixed bytes: at least one is needed to find them")]
    NoSync,
    /// A frame of fixed length that cannot hold what it must.
    #[error(
        "a frame of {length} bytes is refused: {needed} are taken by sync and checksum, and {longest} is the longest"
    )]
    Length {
        /// Length asked for.
        length: usize,
        /// Least.
        needed: usize,
        /// Most.
        longest: usize,
    },
    /// A reading past the end of every frame.
    #[error("reading `{name}`: bytes {first} to {last} lie past the end of the longest frame of {longest} bytes")]
    Past {
        /// Reading.
        name: String,
        /// First byte.
        first: usize,
        /// Last byte.
        last: usize,
        /// Longest frame, its checksum taken off.
        longest: usize,
    },
    /// Two readings of one name, or none.
    #[error("two readings are called `{0}`, or one has no name; give it another name")]
    Name(String),
    /// Scale 0, or scale or offset not finite.
    #[error("reading `{0}`: the scale must not be 0, and scale and offset must be finite")]
    Scale(String),
    /// A part of a number that is none.
    #[error(
        "reading `{name}`: {count} bits from bit {first} on are no part of it; unsigned types have parts, \
         counted from bit 0"
    )]
    Bits {
        /// Reading.
        name: String,
        /// Lowest bit.
        first: u8,
        /// How many.
        count: u8,
    },
    /// A raw number listed twice, or wider than the reading.
    #[error("reading `{name}`: {raw:#x} is listed twice as no number, or is wider than the reading")]
    Nothing {
        /// Reading.
        name: String,
        /// Raw number.
        raw: u64,
    },
}

/// Why a frame does not fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FrameMisfit {
    /// The checksum is wrong.
    #[error("the frame's checksum is wrong")]
    Checksum,
    /// A frame shorter than its checksum, or than a reading.
    #[error("the frame has {found} bytes, {needed} are needed")]
    Short {
        /// Bytes needed.
        needed: usize,
        /// Bytes there.
        found: usize,
    },
}
