//! Heat, heat balance, effectiveness and conductance of the four exchangers.

use super::{Compute, Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::{Architecture, Arrangement, ExchangerFlow, RamSide, WaterSeparation};
use thermo::exchanger::duty::{Rating, heat_balance, rating};
use thermo::exchanger::stations::{Side, flow_from_heat, side};
use thermo::saturation::Condensate::Equilibrium;
use thermo::stream::{Air, Stream};
use units::{Quantity, Real};

const SOURCE: &str = "effectiveness-NTU method; Kays and London, Compact Heat Exchangers (from memory)";

/// Which exchanger, where its air comes in and goes out, and which flow is on each side.
struct Core {
    name: &'static str,
    hot: [&'static str; 2],
    cold: [&'static str; 2],
    hot_flow: &'static str,
    /// Measured flow of the cold side; for the ram side.
    cold_flow: &'static str,
}

fn core(name: &str, arrangement: &Arrangement) -> Option<Core> {
    let ram = "ram_in.flow";
    let machine = "acm.core_flow";
    let drained = "turbine1_in.flow";
    let condensing = arrangement.separation == WaterSeparation::HighPressure;
    match name {
        "primary" => {
            let cold_in = if arrangement.ram == RamSide::Parallel { "ram_in" } else { "secondary_ram_out" };
            let (hot, cold) = (["pack_in", "primary_out"], [cold_in, "primary_ram_out"]);
            Some(Core { name: "primary", hot, cold, hot_flow: "pack_in.flow", cold_flow: ram })
        }
        "secondary" => {
            let (hot, cold) = (["secondary_in", "secondary_out"], ["ram_in", "secondary_ram_out"]);
            Some(Core { name: "secondary", hot, cold, hot_flow: machine, cold_flow: ram })
        }
        "reheater" if condensing => {
            let (hot, cold) = (["secondary_out", "reheater_hot_out"], ["extractor_out", "turbine1_in"]);
            Some(Core { name: "reheater", hot, cold, hot_flow: machine, cold_flow: drained })
        }
        "condenser" if condensing => {
            let (hot, cold) = (["reheater_hot_out", "condenser_hot_out"], ["condenser_cold_in", "condenser_cold_out"]);
            Some(Core { name: "condenser", hot, cold, hot_flow: machine, cold_flow: drained })
        }
        _ => None,
    }
}

/// On the ram side of a parallel arrangement the measured flow is shared: which share goes where is not known.
fn cold_flow_is_known(core: &Core, arrangement: &Arrangement) -> bool {
    core.cold_flow != "ram_in.flow" || arrangement.ram == RamSide::SecondaryFirst
}

fn side_needs(places: [&str; 2], flow: &str) -> Vec<String> {
    vec![
        format!("{}.temperature", places[0]),
        format!("{}.temperature", places[1]),
        format!("{}.property_pressure", places[0]),
        format!("{}.humidity_ratio", places[0]),
        flow.to_owned(),
    ]
}

fn way(formula: &'static str, needs: Vec<String>, compute: Compute) -> Way {
    Way { formula, needs, constants: vec![], assumes: "", compute: Some(compute) }
}

/// A side's figure, with the humidity and else for dry air.
fn side_ways(text: &'static str, places: [&str; 2], flow: &str, humid: Compute, dry: Compute) -> Vec<Way> {
    let needs = side_needs(places, flow);
    let without: Vec<String> = needs.iter().filter(|n| !n.ends_with("humidity_ratio")).cloned().collect();
    vec![way(text, needs, humid), way(text, without, dry).assuming("dry air: no humidity is known")]
}

fn heat_ways(name: &str, site: &Site) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement) else { return vec![] };
    side_ways(
        "m hot/(1 + W) (h in - h out), condensate included",
        c.hot,
        c.hot_flow,
        formula!(heat),
        formula!(dry_heat),
    )
}

fn cold_heat_ways(name: &str, site: &Site) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement).filter(|c| cold_flow_is_known(c, site.arrangement)) else {
        return vec![];
    };
    side_ways("m cold/(1 + W) (h out - h in)", c.cold, c.cold_flow, formula!(heat), formula!(dry_heat))
}

fn balance_ways(name: &str, site: &Site) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement) else { return vec![] };
    let needs = vec![format!("{}.heat", c.name), format!("{}.cold_heat", c.name)];
    vec![way("(q hot - q cold)/q hot", needs, formula!(balance))]
}

