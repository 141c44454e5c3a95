//! The classic slips of a channel map: each is refused, or seen in the first values at a working point.
#![allow(clippy::unwrap_used)]

use channels::{Barometer, Channel, ChannelError, ChannelSpec, Convert, Pair, Reference};
use sensors::{PairConversion, Polarity, Ratio, Ratiometric, RatiometricSpec, SensorError, Thermocouple};
use stream::{ChannelId, Reading, Reason, Span};
use units::{AbsolutePressure, Quantity};

fn spec(name: &str, quantity: Quantity, unit: &str) -> ChannelSpec {
    ChannelSpec::new(name, quantity, units::find(unit).unwrap())
}

fn refused(spec: ChannelSpec) -> ChannelError {
    Channel::new(spec).unwrap_err()
}

fn reading(spec: ChannelSpec, raw: f64) -> Reading {
    Channel::new(spec).unwrap().reading(raw, None)
}

/// A duct of 200 °C, whose instrument says 392.
#[test]
fn fahrenheit_taken_for_celsius_leaves_the_range() {
    let duct =
        |unit, range| ChannelSpec { range: Some(range), ..spec("pack_in.temperature", Quantity::Temperature, unit) };
    let slip = reading(duct("degC", (-60.0, 300.0)), 392.0);
    assert_eq!(slip, Reading::Uncertain(665.15, Reason::Range));
    let right = reading(duct("degF", (-76.0, 572.0)), 392.0).number().unwrap();
    assert!((right - 473.15).abs() < 1e-9, "{right}");
}

/// A difference of 20 °F is 11.1 K; as a reading of a scale it would be 266.5 K.
#[test]
fn a_difference_of_temperatures_is_no_temperature() {
    let difference = reading(spec("primary.rise", Quantity::TemperatureDifference, "degF"), 20.0).number().unwrap();
    assert!((difference - 100.0 / 9.0).abs() < 1e-12, "{difference}");
    let e = refused(spec("primary_out.temperature", Quantity::TemperatureDifference, "degF"));
    assert!(matches!(e, ChannelError::TemperatureOrDifference { .. }), "{e}");
}

/// A vented gauge transducer says 0.
#[test]
fn gauge_taken_for_absolute_is_refused_or_leaves_the_range() {
    let pressure = |unit, reference| ChannelSpec { reference, ..spec("bleed.pressure", Quantity::Pressure, unit) };
    assert!(matches!(refused(pressure("psi", None)), ChannelError::NoReference { .. }));
    assert!(matches!(refused(pressure("psig", None)), ChannelError::NoBarometer { .. }));
    let contradiction = refused(pressure("psig", Some(Reference::Absolute)));
    assert!(matches!(contradiction, ChannelError::UnitContradictsReference { .. }));
    let slip = ChannelSpec { range: Some((7.0, 120.0)), ..pressure("psia", None) };
    assert_eq!(reading(slip, 0.0), Reading::Uncertain(0.0, Reason::Range));
    let air = AbsolutePressure::from_si(101_325.0);
    let gauge = Some(Reference::Gauge { barometer: Some(Barometer::Declared(air)) });
    assert_eq!(reading(pressure("psi", gauge), 0.0), Reading::Good(101_325.0));
}

#[test]
fn gauge_without_a_barometer_is_refused() {
    let gauge = Some(Reference::Gauge { barometer: None });
    let e = refused(ChannelSpec { reference: gauge, ..spec("bleed.pressure", Quantity::Pressure, "kPa") });
    assert!(matches!(e, ChannelError::NoBarometer { .. }), "{e}");
}

/// 0.5 kg/s are 66.1 lb/min.
#[test]
fn pounds_a_minute_taken_for_kilograms_a_second_leave_the_window() {
    let flow = |unit, range| ChannelSpec { range: Some(range), ..spec("pack_in.flow", Quantity::MassFlow, unit) };
    assert_eq!(reading(flow("kg/s", (-0.05, 1.5)), 66.1).reason(), Reason::Range);
    let right = reading(flow("lb/min", (-6.0, 200.0)), 66.1).number().unwrap();
    assert!((right - 0.499_7).abs() < 1e-4, "{right}");
}

/// 265.3 as a big-endian f32 with its two words exchanged, as `decode` would hand it over: 2.9e-23 or so.
#[test]
fn exchanged_words_leave_the_range() {
    let [a, b, c, d] = 265.3f32.to_be_bytes();
    let swapped = f64::from(f32::from_be_bytes([c, d, a, b]));
    let channel = ChannelSpec {
        range: Some((50.0, 800.0)),
        reference: Some(Reference::Absolute),
        ..spec("bleed.pressure", Quantity::Pressure, "kPa")
    };
    assert_eq!(reading(channel.clone(), 265.3), Reading::Good(265_300.0));
    let slip = reading(channel, swapped);
    assert!(slip.number().is_none() || slip.reason() == Reason::Range, "{swapped} gave {slip:?}");
}

fn position(polarity: Polarity, closed: f64, open: f64) -> Result<Ratiometric, SensorError> {
    let (ratio, window) = (Ratio::DifferenceOverSum, (4.0, 6.0));
    Ratiometric::new(RatiometricSpec { ratio, polarity, closed, open, window, overtravel: 0.05 })
}

