//! Limits held against the readings and results of a point.

use super::readings::Readings;
use super::result::{Outcome, PointVerdict};
use crate::files::Files;
use crate::load::limit_list::{Known, Told, of_file};
use crate::problem::Problems;
use limits::{Limit, Specification};
use pack::PackPlan;
use std::path::Path;
use stream::{Column, Origin, Reading, SourceId};
use units::Quantity;

pub(super) fn limits(
    files: &Files,
    path: &Path,
    plan: &PackPlan,
    readings: &Readings,
    notes: &mut Vec<String>,
) -> Result<Vec<Limit>, Problems> {
    let channels = readings.channels.iter().zip(&readings.quantities);
    let measured = channels.map(|(name, q)| column(name, *q, Origin::Channel(SourceId(0))));
    let derived = plan.derived.iter().map(|d| column(&d.name, d.derived.quantity, Origin::Derived));
    let columns: Vec<Column> = measured.chain(derived).collect();
    let told = Told { names: Vec::new(), everything: false };
    let known = Known { told: &told, columns: &columns, channels: &readings.quantities, pack: plan };
    of_file(files, path, &known, notes)
}

fn column(name: &str, quantity: Quantity, origin: Origin) -> Column {
    let (unit, ucum) = (quantity.si_symbol().to_owned(), quantity.si_ucum().to_owned());
    let (provenance, about) = (String::new(), Vec::new());
    Column { name: name.to_owned(), unit, ucum, origin, provenance, with_uncertainty: false, about }
}

pub(super) fn judge(
    limits: &[Limit],
    plan: &PackPlan,
    readings: &Readings,
    outcomes: &mut [Outcome],
    notes: &mut Vec<String>,
) {
    for limit in limits {
        let spec = limit.spec();
        let at = usize::from(spec.column.0);
        let derived = at.checked_sub(plan.channels).and_then(|d| plan.derived.get(d)).map(|d| d.name.as_str());
        let name = derived.or_else(|| readings.channels.get(at).map(String::as_str)).unwrap_or_default();
        let Some(specification) = spec.specification(name) else {
            notes.push(format!("limit {} looks at a course of values: no single point can be judged by it", spec.name));
            continue;
        };
        for (outcome, point) in outcomes.iter_mut().zip(&readings.points) {
            let (reading, u) = match at.checked_sub(plan.channels) {
                None => (point.readings[at], point.uncertain[at].map(|u| u.u)),
                Some(d) => (outcome.rows[d].reading, outcome.rows[d].u),
            };
            outcome.verdicts.push(one(&spec.name, name, &specification, reading, u));
        }
    }
}

fn one(limit: &str, column: &str, specification: &Specification, reading: Reading, u: Option<f64>) -> PointVerdict {
    let not_judged = |sentence: String| PointVerdict {
        limit: limit.to_owned(),
        column: column.to_owned(),
        outcome: "not judged",
        sentence,
        conformance_probability: None,
    };
    let Some(value) = reading.number() else { return not_judged(format!("{column} has no value: not judged")) };
    if matches!(reading, Reading::Uncertain(..)) {
        return not_judged(format!("{column} is in doubt ({}): not judged", reading.reason().word()));
    }
    let Some(u) = u else { return not_judged(format!("{column} has no stated uncertainty: not judged")) };
    match limits::judge(specification, value, u, f64::INFINITY) {
        Ok(verdict) => PointVerdict {
            limit: limit.to_owned(),
            column: column.to_owned(),
            outcome: limits::specification::outcome_word(verdict.decision.outcome),
            sentence: verdict.to_string(),
            conformance_probability: Some(verdict.decision.conformance_probability),
        },
        Err(e) => not_judged(format!("{column} cannot be judged: {e}")),
    }
}
