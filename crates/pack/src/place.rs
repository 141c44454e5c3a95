//! The places along the air's way.

/// A place where an instrument may stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its name; `<id>` stands for one segment of the user's choice.
    pub name: &'static str,
    /// Which way of the air it lies on.
    pub path: Path,
    /// Whether each pack has its own, so that the pack's prefix stands before it.
    pub per_pack: bool,
    /// What it is.
    pub summary: &'static str,
}

/// The ways of the air. Within one, places are listed in flow order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Path {
    /// Bleed air, from the supply duct to the pack's discharge.
    Hot,
    /// Outside air through the exchangers.
    Ram,
    /// From mixing to the cabin.
    Distribution,
    /// Shaft, valves, drain, side flows.
    Machine,
}

const fn pack(path: Path, name: &'static str, summary: &'static str) -> Place {
    Place { name, path, per_pack: true, summary }
}

const fn common(path: Path, name: &'static str, summary: &'static str) -> Place {
    Place { name, path, per_pack: false, summary }
}

use Path::{Distribution, Hot, Machine, Ram};

/// All places, those of a path in flow order.
pub const PLACES: &[Place] = &[
    common(Hot, "bleed", "bleed supply duct"),
    pack(Hot, "pack_in", "after the flow control valve: hot inlet of the primary exchanger"),
    pack(Hot, "primary_out", "hot outlet of the primary exchanger"),
    pack(Hot, "compressor_in", "compressor inlet"),
    pack(Hot, "compressor_out", "compressor outlet"),
    pack(Hot, "secondary_in", "hot inlet of the secondary exchanger"),
    pack(Hot, "secondary_out", "hot outlet of the secondary exchanger"),
    pack(Hot, "reheater_hot_out", "hot outlet of the reheater"),
    pack(Hot, "condenser_hot_out", "hot outlet of the condenser"),
    pack(Hot, "extractor_out", "air outlet of the water extractor"),
    pack(Hot, "turbine1_in", "turbine inlet: cold outlet of the reheater, where there is one"),
    pack(Hot, "turbine1_out", "turbine outlet"),
    pack(Hot, "turbine2_in", "second turbine's inlet: cold outlet of a four-wheel pack's condenser"),
    pack(Hot, "turbine2_out", "second turbine's outlet"),
    pack(Hot, "condenser_cold_in", "cold inlet of the condenser"),
    pack(Hot, "condenser_cold_out", "cold outlet of the condenser"),
    pack(Hot, "separator_out", "outlet of a low-pressure water separator"),
    pack(Hot, "discharge", "pack outlet, after the bypass has joined"),
    common(Ram, "ambient", "outside air"),
    pack(Ram, "ram_in", "ram air before the first exchanger, after water spray if any"),
    pack(Ram, "secondary_ram_out", "ram air after the secondary exchanger"),
    pack(Ram, "primary_ram_out", "ram air after the primary exchanger"),
    pack(Ram, "fan_out", "ram air after the fan"),
    common(Distribution, "mix", "mix manifold"),
    common(Distribution, "recirc", "recirculated cabin air"),
    common(Distribution, "trim", "trim air: hot air to the zones"),
    common(Distribution, "zone.<id>.duct", "supply duct of a zone"),
    common(Distribution, "zone.<id>.cabin", "cabin air of a zone"),
    common(Distribution, "zone.<id>.target", "what a zone's controller asks for"),
    pack(Machine, "acm", "air cycle machine: its shaft"),
    pack(Machine, "valve.<id>", "a valve"),
    pack(Machine, "drain", "water from the extractor"),
    pack(Machine, "bypass", "air around the machine"),
    pack(Machine, "anti_ice", "hot air against ice"),
];

/// A channel name that stands for a quantity at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlaceName<'a> {
    /// The pack's prefix, where there is one.
    pub pack: Option<&'a str>,
    /// The place.
    pub place: &'static Place,
    /// What stands for `<id>`, where the place has one.
    pub id: Option<&'a str>,
    /// The quantity's word, one of [`units::quantity::WORDS`].
    pub quantity: &'static str,
}

