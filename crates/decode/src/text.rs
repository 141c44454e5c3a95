//! Text instruments: lines in a stream of bytes, fields in a line.

mod format;
mod framer;
mod write;

pub use format::{Misfit, TextField, TextFormat, TextFormatError};
pub use framer::LineFramer;
pub use write::WriteError;
