//! Temperature effectiveness of the primary exchanger.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Arrangement, RamSide};
use thermo::exchanger::hot_side_effectiveness;
use units::{Quantity, Real};

const NAME: &str = "primary.effectiveness";
const FORMULA: &str = "(T pack_in - T primary_out) / (T pack_in - T its own cold inlet)";

pub(super) static PRIMARY_EFFECTIVENESS: Derived = Derived {
    name: NAME,
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "how far the primary exchanger cools the bleed air towards its own cold inlet",
    validity: "cold inlet: secondary_ram_out with the ram side in series, ram_in in parallel; refused where pack_in is \
               not at least 1 K above it; outside 0 to 1 uncertain (order)",
    source: "definition as in Kays and London, Compact Heat Exchangers (from memory)",
    order: Some((0.0, 1.0)),
    ways: |site| {
        let cold_in = match site.arrangement.ram {
            RamSide::SecondaryFirst => "secondary_ram_out.temperature",
            RamSide::Parallel => "ram_in.temperature",
        };
        vec![Way::new(FORMULA, ["pack_in.temperature", "primary_out.temperature", cold_in], formula!(compute))]
    },
};

pub(super) fn compute<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [hot_in, hot_out, cold_in] = inputs("temperature effectiveness", x)?;
    hot_side_effectiveness(hot_in, hot_out, cold_in)
}