fn hot_capacity_ways(name: &str, site: &Site) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement) else { return vec![] };
    let text = "q hot/(T in - T out): with condensation more than flow times heat capacity";
    side_ways(text, c.hot, c.hot_flow, formula!(capacity), formula!(dry_capacity))
}

fn cold_capacity_ways(name: &str, site: &Site) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement) else { return vec![] };
    let mut ways = Vec::new();
    if cold_flow_is_known(&c, site.arrangement) {
        ways = side_ways("q cold/(T out - T in)", c.cold, c.cold_flow, formula!(capacity), formula!(dry_capacity));
    }
    let needs =
        vec![format!("{}.heat", c.name), format!("{}.temperature", c.cold[0]), format!("{}.temperature", c.cold[1])];
    let found = way("q hot/(T cold out - T cold in)", needs, formula!(capacity_from_heat));
    ways.push(found.assuming("both sides exchange the same heat: the cold flow is not measured"));
    ways
}

fn rating_ways(name: &str, site: &Site, compute: Compute) -> Vec<Way> {
    let Some(c) = core(name, site.arrangement) else { return vec![] };
    if flow_of(site.arrangement, c.name).is_none() {
        return vec![];
    }
    let needs = vec![
        format!("{}.heat", c.name),
        format!("{}.hot_capacity_flow", c.name),
        format!("{}.cold_capacity_flow", c.name),
        format!("{}.temperature", c.hot[0]),
        format!("{}.temperature", c.cold[0]),
    ];
    vec![way("q/(C min (T hot in - T cold in)), NTU of the flow arrangement, UA = NTU C min", needs, compute)]
}

fn flow_of(arrangement: &Arrangement, name: &str) -> Option<ExchangerFlow> {
    let p = &arrangement.parameters;
    match name {
        "primary" => p.primary,
        "secondary" => p.secondary,
        "reheater" => p.reheater,
        _ => p.condenser,
    }
}

fn air<R: Real>(temperature: R, pressure: R, humidity_ratio: R) -> Air<R> {
    Air { temperature, pressure, humidity_ratio }
}

fn one_side<R: Real>(x: &[R]) -> Result<(Side<R>, R), Refusal> {
    let [t_in, t_out, p, w, flow] = inputs("exchanger side", x)?;
    Ok((side(Stream { flow, air: air(t_in, p, w) }, air(t_out, p, w), Equilibrium)?, t_in - t_out))
}

fn dry<R: Real>(x: &[R]) -> Result<[R; 5], Refusal> {
    let [t_in, t_out, p, flow] = inputs("exchanger side", x)?;
    Ok([t_in, t_out, p, R::of(0.0), flow])
}

fn heat<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(one_side(x)?.0.heat)
}

fn dry_heat<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    heat(a, &dry(x)?)
}

fn capacity<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(one_side(x)?.0.capacity_flow)
}

fn dry_capacity<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    capacity(a, &dry(x)?)
}

fn balance<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [hot, cold] = inputs("heat balance", x)?;
    heat_balance(hot, cold)
}

fn capacity_from_heat<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [heat, t_in, t_out] = inputs("cold capacity flow", x)?;
    let rise = t_out - t_in;
    if rise < 1.0 {
        let valid = "at least 1 K: too little to find the flow from";
        return Err(Refusal {
            formula: "cold capacity flow",
            argument: "temperature rise",
            value: rise.value(),
            valid,
        });
    }
    Ok(heat / rise)
}

fn rated<R: Real>(flow: Option<ExchangerFlow>, x: &[R]) -> Result<Rating<R>, Refusal> {
    let [heat, hot, cold, hot_in, cold_in] = inputs("exchanger rating", x)?;
    let flow = flow.unwrap_or(ExchangerFlow::Cross);
    rating(flow.relation(hot, cold), heat, hot, cold, hot_in, cold_in)
}

