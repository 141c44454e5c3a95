//! The checks a single description must pass, and what they settle for the samples.

use crate::accuracy::HalfWidth;
use crate::convert::{Convert, Pair};
use crate::{Barometer, ChannelError, ChannelSpec, Probe, Reference};
use sensors::{Conversion, PairConversion};
use units::{PressureReference, Quantity, UNITS, Unit, quantity};

/// What is added to a value to make it absolute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Offset {
    /// Nothing.
    None,
    /// The surrounding air's pressure.
    Gauge(Barometer),
}

/// How a value in the unit becomes SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Scale {
    /// A reading on a scale whose SI zero is absolute: nothing lies below it.
    Absolute,
    /// A difference of two readings: the scale's zero plays no part.
    Difference,
    /// Where a valve stands: 0 closed, 1 open, and little beyond.
    Position,
    /// Anything else.
    Amount,
}

impl Scale {
    pub(crate) fn of(spec: &ChannelSpec) -> Scale {
        match spec.quantity {
            Quantity::Ratio if is_position(&spec.name) => Scale::Position,
            Quantity::Temperature | Quantity::Pressure => Scale::Absolute,
            Quantity::TemperatureDifference | Quantity::PressureDifference => Scale::Difference,
            _ => Scale::Amount,
        }
    }

    #[inline]
    pub(crate) fn to_si(self, unit: &Unit, value: f64) -> f64 {
        match self {
            Scale::Difference => unit.difference_to_si(value),
            Scale::Absolute | Scale::Position | Scale::Amount => unit.to_si(value),
        }
    }

    pub(crate) fn in_unit(self, unit: &Unit, si: f64) -> f64 {
        match self {
            Scale::Difference => unit.difference_from_si(si),
            Scale::Absolute | Scale::Position | Scale::Amount => unit.from_si(si),
        }
    }

    #[inline]
    pub(crate) fn impossible(self, si: f64) -> bool {
        match self {
            Scale::Absolute => si < 0.0,
            Scale::Position => !(POSITIONS.0..=POSITIONS.1).contains(&si),
            Scale::Difference | Scale::Amount => false,
        }
    }
}

/// Where a position can be at all: a quarter of the travel beyond an end is another scale, or another sensor (common
/// practice, no source).
pub const POSITIONS: (f64, f64) = (-0.25, 1.25);

/// Whether a channel of this name is the position of a valve or door.
pub(crate) fn is_position(name: &str) -> bool {
    quantity::of_name(name).is_some_and(|(word, _)| word == "position")
}

/// Everything that can be seen in one description.
pub(crate) fn check(spec: &ChannelSpec) -> Result<Offset, ChannelError> {
    name(spec)?;
    name_and_quantity(spec)?;
    unit(spec)?;
    let offset = reference(spec)?;
    if let Offset::Gauge(Barometer::Declared(air)) = offset
        && !(10_000.0..=120_000.0).contains(&air.si())
    {
        return Err(ChannelError::DeclaredBarometer { channel: spec.name.clone(), pascal: air.si() });
    }
    plausibility(spec)?;
    conversion(spec)?;
    uncertainty(spec, offset)?;
    probe(spec)?;
    Ok(offset)
}

fn plausibility(spec: &ChannelSpec) -> Result<(), ChannelError> {
    let (channel, unit) = (|| spec.name.clone(), spec.unit.symbol);
    if let Some((low, high)) = spec.range {
        if !(low.is_finite() && high.is_finite() && low < high) {
            return Err(ChannelError::Range { channel: channel(), low, high, unit });
        }
        let (from, to) = (spec.unit.to_si(low), spec.unit.to_si(high));
        if is_position(&spec.name) && (from < POSITIONS.0 || to > POSITIONS.1) {
            return Err(ChannelError::PositionRange { channel: channel(), low, high, unit });
        }
    }
    if let Some((low, high)) = spec.rail
        && (low.is_nan() || high.is_nan() || low >= high)
    {
        return Err(ChannelError::Rail { channel: channel(), low, high });
    }
    if let Some(rate) = spec.rate
        && !(rate.is_finite() && rate > 0.0)
    {
        return Err(ChannelError::Rate { channel: channel(), rate, unit });
    }
    if spec.stale_after.0 <= 0 {
        return Err(ChannelError::StaleAfter { channel: channel(), seconds: spec.stale_after.as_secs_f64() });
    }
    match spec.frozen_after {
        Some(f) if f.0 <= 0 => Err(ChannelError::FrozenAfter { channel: channel(), seconds: f.as_secs_f64() }),
        _ => Ok(()),
    }
}

