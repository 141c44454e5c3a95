use super::*;
use crate::{ChannelSpec, Reference};
use sensors::{Conversion, CurrentLoop, Linear, Table};
use stream::Span;
use units::Quantity;

pub(crate) fn spec(name: &str, quantity: Quantity, unit: &str) -> ChannelSpec {
    ChannelSpec::new(name, quantity, units::find(unit).unwrap())
}

fn temperature(unit: &str) -> ChannelSpec {
    spec("pack_in.temperature", Quantity::Temperature, unit)
}

fn pressure(unit: &str, reference: Option<Reference>) -> ChannelSpec {
    ChannelSpec { reference, ..spec("pack_in.pressure", Quantity::Pressure, unit) }
}

fn gauge(barometer: Barometer) -> Option<Reference> {
    Some(Reference::Gauge { barometer: Some(barometer) })
}

const CHANNEL_7: Barometer = Barometer::Channel(ChannelId(7));

fn reading(spec: ChannelSpec, raw: f64) -> Reading {
    Channel::new(spec).unwrap().reading(raw, None)
}

#[test]
fn values_arrive_in_si() {
    assert_eq!(reading(temperature("degC"), 200.0), Reading::Good(473.15));
    assert_eq!(reading(spec("dt", Quantity::TemperatureDifference, "degC"), 20.0), Reading::Good(20.0));
    assert_eq!(reading(spec("left.pack_in.flow", Quantity::MassFlow, "kg/min"), 30.0), Reading::Good(0.5));
    assert_eq!(reading(spec("valve.fcv.position", Quantity::Ratio, "%"), 105.0), Reading::Good(1.05));
    assert_eq!(reading(pressure("kPa", Some(Reference::Absolute)), 265.3), Reading::Good(265_300.0));
    assert_eq!(reading(pressure("bara", None), 2.0), Reading::Good(200_000.0));
    let conversion = Conversion::Linear(Linear::new(0.1, -40.0).unwrap());
    assert_eq!(
        reading(ChannelSpec { conversion: conversion.into(), ..temperature("degC") }, 400.0),
        Reading::Good(273.15)
    );
}

#[test]
fn what_is_no_number_is_bad() {
    for raw in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX] {
        let conversion = Conversion::Linear(Linear::new(10.0, 0.0).unwrap());
        assert_eq!(
            reading(ChannelSpec { conversion: conversion.into(), ..temperature("degC") }, raw),
            Reading::Bad(Reason::NotANumber),
            "{raw}"
        );
    }
    assert_eq!(reading(pressure("bara", None), 1e305), Reading::Bad(Reason::NotANumber));
}

#[test]
fn outside_the_range_is_kept_and_uncertain() {
    let spec = || ChannelSpec { range: Some((-60.0, 300.0)), ..temperature("degC") };
    assert_eq!(reading(spec(), 300.0), Reading::Good(573.15));
    assert_eq!(reading(spec(), 301.0), Reading::Uncertain(574.15, Reason::Range));
    assert_eq!(reading(spec(), -60.0), Reading::Good(213.14999999999998));
    assert_eq!(reading(spec(), -61.0), Reading::Uncertain(212.14999999999998, Reason::Range));
}

#[test]
fn below_absolute_zero_is_uncertain_without_a_range_too() {
    assert_eq!(reading(temperature("K"), 0.0), Reading::Good(0.0));
    assert_eq!(reading(temperature("K"), -1.0), Reading::Uncertain(-1.0, Reason::Range));
    assert_eq!(reading(pressure("psia", None), -1.0).reason(), Reason::Range);
    assert_eq!(reading(spec("dt", Quantity::TemperatureDifference, "K"), -1.0), Reading::Good(-1.0));
}

#[test]
fn loop_faults_and_table_ends_have_no_number() {
    let loops = Conversion::CurrentLoop(CurrentLoop::new(0.0, 400.0).unwrap());
    let channel =
        Channel::new(ChannelSpec { conversion: loops.into(), ..pressure("kPa", Some(Reference::Absolute)) }).unwrap();
    assert_eq!(channel.reading(12.0, None), Reading::Good(200_000.0));
    assert_eq!(channel.reading(3.5, None), Reading::Bad(Reason::Open));
    assert_eq!(channel.reading(0.0, None), Reading::Bad(Reason::Open));
    assert_eq!(channel.reading(21.5, None), Reading::Bad(Reason::Short));
    let table = Conversion::Table(Table::new(&[(0.0, -50.0), (100.0, 250.0)]).unwrap());
    let channel = Channel::new(ChannelSpec { conversion: table.into(), ..temperature("degC") }).unwrap();
    assert_eq!(channel.reading(100.0, None), Reading::Good(523.15));
    assert_eq!(channel.reading(100.1, None), Reading::Bad(Reason::OutsideTable));
}

