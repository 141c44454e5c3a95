//! What comes out of a record: numbers, or the reason why there is none.

mod decoder;
mod error;

pub use decoder::{Decoder, DecoderError, DeviceFormat, Format};
pub use error::{DecodeError, Unfit, Unmapped};

use stream::Reason;

/// One reading as the instrument gave it, scaled as its own map says, in its own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Raw {
    /// A finite number.
    Number(f64),
    /// The instrument gave none, and this is why.
    Nothing(Reason),
}

impl Raw {
    /// The number, or not-a-number as a reason: no NaN and no infinity goes on as a number.
    #[inline]
    pub fn finite(x: f64) -> Raw {
        if x.is_finite() { Raw::Number(x) } else { Raw::Nothing(Reason::NotANumber) }
    }

    /// The number, where there is one.
    #[inline]
    pub fn number(self) -> Option<f64> {
        match self {
            Raw::Number(x) => Some(x),
            Raw::Nothing(_) => None,
        }
    }
}

/// What a reading is called, and the unit its source states.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingInfo {
    /// `device/reading` on a line with devices, `MESSAGE.SIGNAL` on CAN, the column's header in a table.
    pub name: String,
    /// The unit as the map, database or table writes it; `None` where it says nothing.
    pub unit: Option<String>,
}
