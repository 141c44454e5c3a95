//! Whether first-order propagation says enough of a result's uncertainty.

use crate::evaluate::{Evaluator, Uncertain, Why};
use crate::plan::PackPlan;
use stream::Reading;

/// What first order leaves out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FirstOrder {
    /// Nothing worth a word.
    Enough,
    /// The formula curves: terms of second order over the standard uncertainty.
    Curves(f64),
    /// The formula ends within twice the standard uncertainty of this channel.
    Ends(usize),
}

/// So many standard uncertainties to either side of each channel.
const REACH: f64 = 2.0;
/// Terms of second order above this share of the standard uncertainty are worth a word.
const CURVED: f64 = 0.05;

/// For every derived quantity whether first order is enough at these readings: each channel is moved by twice its
/// standard uncertainty to either side, then all together the way that moves the result most. `evaluator` has evaluated
/// the readings; `beside` is of the same plan. Evaluates many times: for reports, not for every snapshot.
pub fn first_order(
    plan: &PackPlan,
    evaluator: &Evaluator,
    beside: &mut Evaluator,
    readings: &[Reading],
    uncertain: &[Option<Uncertain>],
) -> Vec<FirstOrder> {
    let here = |d: usize| evaluator.readings()[plan.channels + d].number();
    let mut bends = vec![0.0; plan.derived.len()];
    let mut ends: Vec<Option<usize>> = vec![None; plan.derived.len()];
    let known = |c: &usize| uncertain.get(*c).copied().flatten().filter(|u| u.u > 0.0).map(|u| (*c, u.u));
    for (channel, u) in (0..plan.channels).filter_map(|c| known(&c)) {
        let mut at = |by: f64| {
            moved(plan, beside, readings, &[(channel, by)]);
            (0..plan.derived.len()).map(|d| number(plan, beside, d)).collect::<Vec<_>>()
        };
        let (up, down) = (at(REACH * u), at(-REACH * u));
        for (d, planned) in plan.derived.iter().enumerate() {
            let Some(x) = here(d).filter(|_| planned.support.binary_search(&channel).is_ok()) else { continue };
            match (up[d], down[d]) {
                (Some(up), Some(down)) => bends[d] += bend(x, up, down),
                _ => ends[d] = ends[d].or(Some(channel)),
            }
        }
    }
    let mut judge = |d: usize| {
        let (Some(x), Some(u)) = (here(d), evaluator.uncertainty(d)) else { return FirstOrder::Enough };
        if let Some(channel) = ends[d] {
            return FirstOrder::Ends(channel);
        }
        let parts = evaluator.contributions(d, uncertain);
        let mut along = |side: f64| {
            let step = |channel: usize, part: f64| Some((channel, side * REACH * known(&channel)?.1 * part / u));
            let steps: Vec<(usize, f64)> = parts.iter().filter_map(|c| step(c.channel, c.u)).collect();
            moved(plan, beside, readings, &steps);
            number(plan, beside, d)
        };
        let share = match (along(1.0), along(-1.0), parts.first()) {
            (Some(up), Some(down), _) => bend(x, up, down).max(bends[d]) / u,
            (_, _, Some(most)) => return FirstOrder::Ends(most.channel),
            (_, _, None) => 0.0,
        };
        if share > CURVED { FirstOrder::Curves(share) } else { FirstOrder::Enough }
    };
    (0..plan.derived.len()).map(&mut judge).collect()
}

/// The term of second order at one standard uncertainty, from the values at [`REACH`] of them to either side.
fn bend(x: f64, up: f64, down: f64) -> f64 {
    (0.5 * (up + down) - x).abs() / (REACH * REACH)
}

/// Evaluates with channels moved by so much, and with a barometer the gauge pressures it is added to.
fn moved(plan: &PackPlan, beside: &mut Evaluator, readings: &[Reading], steps: &[(usize, f64)]) {
    let mut all = readings.to_vec();
    let mut shift = |channel: usize, by: f64| {
        if let Some(x) = all.get(channel).and_then(|r| r.number()) {
            all[channel] = Reading::Good(x + by);
        }
    };
    for (channel, by) in steps {
        shift(*channel, *by);
        let gauges = plan.barometers.iter().enumerate().filter(|(_, b)| **b == Some(*channel));
        gauges.for_each(|(gauge, _)| shift(gauge, *by));
    }
    beside.evaluate(&all, &[]);
}

/// None where there is no number or the inputs leave it open.
fn number(plan: &PackPlan, beside: &Evaluator, derived: usize) -> Option<f64> {
    let open = matches!(beside.why(derived), Some(Why::Between(..)));
    beside.readings()[plan.channels + derived].number().filter(|_| !open)
}