#[test]
fn gauge_becomes_absolute_with_its_barometer() {
    let channel = Channel::new(pressure("kPag", gauge(CHANNEL_7))).unwrap();
    assert_eq!(channel.other(), Some(ChannelId(7)));
    let at = |barometer| channel.reading(100.0, barometer);
    assert_eq!(at(Some(Reading::Good(98_000.0))), Reading::Good(198_000.0));
    assert_eq!(
        at(Some(Reading::Uncertain(98_000.0, Reason::Range))),
        Reading::Uncertain(198_000.0, Reason::InputUncertain)
    );
    for barometer in
        [None, Some(Reading::Stale), Some(Reading::Bad(Reason::Open)), Some(Reading::Missing(Reason::NotYet))]
    {
        assert_eq!(at(barometer), Reading::Bad(Reason::NoBarometer));
    }
    assert_eq!(channel.reading(f64::NAN, None), Reading::Bad(Reason::NotANumber));
}

#[test]
fn a_declared_barometer_needs_no_channel() {
    let declared = Barometer::Declared(AbsolutePressure::from_si(101_325.0));
    let channel = Channel::new(pressure("kPa", gauge(declared))).unwrap();
    assert_eq!(channel.other(), None);
    assert_eq!(channel.reading(0.0, None), Reading::Good(101_325.0));
    assert_eq!(channel.reading(0.0, Some(Reading::Stale)), Reading::Good(101_325.0));
}

#[test]
fn the_range_of_a_gauge_channel_is_in_its_own_unit() {
    let spec = ChannelSpec { range: Some((-5.0, 60.0)), ..pressure("psig", gauge(CHANNEL_7)) };
    let channel = Channel::new(spec).unwrap();
    let air = Some(Reading::Good(100_000.0));
    assert_eq!(channel.reading(50.0, air).reason(), Reason::None);
    assert_eq!(channel.reading(61.0, air).reason(), Reason::Range);
    assert_eq!(channel.reading(61.0, Some(Reading::Uncertain(1e5, Reason::Range))).reason(), Reason::Range);
}

fn refusal(spec: ChannelSpec) -> String {
    fold(&Channel::new(spec).unwrap_err().to_string())
}

/// A message in lines of at most 100 letters, so that it can stand here whole.
pub(crate) fn fold(message: &str) -> String {
    let mut lines = vec![String::new()];
    for word in message.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + word.chars().count() < 100 => *line += &format!(" {word}"),
            _ => lines.push(word.into()),
        }
    }
    lines.join("\n")
}

