//! A channel that has been checked, and the step every sample goes through.

use crate::check::{self, Offset, Scale};
use crate::{Barometer, ChannelError, ChannelSpec, Convert};
use sensors::{Fault, PairConversion};
use stream::{ChannelId, Reading, Reason, Span};
use units::{AbsolutePressure, GaugePressure};

/// A channel ready for samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    spec: ChannelSpec,
    scale: Scale,
    offset: Offset,
    /// The other channel it wants, settled once: every sample asks.
    other: Option<ChannelId>,
}

impl Channel {
    /// Checks a description. What concerns several channels is left to [`check_map`](crate::check_map).
    ///
    /// # Errors
    /// The first [`ChannelError`] found: what is wrong, and what to do.
    pub fn new(spec: ChannelSpec) -> Result<Channel, ChannelError> {
        let offset = check::check(&spec)?;
        let scale = Scale::of(&spec);
        let other = match (&spec.conversion, offset) {
            (Convert::Pair(p), _) => Some(p.with),
            (_, Offset::Gauge(Barometer::Channel(id))) => Some(id),
            _ => None,
        };
        Ok(Channel { spec, scale, offset, other })
    }

    /// What it was built from.
    pub fn spec(&self) -> &ChannelSpec {
        &self.spec
    }

    /// The channel whose latest reading [`reading`](Self::reading) wants beside the number: the barometer of a gauge
    /// pressure, the other half of a pair. `None` where it wants none.
    #[inline]
    pub fn other(&self) -> Option<ChannelId> {
        self.other
    }

    /// The channel whose reading is added to this one's, so that its error is in both: the barometer of a gauge
    /// pressure, the reference junction of a thermocouple (there nearly: by the ratio of the Seebeck coefficients).
    pub fn added(&self) -> Option<ChannelId> {
        match &self.spec.conversion {
            Convert::Pair(p) if !matches!(p.conversion, PairConversion::Thermocouple(_)) => None,
            _ => self.other(),
        }
    }

    /// How old that reading may be, beside the time after which its own channel is stale.
    #[inline]
    pub fn other_within(&self) -> Span {
        match &self.spec.conversion {
            Convert::Pair(p) => p.within,
            Convert::One(_) => Span(i64::MAX),
        }
    }

    /// The standard uncertainty of the instrument at a value, both in SI; `None` where none is declared, or a tolerance
    /// class has no limit there. What the other channel brings in (barometer, reference junction) is its own.
    pub fn standard_uncertainty(&self, value_si: f64) -> Option<f64> {
        self.spec.uncertainty.as_ref()?.standard(self.spec.quantity, self.spec.unit, value_si)
    }

    /// The group of channels whose errors go together with this one's.
    pub fn correlation(&self) -> Option<&str> {
        self.spec.uncertainty.as_ref()?.correlation.as_deref()
    }

    /// Whether it needs a barometer, measured or declared.
    pub(crate) fn is_gauge(&self) -> bool {
        matches!(self.offset, Offset::Gauge(_))
    }