/// The figures of one exchanger.
macro_rules! exchanger {
    ($module:ident, $name:literal, $what:literal) => {
        pub(super) mod $module {
            use super::*;

            fn effectiveness<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
                Ok(rated(flow_of(a, $name), x)?.effectiveness)
            }

            fn transfer_units<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
                Ok(rated(flow_of(a, $name), x)?.transfer_units)
            }

            fn conductance<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
                Ok(rated(flow_of(a, $name), x)?.conductance)
            }

            const fn figure(
                name: &'static str,
                quantity: Quantity,
                summary: &'static str,
                validity: &'static str,
                ways: fn(&Site) -> Vec<Way>,
            ) -> Derived {
                Derived { name, scope: Scope::Pack, quantity, summary, validity, source: SOURCE, order: None, ways }
            }

            const SIDE: &str = "refused where inlet and outlet are less than 1 K apart or the enthalpy goes the \
                                other way";
            const RATED: &str = "needs the flow arrangement from the pack file; refused where the inlets are less \
                                 than 1 K \
                                 apart or the effectiveness is beyond what the arrangement can have; apparent where \
                                 water condenses";

            pub(in super::super) static ALL: [Derived; 8] = [
                figure(
                    concat!($name, ".heat"),
                    Quantity::Power,
                    concat!("heat the hot side of ", $what, " gives off"),
                    SIDE,
                    |site| heat_ways($name, site),
                ),
                figure(
                    concat!($name, ".cold_heat"),
                    Quantity::Power,
                    concat!("heat the cold side of ", $what, " takes up, by its measured flow"),
                    SIDE,
                    |site| cold_heat_ways($name, site),
                ),
                figure(
                    concat!($name, ".heat_balance"),
                    Quantity::Ratio,
                    concat!("heat that the cold side of ", $what, " does not take up, as a share of the hot side's"),
                    "not where the cold flow is itself found from the heat",
                    |site| balance_ways($name, site),
                ),
                figure(
                    concat!($name, ".hot_capacity_flow"),
                    Quantity::Conductance,
                    concat!("capacity flow of the hot side of ", $what),
                    SIDE,
                    |site| hot_capacity_ways($name, site),
                ),
                figure(
                    concat!($name, ".cold_capacity_flow"),
                    Quantity::Conductance,
                    concat!("capacity flow of the cold side of ", $what),
                    SIDE,
                    |site| cold_capacity_ways($name, site),
                ),
                Derived {
                    order: Some((0.0, 1.0)),
                    ..figure(
                        concat!($name, ".true_effectiveness"),
                        Quantity::Ratio,
                        concat!("heat over the most that could be exchanged in ", $what),
                        RATED,
                        |site| rating_ways($name, site, formula!(effectiveness)),
                    )
                },
                figure(
                    concat!($name, ".transfer_units"),
                    Quantity::Ratio,
                    concat!("number of transfer units of ", $what),
                    RATED,
                    |site| rating_ways($name, site, formula!(transfer_units)),
                ),
                figure(
                    concat!($name, ".conductance"),
                    Quantity::Conductance,
                    concat!("conductance UA of ", $what),
                    RATED,
                    |site| rating_ways($name, site, formula!(conductance)),
                ),
            ];
        }
    };
}

exchanger!(primary, "primary", "the primary exchanger");
exchanger!(secondary, "secondary", "the secondary exchanger");
exchanger!(reheater, "reheater", "the reheater");
exchanger!(condenser, "condenser", "the condenser");

/// Ram flow where no meter is.
pub(super) static RAM_FLOW_FROM_HEAT: Derived = Derived {
    name: "ram_in.flow_from_heat",
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "ram flow found from the secondary exchanger's heat and its ram-side temperature rise",
    validity: "only with the ram side in series; refused where the rise is less than 1 K; a heat balance formed \
               with it \
               means nothing",
    source: "conservation of energy",
    order: None,
    ways: |site| {
        if site.arrangement.ram == RamSide::Parallel || site.arrangement.architecture == Architecture::Simple {
            return vec![];
        }
        let needs = |humid: bool| {
            let mut needs = vec![
                "secondary.heat".to_owned(),
                "ram_in.temperature".to_owned(),
                "secondary_ram_out.temperature".to_owned(),
                "ram_in.property_pressure".to_owned(),
            ];
            needs.extend(humid.then(|| "ram_in.humidity_ratio".to_owned()));
            needs
        };
        let text = "q secondary (1 + W)/(h out - h in) of the ram air";
        vec![
            way(text, needs(true), formula!(from_heat)),
            way(text, needs(false), formula!(from_heat_dry)).assuming("dry air: no humidity is known"),
        ]
    },
};

fn from_heat<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [heat, t_in, t_out, p, w] = inputs("ram flow from heat", x)?;
    flow_from_heat(heat, air(t_in, p, w), air(t_out, p, w), Equilibrium)
}

fn from_heat_dry<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [heat, t_in, t_out, p] = inputs("ram flow from heat", x)?;
    from_heat(a, &[heat, t_in, t_out, p, R::of(0.0)])
}
