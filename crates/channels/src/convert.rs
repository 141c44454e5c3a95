//! From the instrument's number, and perhaps another channel's value, to a value in the channel's unit.

use sensors::{Conversion, Fault, PairConversion};
use stream::{ChannelId, Span};
use units::Unit;

/// How the instrument's number becomes a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Convert {
    /// From the number alone.
    One(Conversion),
    /// From the number and another channel's value.
    Pair(Pair),
}

/// A conversion that takes another channel's value beside the instrument's number: a thermocouple with its reference
/// junction, a position sensor with its other winding or its supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// The conversion.
    pub conversion: PairConversion,
    /// The other channel.
    pub with: ChannelId,
    /// The unit in which the conversion wants the other channel's value.
    pub second_unit: &'static Unit,
    /// How old the other channel's value may be: both belong to (nearly) the same time.
    pub within: Span,
}

impl From<Conversion> for Convert {
    fn from(c: Conversion) -> Convert {
        Convert::One(c)
    }
}

impl Pair {
    /// The value of a number beside the other channel's value in SI.
    #[inline]
    pub(crate) fn value(&self, raw: f64, other_si: f64) -> Result<f64, Fault> {
        Ok(self.conversion.value(raw, self.second_unit.from_si(other_si))?)
    }

    /// The number of a value beside the other channel's value in SI.
    pub(crate) fn raw(&self, value: f64, other_si: f64) -> Result<f64, Fault> {
        Ok(self.conversion.first(value, self.second_unit.from_si(other_si))?)
    }
}
