//! What was derived at a point.

use super::readings::{HandPoint, Readings};
use pack::{Evaluator, PackPlan, Uncertain, Why};
use std::sync::Arc;
use stream::Reading;
use units::Quantity;

/// Everything derived at one point.
#[derive(Debug)]
pub struct Outcome {
    /// The point's name.
    pub point: String,
    /// By derived quantity, in plan order.
    pub rows: Vec<PointRow>,
}

/// One derived quantity at one point.
#[derive(Debug)]
pub struct PointRow {
    /// Its name.
    pub name: String,
    /// What it measures.
    pub quantity: Quantity,
    /// Its value in SI with its quality.
    pub reading: Reading,
    /// Standard uncertainty in SI; `None` where it has no value or an input states none.
    pub u: Option<f64>,
    /// The channels that contribute most to the uncertainty: name and share of the variance.
    pub contributors: Vec<(String, f64)>,
    /// Why there is no value or no certain one, or what is to be said of its uncertainty; empty where nothing is.
    pub remark: String,
    /// Formula and inputs.
    pub provenance: String,
}

/// How many contributors are named.
const NAMED: usize = 3;
/// Terms of second order above this share of the standard uncertainty are worth a word.
const CURVED: f64 = 0.1;

pub(super) fn outcomes(plan: &Arc<PackPlan>, readings: &Readings) -> Vec<Outcome> {
    let mut evaluator = Evaluator::new(Arc::clone(plan), 0);
    let mut beside = Evaluator::new(Arc::clone(plan), 0);
    let all = readings.points.iter().map(|p| {
        evaluator.evaluate(&p.readings, &p.uncertain);
        let rows = (0..plan.derived.len()).map(|d| row(plan, readings, p, &evaluator, &mut beside, d)).collect();
        Outcome { point: p.label.clone(), rows }
    });
    all.collect()
}

fn row(
    plan: &PackPlan,
    readings: &Readings,
    point: &HandPoint,
    evaluator: &Evaluator,
    beside: &mut Evaluator,
    derived: usize,
) -> PointRow {
    let planned = &plan.derived[derived];
    let reading = evaluator.readings()[plan.channels + derived];
    let u = evaluator.uncertainty(derived);
    let parts = evaluator.contributions(derived, &point.uncertain);
    let contributors =
        parts.iter().take(NAMED).map(|c| (readings.channels[c.channel].clone(), c.share)).collect::<Vec<_>>();
    let remark = match evaluator.why(derived) {
        Some(why) => words(plan, readings, evaluator, why),
        None => match (reading.number(), u) {
            (Some(x), Some(u)) if u > 0.0 => curved(plan, readings, point, beside, derived, (x, u)),
            (Some(_), None) => unstated(plan, readings, point, derived),
            _ => String::new(),
        },
    };
    PointRow {
        name: planned.name.clone(),
        quantity: planned.derived.quantity,
        reading,
        u,
        contributors,
        remark,
        provenance: planned.provenance.clone(),
    }
}

/// Down to the channel or the formula that the trouble begins with.
fn words(plan: &PackPlan, readings: &Readings, evaluator: &Evaluator, why: Why) -> String {
    match why {
        Why::Refused(refusal) => format!("not valid: {refusal}"),
        Why::Between(low, high) => format!("between {low:.6} and {high:.6}: the inputs leave it open"),
        Why::Input(input) => match input.checked_sub(plan.channels) {
            None => format!("no reading of {}", readings.channels[input]),
            Some(d) => {
                let deeper = evaluator.why(d).map(|w| words(plan, readings, evaluator, w)).unwrap_or_default();
                format!("no {}: {deeper}", plan.derived[d].name)
            }
        },
    }
}

fn unstated(plan: &PackPlan, readings: &Readings, point: &HandPoint, derived: usize) -> String {
    let without = plan.derived[derived].support.iter().filter(|c| point.uncertain[**c].is_none());
    let names: Vec<&str> = without.map(|c| readings.channels[*c].as_str()).collect();
    format!("no uncertainty: none is stated for {}", names.join(", "))
}

/// Whether first order is enough: the formula at one standard uncertainty of each channel to either side.
fn curved(
    plan: &PackPlan,
    readings: &Readings,
    point: &HandPoint,
    beside: &mut Evaluator,
    derived: usize,
    (x, u): (f64, f64),
) -> String {
    let mut bend = 0.0;
    for channel in plan.derived[derived].support.iter().copied() {
        let (Some(here), Some(Uncertain { u: step, .. })) =
            (point.readings[channel].number(), point.uncertain[channel])
        else {
            continue;
        };
        let mut at = |to: f64| {
            let mut moved = point.readings.clone();
            moved[channel] = Reading::Good(to);
            let gauges = plan.barometers.iter().enumerate().filter(|(_, b)| **b == Some(channel));
            for (gauge, _) in gauges {
                moved[gauge] = point.readings[gauge].number().map_or(moved[gauge], |p| Reading::Good(p + to - here));
            }
            beside.evaluate(&moved, &[]);
            let there = beside.readings()[plan.channels + derived].number();
            there.filter(|_| !matches!(beside.why(derived), Some(Why::Between(..))))
        };
        match (at(here + step), at(here - step)) {
            (Some(up), Some(down)) => bend += (0.5 * (up + down) - x).abs(),
            _ => {
                return format!(
                    "first order is not enough: the formula ends, or has a kink, within one standard uncertainty of {}",
                    readings.channels[channel]
                );
            }
        }
    }
    if bend > CURVED * u {
        return format!(
            "first order is not enough: the formula curves by {:.0} % of its uncertainty",
            100.0 * bend / u
        );
    }
    String::new()
}