/// The unit and quantity that a conversion's own value has.
fn conversion(spec: &ChannelSpec) -> Result<(), ChannelError> {
    let channel = || spec.name.clone();
    if !(spec.raw_scale.is_finite() && spec.raw_scale > 0.0) {
        return Err(ChannelError::RawScale { channel: channel(), scale: spec.raw_scale });
    }
    let (what, needs, quantity) = match &spec.conversion {
        Convert::One(Conversion::Platinum(_)) => ("a platinum thermometer", "degC", Quantity::Temperature),
        Convert::One(Conversion::FixedJunction(_)) => ("a thermocouple", "degC", Quantity::Temperature),
        Convert::Pair(Pair { conversion: PairConversion::Thermocouple(_), .. }) => {
            ("a thermocouple", "degC", Quantity::Temperature)
        }
        Convert::Pair(Pair { conversion: PairConversion::Ratiometric(_), .. }) => {
            ("a ratiometric position", "1", Quantity::Ratio)
        }
        Convert::One(_) => return Ok(()),
    };
    if spec.quantity != quantity || spec.unit.symbol != needs {
        return Err(ChannelError::ConversionUnit { channel: channel(), what, needs, unit: spec.unit.symbol });
    }
    match &spec.conversion {
        Convert::Pair(p) if p.within.0 <= 0 => {
            Err(ChannelError::Within { channel: channel(), seconds: p.within.as_secs_f64() })
        }
        _ => Ok(()),
    }
}

fn uncertainty(spec: &ChannelSpec, offset: Offset) -> Result<(), ChannelError> {
    let Some(u) = &spec.uncertainty else { return Ok(()) };
    let channel = || spec.name.clone();
    for part in &u.parts {
        let size = match part.half_width {
            HalfWidth::OfValue(_) if matches!(offset, Offset::Gauge(_)) => {
                return Err(ChannelError::ShareOfGauge { channel: channel() });
            }
            HalfWidth::Absolute(x) | HalfWidth::OfValue(x) => x,
            HalfWidth::Thermocouple(..) | HalfWidth::Platinum(..) if spec.quantity != Quantity::Temperature => {
                return Err(ChannelError::ClassOfNoTemperature { channel: channel(), quantity: spec.quantity });
            }
            HalfWidth::Thermocouple(t, class) => {
                t.class_range_c(class).map(|_| 1.0).map_err(|e| ChannelError::Class { channel: channel(), error: e })?
            }
            HalfWidth::Platinum(..) => 1.0,
        };
        part.shape.from_limit(size).map_err(|error| ChannelError::Uncertainty { channel: channel(), error })?;
    }
    Ok(())
}

fn probe(spec: &ChannelSpec) -> Result<(), ChannelError> {
    let Some(probe) = spec.probe else { return Ok(()) };
    let channel = || spec.name.clone();
    let humidity =
        matches!(quantity::of_name(&spec.name), Some(("dew_point" | "relative_humidity" | "humidity_ratio", _)))
            || spec.quantity == Quantity::HumidityRatio;
    let (area, recovery) = match probe {
        Probe::Vapour | Probe::TotalWater if humidity => return Ok(()),
        Probe::Vapour | Probe::TotalWater => {
            return Err(ChannelError::ProbeOfQuantity { channel: channel(), quantity: spec.quantity });
        }
        Probe::Total { duct_area_m2 } => (duct_area_m2, None),
        Probe::Static { duct_area_m2, recovery } => (duct_area_m2, recovery),
    };
    let moving = matches!(spec.quantity, Quantity::Temperature | Quantity::Pressure | Quantity::PressureDifference);
    if humidity || !moving {
        return Err(ChannelError::ProbeOfQuantity { channel: channel(), quantity: spec.quantity });
    }
    if let Some(r) = recovery
        && !(spec.quantity == Quantity::Temperature && (0.0..=1.0).contains(&r))
    {
        return Err(ChannelError::Recovery { channel: channel(), recovery: r });
    }
    match area {
        Some(a) if !(a.is_finite() && a > 0.0) => Err(ChannelError::DuctArea { channel: channel(), area: a }),
        _ => Ok(()),
    }
}

