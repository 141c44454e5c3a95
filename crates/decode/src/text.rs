//! Text instruments: lines in a stream of bytes, fields in a line.

mod error;
mod field;
mod format;
mod framer;
mod lines;
pub mod pattern;
mod query;
mod write;

pub use error::{Misfit, TextFormatError};
pub use field::TextField;
pub use format::TextFormat;
pub use framer::LineFramer;
pub use lines::{LineChecksum, TextLines, Written};
pub use query::{QueryRefused, query};
pub use write::WriteError;
