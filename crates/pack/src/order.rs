//! The order along the air's way that physics allows while the unit runs: a channel that stands against it is in
//! doubt, and so is its neighbour, since one of them is swapped, of another type, or wrong.

use crate::place::channel_name;
use crate::plan::neighbour;
use crate::{Arrangement, RamSide};
use stream::{Reading, Span};

/// What one pack's channels are held against.
#[derive(Clone, Debug, PartialEq)]
pub struct PackOrder {
    /// How it is seen that the unit runs.
    pub running: Running,
    /// The pairs that are there.
    pub pairs: Vec<OrderedPair>,
}

/// Two channels of which the first cannot read lower than the second while the unit runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OrderedPair {
    /// The index of the channel that reads higher.
    pub higher: usize,
    /// The index of the channel that reads lower.
    pub lower: usize,
    /// How much it may be against this at least, SI: small differences are no order.
    pub margin: f64,
}

/// The channels that say whether the unit runs, by index.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Running {
    /// The shaft's speed.
    pub speed: Option<usize>,
    /// Pressures after and before the compressor, or before and after the turbine.
    pub pressures: Option<(usize, usize)>,
}

/// From this speed on a unit runs, rad/s (955 rpm; common practice, no source).
pub const RUNNING_SPEED: f64 = 100.0;
/// From this pressure ratio on, either way, a unit without a speed channel runs (common practice, no source).
pub const RUNNING_RATIO: f64 = 1.05;
/// The order is judged once a unit has run for so long: while it warms up, what lies downstream warms later, and the
/// order stands on its head without anything being wrong (common practice, no source).
pub const RUN_IN: Span = Span::from_secs(30);
/// The margins of temperatures, K, and pressures, Pa: below them differences are installation, not order (common
/// practice, no source).
const MARGINS: [(&str, f64); 2] = [("temperature", 2.0), ("pressure", 1000.0)];

/// Places in flow order along which the pressure only falls, with dry or wet air.
const FALLING_PRESSURES: [&[&str]; 2] = [
    &["bleed", "pack_in", "primary_out", "compressor_in"],
    &[
        "compressor_out",
        "secondary_in",
        "secondary_out",
        "reheater_hot_out",
        "condenser_hot_out",
        "extractor_out",
        "turbine1_in",
        "turbine1_out",
        "condenser_cold_in",
        "condenser_cold_out",
        "turbine2_in",
        "turbine2_out",
        "separator_out",
        "discharge",
        "ambient",
    ],
];
/// Places along which the temperature only falls: heat goes from hot to cold, and a turbine takes work out.
const FALLING_TEMPERATURES: [&[&str]; 4] = [
    &["pack_in", "primary_out", "compressor_in"],
    &["compressor_out", "secondary_in", "secondary_out", "reheater_hot_out", "condenser_hot_out"],
    &["turbine1_in", "turbine1_out"],
    &["turbine2_in", "turbine2_out"],
];
/// The same on the cold side of an exchanger, warmest first.
const WARMED: &[&str] = &["condenser_cold_out", "condenser_cold_in"];
/// The same for ram air that passes one exchanger after the other, and side by side.
const RAM_IN_SERIES: [&[&str]; 1] = [&["primary_ram_out", "secondary_ram_out", "ram_in"]];
const RAM_PARALLEL: [&[&str]; 2] = [&["primary_ram_out", "ram_in"], &["secondary_ram_out", "ram_in"]];
/// A compressor raises both.
const RAISED: (&str, &str) = ("compressor_out", "compressor_in");

/// The pairs of every pack that the channels can show, in the order of [`Arrangement::packs`]. `channels[i]` is the
/// name of the channel with index i. Of a chain, channels next to each other make a pair, whatever lies between them.
///
/// Source: the monotone rows that every test engineer looks at (common practice, no source); temperatures for dry and
/// wet air alike, since water only makes a turbine's outlet less cold, not warmer than its inlet.
pub fn orders<S: AsRef<str>>(arrangement: &Arrangement, channels: &[S]) -> Vec<PackOrder> {
    let one_without_prefix = [String::new()];
    let packs = if arrangement.packs.is_empty() { &one_without_prefix } else { arrangement.packs.as_slice() };
    packs.iter().map(|pack| one_pack(arrangement, channels, pack)).filter(|o| !o.pairs.is_empty()).collect()
}

