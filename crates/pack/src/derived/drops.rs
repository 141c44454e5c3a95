//! Pressure drops of the exchangers' sides, corrected to the density of the standard's sea level.

use super::{Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::{Architecture, Arrangement, RamSide, WaterSeparation};
use thermo::humid_air::properties::density;
use thermo::pressure_drop::corrected_pressure_drop;
use units::{Quantity, Real};

/// Which side of which exchanger; its places where the arrangement has it.
type Side = fn(&Site) -> Option<[&'static str; 2]>;

const fn drop(name: &'static str, summary: &'static str, ways: fn(&Site) -> Vec<Way>) -> Derived {
    let validity = "to be held against the actual mass flow, never a corrected one; both pressures at the place \
                    itself; \
                    drops in the air count as vapour, which makes the density up to 1 % too low";
    let source = "mean of inlet and outlet density as in Kays and London, Compact Heat Exchangers (from memory)";
    Derived {
        name,
        scope: Scope::Pack,
        quantity: Quantity::PressureDifference,
        summary,
        validity,
        source,
        order: None,
        ways,
    }
}

pub(super) static ALL: [Derived; 7] = [
    drop("primary.corrected_pressure_drop", "corrected pressure drop of the primary's hot side", |site| {
        ways(site, |_| Some(["pack_in", "primary_out"]))
    }),
    drop("secondary.corrected_pressure_drop", "corrected pressure drop of the secondary's hot side", |site| {
        ways(site, |s| machine(s).then_some(["secondary_in", "secondary_out"]))
    }),
    drop("reheater.corrected_pressure_drop", "corrected pressure drop of the reheater's hot side", |site| {
        ways(site, |s| condensing(s).then_some(["secondary_out", "reheater_hot_out"]))
    }),
    drop("condenser.corrected_pressure_drop", "corrected pressure drop of the condenser's hot side", |site| {
        ways(site, |s| condensing(s).then_some(["reheater_hot_out", "condenser_hot_out"]))
    }),
    drop(
        "condenser.cold_corrected_pressure_drop",
        "corrected pressure drop of the condenser's cold side: ice",
        |site| ways(site, |s| condensing(s).then_some(["condenser_cold_in", "condenser_cold_out"])),
    ),
    drop("secondary.ram_corrected_pressure_drop", "corrected pressure drop of the secondary's ram side", |site| {
        ways(site, |_| Some(["ram_in", "secondary_ram_out"]))
    }),
    drop("primary.ram_corrected_pressure_drop", "corrected pressure drop of the primary's ram side", |site| {
        ways(site, |s| match s.arrangement.ram {
            RamSide::SecondaryFirst => Some(["secondary_ram_out", "primary_ram_out"]),
            RamSide::Parallel => Some(["ram_in", "primary_ram_out"]),
        })
    }),
];

fn machine(site: &Site) -> bool {
    site.arrangement.architecture != Architecture::Simple
}

fn condensing(site: &Site) -> bool {
    site.arrangement.separation == WaterSeparation::HighPressure
}

fn ways(site: &Site, side: Side) -> Vec<Way> {
    let Some([inlet, outlet]) = side(site) else { return vec![] };
    let at = |place: &str, quantity: &str| format!("{place}.{quantity}");
    let needs = [
        at(inlet, "pressure"),
        at(outlet, "pressure"),
        at(inlet, "temperature"),
        at(outlet, "temperature"),
        at(inlet, "humidity_ratio"),
    ];
    let [p1, p2, t1, t2, w] = &needs;
    let text = "(p in - p out) (rho in + rho out)/(2 x 1.225 kg/m3)";
    vec![
        Way::new(text, [p1, p2, t1, t2, w], formula!(humid)),
        Way::new(text, [p1, p2, t1, t2], formula!(dry)).assuming("dry air: no humidity is known"),
    ]
}

fn humid<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [p1, p2, t1, t2, w] = inputs("corrected pressure drop", x)?;
    corrected_pressure_drop(p1 - p2, density(t1, p1, w)?, density(t2, p2, w)?)
}

fn dry<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [p1, p2, t1, t2] = inputs("corrected pressure drop", x)?;
    humid(a, &[p1, p2, t1, t2, R::of(0.0)])
}
