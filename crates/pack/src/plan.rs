//! Which derived quantities a run can have, from which inputs, and what is missing for the others.

use crate::derived::{self, Compute, DERIVED, Derived, MAX_INPUTS, Scope, Site, Way};
use crate::facts::{Fact, Facts};
use crate::place::{PLACES, channel_name, is_pack_prefix};
use crate::{Architecture, Arrangement, WaterSeparation};

/// What a run can have of the derived quantities.
#[derive(Clone, Debug)]
pub struct PackPlan {
    /// The installation.
    pub arrangement: Arrangement,
    /// How many channels there are; their readings come first wherever inputs are counted.
    pub channels: usize,
    /// For each channel the one whose reading was added to it: the barometer of a gauge pressure. Its error is in both.
    pub barometers: Vec<Option<usize>>,
    /// What can be computed, each after all it is computed from.
    pub derived: Vec<PlannedDerived>,
    /// What the arrangement has and the channels do not give.
    pub absent: Vec<Absent>,
}

/// A derived quantity of a run.
#[derive(Clone, Debug)]
pub struct PlannedDerived {
    /// Which one.
    pub derived: &'static Derived,
    /// Its name in this run, with the pack's prefix.
    pub name: String,
    /// The formula of the way it is found.
    pub compute: Compute,
    /// What it is computed from, in the order the formula takes them: a channel's index, or the count of channels plus
    /// the index of a quantity planned before.
    pub inputs: Vec<usize>,
    /// What the formula takes after the inputs.
    pub constants: Vec<f64>,
    /// The channels it comes from in the end, in ascending order.
    pub support: Vec<usize>,
    /// Formula and inputs in words, with what stands for a neighbouring place and what is taken for granted.
    pub provenance: String,
}

/// A derived quantity that cannot be computed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Absent {
    /// Its name in this run.
    pub name: String,
    /// The channels that would be needed and are not there.
    pub missing: Vec<String>,
}

/// The plan of a run without a pack file.
pub fn plan_nothing(channels: usize) -> PackPlan {
    let barometers = vec![None; channels];
    PackPlan { arrangement: Arrangement::nothing(), channels, barometers, derived: Vec::new(), absent: Vec::new() }
}

/// Every derived quantity that the arrangement has, with its inputs. `channels[i]` is the name of the channel with
/// index i; readings are handed to [`Evaluator`](crate::Evaluator) in the same order. `barometers` tells of gauge
/// pressures: see [`PackPlan::barometers`]; those left out have none.
///
/// An input is a channel of that name, else one at a place that is the same point of the installation (see
/// [`neighbours`]), else a derived quantity. Of several ways to a quantity the first is taken whose inputs are there.
/// The provenance says which, and what was taken for granted.
///
/// `facts` tells of the channels' probes; of those left out nothing is known.
pub fn plan<S: AsRef<str>>(
    arrangement: &Arrangement,
    channels: &[S],
    barometers: &[Option<usize>],
    facts: &[Fact],
) -> PackPlan {
    let names: Vec<&str> = channels.iter().map(AsRef::as_ref).collect();
    let mut plan = PackPlan { arrangement: arrangement.clone(), ..plan_nothing(names.len()) };
    for (own, barometer) in plan.barometers.iter_mut().zip(barometers) {
        *own = barometer.filter(|b| *b < names.len());
    }
    let mut planner = Planner { names: &names, facts, plan, underway: Vec::new() };
    for derived in DERIVED {
        for (pack, at) in sites(arrangement, derived, &names) {
            if let Err(missing) = planner.derive(&pack, derived, &at)
                && !missing.is_empty()
                && derived.scope != Scope::Place
            {
                let name = full_name(&pack, &derived.name.replace("<id>", &at));
                planner.plan.absent.push(Absent { name, missing });
            }
        }
    }
    planner.plan
}

