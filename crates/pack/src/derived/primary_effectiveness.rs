//! Temperature effectiveness of the primary exchanger.

use super::{Derived, inputs, needs};
use crate::RamSide;
use thermo::exchanger::temperature_effectiveness;
use units::{Quantity, Ratio, Temperature};

const NAME: &str = "primary.effectiveness";

pub(super) static PRIMARY_EFFECTIVENESS: Derived = Derived {
    name: NAME,
    quantity: Quantity::Ratio,
    summary: "how far the primary exchanger cools the bleed air towards its own cold inlet",
    formula: "(T pack_in - T primary_out) / (T pack_in - T its own cold inlet)",
    validity: "cold inlet: secondary_ram_out with the ram side in series, ram_in in parallel; refused where pack_in is \
               not at least 1 K above it; outside 0 to 1 uncertain (order)",
    source: "definition as in Kays and London, Compact Heat Exchangers (from memory)",
    order: Some((0.0, 1.0)),
    needs: |arrangement| {
        let cold_in = match arrangement.ram {
            RamSide::SecondaryFirst => "secondary_ram_out",
            RamSide::Parallel => "ram_in",
        };
        needs([("pack_in", "temperature"), ("primary_out", "temperature"), (cold_in, "temperature")])
    },
    compute: |readings| {
        let [hot_in, hot_out, cold_in] = inputs(NAME, readings)?.map(Temperature::from_si);
        temperature_effectiveness(hot_in, hot_out, cold_in).map(Ratio::si)
    },
};
