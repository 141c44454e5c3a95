//! Which derived quantities a run can have, from which channels, and what is missing for the others.

use crate::derived::{DERIVED, Derived, MAX_INPUTS, Need};
use crate::place::channel_name;
use crate::{Arrangement, WaterSeparation};
use stream::{Reading, Reason};

/// A derived quantity of a run.
#[derive(Clone, Debug)]
pub struct PlannedDerived {
    /// Which one.
    pub derived: &'static Derived,
    /// Its name in this run, with the pack's prefix.
    pub name: String,
    /// The channels it is computed from, by index, in the order the formula takes them. Empty where one is missing.
    pub inputs: Vec<usize>,
    /// Formula and channels in words, with those that stand for a neighbouring place.
    pub provenance: String,
    /// The channels it would need and that are not there; empty where it can be computed.
    pub missing: Vec<String>,
}

/// Every derived quantity that the arrangement has, pack by pack, with its channels. `channels[i]` is the name of the
/// channel with index i; readings are handed to [`PlannedDerived::evaluate`] in the same order.
///
/// A place without an instrument is taken for its neighbour where both are one point of the installation: see
/// [`neighbours`]. The provenance says so.
pub fn plan<S: AsRef<str>>(arrangement: &Arrangement, channels: &[S]) -> Vec<PlannedDerived> {
    let one_without_prefix = [String::new()];
    let packs = if arrangement.packs.is_empty() { &one_without_prefix } else { arrangement.packs.as_slice() };
    let mut planned = Vec::new();
    for pack in packs {
        for derived in DERIVED {
            if let Some(needs) = (derived.needs)(arrangement) {
                planned.push(plan_one(arrangement, channels, pack, derived, &needs));
            }
        }
    }
    planned
}

/// The pairs of places that are one point of the installation, so that either stands for the other where only one has
/// an instrument for the quantity.
pub fn neighbours(arrangement: &Arrangement) -> &'static [(&'static str, &'static str)] {
    const ALWAYS: [(&str, &str); 2] = [("primary_out", "compressor_in"), ("compressor_out", "secondary_in")];
    const NO_REHEATER: [(&str, &str); 3] = [ALWAYS[0], ALWAYS[1], ("secondary_out", "turbine1_in")];
    match arrangement.separation {
        WaterSeparation::HighPressure => &ALWAYS,
        WaterSeparation::None | WaterSeparation::LowPressure => &NO_REHEATER,
    }
}

fn plan_one<S: AsRef<str>>(
    arrangement: &Arrangement,
    channels: &[S],
    pack: &str,
    derived: &'static Derived,
    needs: &[Need],
) -> PlannedDerived {
    let index = |name: &str| channels.iter().position(|c| c.as_ref() == name);
    let mut inputs = Vec::new();
    let mut words = Vec::new();
    let mut missing = Vec::new();
    for need in needs {
        let name = channel_name(pack, need.place, need.quantity);
        let neighbour = neighbour(arrangement, need.place).map(|place| channel_name(pack, place, need.quantity));
        if let Some(i) = index(&name) {
            inputs.push(i);
            words.push(name);
        } else if let Some((i, neighbour)) = neighbour.and_then(|n| index(&n).map(|i| (i, n))) {
            inputs.push(i);
            words.push(format!("{neighbour} (stands for {name})"));
        } else {
            missing.push(name);
        }
    }
    let provenance = if missing.is_empty() {
        format!("{}; from {}", derived.formula, words.join(", "))
    } else {
        inputs.clear();
        format!("{}; missing: {}", derived.formula, missing.join(", "))
    };
    PlannedDerived { derived, name: prefixed(pack, derived.name), inputs, provenance, missing }
}

/// The place that is the same point of the installation.
fn neighbour(arrangement: &Arrangement, place: &str) -> Option<&'static str> {
    neighbours(arrangement).iter().find_map(|(a, b)| {
        if *a == place {
            Some(*b)
        } else if *b == place {
            Some(*a)
        } else {
            None
        }
    })
}

fn prefixed(pack: &str, name: &str) -> String {
    if pack.is_empty() { name.to_string() } else { format!("{pack}.{name}") }
}

impl PlannedDerived {
    /// Its reading from the channels' readings, which stand in the order of the plan's channel names.
    ///
    /// * an input without a number, or one that was missing when planned: missing (input-missing)
    /// * the formula refuses its arguments: bad (not-valid)
    /// * a result that the order along the air's way does not allow: the number, uncertain (order)
    /// * an uncertain input: the number, uncertain (input-uncertain)
    pub fn evaluate(&self, readings: &[Reading]) -> Reading {
        let count = self.inputs.len();
        if !self.missing.is_empty() || count > MAX_INPUTS {
            return Reading::Missing(Reason::InputMissing);
        }
        let mut numbers = [0.0; MAX_INPUTS];
        let mut uncertain = false;
        for (number, input) in numbers.iter_mut().zip(&self.inputs) {
            let Some(reading) = readings.get(*input) else { return Reading::Missing(Reason::InputMissing) };
            let Some(x) = reading.number() else { return Reading::Missing(Reason::InputMissing) };
            uncertain |= matches!(reading, Reading::Uncertain(..));
            *number = x;
        }
        let value = match (self.derived.compute)(&numbers[..count]) {
            Ok(x) if x.is_finite() => x,
            _ => return Reading::Bad(Reason::NotValid),
        };
        match self.derived.order {
            Some((low, high)) if value < low || value > high => Reading::Uncertain(value, Reason::Order),
            _ if uncertain => Reading::Uncertain(value, Reason::InputUncertain),
            _ => Reading::Good(value),
        }
    }
}
