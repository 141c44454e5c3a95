//! Readings against the order along the air's way, snapshot by snapshot once the unit has run in.

use crate::events::{self, Told};
use crate::plan::Plan;
use pack::OrderedPair;
use pack::order::RUN_IN;
use stream::{Batch, EventTime, Reading, Reason};

/// What is remembered from snapshot to snapshot: what was told of each pair.
#[derive(Debug)]
pub(crate) struct Order {
    told: Vec<Told>,
    /// Since when each pack has run.
    since: Vec<Option<EventTime>>,
    doubtful: Vec<usize>,
}

impl Order {
    pub(crate) fn new(plan: &Plan) -> Order {
        let pairs = plan.orders.iter().map(|o| o.pairs.len()).sum();
        Order { told: vec![Told::GOOD; pairs], since: vec![None; plan.orders.len()], doubtful: Vec::new() }
    }

    /// Marks both channels of every pair that stands against the order of a unit that has run in: uncertain (order).
    /// One event a pair where it begins and one where it ends. Only good readings are judged: others are in doubt
    /// already.
    pub(crate) fn judge(&mut self, plan: &Plan, readings: &mut [Reading], g: EventTime, ordinal: u64, out: &mut Batch) {
        self.doubtful.clear();
        let mut told = self.told.iter_mut();
        for (order, since) in plan.orders.iter().zip(&mut self.since) {
            *since = if order.running.is(readings) { since.or(Some(g)) } else { None };
            let warm = since.is_some_and(|s| g - s >= RUN_IN);
            for (pair, told) in order.pairs.iter().zip(&mut told) {
                let against = if warm { against(plan, pair, readings) } else { None };
                if against.is_some() {
                    self.doubtful.extend([pair.higher, pair.lower]);
                }
                if against.is_some() || !told.is_good() {
                    events::order(told, plan, pair, against, g, ordinal, out);
                }
            }
        }
        for i in &self.doubtful {
            if let Reading::Good(x) = readings[*i] {
                readings[*i] = Reading::Uncertain(x, Reason::Order);
            }
        }
    }
}

/// The two numbers, where they are further against the order than the pair's margin and three standard uncertainties
/// of their difference.
fn against(plan: &Plan, pair: &OrderedPair, readings: &[Reading]) -> Option<(f64, f64)> {
    let (Reading::Good(high), Reading::Good(low)) = (readings[pair.higher], readings[pair.lower]) else { return None };
    let by = low - high;
    if by <= pair.margin {
        return None;
    }
    let u = |i: usize, x: f64| plan.channels[i].channel.standard_uncertainty(x).unwrap_or(0.0);
    let (u1, u2) = (u(pair.higher, high), u(pair.lower, low));
    (by * by > 9.0 * (u1 * u1 + u2 * u2)).then_some((high, low))
}
