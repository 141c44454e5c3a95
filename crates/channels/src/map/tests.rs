use super::*;
use crate::channel::tests::{fold, spec};
use crate::{Barometer, ChannelSpec, Reference};
use stream::ChannelId;

fn pressure(name: &str, reference: Reference) -> Channel {
    Channel::new(ChannelSpec { reference: Some(reference), ..spec(name, Quantity::Pressure, "kPa") }).unwrap()
}

fn gauge(name: &str, barometer: u16) -> Channel {
    pressure(name, Reference::Gauge { barometer: Some(Barometer::Channel(ChannelId(barometer))) })
}

fn messages(channels: &[Channel]) -> String {
    check_map(channels).iter().map(|e| fold(&e.to_string())).collect::<Vec<_>>().join("\n")
}

#[test]
fn a_sound_map_passes() {
    let barometer = pressure("ambient.pressure", Reference::Absolute);
    assert_eq!(check_map(&[gauge("pack_in.pressure", 1), barometer, gauge("discharge.pressure", 1)]), []);
}

#[test]
fn barometers_are_checked() {
    let temperature = Channel::new(spec("ambient.temperature", Quantity::Temperature, "K")).unwrap();
    let channels =
        [gauge("a.pressure", 1), gauge("b.pressure", 1), gauge("c.pressure", 9), gauge("d.pressure", 4), temperature];
    insta::assert_snapshot!(messages(&channels), @r"
    channel 'a.pressure' has 'b.pressure' as barometer, which is itself a gauge pressure; name a channel
    that measures an absolute pressure, or declare the value
    channel 'b.pressure' has 'b.pressure' as barometer, which is itself a gauge pressure; name a channel
    that measures an absolute pressure, or declare the value
    channel 'c.pressure' has column 9 as barometer, the map has 5 channels; name one of them
    channel 'd.pressure' has 'ambient.temperature' as barometer, which is a temperature; name a channel
    that measures an absolute pressure
    ");
}

#[test]
fn a_name_stands_once() {
    let a = || pressure("a.pressure", Reference::Absolute);
    let found = messages(&[a(), a(), a()]);
    insta::assert_snapshot!(found, @"channel 'a.pressure' stands in the map twice; give one of them another name");
}
