//! Binary frames: found in a stream of bytes, numbers in a frame.
//!
//! Sources: SLIP: J. Romkey, RFC 1055 (1988). COBS: S. Cheshire, M. Baker, Consistent Overhead Byte Stuffing, IEEE/ACM
//! Transactions on Networking 7(2), 1999. Frames that begin with fixed bytes, and lengths inside a frame: common
//! practice, no source.

mod error;
mod format;
mod framer;
mod part;
pub mod stuffing;

pub use error::{BinaryFormatError, FrameMisfit};
pub use format::{BinaryFormat, Find, FrameChecksum, FrameLayout, Length};
pub use framer::FrameFramer;
pub use part::{NumberKind, Order, Part, When};
