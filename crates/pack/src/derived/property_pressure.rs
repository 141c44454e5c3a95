//! A pressure that is good enough to take properties of air at, where a place has no instrument of its own.

use super::{Derived, Scope, Site, Way};
use crate::{Arrangement, WaterSeparation};
use units::Quantity;

pub(super) static PROPERTY_PRESSURE: Derived = Derived {
    name: "<place>.property_pressure",
    scope: Scope::Place,
    quantity: Quantity::Pressure,
    summary: "pressure at which properties of air are taken: the place's own, else that of a place near it",
    validity: "for enthalpies, which hardly depend on it, and for saturation, whose humidity ratio is off by the \
               share that the \
               pressure is off; pressure ratios and drops need the place's own instrument",
    source: "common practice, no source",
    order: None,
    ways,
};

fn ways(site: &Site) -> Vec<Way> {
    let own = format!("{}.pressure", site.at);
    let near = near(site.arrangement, site.at).iter().map(|place| format!("{place}.pressure"));
    let words = |p: &str| match p {
        "ambient.pressure" => "near enough for properties on the ground, not in flight",
        _ => "near enough for properties",
    };
    std::iter::once(own).chain(near).map(|p| Way::same_as(words(&p), p)).collect()
}

/// Places with nearly the same pressure, the nearest first.
fn near(arrangement: &Arrangement, place: &str) -> &'static [&'static str] {
    match place {
        "bleed" => &["pack_in"],
        "pack_in" => &["primary_out", "bleed"],
        "primary_out" | "compressor_in" => &["pack_in"],
        "compressor_out" | "secondary_in" => &["secondary_out", "turbine1_in"],
        "secondary_out" | "reheater_hot_out" => &["turbine1_in", "compressor_out", "secondary_in"],
        "condenser_hot_out" | "extractor_out" => &["turbine1_in", "secondary_out", "compressor_out"],
        "turbine1_in" if arrangement.separation == WaterSeparation::HighPressure => &["extractor_out"],
        "turbine1_in" => &["secondary_out"],
        "turbine1_out" | "condenser_cold_in" => &["condenser_cold_out", "discharge", "ambient"],
        "condenser_cold_out" | "separator_out" => &["discharge", "turbine1_out", "ambient"],
        "discharge" => &["mix", "ambient"],
        "mix" | "recirc" | "trim" => &["discharge", "ambient"],
        "ram_in" | "secondary_ram_out" | "primary_ram_out" | "fan_out" => &["ambient"],
        _ => &[],
    }
}