fn name(spec: &ChannelSpec) -> Result<(), ChannelError> {
    let letter = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_';
    let segment = |s: &str| !s.is_empty() && s.bytes().all(letter);
    if spec.name.split('.').all(segment) { Ok(()) } else { Err(ChannelError::Name { name: spec.name.clone() }) }
}

fn name_and_quantity(spec: &ChannelSpec) -> Result<(), ChannelError> {
    let Some((word, named)) = quantity::of_name(&spec.name) else { return Ok(()) };
    let (channel, declared) = (spec.name.clone(), spec.quantity);
    match (named, declared) {
        _ if named == declared => Ok(()),
        (Quantity::Temperature, Quantity::TemperatureDifference) => {
            Err(ChannelError::TemperatureOrDifference { channel, word, named, declared })
        }
        _ => Err(ChannelError::NameContradictsQuantity { channel, word, named, declared }),
    }
}

fn unit(spec: &ChannelSpec) -> Result<(), ChannelError> {
    if spec.unit.fits(spec.quantity) {
        return Ok(());
    }
    let measures = match spec.unit.reference {
        Some(PressureReference::Difference) => Quantity::PressureDifference.name().to_string(),
        Some(reference) => format!("{} pressure", reference.word()),
        None => spec.unit.quantity.name().to_string(),
    };
    let fitting: Vec<&str> = UNITS.iter().filter(|u| u.fits(spec.quantity)).map(|u| u.symbol).collect();
    Err(ChannelError::Unit {
        channel: spec.name.clone(),
        quantity: spec.quantity,
        unit: spec.unit.symbol,
        measures,
        choices: fitting.join(", "),
    })
}

fn reference(spec: &ChannelSpec) -> Result<Offset, ChannelError> {
    let channel = || spec.name.clone();
    let declared = spec.reference.map(kind);
    let wrong = |reference: PressureReference| ChannelError::ReferenceOfQuantity {
        channel: channel(),
        quantity: spec.quantity,
        reference: reference.word(),
    };
    let fitting = match spec.quantity {
        Quantity::Pressure => declared != Some(PressureReference::Difference),
        Quantity::PressureDifference => matches!(declared, None | Some(PressureReference::Difference)),
        _ => declared.is_none(),
    };
    if let (false, Some(reference)) = (fitting, declared) {
        return Err(wrong(reference));
    }
    if let (Some(says), Some(declared)) = (spec.unit.reference, declared)
        && says != declared
    {
        return Err(ChannelError::UnitContradictsReference {
            channel: channel(),
            unit: spec.unit.symbol,
            says: says.word(),
            declared: declared.word(),
        });
    }
    if spec.quantity != Quantity::Pressure {
        return Ok(Offset::None);
    }
    match (spec.reference, spec.unit.reference) {
        (Some(Reference::Gauge { barometer: Some(barometer) }), _) => Ok(Offset::Gauge(barometer)),
        (Some(Reference::Gauge { barometer: None }), _) | (None, Some(PressureReference::Gauge)) => {
            Err(ChannelError::NoBarometer { channel: channel() })
        }
        (None, None) => Err(ChannelError::NoReference { channel: channel(), unit: spec.unit.symbol }),
        (Some(_), _) | (None, Some(_)) => Ok(Offset::None),
    }
}

fn kind(reference: Reference) -> PressureReference {
    match reference {
        Reference::Absolute => PressureReference::Absolute,
        Reference::Gauge { .. } => PressureReference::Gauge,
        Reference::Difference => PressureReference::Difference,
    }
}