/// The pairs of places that are one point of the installation, so that either stands for the other where only one has
/// an instrument for the quantity.
pub fn neighbours(arrangement: &Arrangement) -> &'static [(&'static str, &'static str)] {
    const COMMON: [(&str, &str); 2] = [("primary_out", "compressor_in"), ("compressor_out", "secondary_in")];
    const NO_REHEATER: [(&str, &str); 3] = [COMMON[0], COMMON[1], ("secondary_out", "turbine1_in")];
    const CONDENSER: [(&str, &str); 3] = [COMMON[0], COMMON[1], ("turbine1_out", "condenser_cold_in")];
    const BETWEEN: [(&str, &str); 4] =
        [CONDENSER[0], CONDENSER[1], CONDENSER[2], ("condenser_cold_out", "turbine2_in")];
    match (arrangement.separation, arrangement.architecture) {
        (WaterSeparation::HighPressure, Architecture::FourWheel) => &BETWEEN,
        (WaterSeparation::HighPressure, _) => &CONDENSER,
        (WaterSeparation::None | WaterSeparation::LowPressure, _) => &NO_REHEATER,
    }
}

/// The packs' prefixes and the places or zones that there is one of this quantity for.
fn sites(arrangement: &Arrangement, derived: &Derived, channels: &[&str]) -> Vec<(String, String)> {
    let one_without_prefix = [String::new()];
    let packs = if arrangement.packs.is_empty() { &one_without_prefix } else { arrangement.packs.as_slice() };
    match derived.scope {
        Scope::Pack => packs.iter().map(|p| (p.clone(), String::new())).collect(),
        Scope::Common => vec![(String::new(), String::new())],
        Scope::Zone => {
            let mut ids: Vec<&str> = channels
                .iter()
                .filter_map(|c| crate::place::parse(c))
                .filter(|p| p.place.name.starts_with("zone."))
                .filter_map(|p| p.id)
                .collect();
            ids.sort_unstable();
            ids.dedup();
            ids.into_iter().map(|id| (String::new(), id.to_owned())).collect()
        }
        Scope::Place => {
            let plain = PLACES.iter().filter(|p| !p.name.contains("<id>"));
            let of_place = |p: &crate::Place| {
                let packs = if p.per_pack { packs } else { &one_without_prefix };
                packs.iter().map(|pack| (pack.clone(), p.name.to_owned())).collect::<Vec<_>>()
            };
            let measured = |(pack, at): &(String, String)| {
                let has = |quantity| channels.contains(&channel_name(pack, at, quantity).as_str());
                has("dew_point") || has("relative_humidity")
            };
            plain.flat_map(of_place).filter(measured).collect()
        }
    }
}

struct Planner<'a> {
    names: &'a [&'a str],
    facts: &'a [Fact],
    plan: PackPlan,
    /// Quantities being planned: one that needs itself by way of others cannot be had that way.
    underway: Vec<String>,
}

