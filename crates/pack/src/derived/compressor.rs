//! The compressor: efficiency, power, and its work against speed.

use super::{Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::machine::{State, compressor};
use thermo::speed_work::work_per_speed_squared;
use units::{Quantity, Real};

const VALIDITY: &str = "refused where the pressure does not rise; no such quantity without a compressor";
const STATIONS: [&str; 5] = [
    "compressor_in.total_temperature",
    "compressor_in.total_pressure",
    "compressor_out.total_temperature",
    "compressor_out.total_pressure",
    "compressor_in.humidity_ratio",
];
const DRY: &str = "dry air: no humidity is known";

pub(super) static EFFICIENCY: Derived = Derived {
    name: "compressor.isentropic_efficiency",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "isentropic over actual enthalpy rise of the compressor",
    validity: "refused where the pressure does not rise or the outlet is not the warmer; outside 0 to 1 uncertain \
               (order); no such quantity without a compressor",
    source: "definition, with variable heat capacity",
    order: Some((0.0, 1.0)),
    ways: |site| {
        with_humidity(
            site,
            "(h2s - h1)/(h2 - h1), s(T2s, p2) = s(T1, p1)",
            &[],
            formula!(efficiency),
            formula!(dry_efficiency),
        )
    },
};

pub(super) static POWER: Derived = Derived {
    name: "compressor.power",
    scope: Scope::Pack,
    quantity: Quantity::Power,
    summary: "power the compressor takes up, on the flow of dry air",
    validity: VALIDITY,
    source: "first law",
    order: None,
    ways: |site| {
        with_humidity(site, "m core/(1 + W) (h2 - h1)", &["acm.core_flow"], formula!(power), formula!(dry_power))
    },
};

pub(super) static WORK_PER_SPEED_SQUARED: Derived = Derived {
    name: "compressor.work_per_speed_squared",
    scope: Scope::Pack,
    quantity: Quantity::Area,
    summary: "enthalpy rise of the compressor over speed squared: the same for one geometry, so a wrong pulse \
              factor or a \
              swapped probe shows (J/kg per rad2/s2, which is m2)",
    validity: "refused where the speed is not above 0; no such quantity without a compressor",
    source: "Euler's turbine equation",
    order: None,
    ways: |site| with_humidity(site, "(h2 - h1)/N^2", &["acm.speed"], formula!(by_speed), formula!(dry_by_speed)),
};

fn with_humidity(
    site: &Site,
    text: &'static str,
    more: &[&str],
    humid: super::Compute,
    dry: super::Compute,
) -> Vec<Way> {
    if site.arrangement.architecture == Architecture::Simple {
        return vec![];
    }
    let needs = |stations: &[&str]| stations.iter().chain(more).map(|n| (*n).to_owned()).collect::<Vec<_>>();
    let way = |needs, compute| Way { formula: text, needs, constants: vec![], assumes: "", compute: Some(compute) };
    vec![way(needs(&STATIONS), humid), way(needs(&STATIONS[..4]), dry).assuming(DRY)]
}

fn stations<R: Real>(t1: R, p1: R, t2: R, p2: R) -> (State<R>, State<R>) {
    (State::new(t1, p1), State::new(t2, p2))
}

fn efficiency<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, w] = inputs("compressor efficiency", x)?;
    let (inlet, outlet) = stations(t1, p1, t2, p2);
    compressor::efficiency(inlet, outlet, w)
}

fn dry_efficiency<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2] = inputs("compressor efficiency", x)?;
    efficiency(a, &[t1, p1, t2, p2, R::of(0.0)])
}

fn power<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, w, flow] = inputs("compressor power", x)?;
    let (inlet, outlet) = stations(t1, p1, t2, p2);
    compressor::power(flow, inlet, outlet, w)
}

fn dry_power<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, flow] = inputs("compressor power", x)?;
    power(a, &[t1, p1, t2, p2, R::of(0.0), flow])
}

fn by_speed<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, w, speed] = inputs("work per speed squared", x)?;
    let (inlet, outlet) = stations(t1, p1, t2, p2);
    work_per_speed_squared(compressor::specific_work(inlet, outlet, w)?, speed)
}

fn dry_by_speed<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, speed] = inputs("work per speed squared", x)?;
    by_speed(a, &[t1, p1, t2, p2, R::of(0.0), speed])
}
