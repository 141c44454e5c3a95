//! The flow through the machine, and what becomes of it where water leaves.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Arrangement, WaterSeparation};
use thermo::{moisture, shaft};
use units::{Quantity, Real};

const NAME: &str = "core flow";
/// A bypass valve open by more than this share passes air that is not the machine's.
const SHUT: f64 = 0.02;

pub(super) static CORE_FLOW: Derived = Derived {
    name: "acm.core_flow",
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "moist air that goes through the machine: pack flow less what goes around it",
    validity: "refused where more goes around than enters, or where no bypass flow is measured and the bypass valve \
               stands open by more than 2 %",
    source: "conservation of mass",
    order: None,
    ways: |_| {
        let around = "m pack_in - m bypass - m anti_ice";
        vec![
            Way::new(around, ["pack_in.flow", "bypass.flow", "anti_ice.flow"], formula!(both)),
            Way::new("m pack_in - m bypass", ["pack_in.flow", "bypass.flow"], formula!(bypass))
                .assuming("no flow against ice"),
            Way::new("m pack_in", ["pack_in.flow", "valve.bypass.position"], formula!(valve_shut))
                .assuming("no flow against ice, none through the shut bypass valve"),
            Way::new("m pack_in", ["pack_in.flow"], formula!(all))
                .assuming("bypass and flow against ice taken for shut"),
        ]
    },
};

pub(super) static TURBINE_FLOW: Derived = Derived {
    name: "turbine1_in.flow",
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "moist air that goes through the turbines: what is drained before does not",
    validity: "as core flow, where no water is drained before the turbine or no humidity is known",
    source: "conservation of mass",
    order: None,
    ways: |site| match site.arrangement.separation {
        WaterSeparation::HighPressure => after_drain("acm.core_flow", "turbine1_in"),
        _ => vec![Way::same_as("no water is drained before it", "acm.core_flow".to_owned())],
    },
};

pub(super) static DISCHARGE_FLOW: Derived = Derived {
    name: "discharge.flow",
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "moist air that the pack discharges: what enters less what is drained",
    validity: "as pack flow, where no water is drained or no humidity is known; no leak",
    source: "conservation of mass",
    order: None,
    ways: |site| match site.arrangement.separation {
        WaterSeparation::None => vec![Way::same_as("no water is drained", "pack_in.flow".to_owned())],
        _ => after_drain("pack_in.flow", "discharge"),
    },
};

fn after_drain(flow: &str, place: &str) -> Vec<Way> {
    let humidity = format!("{place}.humidity_ratio");
    vec![
        Way::new("m (1 + W after)/(1 + W before)", [flow, "pack_in.humidity_ratio", &humidity], formula!(drained)),
        Way::same_as("no humidity is known: no water drained", flow.to_owned()),
    ]
}

fn drained<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [flow, before, after] = inputs("flow less drained water", x)?;
    moisture::flow_after(flow, before, after)
}

fn both<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [pack, bypass, anti_ice] = inputs(NAME, x)?;
    shaft::core_flow(pack, bypass, anti_ice)
}

fn bypass<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [pack, bypass] = inputs(NAME, x)?;
    shaft::core_flow(pack, bypass, R::of(0.0))
}

fn valve_shut<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [pack, position] = inputs(NAME, x)?;
    if position > SHUT {
        let valid = "at most 0.02: an open bypass passes air around the machine, and its flow is not measured";
        return Err(Refusal { formula: NAME, argument: "bypass position", value: position.value(), valid });
    }
    shaft::core_flow(pack, R::of(0.0), R::of(0.0))
}

fn all<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [pack] = inputs(NAME, x)?;
    shaft::core_flow(pack, R::of(0.0), R::of(0.0))
}
