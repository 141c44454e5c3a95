//! Every kind of conversion both ways through a channel, wiring faults, and what the other half of a pair passes on.
#![allow(clippy::unwrap_used)]

use channels::{Barometer, Channel, ChannelSpec, Convert, Pair, Reference};
use sensors::{
    Conversion, CurrentLoop, FixedJunction, Linear, PairConversion, Platinum, Polarity, Polynomial, Ratio, Ratiometric,
    RatiometricSpec, Table, Thermocouple,
};
use stream::{ChannelId, Reading, Reason, Span};
use units::Quantity;

fn channel(name: &str, quantity: Quantity, unit: &str, conversion: impl Into<Convert>) -> ChannelSpec {
    let spec = ChannelSpec::new(name, quantity, units::find(unit).unwrap());
    ChannelSpec { conversion: conversion.into(), ..spec }
}

fn pair(conversion: PairConversion, second_unit: &str) -> Convert {
    let second_unit = units::find(second_unit).unwrap();
    Convert::Pair(Pair { conversion, with: ChannelId(1), second_unit, within: Span::from_secs(1) })
}

fn thermocouple(kind: Thermocouple) -> Channel {
    let convert = pair(PairConversion::Thermocouple(kind), "degC");
    Channel::new(channel("pack_in.temperature", Quantity::Temperature, "degC", convert)).unwrap()
}

fn position(ratio: Ratio, signal: &str) -> Channel {
    let spec = RatiometricSpec {
        ratio,
        polarity: Polarity::RisesToOpen,
        closed: 0.1,
        open: 0.7,
        window: (4.0, 6.0),
        overtravel: 0.05,
    };
    let convert = pair(PairConversion::Ratiometric(Ratiometric::new(spec).unwrap()), signal);
    Channel::new(channel("valve.a.position", Quantity::Ratio, "1", convert)).unwrap()
}

fn both_ways(spec: ChannelSpec, other: Option<Reading>, values: &[f64]) {
    let channel = Channel::new(spec).unwrap();
    for si in values {
        let raw = channel.raw(*si, other).unwrap();
        let back = channel.reading(raw, other);
        let x = back.number().unwrap_or_else(|| panic!("{}: {si} -> {raw} -> {back:?}", channel.spec().name));
        assert!((x - si).abs() <= 1e-9 * si.abs().max(1.0), "{}: {si} -> {raw} -> {x}", channel.spec().name);
    }
}

#[test]
fn every_kind_goes_both_ways() {
    let temperatures = [250.0, 273.15, 300.0, 420.0];
    let t = |c: Conversion| channel("pack_in.temperature", Quantity::Temperature, "degC", c);
    both_ways(t(Conversion::Linear(Linear::new(0.1, -40.0).unwrap())), None, &temperatures);
    both_ways(t(Conversion::Linear(Linear::through((0.5, -50.0), (4.5, 200.0)).unwrap())), None, &temperatures);
    both_ways(t(Conversion::CurrentLoop(CurrentLoop::new(-50.0, 200.0).unwrap())), None, &temperatures);
    both_ways(
        t(Conversion::Table(Table::new(&[(0.0, 250.0), (1.0, 100.0), (2.0, -80.0)]).unwrap())),
        None,
        &temperatures,
    );
    let smooth = Table::monotone_cubic(&[(0.0, 250.0), (1.0, 100.0), (2.0, -80.0)]).unwrap();
    both_ways(t(Conversion::Table(smooth)), None, &temperatures);
    let polynomial = Polynomial::new(&[-80.0, 30.0, 1.5], 0.0, 10.0).unwrap();
    both_ways(t(Conversion::Polynomial(polynomial)), None, &temperatures);
    both_ways(t(Conversion::Platinum(Platinum::new(100.0).unwrap())), None, &temperatures);
    both_ways(t(Conversion::Platinum(Platinum::new(1000.0).unwrap())), None, &temperatures);
    let fixed = FixedJunction::new(Thermocouple::T, 0.0).unwrap();
    both_ways(t(Conversion::FixedJunction(fixed)), None, &temperatures);
    for kind in [Thermocouple::K, Thermocouple::T, Thermocouple::J, Thermocouple::E, Thermocouple::N] {
        both_ways(thermocouple(kind).spec().clone(), Some(Reading::Good(296.4)), &temperatures);
    }
    for (ratio, other) in [(Ratio::DifferenceOverSum, 1.9), (Ratio::PartOfWhole, 5.0)] {
        both_ways(position(ratio, "V").spec().clone(), Some(Reading::Good(other)), &[0.2, 0.3]);
    }
    let gauge = Some(Reference::Gauge { barometer: Some(Barometer::Channel(ChannelId(1))) });
    let pressure = channel("pack_in.pressure", Quantity::Pressure, "kPa", Conversion::IDENTITY);
    both_ways(ChannelSpec { reference: gauge, ..pressure }, Some(Reading::Good(98_000.0)), &[98_000.0, 400_000.0]);
    let difference =
        channel("ram_in.pressure_difference", Quantity::PressureDifference, "inH2O(4degC)", Conversion::IDENTITY);
    both_ways(difference, None, &[-300.0, 0.0, 2500.0]);
}