impl Planner<'_> {
    /// Where a quantity stands among the inputs, and its name there.
    fn find(&mut self, pack: &str, need: &str) -> Result<(usize, String), Vec<String>> {
        // What the installation needs of a pack says which.
        let (pack, need) = need.split_once('.').filter(|(first, _)| is_pack_prefix(first)).unwrap_or((pack, need));
        if let Some(plain) = self.plain_for_total(pack, need) {
            return self.find(pack, &plain);
        }
        let name = full_name(pack, need);
        if let Some(i) = self.channel(&name) {
            return Ok((i, name));
        }
        if let Some((place, quantity)) = need.rsplit_once('.')
            && let Some(neighbour) = neighbour(&self.plan.arrangement, place)
            && let other = channel_name(pack, neighbour, quantity)
            && let Some(i) = self.channel(&other)
        {
            return Ok((i, format!("{other} (stands for {name})")));
        }
        let found = DERIVED.iter().find_map(|d| Some((*d, derived::at(d, need)?)));
        match found {
            Some((derived, at)) => {
                self.derive(pack, derived, &at).map_err(|m| if m.is_empty() { vec![name] } else { m })
            }
            None => Err(vec![name]),
        }
    }

    /// A reading that nothing is to be corrected of stands for the total without a word.
    fn plain_for_total(&self, pack: &str, need: &str) -> Option<String> {
        let (place, quantity) = need.rsplit_once(".total_")?;
        let arrangement = &self.plan.arrangement;
        let facts = Facts { names: self.names, facts: self.facts, pack, arrangement };
        let is_static = matches!(facts.of(place, quantity), Fact::Static { .. });
        (!is_static).then(|| format!("{place}.{quantity}"))
    }

    fn channel(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| *n == name)
    }

    /// Plans a quantity where it is not planned yet: where it stands among the inputs and its name there, or what is
    /// missing for the way that lacks least; nothing where the arrangement has no such quantity.
    fn derive(&mut self, pack: &str, derived: &'static Derived, at: &str) -> Result<(usize, String), Vec<String>> {
        let own = derived.name.replace("<place>", at).replace("<id>", at);
        let name = full_name(pack, &own);
        if let Some(i) = self.plan.derived.iter().position(|d| d.name == name) {
            return Ok((self.names.len() + i, name));
        }
        if self.channel(&name).is_some() || self.underway.contains(&name) {
            return Err(Vec::new());
        }
        self.underway.push(name.clone());
        let arrangement = self.plan.arrangement.clone();
        let mut least: Option<Vec<String>> = None;
        let mut made = None;
        let facts = Facts { names: self.names, facts: self.facts, pack, arrangement: &arrangement };
        for way in (derived.ways)(&Site { arrangement: &arrangement, at, facts }) {
            match self.inputs(pack, &way) {
                Ok(inputs) => {
                    made = Some((way, inputs));
                    break;
                }
                Err(missing) if least.as_ref().is_none_or(|l| missing.len() < l.len()) => least = Some(missing),
                Err(_) => {}
            }
        }
        self.underway.pop();
        let Some((way, mut found)) = made else { return Err(least.unwrap_or_default()) };
        let Some(compute) = way.compute else {
            let (index, other) = found.pop().ok_or_else(Vec::new)?;
            let other = other.split_once(" (").map_or(other.as_str(), |(plain, _)| plain);
            return Ok((index, format!("{other} (stands for {name}: {})", way.formula)));
        };
        let (inputs, words): (Vec<usize>, Vec<String>) = found.into_iter().unzip();
        let provenance = provenance(&way, &words);
        let support = self.support(&inputs);
        let (name_here, constants) = (name.clone(), way.constants);
        let planned = PlannedDerived { derived, name: name_here, compute, inputs, constants, support, provenance };
        self.plan.derived.push(planned);
        Ok((self.names.len() + self.plan.derived.len() - 1, name))
    }

    fn inputs(&mut self, pack: &str, way: &Way) -> Result<Vec<(usize, String)>, Vec<String>> {
        let mut found = Vec::new();
        let mut missing = Vec::new();
        for need in &way.needs {
            match self.find(pack, need) {
                Ok(input) => found.push(input),
                Err(m) => missing.extend(m),
            }
        }
        missing.sort_unstable();
        missing.dedup();
        if missing.is_empty() && found.len() + way.constants.len() <= MAX_INPUTS { Ok(found) } else { Err(missing) }
    }

    fn support(&self, inputs: &[usize]) -> Vec<usize> {
        let mut channels: Vec<usize> = Vec::new();
        for input in inputs {
            match input.checked_sub(self.names.len()) {
                None => {
                    channels.push(*input);
                    channels.extend(self.plan.barometers[*input]);
                }
                Some(derived) => channels.extend(&self.plan.derived[derived].support),
            }
        }
        channels.sort_unstable();
        channels.dedup();
        channels
    }
}

fn provenance(way: &Way, inputs: &[String]) -> String {
    let from = if inputs.is_empty() { String::new() } else { format!("; from {}", inputs.join(", ")) };
    let assumes = if way.assumes.is_empty() { String::new() } else { format!("; taken for granted: {}", way.assumes) };
    format!("{}{from}{assumes}", way.formula)
}

/// The place that is the same point of the installation.
pub(crate) fn neighbour(arrangement: &Arrangement, place: &str) -> Option<&'static str> {
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

/// The name with the pack's prefix, where it is a pack's and has none yet.
pub(crate) fn full_name(pack: &str, name: &str) -> String {
    let has_prefix = name.split_once('.').is_some_and(|(first, _)| is_pack_prefix(first));
    if pack.is_empty() || has_prefix || is_common(name) { name.to_owned() } else { format!("{pack}.{name}") }
}

/// Whether this names something the installation has once: a quantity at such a place, or such a derived quantity.
fn is_common(name: &str) -> bool {
    let derived = DERIVED.iter().find(|d| d.name == name);
    match derived {
        Some(d) => matches!(d.scope, Scope::Common | Scope::Zone),
        None => PLACES.iter().any(|p| !p.per_pack && crate::place::is_at(p, name)),
    }
}
