//! The file of an instrument that sends binary frames.

use super::RawNothing;
use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// A device that sends binary frames unasked.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise instrument file: binary")]
pub struct BinaryFile {
    /// `binary`.
    pub framing: String,
    /// One line for a person.
    #[serde(default)]
    pub summary: String,
    /// How frames are found.
    #[schemars(with = "FrameTable")]
    pub frame: Spanned<FrameTable>,
    /// The readings.
    #[schemars(with = "Vec<PartTable>")]
    pub reading: Vec<Spanned<PartTable>>,
}

/// How frames are found.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrameTable {
    /// `sync` (a frame begins with fixed bytes), `slip` (RFC 1055) or `cobs` (a zero byte ends a frame).
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// For `sync`: the bytes that every frame begins with, in hexadecimal: `"AA 55"`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub sync: Option<Spanned<String>>,
    /// The length of every frame in bytes, `sync` and checksum included; of SLIP and COBS without what they add.
    #[serde(default)]
    #[schemars(with = "Option<u16>")]
    pub length: Option<Spanned<u16>>,
    /// For `sync`, instead of `length`: where the frame says how long it is.
    #[serde(default)]
    #[schemars(with = "Option<LengthTable>")]
    pub length_field: Option<Spanned<LengthTable>>,
    /// The longest frame, bytes. Default 1024.
    #[serde(default)]
    #[schemars(with = "Option<u16>")]
    pub longest: Option<Spanned<u16>>,
    /// The checksum at the end of the frame: `xor`, `sum-8`, `sum-16`, or a CRC by its name in the catalogue of
    /// CRC RevEng: `CRC-16/MODBUS`. Default: none.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub checksum: Option<Spanned<String>>,
    /// The first byte that the checksum covers, from 0. Default 0.
    #[serde(default)]
    pub checksum_from: u16,
    /// Which byte of the checksum comes first: `low-first` or `high-first`. No default for more than one byte.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub checksum_order: Option<Spanned<String>>,
}

/// Where a frame says how long it is.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LengthTable {
    /// Its first byte, from 0.
    pub byte: u16,
    /// `u8` or `u16`.
    #[serde(rename = "type")]
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// For `u16`: `low-first` or `high-first`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub order: Option<Spanned<String>>,
    /// The frame's length = the field + this: 5 where the field counts the data of a frame that has 5 bytes around it;
    /// 0 where it counts the whole frame.
    pub adds: i32,
}

/// One reading in a frame.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartTable {
    /// Its name.
    pub name: String,
    /// Its first byte in the frame, from 0, `sync` counted.
    pub byte: u16,
    /// `u8`, `i8`, `u16`, `i16`, `u24`, `i24`, `u32`, `i32`, `u64`, `i64`, `f32` or `f64`.
    #[serde(rename = "type")]
    #[schemars(with = "String")]
    pub kind: Spanned<String>,
    /// Which byte comes first: `low-first` or `high-first`. No default for more than one byte.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub order: Option<Spanned<String>>,
    /// The only bits of it that count: the lowest one, from 0, and how many: `[4, 3]`. For unsigned types.
    #[serde(default)]
    pub bits: Option<[u8; 2]>,
    /// Read only from frames whose byte at `.byte` is `.is`, as where several kinds of frames come.
    #[serde(default)]
    pub when: Option<WhenTable>,
    /// Value = raw × scale + offset. Default 1.
    #[serde(default)]
    pub scale: Option<f64>,
    /// Default 0.
    #[serde(default)]
    pub offset: Option<f64>,
    /// The unit of the value.
    #[serde(default)]
    pub unit: Option<String>,
    /// Raw numbers (bits as they stand, unsigned) that mean no value.
    #[serde(default)]
    pub nothing: Vec<RawNothing>,
}

/// A byte that tells kinds of frames apart.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WhenTable {
    /// Which byte, from 0.
    pub byte: u16,
    /// What it must be.
    pub is: u8,
}