#[test]
fn polarity_against_the_two_points_is_refused_and_exchanged_wires_are_seen() {
    let e = position(Polarity::FallsToOpen, 0.1, 0.7).unwrap_err();
    assert!(matches!(e, SensorError::Polarity { .. }), "{e}");
    let right = position(Polarity::RisesToOpen, 0.1, 0.7).unwrap();
    let (a, b) = right.readings(0.5, 5.0).unwrap();
    let second_unit = units::find("V").unwrap();
    let pair = Pair {
        conversion: PairConversion::Ratiometric(right),
        with: ChannelId(1),
        second_unit,
        within: Span::from_secs(1),
    };
    let channel =
        Channel::new(ChannelSpec { conversion: Convert::Pair(pair), ..spec("valve.a.position", Quantity::Ratio, "1") });
    let channel = channel.unwrap();
    let half = channel.reading(a, Some(Reading::Good(b))).number().unwrap();
    assert!((half - 0.5).abs() < 1e-12, "{half}");
    assert_eq!(channel.reading(b, Some(Reading::Good(a))), Reading::Bad(Reason::OutsideTable));
}

/// A position must lie in 0 to 1: one left in % or degrees is refused by its range, or doubted value by value.
#[test]
fn a_position_on_another_scale_is_seen() {
    let position = |range| ChannelSpec { range, ..spec("valve.a.position", Quantity::Ratio, "1") };
    assert!(matches!(refused(position(Some((0.0, 100.0)))), ChannelError::PositionRange { .. }));
    assert_eq!(reading(position(None), 42.0), Reading::Uncertain(42.0, Reason::Range));
    assert_eq!(reading(position(None), 1.02), Reading::Good(1.02));
    let percent = ChannelSpec { range: Some((-5.0, 105.0)), ..spec("valve.a.position", Quantity::Ratio, "%") };
    assert_eq!(reading(percent, 42.0), Reading::Good(0.42));
}

/// A type K couple at 200 °C with terminals of 25 °C, read as type T, J and E: 20 to 50 K off, so that it stands
/// below a neighbour that is colder. The order along the path shows it (`pipeline`, order).
#[test]
fn the_wrong_type_is_off_by_tens_of_kelvin_when_hot_and_right_at_rest() {
    let emf = Thermocouple::K.measured_mv(200.0, 25.0).unwrap();
    for kind in [Thermocouple::T, Thermocouple::J, Thermocouple::E] {
        let off = kind.junction_c(emf, 25.0).unwrap() - 200.0;
        assert!(off < -20.0 && off > -70.0, "{kind:?} {off}");
        assert!((kind.junction_c(0.0, 25.0).unwrap() - 25.0).abs() < 1e-6);
    }
}

/// 7.138 mV, handed over in V, would be a junction at the terminals' temperature: the source's unit, or `signal`, says
/// which it is, and then the value is right. Handed over in mV and taken for V it is beyond every thermocouple.
#[test]
fn volts_and_millivolts_are_scaled_or_seen() {
    let second_unit = units::find("degC").unwrap();
    let pair = Pair {
        conversion: PairConversion::Thermocouple(Thermocouple::K),
        with: ChannelId(1),
        second_unit,
        within: Span::from_secs(1),
    };
    let spec = ChannelSpec { conversion: Convert::Pair(pair), ..spec("a.temperature", Quantity::Temperature, "degC") };
    let from_volts = Channel::new(ChannelSpec { raw_scale: 1000.0, ..spec }).unwrap();
    let terminals = Some(Reading::Good(298.15));
    assert!((from_volts.reading(0.007_138, terminals).number().unwrap() - 473.15).abs() < 0.01);
    assert_eq!(from_volts.reading(7.138, terminals), Reading::Bad(Reason::OutsideTable));
}

#[test]
fn a_wrong_description_says_what_to_do() {
    use channels::{HalfWidth, Part, Probe, Uncertainty};
    use uncertainty::standard::Shape;
    let t = || spec("a.temperature", Quantity::Temperature, "degC");
    let u = |half_width| {
        Some(Uncertainty { parts: vec![Part { half_width, shape: Shape::Rectangular }], correlation: None })
    };
    let gauge = Some(Reference::Gauge { barometer: Some(Barometer::Channel(ChannelId(1))) });
    let said = [
        ChannelSpec { rate: Some(0.0), ..t() },
        ChannelSpec { rail: Some((5.0, 5.0)), ..t() },
        ChannelSpec { frozen_after: Some(Span::ZERO), ..t() },
        ChannelSpec { uncertainty: u(HalfWidth::Absolute(-1.0)), ..t() },
        ChannelSpec { uncertainty: u(HalfWidth::Thermocouple(Thermocouple::B, sensors::ToleranceClass::One)), ..t() },
        ChannelSpec {
            uncertainty: u(HalfWidth::OfValue(0.01)),
            reference: gauge,
            ..spec("a.pressure", Quantity::Pressure, "kPa")
        },
        ChannelSpec { probe: Some(Probe::Vapour), ..t() },
        ChannelSpec { probe: Some(Probe::Static { recovery: Some(1.2), duct_area_m2: None }), ..t() },
        ChannelSpec {
            conversion: sensors::Conversion::Platinum(sensors::Platinum::new(100.0).unwrap()).into(),
            ..spec("a.temperature", Quantity::Temperature, "K")
        },
        ChannelSpec { range: Some((0.0, 90.0)), ..spec("valve.a.position", Quantity::Ratio, "1") },
    ]
    .map(|s| refused(s).to_string());
    insta::assert_snapshot!(said.join("\n"));
}