    /// One sample: the instrument's number converted, to SI, with its quality. `other` is the latest reading of the
    /// channel that [`other`](Self::other) names, in SI; where that is `None` it is not looked at.
    ///
    /// * at or beyond an end of the instrument's own range: bad (rail)
    /// * not finite, before or after the conversion: bad (not-a-number)
    /// * a wiring fault that shows (loop current, resistance, sum of a pair): bad (open, short); outside the
    ///   conversion's table: bad (outside-table)
    /// * a gauge pressure while its barometer has no number: bad (no-barometer); a pair while its other half has
    ///   none: bad (input-missing)
    /// * outside the channel's range: the number as it is, uncertain (range)
    /// * a temperature below 0 K, an absolute pressure below 0 Pa, a position a quarter of the travel beyond an end:
    ///   the same, with or without a range
    /// * an uncertain barometer or other half: the number, uncertain (input-uncertain)
    #[inline]
    pub fn reading(&self, raw: f64, other: Option<Reading>) -> Reading {
        let spec = &self.spec;
        if let Some((low, high)) = spec.rail
            && (raw <= low || raw >= high)
            && raw.is_finite()
        {
            return Reading::Bad(Reason::Rail);
        }
        let mut doubt = false;
        let scaled = raw * spec.raw_scale;
        let converted = match &spec.conversion {
            Convert::One(c) => c.value(scaled),
            Convert::Pair(p) => match number(other) {
                Some((second, uncertain)) => {
                    doubt = uncertain;
                    p.value(scaled, second)
                }
                None => return Reading::Bad(Reason::InputMissing),
            },
        };
        let corrected = match (&spec.correction, converted) {
            (Some(c), Ok(value)) => c.value(value),
            (_, converted) => converted,
        };
        let value = match corrected {
            Ok(value) => value,
            Err(fault) => return Reading::Bad(reason(fault)),
        };
        let si = match self.offset {
            Offset::None => self.scale.to_si(spec.unit, value),
            Offset::Gauge(from) => match air(from, other) {
                Some((air, uncertain)) => {
                    doubt = uncertain;
                    GaugePressure::from_si(spec.unit.to_si(value)).absolute(air).si()
                }
                None => return Reading::Bad(Reason::NoBarometer),
            },
        };
        if !si.is_finite() {
            Reading::Bad(Reason::NotANumber)
        } else if spec.range.is_some_and(|(low, high)| value < low || value > high) || self.scale.impossible(si) {
            Reading::Uncertain(si, Reason::Range)
        } else if doubt {
            Reading::Uncertain(si, Reason::InputUncertain)
        } else {
            Reading::Good(si)
        }
    }

    /// The instrument's number for a value in SI: what a simulated instrument sends. `other` as for
    /// [`reading`](Self::reading).
    ///
    /// # Errors
    /// [`Fault`] where no number stands for the value, or the other channel has none.
    pub fn raw(&self, si: f64, other: Option<Reading>) -> Result<f64, Fault> {
        let spec = &self.spec;
        let none = Fault::NotFinite { value: f64::NAN };
        let value = match self.offset {
            Offset::None => self.scale.in_unit(spec.unit, si),
            Offset::Gauge(from) => {
                let (air, _) = air(from, other).ok_or(none)?;
                spec.unit.from_si(AbsolutePressure::from_si(si).gauge(air).si())
            }
        };
        let measured = match &spec.correction {
            Some(c) => c.raw(value)?,
            None => value,
        };
        let scaled = match &spec.conversion {
            Convert::One(c) => c.raw(measured)?,
            Convert::Pair(p) => p.raw(measured, number(other).ok_or(none)?.0)?,
        };
        Ok(scaled / spec.raw_scale)
    }
}

/// The number of another channel, and whether it is in doubt.
#[inline]
fn number(other: Option<Reading>) -> Option<(f64, bool)> {
    match other {
        Some(Reading::Good(x)) => Some((x, false)),
        Some(Reading::Uncertain(x, _)) => Some((x, true)),
        _ => None,
    }
}

/// The surrounding air's pressure, and whether it is in doubt.
#[inline]
fn air(from: Barometer, barometer: Option<Reading>) -> Option<(AbsolutePressure, bool)> {
    match from {
        Barometer::Declared(air) => Some((air, false)),
        Barometer::Channel(_) => number(barometer).map(|(x, uncertain)| (AbsolutePressure::from_si(x), uncertain)),
    }
}

fn reason(fault: Fault) -> Reason {
    match fault {
        Fault::Open { .. } | Fault::ResistorOpen { .. } => Reason::Open,
        Fault::Short { .. } | Fault::ResistorShort { .. } => Reason::Short,
        Fault::Sum { value, from, .. } => {
            if value < from {
                Reason::Open
            } else {
                Reason::Short
            }
        }
        Fault::OutsideTable { .. } => Reason::OutsideTable,
        Fault::NotFinite { .. } => Reason::NotANumber,
        Fault::NotInvertible => Reason::NotValid,
    }
}

#[cfg(test)]
pub(crate) mod tests;
