//! Efficiency of the first turbine: three figures that must not be mixed.

use super::{Compute, Derived, Refusal, Scope, Way, formula, inputs};
use crate::Arrangement;
use thermo::machine::State;
use thermo::machine::turbine::{
    Reference, dry_efficiency, dry_referenced_efficiency, efficiency_interval, wet_efficiency,
};
use thermo::saturation::Condensate::Equilibrium;
use units::{Quantity, Real};

const NEEDS: [&str; 5] = [
    "turbine1_in.temperature",
    "turbine1_in.pressure",
    "turbine1_out.temperature",
    "turbine1_out.pressure",
    "turbine1_in.humidity_ratio",
];

pub(super) static TURBINE1_DRY_FORMULA_EFFICIENCY: Derived = Derived {
    name: "turbine1.dry_formula_efficiency",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "isentropic efficiency of the turbine from temperatures alone, the air taken for dry",
    validity: "not valid where the outlet is below its dew or frost point; no such figure without the humidity, which \
               alone can tell; outside 0 to 1 uncertain (order)",
    source: "definition",
    order: Some((0.0, 1.0)),
    ways: |_| vec![Way::new("(h1 - h2)/(h1 - h2s) of dry air, s(T2s, p2) = s(T1, p1)", NEEDS, formula!(dry))],
};

pub(super) static TURBINE1_WET_EFFICIENCY: Derived = Derived {
    name: "turbine1.wet_efficiency",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "isentropic efficiency of the turbine with condensation in both the actual and the ideal expansion",
    validity: "an interval where the outlet is at 0 degC within twice its uncertainty and water condenses: the share \
               of ice is unknown; outside 0 to 1 uncertain (order)",
    source: "definition; equilibrium condensate",
    order: Some((0.0, 1.0)),
    ways: |_| {
        let compute = Compute { interval: Some(|_, x, u| interval(Reference::Wet, x, u)), ..formula!(wet) };
        vec![Way::new("(h1 - h2)/(h1 - h2s) with condensate, s(T2s, p2, W) = s1", NEEDS, compute)]
    },
};

pub(super) static TURBINE1_DRY_REFERENCED_EFFICIENCY: Derived = Derived {
    name: "turbine1.dry_referenced_efficiency",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "actual enthalpy drop of the turbine, condensate included, over the isentropic drop of dry air",
    validity: "an interval where the outlet is at 0 degC within twice its uncertainty and water condenses; outside 0 \
               to 1 uncertain (order)",
    source: "definition (trade use, from memory)",
    order: Some((0.0, 1.0)),
    ways: |_| {
        let compute = Compute { interval: Some(|_, x, u| interval(Reference::Dry, x, u)), ..formula!(dry_referenced) };
        vec![Way::new("(h1 - h2 with condensate)/(h1 - h2s of dry air)", NEEDS, compute)]
    },
};

fn stations<R: Real>(x: &[R]) -> Result<(State<R>, State<R>, R), Refusal> {
    let [t1, p1, t2, p2, w] = inputs("turbine efficiency", x)?;
    Ok((State::new(t1, p1), State::new(t2, p2), w))
}

fn dry<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let (inlet, outlet, w) = stations(x)?;
    dry_efficiency(inlet, outlet, w)
}

fn wet<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let (inlet, outlet, w) = stations(x)?;
    wet_efficiency(inlet, outlet, w, Equilibrium)
}

fn dry_referenced<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let (inlet, outlet, w) = stations(x)?;
    dry_referenced_efficiency(inlet, outlet, w, Equilibrium)
}

/// Where the outlet is so near 0 °C that its share of ice is open.
fn interval(reference: Reference, x: &[f64], u: &[f64]) -> Result<Option<(f64, f64)>, Refusal> {
    let (inlet, outlet, w) = stations(x)?;
    let half_width = u.get(2).map_or(0.0, |u| (2.0 * u).min(5.0));
    let eta = efficiency_interval(inlet, outlet, w, reference, half_width)?;
    Ok((eta.high > eta.low).then_some((eta.low, eta.high)))
}
