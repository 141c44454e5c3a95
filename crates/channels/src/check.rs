//! The checks a single description must pass, and what they settle for the samples.

use crate::{Barometer, ChannelError, ChannelSpec, Reference};
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
    /// Anything else.
    Amount,
}

impl Scale {
    pub(crate) fn of(quantity: Quantity) -> Scale {
        match quantity {
            Quantity::Temperature | Quantity::Pressure => Scale::Absolute,
            Quantity::TemperatureDifference | Quantity::PressureDifference => Scale::Difference,
            _ => Scale::Amount,
        }
    }

    #[inline]
    pub(crate) fn to_si(self, unit: &Unit, value: f64) -> f64 {
        match self {
            Scale::Difference => unit.difference_to_si(value),
            Scale::Absolute | Scale::Amount => unit.to_si(value),
        }
    }

    #[inline]
    pub(crate) fn impossible(self, si: f64) -> bool {
        self == Scale::Absolute && si < 0.0
    }
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
    if let Some((low, high)) = spec.range
        && !(low.is_finite() && high.is_finite() && low < high)
    {
        return Err(ChannelError::Range { channel: spec.name.clone(), low, high, unit: spec.unit.symbol });
    }
    if spec.stale_after.0 <= 0 {
        let seconds = spec.stale_after.as_secs_f64();
        return Err(ChannelError::StaleAfter { channel: spec.name.clone(), seconds });
    }
    Ok(offset)
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
