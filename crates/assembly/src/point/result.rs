//! What was derived at a point.

use super::readings::{HandPoint, Readings};
use pack::{Evaluator, FirstOrder, PackPlan, Why, first_order};
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
    /// By limit, in the order of the limit file: its name, the outcome in a word and the whole in a sentence.
    pub verdicts: Vec<PointVerdict>,
}

/// What a limit says of a point.
#[derive(Debug)]
pub struct PointVerdict {
    /// The limit.
    pub limit: String,
    /// What it is held against.
    pub column: String,
    /// `meets`, `does not meet`, `not decidable`; `not judged` where there is no value or no known uncertainty.
    pub outcome: &'static str,
    /// With the numbers, or the reason.
    pub sentence: String,
    /// The probability that the true value conforms, where it is judged.
    pub conformance_probability: Option<f64>,
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

/// How the remark on a result begins whose channels state no uncertainty; their names follow.
pub const UNSTATED: &str = "no uncertainty: none is stated for ";

/// How many contributors are named.
const NAMED: usize = 3;

pub(super) fn outcomes(plan: &Arc<PackPlan>, readings: &Readings) -> Vec<Outcome> {
    let mut evaluator = Evaluator::new(Arc::clone(plan), 0);
    let mut beside = Evaluator::new(Arc::clone(plan), 0);
    let all = readings.points.iter().map(|p| {
        evaluator.evaluate(&p.readings, &p.uncertain);
        let linear = first_order(plan, &evaluator, &mut beside, &p.readings, &p.uncertain);
        let rows = linear.into_iter().enumerate().map(|(d, f)| row(plan, readings, p, &evaluator, f, d)).collect();
        Outcome { point: p.label.clone(), rows, verdicts: Vec::new() }
    });
    all.collect()
}

fn row(
    plan: &PackPlan,
    readings: &Readings,
    point: &HandPoint,
    evaluator: &Evaluator,
    linear: FirstOrder,
    derived: usize,
) -> PointRow {
    let planned = &plan.derived[derived];
    let reading = evaluator.readings()[plan.channels + derived];
    let u = evaluator.uncertainty(derived);
    let parts = evaluator.contributions(derived, &point.uncertain);
    let contributors =
        parts.iter().take(NAMED).map(|c| (readings.channels[c.channel].clone(), c.share)).collect::<Vec<_>>();
    let said = match evaluator.why(derived) {
        Some(why) => words(plan, readings, evaluator, why),
        None => match (reading.number(), u) {
            (Some(_), Some(_)) => beyond_first_order(readings, linear),
            (Some(_), None) => unstated(plan, readings, point, derived),
            _ => String::new(),
        },
    };
    let doubts = planned.support.iter().map(|c| point.doubts[*c].as_str()).filter(|d| !d.is_empty());
    let mut remarks: Vec<&str> = Vec::new();
    for remark in doubts.chain([said.as_str()]).filter(|r| !r.is_empty()) {
        if !remarks.contains(&remark) {
            remarks.push(remark);
        }
    }
    let remark = remarks.join("; ");
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
    format!("{UNSTATED}{}", names.join(", "))
}

fn beyond_first_order(readings: &Readings, found: FirstOrder) -> String {
    match found {
        FirstOrder::Enough => String::new(),
        FirstOrder::Ends(channel) => format!(
            "first order is not enough: the formula ends within two standard uncertainties of {}",
            readings.channels[channel]
        ),
        FirstOrder::Curves(share) => format!(
            "first order is not enough: the formula curves, or has a kink, by {:.0} % of its uncertainty",
            100.0 * share
        ),
    }
}
