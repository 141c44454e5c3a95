//! What a channel map says about a channel.

use crate::{Calibration, Convert, Uncertainty};
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
    /// What the instrument's number is multiplied by before the conversion: 1000 where it says V and the conversion
    /// takes mV. 1 changes no bit.
    pub raw_scale: f64,
    /// From the scaled number to a value in `unit`.
    pub conversion: Convert,
    /// From the value to the corrected value, both in `unit`: what a calibration found.
    pub correction: Option<Conversion>,
    /// What a pressure is measured against. May be left out where the unit says it is absolute (`psia`), for a
    /// pressure difference, and for what is no pressure.
    pub reference: Option<Reference>,
    /// The ends of the instrument's own range, as it says them before any scaling. A number at or beyond one is no
    /// measured value: the input is saturated, or a thermocouple's burn-out detection drives it there.
    pub rail: Option<(f64, f64)>,
    /// Lowest and highest plausible value, in `unit`. Beyond it a value is kept and marked uncertain.
    pub range: Option<(f64, f64)>,
    /// The greatest believable change within a second, in `unit`. A faster one is kept and marked uncertain.
    pub rate: Option<f64>,
    /// After this time without a new value the channel is stale.
    pub stale_after: Span,
    /// After this time in which values came and no bit changed the channel is frozen: its value is uncertain.
    pub frozen_after: Option<Span>,
    /// How well the instrument knows the value.
    pub uncertainty: Option<Uncertainty>,
    /// What the run demands of its calibration.
    pub calibration: Calibration,
    /// How the probe stands in the air.
    pub probe: Option<Probe>,
}

impl ChannelSpec {
    /// A channel whose reading is its value, stale after 2 s, with nothing else said about it.
    pub fn new(name: impl Into<String>, quantity: Quantity, unit: &'static Unit) -> ChannelSpec {
        ChannelSpec {
            name: name.into(),
            quantity,
            unit,
            raw_scale: 1.0,
            conversion: Conversion::IDENTITY.into(),
            correction: None,
            reference: None,
            rail: None,
            range: None,
            rate: None,
            stale_after: Span::from_secs(2),
            frozen_after: None,
            uncertainty: None,
            calibration: Calibration::NotAsked,
            probe: None,
        }
    }
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

/// How a probe stands in the air: what its reading must be corrected for. Kept here; the correction belongs to the
/// formulas that need it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Probe {
    /// The moving air is brought to rest: a total pressure tube, a stagnation probe.
    Total {
        /// Duct area, m².
        duct_area_m2: Option<f64>,
    },
    /// The air passes: a wall tap; a bare temperature probe, which reads `static + recovery·V²/(2·cp)`.
    Static {
        /// For a temperature, 0 to 1.
        recovery: Option<f64>,
        /// Duct area, m².
        duct_area_m2: Option<f64>,
    },
    /// For humidity: a mirror or film in the duct, which sees vapour only.
    Vapour,
    /// For humidity: a heated sample line, in which drops have evaporated: total water.
    TotalWater,
}
