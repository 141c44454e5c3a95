//! From the channels' readings to the derived quantities, with their uncertainties.

use crate::derived::{MAX_INPUTS, Refusal, Sensitive};
use crate::plan::{PackPlan, PlannedDerived};
use std::sync::Arc;
use stream::{Reading, Reason};
use units::{Dual, math};

/// The standard uncertainty of a channel's value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain {
    /// All of it, SI.
    pub u: f64,
    /// The part of it that has a cause in common with other channels, and which cause; negative where the cause moves
    /// this channel the other way.
    pub shared: Option<(u16, f64)>,
}

/// Why a derived quantity has no value or no certain one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// Its formula refuses the inputs.
    Refused(Refusal),
    /// An input has no number: its index, as in [`PlannedDerived::inputs`].
    Input(usize),
    /// The inputs leave it open between these two.
    Between(f64, f64),
}

/// One input's part in a result's uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// The channel.
    pub channel: usize,
    /// Sensitivity times standard uncertainty, with its sign, in the result's SI unit.
    pub u: f64,
    /// Share of the result's variance; all shares add up to 1. Negative where what is shared lessens the whole.
    pub share: f64,
}

/// Evaluates the derived quantities of a plan, snapshot by snapshot. Keeps nothing from one to the next but the room to
/// work in.
pub struct Evaluator {
    plan: Arc<PackPlan>,
    /// Channels, then derived quantities.
    readings: Vec<Reading>,
    /// Of the derived quantities.
    results: Vec<Derivation>,
    /// Per cause shared by channels: what moves the result in hand.
    causes: Vec<f64>,
}

#[derive(Clone, Debug, Default)]
struct Derivation {
    u: Option<f64>,
    why: Option<Why>,
    /// By the channels of its support, where its uncertainty is known.
    gradient: Vec<f64>,
    /// Variance of what the inputs leave open.
    open: f64,
    /// Per input of the formula: where the channels of its support stand in this one's.
    places: Vec<Vec<usize>>,
}

impl Evaluator {
    /// For a plan whose channels share up to `causes` causes of error (0 where none is shared).
    pub fn new(plan: Arc<PackPlan>, causes: usize) -> Evaluator {
        let results = plan.derived.iter().map(|d| Derivation::new(&plan, d)).collect();
        let readings = Vec::with_capacity(plan.channels + plan.derived.len());
        Evaluator { plan, readings, results, causes: vec![0.0; causes] }
    }

    /// One snapshot: the channels' readings and standard uncertainties (`None` where none is declared).
    pub fn evaluate(&mut self, readings: &[Reading], uncertain: &[Option<Uncertain>]) {
        self.readings.clear();
        self.readings.extend_from_slice(&readings[..readings.len().min(self.plan.channels)]);
        self.readings.resize(self.plan.channels, Reading::Missing(Reason::NotYet));
        let plan = Arc::clone(&self.plan);
        for (i, planned) in plan.derived.iter().enumerate() {
            let reading = self.one(&plan, i, planned, uncertain);
            self.readings.push(reading);
        }
    }

    /// The channels' readings as given, then those of the derived quantities in plan order.
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// Standard uncertainty of a derived quantity; `None` where it has no value, or an input has none declared.
    pub fn uncertainty(&self, derived: usize) -> Option<f64> {
        self.results.get(derived).and_then(|r| r.u)
    }

    /// Why a derived quantity has no value, or no certain one.
    pub fn why(&self, derived: usize) -> Option<Why> {
        self.results.get(derived).and_then(|r| r.why)
    }

    /// What each channel contributes to the uncertainty of a derived quantity, greatest share first; empty where the
    /// uncertainty is not known. For reports: allocates.
    pub fn contributions(&self, derived: usize, uncertain: &[Option<Uncertain>]) -> Vec<Contribution> {
        let (Some(planned), Some(result)) = (self.plan.derived.get(derived), self.results.get(derived)) else {
            return Vec::new();
        };
        let Some(variance) = result.u.map(|u| u * u).filter(|v| *v > 0.0) else { return Vec::new() };
        let parts = || planned.support.iter().zip(&result.gradient);
        let of = |channel: usize| uncertain.get(channel).copied().flatten();
        let mut all: Vec<Contribution> = parts()
            .filter_map(|(channel, slope)| {
                let own = of(*channel)?;
                let mut part = slope * own.u * slope * own.u;
                if let Some((cause, shared)) = own.shared {
                    let others = parts().filter(|(c, _)| *c != channel).filter_map(|(c, s)| match of(*c)?.shared {
                        Some((other, u)) if other == cause => Some(s * u),
                        _ => None,
                    });
                    part += slope * shared * others.sum::<f64>();
                }
                Some(Contribution { channel: *channel, u: slope * own.u, share: part / variance })
            })
            .collect();
        all.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()).then(a.channel.cmp(&b.channel)));
        all
    }

    fn one(
        &mut self,
        plan: &PackPlan,
        index: usize,
        planned: &PlannedDerived,
        uncertain: &[Option<Uncertain>],
    ) -> Reading {
        let (before, rest) = self.results.split_at_mut(index);
        let Some(result) = rest.first_mut() else { return Reading::Missing(Reason::InputMissing) };
        (result.u, result.why, result.open) = (None, None, 0.0);
        let count = planned.inputs.len().min(MAX_INPUTS);
        let mut x = [0.0; MAX_INPUTS];
        let mut doubtful = false;
        for (x, input) in x.iter_mut().zip(&planned.inputs) {
            let Some(number) = self.readings.get(*input).and_then(|r| r.number()) else {
                result.why = Some(Why::Input(*input));
                return Reading::Missing(Reason::InputMissing);
            };
            doubtful |= matches!(self.readings[*input], Reading::Uncertain(..));
            *x = number;
        }
        let count = with_constants(planned, &mut x, count);
        let known = planned.support.iter().all(|c| uncertain.get(*c).is_some_and(Option::is_some));
        let value = if known {
            sensitive(plan, planned, &x[..count], before, result)
        } else {
            (planned.compute.plain)(&plan.arrangement, &x[..count])
        };
        let value = match value {
            Ok(value) => value,
            Err(refusal) => {
                result.why = Some(Why::Refused(refusal));
                return Reading::Bad(Reason::NotValid);
            }
        };
        if !value.is_finite() {
            return Reading::Bad(Reason::NotValid);
        }
        if known {
            result.u = Some(combine(planned, result, uncertain, &mut self.causes)).filter(|u| u.is_finite());
        }
        if let Some(interval) = planned.compute.interval
            && let Some((low, high)) = between(interval, plan, planned, &x[..count], before, uncertain)
        {
            result.why = Some(Why::Between(low, high));
            let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
            result.open += half * half / 3.0;
            result.u = result.u.map(|u| math::sqrt(u * u + half * half / 3.0));
            return Reading::Uncertain(middle, Reason::NotValid);
        }
        match planned.derived.order {
            Some((low, high)) if value < low || value > high => Reading::Uncertain(value, Reason::Order),
            _ if doubtful => Reading::Uncertain(value, Reason::InputUncertain),
            _ => Reading::Good(value),
        }
    }
}

