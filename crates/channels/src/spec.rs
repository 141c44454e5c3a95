//! What a channel map says about a channel.

use sensors::Conversion;
use stream::{ChannelId, Span};
use units::{AbsolutePressure, Quantity, Unit};

/// One channel as described. Nothing in it has been checked; [`Channel::new`](crate::Channel::new) does that.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelSpec {
    /// Its name: small letters, digits, `_` and `.`; `place.quantity` where it feeds the pack model.
    pub name: String,
    /// What it measures.
    pub quantity: Quantity,
    /// The unit of the converted value.
    pub unit: &'static Unit,
    /// From the instrument's number to a value in `unit`.
    pub conversion: Conversion,
    /// What a pressure is measured against. May be left out where the unit says it is absolute (`psia`), for a
    /// pressure difference, and for what is no pressure.
    pub reference: Option<Reference>,
    /// Lowest and highest plausible value, in `unit`. Beyond it a value is kept and marked uncertain.
    pub range: Option<(f64, f64)>,
    /// After this time without a new value the channel is stale.
    pub stale_after: Span,
}

/// What a pressure channel is measured against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reference {
    /// Vacuum.
    Absolute,
    /// The surrounding air, whose pressure must be known to get an absolute pressure.
    Gauge {
        /// Where the surrounding air's pressure comes from.
        barometer: Option<Barometer>,
    },
    /// Another pressure.
    Difference,
}

/// Where the pressure of the surrounding air comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Barometer {
    /// An absolute pressure channel.
    Channel(ChannelId),
    /// A value the operator declares.
    Declared(AbsolutePressure),
}
