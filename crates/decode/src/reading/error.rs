//! Why a record gave no readings.

use stream::RecordKind;

/// Why a record gave no readings. No variant holds a heap allocation, so that a bus full of unknown frames costs
/// nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecodeError {
    /// The record is sound, but nothing here is mapped to it: kept for tomorrow's map.
    #[error(transparent)]
    Unmapped(#[from] Unmapped),
    /// The record is damaged, or does not fit its map.
    #[error(transparent)]
    Unfit(#[from] Unfit),
}

/// Sound records that nothing is mapped to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unmapped {
    /// No message has this id.
    #[error("CAN id {0:#x} is not in the database")]
    CanId(u32),
    /// A remote frame asks for data and carries none.
    #[error("a remote frame carries no data")]
    RemoteFrame,
    /// An error frame speaks of the bus, not of an instrument.
    #[error("an error frame carries no reading")]
    ErrorFrame,
    /// The request read registers of which none is in the map.
    #[error("no register of the map lies in function {function}, addresses {first} to {last}")]
    Registers {
        /// Function code of the request.
        function: u8,
        /// First address asked for.
        first: u16,
        /// Last address asked for.
        last: u16,
    },
    /// A device that the source does not list.
    #[error("the device is not in the source's list")]
    Device,
    /// An answer to a query that the instrument's file does not list.
    #[error("query {0} is not in the instrument's list")]
    Query(u16),
    /// No reading is in frames of this kind.
    #[error("no reading is in frames of this kind")]
    Frame,
    /// The line begins with something other than the format's prefix.
    #[error("the line does not begin with the format's prefix")]
    Prefix,
}

/// Records that are damaged, or do not fit their map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// A record of a kind that this source's decoder does not read.
    #[error("a record of kind {0:?} in a source that is decoded as something else; check the source's format")]
    Kind(RecordKind),
    /// A record shorter than its own layout.
    #[error("the record has {found} bytes, its layout needs {needed}")]
    TooShort {
        /// Bytes needed.
        needed: usize,
        /// Bytes there.
        found: usize,
    },
    /// A device index with no format.
    #[error("device {device} has no format; the source lists {known}")]
    Device {
        /// The index.
        device: u16,
        /// How many there are.
        known: usize,
    },
    /// A record of the right kind, from a device whose format is another.
    #[error("a record of kind {kind:?} from device {device}, whose format is another; check the device's format")]
    Format {
        /// The record's kind.
        kind: RecordKind,
        /// The device's index.
        device: u16,
    },
    /// The CAN payload contradicts itself.
    #[error("the CAN frame's length field says {said}, {found} data bytes follow")]
    FrameLength {
        /// Length field.
        said: u8,
        /// Data bytes.
        found: usize,
    },
    /// A frame shorter than the signals of its message.
    #[error(
        "CAN id {id:#x}: {found} data bytes, its signals need {needed}; check the message's length in the database"
    )]
    FrameTooShort {
        /// The id without flags.
        id: u32,
        /// Bytes needed.
        needed: u8,
        /// Bytes there.
        found: usize,
    },
    /// The stored request is none that this program sends.
    #[error("the stored request is no read request: {0}")]
    Request(#[from] crate::modbus::RequestError),
    /// The stored answer's checksum is wrong.
    #[error("the answer's checksum is wrong")]
    Checksum,
    /// The stored answer is not the answer to the stored request.
    #[error("the answer does not belong to its request: {0}")]
    Answer(crate::modbus::Mismatch),
    /// The stored answer is an exception.
    #[error("the device answered with exception {0}")]
    Exception(u8),
    /// A line that does not fit its format.
    #[error("column {column}: {what}")]
    Line {
        /// Where, in bytes from 1.
        column: usize,
        /// What is wrong.
        what: crate::text::Misfit,
    },
    /// A frame that does not fit its format.
    #[error(transparent)]
    Frame(#[from] crate::binary::FrameMisfit),
    /// A row with another number of cells than the head.
    #[error(
        "column {column}: the row has {found} cells, the head has {expected}; check separators and quotation marks"
    )]
    Cells {
        /// Where the row ends or the first cell too many begins, in bytes from 1.
        column: usize,
        /// Cells there.
        found: usize,
        /// Cells in the head.
        expected: usize,
    },
}