#[test]
fn refuses_names() {
    insta::assert_snapshot!(refusal(spec("Pack_In.Temperature", Quantity::Temperature, "K")), @r"
    channel name 'Pack_In.Temperature' is refused; use small letters, digits and '_', in segments parted
    by '.', as in pack_in.temperature
    ");
    for name in ["", ".", "a..b", "a.", ".a", "a b", "a-b", "größe", "a\n"] {
        assert!(matches!(Channel::new(spec(name, Quantity::Ratio, "1")), Err(ChannelError::Name { .. })), "{name}");
    }
}

#[test]
fn refuses_what_contradicts_the_name() {
    insta::assert_snapshot!(refusal(spec("pack_in.flow", Quantity::VolumeFlow, "ft3/min")), @r"
    channel 'pack_in.flow' is described as volume flow, but a name that ends in '.flow' is a mass flow;
    set quantity to mass_flow, or rename the channel
    ");
    insta::assert_snapshot!(refusal(spec("pack_in.temperature", Quantity::TemperatureDifference, "degF")), @r"
    channel 'pack_in.temperature' is described as temperature difference, but a name that ends in
    '.temperature' is a temperature; they convert differently (20 degF are 266.5 K, a difference of 20
    degF is 11.1 K): set quantity to temperature, or rename the channel
    ");
    insta::assert_snapshot!(refusal(spec("ram.pressure_difference", Quantity::Pressure, "psia")), @r"
    channel 'ram.pressure_difference' is described as pressure, but a name that ends in
    '.pressure_difference' is a pressure difference; set quantity to pressure_difference, or rename the
    channel
    ");
    insta::assert_snapshot!(refusal(spec("discharge.relative_humidity", Quantity::HumidityRatio, "g/kg")), @r"
    channel 'discharge.relative_humidity' is described as humidity ratio, but a name that ends in
    '.relative_humidity' is a ratio; set quantity to ratio, or rename the channel
    ");
}

#[test]
fn refuses_units_of_another_quantity() {
    insta::assert_snapshot!(refusal(temperature("kPa")), @r"
    channel 'pack_in.temperature' is a temperature, but kPa is a unit of pressure; use one of K, degC,
    degF, degR, or correct the quantity
    ");
    insta::assert_snapshot!(refusal(spec("discharge.humidity_ratio", Quantity::HumidityRatio, "%")), @r"
    channel 'discharge.humidity_ratio' is a humidity ratio, but % is a unit of ratio; use one of kg/kg,
    g/kg, grain/lb, or correct the quantity
    ");
    insta::assert_snapshot!(refusal(spec("ram.pressure_difference", Quantity::PressureDifference, "psig")), @r"
    channel 'ram.pressure_difference' is a pressure difference, but psig is a unit of gauge pressure;
    use one of Pa, hPa, kPa, MPa, mbar, bar, atm, kgf/cm2, psf, psi, psid, kPad, inHg, mmHg,
    mmH2O(4degC), inH2O(4degC), inH2O(20degC), or correct the quantity
    ");
    insta::assert_snapshot!(refusal(spec("pack_in.pressure", Quantity::Pressure, "psid")), @r"
    channel 'pack_in.pressure' is a pressure, but psid is a unit of pressure difference; use one of Pa,
    hPa, kPa, MPa, mbar, bar, atm, kgf/cm2, psf, psi, psia, psig, kPaa, kPag, mbara, mbarg, bara, barg,
    inHg, mmHg, mmH2O(4degC), inH2O(4degC), inH2O(20degC), or correct the quantity
    ");
}

#[test]
fn refuses_references() {
    let none = Some(Reference::Gauge { barometer: None });
    insta::assert_snapshot!(refusal(pressure("psi", None)), @r"
    channel 'pack_in.pressure' is a pressure in psi, which does not say against what; set reference to
    absolute or to gauge with a barometer
    ");
    insta::assert_snapshot!(refusal(pressure("psig", None)), @r"
    channel 'pack_in.pressure' is a gauge pressure without a barometer; name the channel that measures
    the surrounding air's absolute pressure, or declare its value
    ");
    insta::assert_snapshot!(refusal(pressure("kPa", none)), @r"
    channel 'pack_in.pressure' is a gauge pressure without a barometer; name the channel that measures
    the surrounding air's absolute pressure, or declare its value
    ");
    insta::assert_snapshot!(refusal(pressure("psig", Some(Reference::Absolute))), @r"
    channel 'pack_in.pressure': psig is gauge, but reference is absolute; write the bare unit (psi, kPa,
    bar), or correct the reference
    ");
    insta::assert_snapshot!(refusal(pressure("psia", gauge(CHANNEL_7))), @r"
    channel 'pack_in.pressure': psia is absolute, but reference is gauge; write the bare unit (psi, kPa,
    bar), or correct the reference
    ");
    insta::assert_snapshot!(refusal(pressure("kPa", Some(Reference::Difference))), @r"
    channel 'pack_in.pressure' is a pressure and cannot have the reference difference; only a pressure
    is absolute or gauge, only a pressure_difference has the reference difference: correct quantity or
    reference
    ");
    let absolute = Some(Reference::Absolute);
    insta::assert_snapshot!(refusal(ChannelSpec { reference: absolute, ..temperature("degC") }), @r"
    channel 'pack_in.temperature' is a temperature and cannot have the reference absolute; only a
    pressure is absolute or gauge, only a pressure_difference has the reference difference: correct
    quantity or reference
    ");
    let difference = spec("ram.pressure_difference", Quantity::PressureDifference, "Pa");
    insta::assert_snapshot!(refusal(ChannelSpec { reference: none, ..difference }), @r"
    channel 'ram.pressure_difference' is a pressure difference and cannot have the reference gauge; only
    a pressure is absolute or gauge, only a pressure_difference has the reference difference: correct
    quantity or reference
    ");
    let declared = Barometer::Declared(AbsolutePressure::from_si(1013.25));
    insta::assert_snapshot!(refusal(pressure("kPag", gauge(declared))), @r"
    channel 'pack_in.pressure': a barometer of 1013.25 Pa is declared, the surrounding air has 10 000 to
    120 000 Pa; give it in Pa, absolute, at the place of the instrument (1013.25 hPa are 101 325 Pa)
    ");
}

#[test]
fn refuses_ranges_and_ages() {
    insta::assert_snapshot!(refusal(ChannelSpec { range: Some((300.0, -60.0)), ..temperature("degC") }), @r"
    channel 'pack_in.temperature': the range goes from 300 to -60 degC; give finite numbers, the lower
    one first
    ");
    let point = Channel::new(ChannelSpec { range: Some((1.0, 1.0)), ..temperature("degC") });
    assert!(matches!(point, Err(ChannelError::Range { .. })), "a range of no width");
    insta::assert_snapshot!(refusal(ChannelSpec { range: Some((f64::NAN, 1.0)), ..temperature("degC") }), @r"
    channel 'pack_in.temperature': the range goes from NaN to 1 degC; give finite numbers, the lower one
    first
    ");
    insta::assert_snapshot!(refusal(ChannelSpec { stale_after: Span::ZERO, ..temperature("degC") }), @r"
    channel 'pack_in.temperature': stale after 0 s; give a time above 0, about three times the distance
    of its readings
    ");
}
