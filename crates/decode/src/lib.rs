//! Bytes <-> instrument readings, both directions.
//!
//! * [`reading`]: what comes out of a record: a number or the reason why there is none; the [`Decoder`] of a source
//! * [`modbus`]: requests (functions 1 to 4 only), answers and their checks, register maps
//! * [`text`]: lines in a stream of bytes, fields in a line
//! * [`binary`]: frames in a stream of bytes, numbers in a frame
//! * [`can`]: the frame payload, databases (DBC), J1939, the length of frames
//! * [`arinc429`]: label, sign and number of a word
//! * [`line_rate`]: most items in a second on a line
//! * [`capture`]: files made by something else: candump text, tables (CSV)
//! * [`seen`]: every word of a line, whether anything is known of it or not; which of them moved at a mark
//! * [`crc`], [`checksum`]: checksums of the framings, by name
//!
//! **Invariant:** pure: the same bytes give the same readings, on any machine, at any time. No clock, file, port or
//! environment is read here, no byte sequence makes it panic, and no request is built that would write to a device.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod arinc429;
pub mod binary;
pub mod can;
pub mod capture;
pub mod checksum;
pub mod crc;
mod framing;
pub mod line_rate;
pub mod modbus;
mod number;
pub mod reading;
pub mod seen;
pub mod text;

pub use reading::{DecodeError, Decoder, DecoderError, DeviceFormat, Format, Raw, ReadingInfo, Unfit, Unmapped};
