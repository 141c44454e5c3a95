//! Corrected flow at the pack's inlet.

use super::{Derived, inputs, needs};
use thermo::corrected;
use units::{AbsolutePressure, MassFlow, Quantity, Temperature};

const NAME: &str = "pack_in.corrected_flow";

pub(super) static CORRECTED_FLOW: Derived = Derived {
    name: NAME,
    quantity: Quantity::MassFlow,
    summary: "pack flow referred to 288.15 K and 101 325 Pa at the pack's inlet",
    formula: "W·sqrt(theta)/delta, theta = T pack_in / 288.15 K, delta = p pack_in / 101 325 Pa",
    validity: "refused where T or p is not above absolute zero; dry air",
    source: "common practice for turbomachines; reference state of ISO 2533",
    order: None,
    needs: |_| needs([("pack_in", "flow"), ("pack_in", "temperature"), ("pack_in", "pressure")]),
    compute: |readings| {
        let [flow, t, p] = inputs(NAME, readings)?;
        corrected::corrected_flow(MassFlow::from_si(flow), Temperature::from_si(t), AbsolutePressure::from_si(p))
            .map(MassFlow::si)
    },
};