/// The place and quantity a channel name stands for: `left.pack_in.temperature`, `zone.fwd.duct.temperature`.
/// `None` for any other name: such a channel is recorded and feeds nothing.
pub fn parse(name: &str) -> Option<PlaceName<'_>> {
    let (quantity, _) = units::quantity::of_name(name)?;
    let rest = name.strip_suffix(quantity)?.strip_suffix('.')?;
    if let Some((place, id)) = find(rest) {
        return Some(PlaceName { pack: None, place, id, quantity });
    }
    let (pack, rest) = rest.split_once('.')?;
    let (place, id) = find(rest)?;
    (is_pack_prefix(pack) && place.per_pack).then_some(PlaceName { pack: Some(pack), place, id, quantity })
}

/// Whether a segment may stand before a place as the prefix of a pack: `left`, `right`, `pack` and a number.
pub fn is_pack_prefix(segment: &str) -> bool {
    let number = |n: &str| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit());
    segment == "left" || segment == "right" || segment.strip_prefix("pack").is_some_and(number)
}

/// The channel name of a quantity at a place without an id, in the pack with this prefix (empty: none).
pub(crate) fn channel_name(pack: &str, place: &str, quantity: &str) -> String {
    let per_pack = PLACES.iter().any(|p| p.name == place && p.per_pack);
    if per_pack && !pack.is_empty() { format!("{pack}.{place}.{quantity}") } else { format!("{place}.{quantity}") }
}

/// Whether a channel of this name, without a pack's prefix, stands at the place.
pub(crate) fn is_at(place: &Place, name: &str) -> bool {
    parse(name).is_some_and(|p| p.pack.is_none() && p.place == place)
        || name.rsplit_once('.').and_then(|(at, _)| find(at)).is_some_and(|(p, _)| p == place)
}

/// The place that this text names, and what stands for its id.
fn find(text: &str) -> Option<(&'static Place, Option<&str>)> {
    PLACES.iter().find_map(|place| match place.name.split_once("<id>") {
        None => (place.name == text).then_some((place, None)),
        Some((before, after)) => {
            let id = text.strip_prefix(before)?.strip_suffix(after)?;
            (!id.is_empty() && !id.contains('.')).then_some((place, Some(id)))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `pack | place | id | quantity`, or `-`.
    fn parsed(name: &str) -> String {
        parse(name).map_or("-".into(), |p| {
            format!("{} | {} | {} | {}", p.pack.unwrap_or(""), p.place.name, p.id.unwrap_or(""), p.quantity)
        })
    }

    #[test]
    fn names_are_taken_apart() {
        assert_eq!(parsed("pack_in.temperature"), " | pack_in |  | temperature");
        assert_eq!(parsed("left.pack_in.temperature"), "left | pack_in |  | temperature");
        assert_eq!(parsed("pack12.acm.speed"), "pack12 | acm |  | speed");
        assert_eq!(parsed("ram_in.pressure_difference"), " | ram_in |  | pressure_difference");
        assert_eq!(parsed("zone.fwd.duct.temperature"), " | zone.<id>.duct | fwd | temperature");
        assert_eq!(parsed("right.valve.fcv.position"), "right | valve.<id> | fcv | position");
    }

    #[test]
    fn other_names_are_left_alone() {
        let others = [
            "temperature",
            "pack_in",
            "pack_in.colour",
            "packin.temperature",
            "centre.pack_in.temperature",
            "pack.pack_in.temperature",
            "left.right.pack_in.temperature",
            "left.ambient.temperature",
            "left.zone.fwd.duct.temperature",
            "zone..duct.temperature",
            "zone.a.b.duct.temperature",
            "zone.fwd.target",
            "valve..position",
            "",
        ];
        for name in others {
            assert_eq!(parsed(name), "-", "{name}");
        }
    }

    #[test]
    fn every_place_is_found_by_its_name() {
        for (i, place) in PLACES.iter().enumerate() {
            assert!(!place.summary.is_empty());
            assert!(PLACES[..i].iter().all(|o| o.name != place.name), "{} twice", place.name);
            let name = format!("{}.temperature", place.name.replace("<id>", "x"));
            assert_eq!(parse(&name).map(|p| p.place.name), Some(place.name));
            assert_eq!(parse(&format!("left.{name}")).is_some(), place.per_pack, "{name}");
        }
    }
}