fn one_pack<S: AsRef<str>>(arrangement: &Arrangement, channels: &[S], pack: &str) -> PackOrder {
    let index = |place: &str, quantity: &str| {
        let name = channel_name(pack, place, quantity);
        channels.iter().position(|c| c.as_ref() == name)
    };
    let or_neighbour = |place: &str, quantity: &str| {
        index(place, quantity).or_else(|| neighbour(arrangement, place).and_then(|n| index(n, quantity)))
    };
    let mut pairs = Vec::new();
    for (quantity, margin) in MARGINS {
        let mut chains: Vec<&[&str]> = Vec::new();
        if quantity == "pressure" {
            chains.extend(FALLING_PRESSURES);
        } else {
            chains.extend(FALLING_TEMPERATURES);
            chains.push(WARMED);
            match arrangement.ram {
                RamSide::SecondaryFirst => chains.extend(RAM_IN_SERIES),
                RamSide::Parallel => chains.extend(RAM_PARALLEL),
            }
        }
        for chain in chains {
            let there: Vec<usize> = chain.iter().filter_map(|place| index(place, quantity)).collect();
            pairs.extend(there.windows(2).map(|w| OrderedPair { higher: w[0], lower: w[1], margin }));
        }
        if let (Some(higher), Some(lower)) = (or_neighbour(RAISED.0, quantity), or_neighbour(RAISED.1, quantity)) {
            pairs.push(OrderedPair { higher, lower, margin });
        }
    }
    let across = |a: &str, b: &str| or_neighbour(a, "pressure").zip(or_neighbour(b, "pressure"));
    let pressures = across(RAISED.0, RAISED.1).or_else(|| across("turbine1_in", "turbine1_out"));
    PackOrder { running: Running { speed: index("acm", "speed"), pressures }, pairs }
}

impl Running {
    /// Whether the unit runs, as far as good readings say: by its speed, else by a pressure ratio. Where neither is
    /// there it counts as at rest.
    pub fn is(&self, readings: &[Reading]) -> bool {
        let good = |i: usize| match readings.get(i) {
            Some(Reading::Good(x)) => Some(*x),
            _ => None,
        };
        if let Some(speed) = self.speed.and_then(good) {
            return speed >= RUNNING_SPEED;
        }
        match self.pressures.and_then(|(a, b)| good(a).zip(good(b))) {
            Some((a, b)) => a > b * RUNNING_RATIO || b > a * RUNNING_RATIO,
            None => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Architecture, WaterSeparation};

    fn arrangement(packs: &[&str]) -> Arrangement {
        Arrangement {
            name: "own example".into(),
            packs: packs.iter().map(ToString::to_string).collect(),
            architecture: Architecture::ThreeWheel,
            separation: WaterSeparation::HighPressure,
            ram: RamSide::SecondaryFirst,
            parameters: crate::Parameters::default(),
        }
    }

    fn words(a: &Arrangement, channels: &[&str]) -> Vec<String> {
        let pair = |p: &OrderedPair| format!("{} > {}", channels[p.higher], channels[p.lower]);
        orders(a, channels).iter().flat_map(|o| o.pairs.iter().map(pair)).collect()
    }

    #[test]
    fn neighbours_in_the_chain_make_pairs_whatever_is_missing_between() {
        let channels = [
            "pack_in.temperature",
            "primary_out.temperature",
            "compressor_out.temperature",
            "secondary_out.temperature",
            "ram_in.temperature",
            "primary_ram_out.temperature",
            "compressor_in.pressure",
            "compressor_out.pressure",
            "turbine1_in.pressure",
            "ambient.pressure",
        ];
        let want = [
            "pack_in.temperature > primary_out.temperature",
            "compressor_out.temperature > secondary_out.temperature",
            "primary_ram_out.temperature > ram_in.temperature",
            // The primary's outlet stands for the compressor's inlet.
            "compressor_out.temperature > primary_out.temperature",
            "compressor_out.pressure > turbine1_in.pressure",
            "turbine1_in.pressure > ambient.pressure",
            "compressor_out.pressure > compressor_in.pressure",
        ];
        assert_eq!(words(&arrangement(&[]), &channels), want);
    }

    #[test]
    fn packs_do_not_mix_and_share_what_is_common() {
        let channels =
            ["left.pack_in.pressure", "right.compressor_in.pressure", "bleed.pressure", "right.pack_in.pressure"];
        let want = [
            "bleed.pressure > left.pack_in.pressure",
            "bleed.pressure > right.pack_in.pressure",
            "right.pack_in.pressure > right.compressor_in.pressure",
        ];
        assert_eq!(words(&arrangement(&["left", "right"]), &channels), want);
    }

    #[test]
    fn it_runs_by_its_speed_or_else_by_a_pressure_ratio_either_way() {
        let by_speed = Running { speed: Some(0), pressures: Some((1, 2)) };
        let r = |x: f64| Reading::Good(x);
        assert!(by_speed.is(&[r(2000.0), r(1e5), r(1e5)]));
        assert!(!by_speed.is(&[r(0.0), r(3e5), r(1e5)]));
        let stale = Reading::Stale;
        assert!(by_speed.is(&[stale, r(3e5), r(2e5)]));
        assert!(by_speed.is(&[stale, r(2e5), r(3e5)]));
        assert!(!by_speed.is(&[stale, r(1e5), r(1.01e5)]));
        assert!(!by_speed.is(&[stale, stale, r(1e5)]));
        assert!(!Running::default().is(&[]));
    }
}