#[test]
fn a_correction_goes_both_ways_behind_the_conversion() {
    let loops = Conversion::CurrentLoop(CurrentLoop::new(0.0, 200.0).unwrap());
    let spec = channel("pack_in.temperature", Quantity::Temperature, "degC", loops);
    let correction = Some(Conversion::Linear(Linear::new(1.002, -0.4).unwrap()));
    let corrected = ChannelSpec { correction, ..spec };
    let x = Channel::new(corrected.clone()).unwrap().reading(12.0, None).number().unwrap();
    assert!((x - (100.0 * 1.002 - 0.4 + 273.15)).abs() < 1e-9, "{x}");
    both_ways(corrected, None, &[280.0, 400.0]);
}

/// IEC 60584-1: type K gives 8.138 mV at 200 °C and 1.000 mV at 25 °C, so 7.138 mV at terminals of 25 °C.
#[test]
fn a_reference_junction_is_added_as_a_voltage_in_any_unit() {
    let terminals = Some(Reading::Good(298.15));
    let in_mv = thermocouple(Thermocouple::K);
    let t = in_mv.reading(7.138, terminals).number().unwrap();
    assert!((t - 473.15).abs() < 0.01, "{t}");
    let in_v = Channel::new(ChannelSpec { raw_scale: 1000.0, ..in_mv.spec().clone() }).unwrap();
    let same = in_v.reading(0.007_138, terminals).number().unwrap();
    assert!((same - t).abs() < 1e-9, "{same}");
    assert_eq!(in_mv.other(), Some(ChannelId(1)));
}

#[test]
fn the_other_half_passes_its_quality_on() {
    for channel in [thermocouple(Thermocouple::K), position(Ratio::PartOfWhole, "V")] {
        let (raw, other) = if channel.spec().quantity == Quantity::Ratio { (2.0, 5.0) } else { (1.0, 295.0) };
        assert!(matches!(channel.reading(raw, Some(Reading::Good(other))), Reading::Good(_)));
        let doubtful = channel.reading(raw, Some(Reading::Uncertain(other, Reason::Range)));
        assert_eq!(doubtful.reason(), Reason::InputUncertain);
        for none in
            [None, Some(Reading::Stale), Some(Reading::Bad(Reason::Open)), Some(Reading::Missing(Reason::SourceDown))]
        {
            assert_eq!(channel.reading(raw, none), Reading::Bad(Reason::InputMissing));
        }
    }
}

#[test]
fn wiring_faults_show() {
    let pt =
        channel("a.temperature", Quantity::Temperature, "degC", Conversion::Platinum(Platinum::new(100.0).unwrap()));
    let pt = Channel::new(pt).unwrap();
    assert_eq!(pt.reading(1e6, None), Reading::Bad(Reason::Open));
    assert_eq!(pt.reading(0.4, None), Reading::Bad(Reason::Short));
    assert_eq!(pt.reading(f64::NAN, None), Reading::Bad(Reason::NotANumber));
    let sum = position(Ratio::DifferenceOverSum, "V");
    assert_eq!(sum.reading(3.4, Some(Reading::Good(0.0))), Reading::Bad(Reason::Open));
    assert_eq!(sum.reading(3.4, Some(Reading::Good(3.4))), Reading::Bad(Reason::Short));
    assert_eq!(sum.reading(1.0, Some(Reading::Good(3.4))), Reading::Bad(Reason::OutsideTable));
}

#[test]
fn a_number_at_an_end_of_the_instruments_own_range_is_no_value() {
    let spec = channel("a.temperature", Quantity::Temperature, "degC", Conversion::IDENTITY);
    let c = Channel::new(ChannelSpec { rail: Some((-270.0, 1372.0)), ..spec }).unwrap();
    for raw in [1372.0, 1400.0, -270.0, -3276.8] {
        assert_eq!(c.reading(raw, None), Reading::Bad(Reason::Rail));
    }
    assert_eq!(c.reading(1371.9, None), Reading::Good(1371.9 + 273.15));
    assert_eq!(c.reading(f64::INFINITY, None), Reading::Bad(Reason::NotANumber));
}
