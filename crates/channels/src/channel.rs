//! A channel that has been checked, and the step every sample goes through.

use crate::check::{self, Offset, Scale};
use crate::{Barometer, ChannelError, ChannelSpec};
use sensors::Fault;
use stream::{ChannelId, Reading, Reason};
use units::{AbsolutePressure, GaugePressure};

/// A channel ready for samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    spec: ChannelSpec,
    scale: Scale,
    offset: Offset,
}

impl Channel {
    /// Checks a description. What concerns several channels is left to [`check_map`](crate::check_map).
    ///
    /// # Errors
    /// The first [`ChannelError`] found: what is wrong, and what to do.
    pub fn new(spec: ChannelSpec) -> Result<Channel, ChannelError> {
        let offset = check::check(&spec)?;
        let scale = Scale::of(spec.quantity);
        Ok(Channel { spec, scale, offset })
    }

    /// What it was built from.
    pub fn spec(&self) -> &ChannelSpec {
        &self.spec
    }

    /// The channel whose latest reading [`reading`](Self::reading) wants as barometer; `None` where it wants none.
    pub fn barometer(&self) -> Option<ChannelId> {
        match self.offset {
            Offset::Gauge(Barometer::Channel(id)) => Some(id),
            _ => None,
        }
    }

    /// Whether it needs a barometer, measured or declared.
    pub(crate) fn is_gauge(&self) -> bool {
        matches!(self.offset, Offset::Gauge(_))
    }

    /// One sample: the instrument's number converted, to SI, with its quality. `barometer` is the latest reading of
    /// the channel that [`barometer`](Self::barometer) names, in Pa; where that is `None` it is not looked at.
    ///
    /// * not finite, before or after the conversion: bad (not-a-number)
    /// * a loop current at fault: bad (open, short); outside the conversion's table: bad (outside-table)
    /// * a gauge pressure while its barometer has no number: bad (no-barometer)
    /// * outside the channel's range: the number as it is, uncertain (range)
    /// * a temperature below 0 K or an absolute pressure below 0 Pa: the same, with or without a range
    /// * a gauge pressure with an uncertain barometer: the sum, uncertain (input-uncertain)
    #[inline]
    pub fn reading(&self, raw: f64, barometer: Option<Reading>) -> Reading {
        let value = match self.spec.conversion.value(raw) {
            Ok(value) => value,
            Err(fault) => return Reading::Bad(reason(fault)),
        };
        let (si, barometer_uncertain) = match self.offset {
            Offset::None => (self.scale.to_si(self.spec.unit, value), false),
            Offset::Gauge(from) => {
                let gauge = GaugePressure::from_si(self.spec.unit.to_si(value));
                match air(from, barometer) {
                    Some((air, uncertain)) => (gauge.absolute(air).si(), uncertain),
                    None => return Reading::Bad(Reason::NoBarometer),
                }
            }
        };
        if !si.is_finite() {
            Reading::Bad(Reason::NotANumber)
        } else if self.spec.range.is_some_and(|(low, high)| value < low || value > high) || self.scale.impossible(si) {
            Reading::Uncertain(si, Reason::Range)
        } else if barometer_uncertain {
            Reading::Uncertain(si, Reason::InputUncertain)
        } else {
            Reading::Good(si)
        }
    }
}

/// The surrounding air's pressure, and whether it is in doubt.
#[inline]
fn air(from: Barometer, barometer: Option<Reading>) -> Option<(AbsolutePressure, bool)> {
    match (from, barometer) {
        (Barometer::Declared(air), _) => Some((air, false)),
        (Barometer::Channel(_), Some(Reading::Good(x))) => Some((AbsolutePressure::from_si(x), false)),
        (Barometer::Channel(_), Some(Reading::Uncertain(x, _))) => Some((AbsolutePressure::from_si(x), true)),
        (Barometer::Channel(_), _) => None,
    }
}

fn reason(fault: Fault) -> Reason {
    match fault {
        Fault::Open { .. } => Reason::Open,
        Fault::Short { .. } => Reason::Short,
        Fault::OutsideTable { .. } => Reason::OutsideTable,
        Fault::NotFinite { .. } => Reason::NotANumber,
        Fault::NotInvertible => Reason::NotValid,
    }
}

#[cfg(test)]
pub(crate) mod tests;
