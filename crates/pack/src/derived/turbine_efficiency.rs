//! Efficiency of the turbines: three figures that must not be mixed.

use super::{Compute, Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::machine::State;
use thermo::machine::turbine::{
    Reference, dry_efficiency, dry_referenced_efficiency, efficiency_interval, wet_efficiency,
};
use thermo::saturation::Condensate::Equilibrium;
use units::{Quantity, Real};

const fn efficiency(
    name: &'static str,
    summary: &'static str,
    validity: &'static str,
    ways: fn(&Site) -> Vec<Way>,
) -> Derived {
    let (scope, quantity, order) = (Scope::Pack, Quantity::Ratio, Some((0.0, 1.0)));
    Derived { name, scope, quantity, summary, validity, source: "definition; equilibrium condensate", order, ways }
}

const DRY_SUMMARY: &str = "isentropic efficiency of the turbine from temperatures alone, the air taken for dry";
const DRY_VALIDITY: &str = "not valid where the outlet is below its dew or frost point; no such figure without the \
                            humidity, which alone can tell; outside 0 to 1 uncertain (order)";
const WET_SUMMARY: &str =
    "isentropic efficiency of the turbine with condensation in both the actual and the ideal expansion";
const DRY_REFERENCED_SUMMARY: &str = "actual enthalpy drop of the turbine, condensate included, over the isentropic \
                                      drop \
                                      of dry air (trade use, from memory)";
const ICE_VALIDITY: &str = "an interval where the outlet is at 0 degC within twice its uncertainty and water \
                            condenses: \
                            the share of ice is unknown; outside 0 to 1 uncertain (order)";

pub(super) static TURBINE1_DRY_FORMULA_EFFICIENCY: Derived =
    efficiency("turbine1.dry_formula_efficiency", DRY_SUMMARY, DRY_VALIDITY, |_| dry_ways("turbine1"));
pub(super) static TURBINE1_WET_EFFICIENCY: Derived =
    efficiency("turbine1.wet_efficiency", WET_SUMMARY, ICE_VALIDITY, |_| wet_ways("turbine1"));
pub(super) static TURBINE1_DRY_REFERENCED_EFFICIENCY: Derived =
    efficiency("turbine1.dry_referenced_efficiency", DRY_REFERENCED_SUMMARY, ICE_VALIDITY, |_| {
        dry_referenced_ways("turbine1")
    });
pub(super) static TURBINE2_DRY_FORMULA_EFFICIENCY: Derived =
    efficiency("turbine2.dry_formula_efficiency", DRY_SUMMARY, DRY_VALIDITY, |site| second(site, dry_ways));
pub(super) static TURBINE2_WET_EFFICIENCY: Derived =
    efficiency("turbine2.wet_efficiency", WET_SUMMARY, ICE_VALIDITY, |site| second(site, wet_ways));
pub(super) static TURBINE2_DRY_REFERENCED_EFFICIENCY: Derived =
    efficiency("turbine2.dry_referenced_efficiency", DRY_REFERENCED_SUMMARY, ICE_VALIDITY, |site| {
        second(site, dry_referenced_ways)
    });

/// The second turbine, where there is one.
fn second(site: &Site, ways: fn(&str) -> Vec<Way>) -> Vec<Way> {
    if site.arrangement.architecture == Architecture::FourWheel { ways("turbine2") } else { vec![] }
}

fn way(text: &'static str, turbine: &str, compute: Compute) -> Vec<Way> {
    let at = |place: &str, quantity: &str| format!("{turbine}_{place}.{quantity}");
    let needs = vec![
        at("in", "total_temperature"),
        at("in", "total_pressure"),
        at("out", "total_temperature"),
        at("out", "total_pressure"),
        at("in", "humidity_ratio"),
    ];
    vec![Way { formula: text, needs, constants: vec![], assumes: "", compute: Some(compute) }]
}

fn dry_ways(turbine: &str) -> Vec<Way> {
    way("(h1 - h2)/(h1 - h2s) of dry air, s(T2s, p2) = s(T1, p1)", turbine, formula!(dry))
}

fn wet_ways(turbine: &str) -> Vec<Way> {
    let compute = Compute { interval: Some(|_, x, u| interval(Reference::Wet, x, u)), ..formula!(wet) };
    way("(h1 - h2)/(h1 - h2s) with condensate, s(T2s, p2, W) = s1", turbine, compute)
}

fn dry_referenced_ways(turbine: &str) -> Vec<Way> {
    let compute = Compute { interval: Some(|_, x, u| interval(Reference::Dry, x, u)), ..formula!(dry_referenced) };
    way("(h1 - h2 with condensate)/(h1 - h2s of dry air)", turbine, compute)
}

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
