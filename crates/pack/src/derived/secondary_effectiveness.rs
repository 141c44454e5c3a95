//! Temperature effectiveness of the secondary exchanger.

use super::primary_effectiveness::compute;
use super::{Derived, Scope, Way, formula};
use units::Quantity;

const FORMULA: &str = "(T secondary_in - T secondary_out) / (T secondary_in - T ram_in)";

pub(super) static SECONDARY_EFFECTIVENESS: Derived = Derived {
    name: "secondary.effectiveness",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "how far the secondary exchanger cools the air towards the ram inlet",
    validity: "refused where secondary_in is not at least 1 K above ram_in; outside 0 to 1 uncertain (order)",
    source: "definition as in Kays and London, Compact Heat Exchangers (from memory)",
    order: Some((0.0, 1.0)),
    ways: |_| {
        let needs = ["secondary_in.temperature", "secondary_out.temperature", "ram_in.temperature"];
        vec![Way::new(FORMULA, needs, formula!(compute))]
    },
};