impl Derivation {
    fn new(plan: &PackPlan, planned: &PlannedDerived) -> Derivation {
        let at = |channel: &usize| planned.support.binary_search(channel).unwrap_or_default();
        let places = planned
            .inputs
            .iter()
            .map(|input| match input.checked_sub(plan.channels).and_then(|d| plan.derived.get(d)) {
                None => [Some(*input), plan.barometers[*input]].iter().flatten().map(at).collect(),
                Some(derived) => derived.support.iter().map(at).collect(),
            })
            .collect();
        Derivation { gradient: vec![0.0; planned.support.len()], places, ..Derivation::default() }
    }
}

/// Puts the constants after the inputs: how many numbers there are in all.
fn with_constants(planned: &PlannedDerived, x: &mut [f64; MAX_INPUTS], inputs: usize) -> usize {
    let rest = x.get_mut(inputs..).unwrap_or_default();
    for (x, constant) in rest.iter_mut().zip(&planned.constants) {
        *x = *constant;
    }
    (inputs + planned.constants.len()).min(MAX_INPUTS)
}

/// The value, and its gradient by the channels of its support: the formula's own by its inputs, times theirs.
fn sensitive(
    plan: &PackPlan,
    planned: &PlannedDerived,
    x: &[f64],
    before: &[Derivation],
    result: &mut Derivation,
) -> Result<f64, Refusal> {
    let mut inputs = [Sensitive::constant(0.0); MAX_INPUTS];
    for (i, (input, x)) in inputs.iter_mut().zip(x).enumerate() {
        *input = Dual::variable(*x, i);
    }
    let value = (planned.compute.sensitive)(&plan.arrangement, &inputs[..x.len()])?;
    result.gradient.fill(0.0);
    for ((input, places), slope) in planned.inputs.iter().zip(&result.places).zip(value.partials) {
        match input.checked_sub(plan.channels).and_then(|d| before.get(d)) {
            None => places.iter().for_each(|p| result.gradient[*p] += slope),
            Some(derived) => {
                for (p, g) in places.iter().zip(&derived.gradient) {
                    result.gradient[*p] += slope * g;
                }
                result.open += slope * slope * derived.open;
            }
        }
    }
    Ok(value.value)
}

/// Combined standard uncertainty: what each channel has for itself, each shared cause once, and what was left open.
fn combine(planned: &PlannedDerived, result: &Derivation, uncertain: &[Option<Uncertain>], causes: &mut [f64]) -> f64 {
    causes.fill(0.0);
    let mut variance = result.open;
    for (channel, slope) in planned.support.iter().zip(&result.gradient) {
        let Some(Uncertain { u, shared }) = uncertain.get(*channel).copied().flatten() else { continue };
        let mut own = u * u;
        if let Some((cause, part)) = shared
            && let Some(moved) = causes.get_mut(usize::from(cause))
        {
            *moved += slope * part;
            own = (own - part * part).max(0.0);
        }
        variance += slope * slope * own;
    }
    for moved in causes.iter() {
        variance += moved * moved;
    }
    math::sqrt(variance)
}

fn between(
    interval: crate::derived::Interval,
    plan: &PackPlan,
    planned: &PlannedDerived,
    x: &[f64],
    before: &[Derivation],
    uncertain: &[Option<Uncertain>],
) -> Option<(f64, f64)> {
    let mut u = [0.0; MAX_INPUTS];
    for (u, input) in u.iter_mut().zip(&planned.inputs) {
        *u = match input.checked_sub(plan.channels) {
            None => uncertain.get(*input).copied().flatten().map_or(0.0, |c| c.u),
            Some(derived) => before.get(derived).and_then(|d| d.u).unwrap_or(0.0),
        };
    }
    interval(&plan.arrangement, x, &u[..x.len()])
        .ok()
        .flatten()
        .filter(|(low, high)| low.is_finite() && high.is_finite())
}
