//! Temperature effectiveness of the secondary exchanger.

use super::{Derived, inputs, needs};
use thermo::exchanger::temperature_effectiveness;
use units::{Quantity, Ratio, Temperature};

const NAME: &str = "secondary.effectiveness";

pub(super) static SECONDARY_EFFECTIVENESS: Derived = Derived {
    name: NAME,
    quantity: Quantity::Ratio,
    summary: "how far the secondary exchanger cools the air towards the ram inlet",
    formula: "(T secondary_in - T secondary_out) / (T secondary_in - T ram_in)",
    validity: "refused where secondary_in is not at least 1 K above ram_in; outside 0 to 1 uncertain (order)",
    source: "definition as in Kays and London, Compact Heat Exchangers (from memory)",
    order: Some((0.0, 1.0)),
    needs: |_| needs([("secondary_in", "temperature"), ("secondary_out", "temperature"), ("ram_in", "temperature")]),
    compute: |readings| {
        let [hot_in, hot_out, cold_in] = inputs(NAME, readings)?.map(Temperature::from_si);
        temperature_effectiveness(hot_in, hot_out, cold_in).map(Ratio::si)
    },
};
