//! Corrected flow at the pack's inlet.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::Arrangement;
use thermo::corrected::humid_flow;
use units::{Quantity, Real};

const NAME: &str = "pack_in.corrected_flow";
const FORMULA: &str = "W·sqrt(theta)/delta, theta = T pack_in R/(288.15 K R_dry), delta = p pack_in / 101 325 Pa";

pub(super) static CORRECTED_FLOW: Derived = Derived {
    name: NAME,
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "pack flow referred to 288.15 K and 101 325 Pa at the pack's inlet",
    validity: "refused where T or p is not above absolute zero; taken for dry air where no humidity is known",
    source: "common practice for turbomachines; reference state of ISO 2533",
    order: None,
    ways: |_| {
        let [flow, t, p] = ["pack_in.flow", "pack_in.temperature", "pack_in.pressure"];
        let humid = Way::new(FORMULA, [flow, t, p, "pack_in.humidity_ratio"], formula!(humid));
        vec![humid, Way::new(FORMULA, [flow, t, p], formula!(dry)).assuming("dry air")]
    },
};

fn humid<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [flow, t, p, w] = inputs(NAME, x)?;
    humid_flow(flow, t, p, w)
}

fn dry<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [flow, t, p] = inputs(NAME, x)?;
    humid_flow(flow, t, p, R::of(0.0))
}
