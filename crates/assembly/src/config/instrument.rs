//! The instrument file: how a device's bytes become readings. Modbus here, lines of text and binary frames beside.

mod binary;
mod text;

pub use binary::{BinaryFile, FrameTable, LengthTable, PartTable};
pub use text::{FieldTable, LineTable, QueryTable, TextChecksumTable, TextFile, WordNothing};

use schemars::JsonSchema;
use serde::Deserialize;
use toml::Spanned;

/// What every instrument file begins with; decides how the rest is read.
#[derive(Debug, Deserialize)]
pub struct Head {
    /// `modbus-rtu`, `modbus-tcp`, `text-line` or `binary`.
    pub framing: Spanned<String>,
}

/// A Modbus device: registers and what they hold.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "bise instrument file: modbus-rtu")]
pub struct ModbusFile {
    /// `modbus-rtu` or `modbus-tcp`, which mean the same here: the kind of source decides.
    pub framing: String,
    /// One line for a person.
    #[serde(default)]
    pub summary: String,
    /// The most registers in one request, or 16 times as many single bits. Default 125, the protocol's own limit.
    #[serde(default)]
    #[schemars(with = "Option<u16>")]
    pub longest_request: Option<Spanned<u16>>,
    /// The most unlisted addresses that may be read along to join two requests. Default 0: some devices refuse.
    #[serde(default)]
    pub widest_gap: Option<u16>,
    /// The readings.
    #[schemars(with = "Vec<RegisterTable>")]
    pub reading: Vec<Spanned<RegisterTable>>,
}

/// One reading in registers.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RegisterTable {
    /// Its name: third part of the addresses in the channel map.
    pub name: String,
    /// 1 (coils), 2 (discrete inputs), 3 (holding registers) or 4 (input registers).
    pub function: u8,
    /// The first register's address as it goes over the line, from 0 (documents often print 40001 for 0).
    pub address: u16,
    /// `u16`, `i16`, `u32`, `i32`, `f32` or `f64`; functions 1 and 2 read a `bit`, for which it may be left out.
    #[serde(default, rename = "type")]
    #[schemars(with = "Option<String>")]
    pub kind: Option<Spanned<String>>,
    /// Of several registers, which part comes first: `high-first` or `low-first`. Must be said: the standard does not.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub word_order: Option<Spanned<String>>,
    /// Of a register's two bytes, which comes first: `high-first` (default, the standard's) or `low-first`.
    #[serde(default)]
    #[schemars(with = "Option<String>")]
    pub byte_order: Option<Spanned<String>>,
    /// The only bits of the register that count: the lowest one, from 0, and how many: `[4, 3]`. For `u16` and `u32`.
    #[serde(default)]
    pub bits: Option<[u8; 2]>,
    /// Value = raw × scale + offset. Default 1.
    #[serde(default)]
    pub scale: Option<f64>,
    /// Default 0.
    #[serde(default)]
    pub offset: Option<f64>,
    /// The unit of the value.
    #[serde(default)]
    pub unit: Option<String>,
    /// Raw words that mean no value.
    #[serde(default)]
    pub nothing: Vec<RawNothing>,
}

/// A raw word that means no value.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RawNothing {
    /// The raw word or words, as an unsigned number; of a part of a register, of that part.
    #[serde(deserialize_with = "any_u64")]
    pub raw: u64,
    /// Why: `open`, `short`, `rail`, `not-available` or `error-code`.
    #[schemars(with = "String")]
    pub reason: Spanned<String>,
}

/// A whole number of up to 64 bits; the file's own numbers end at 63, longer ones are written as a text: "0xFF...".
fn any_u64<'de, D: serde::Deserializer<'de>>(d: D) -> Result<u64, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Number {
        Short(u64),
        Long(String),
    }
    let wrong = || serde::de::Error::custom("a whole number from 0 on is expected here, or its text: \"0xFF\"");
    match Number::deserialize(d).map_err(|_| wrong())? {
        Number::Short(n) => Ok(n),
        Number::Long(text) => {
            let parsed = match text.strip_prefix("0x") {
                Some(digits) => u64::from_str_radix(digits, 16),
                None => text.parse(),
            };
            parsed.map_err(|_| wrong())
        }
    }
}
