//! How a channel's raw number becomes a value.

use crate::{CurrentLoop, Fault, Linear, Table};

/// One conversion. The raw number is what the instrument reading says; the value is in the channel's unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Conversion {
    /// A factor and an offset, or two points.
    Linear(Linear),
    /// Points with straight lines between.
    Table(Table),
    /// 4–20 mA; the raw number is in mA.
    CurrentLoop(CurrentLoop),
}

impl Conversion {
    /// The raw number is the value already.
    pub const IDENTITY: Conversion = Conversion::Linear(Linear::IDENTITY);

    /// The value of a raw number.
    ///
    /// # Errors
    /// [`Fault`] where the raw number stands for no value.
    #[inline]
    pub fn value(&self, raw: f64) -> Result<f64, Fault> {
        match self {
            Conversion::Linear(c) => c.value(raw),
            Conversion::Table(c) => c.value(raw),
            Conversion::CurrentLoop(c) => c.value(raw),
        }
    }

    /// The raw number of a value: what a simulated instrument sends.
    ///
    /// # Errors
    /// [`Fault`] where no raw number stands for the value.
    #[inline]
    pub fn raw(&self, value: f64) -> Result<f64, Fault> {
        match self {
            Conversion::Linear(c) => c.raw(value),
            Conversion::Table(c) => c.raw(value),
            Conversion::CurrentLoop(c) => c.raw(value),
        }
    }
}
