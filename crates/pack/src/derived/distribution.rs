//! Mixing, hot air to the zones, fresh air, cabin altitude.

use super::{Compute, Derived, Refusal, Scope, Site, Way, formula, inputs, wrong_count};
use crate::Arrangement;
use thermo::saturation::Condensate::Equilibrium;
use thermo::stream::{Air, Stream};
use thermo::{atmosphere, fresh_air, mixing};
use units::{Quantity, Real};

pub(super) static MIX_HEAT_BALANCE: Derived = Derived {
    name: "mix.heat_balance",
    scope: Scope::Common,
    quantity: Quantity::Power,
    summary: "power by which the mix manifold is warmer than what the packs and the recirculation bring",
    validity: "adiabatic manifold; a recirculation fan adds 1 to 3 K (common practice, no source)",
    source: "conservation of energy",
    order: None,
    ways: |site| {
        let packs = packs(site.arrangement);
        if packs.len() > 2 {
            return vec![];
        }
        let mut needs: Vec<String> =
            packs.iter().flat_map(|p| stream(&format!("{p}discharge"), &format!("{p}discharge.flow"))).collect();
        needs.extend(stream("recirc", "recirc.flow"));
        needs.extend(["mix.temperature".to_owned(), "mix.property_pressure".to_owned()]);
        let compute = if packs.len() == 2 { formula!(mix_of_two) } else { formula!(mix_of_one) };
        let formula = "(h mix - sum m_a h/sum m_a) sum m_a, water as the streams bring it";
        vec![Way { formula, needs, constants: vec![], assumes: "", compute: Some(compute) }]
    },
};

pub(super) static RECIRCULATION_SHARE: Derived = Derived {
    name: "mix.recirculation_share",
    scope: Scope::Common,
    quantity: Quantity::Ratio,
    summary: "recirculated air as a share of all that is supplied",
    validity: "by temperatures only with packs and recirculation more than 8 K apart (common practice, no source)",
    source: "conservation of mass",
    order: Some((0.0, 1.0)),
    ways: |site| {
        let packs = packs(site.arrangement);
        let flows: Vec<String> = packs.iter().map(|p| format!("{p}pack_in.flow")).collect();
        let needs = std::iter::once("recirc.flow".to_owned()).chain(flows).collect();
        let by_flow = Way {
            formula: "m recirc/(m recirc + sum m packs)",
            needs,
            constants: vec![],
            assumes: "",
            compute: Some(formula!(recirculated)),
        };
        let mut ways = vec![by_flow];
        if let [pack] = packs.as_slice() {
            let needs = vec![
                format!("{pack}discharge.temperature"),
                "recirc.temperature".to_owned(),
                "mix.temperature".to_owned(),
            ];
            let formula = "(T mix - T discharge)/(T recirc - T discharge)";
            ways.push(Way {
                formula,
                needs,
                constants: vec![],
                assumes: "equal heat capacities",
                compute: Some(formula!(by_temperatures)),
            });
        }
        ways
    },
};

pub(super) static HOT_AIR_SHARE: Derived = Derived {
    name: "zone.<id>.hot_air_share",
    scope: Scope::Zone,
    quantity: Quantity::Ratio,
    summary: "share of hot trim air in what a zone's duct brings; more than twice its uncertainty at a shut valve \
              is a leak",
    validity: "no heat lost by the duct; outside 0 to 1 uncertain (order)",
    source: "conservation of energy",
    order: Some((0.0, 1.0)),
    ways: |site| {
        let duct = format!("zone.{}.duct.temperature", site.at);
        let needs = ["mix.temperature", "trim.temperature", &duct, "mix.property_pressure", "bleed.humidity_ratio"];
        let humid = Way::new("(h duct - h mix)/(h trim - h mix)", needs, formula!(hot_share));
        let dry = Way::new(
            "(T duct - T mix)/(T trim - T mix)",
            ["mix.temperature", "trim.temperature", &duct],
            formula!(by_temperatures),
        );
        vec![humid.assuming("one humidity for all three"), dry.assuming("equal heat capacities")]
    },
};

pub(super) static FRESH_AIR: Derived = fresh(
    "cabin.fresh_air_per_occupant",
    Quantity::MassFlow,
    "bleed air that reaches the cabin, for each occupant of the pack file",
    "definition",
    |site| fresh_ways(site, "(sum m packs + m trim)/occupants", formula!(fresh_with_trim), formula!(fresh_of_packs)),
);

pub(super) static FRESH_AIR_14_CFR: Derived = fresh(
    "cabin.fresh_air_over_14_cfr_25_831",
    Quantity::Ratio,
    "fresh air for each occupant over 0.55 lb/min (0.0041579 kg/s)",
    "14 CFR 25.831(a)",
    |_| vec![Way::new("fresh air per occupant/(0.55 lb/min)", ["cabin.fresh_air_per_occupant"], formula!(over_cfr))],
);

pub(super) static FRESH_AIR_CS: Derived = fresh(
    "cabin.fresh_air_over_cs_25_831",
    Quantity::Ratio,
    "fresh air for each occupant over 0.25 kg/min (0.0041667 kg/s)",
    "CS 25.831(a)",
    |_| vec![Way::new("fresh air per occupant/(0.25 kg/min)", ["cabin.fresh_air_per_occupant"], formula!(over_cs))],
);

pub(super) static PRESSURE_ALTITUDE: Derived = Derived {
    name: "zone.<id>.pressure_altitude",
    scope: Scope::Zone,
    quantity: Quantity::Length,
    summary: "altitude at which the standard atmosphere has the cabin's pressure",
    validity: "geopotential, as ISO 2533",
    source: "ISO 2533:1975",
    order: None,
    ways: |site| {
        let pressure = format!("zone.{}.cabin.pressure", site.at);
        vec![Way::new("altitude of the standard atmosphere at p", [pressure.as_str()], formula!(altitude))]
    },
};

const fn fresh(
    name: &'static str,
    quantity: Quantity,
    summary: &'static str,
    source: &'static str,
    ways: fn(&Site) -> Vec<Way>,
) -> Derived {
    let validity = "needs the occupants of the pack file; leaks of ducts are not known";
    Derived { name, scope: Scope::Common, quantity, summary, validity, source, order: None, ways }
}

fn fresh_ways(site: &Site, text: &'static str, with_trim: Compute, packs_alone: Compute) -> Vec<Way> {
    let packs = packs(site.arrangement);
    if site.arrangement.parameters.occupants.is_none() || packs.len() > 6 {
        return vec![];
    }
    let flows: Vec<String> = packs.iter().map(|p| format!("{p}pack_in.flow")).collect();
    let with = std::iter::once("trim.flow".to_owned()).chain(flows.clone()).collect();
    vec![
        Way { formula: text, needs: with, constants: vec![], assumes: "", compute: Some(with_trim) },
        Way {
            formula: text,
            needs: flows,
            constants: vec![],
            assumes: "no trim air tapped before the packs",
            compute: Some(packs_alone),
        },
    ]
}

/// What stands before the places of each pack.
fn packs(arrangement: &Arrangement) -> Vec<String> {
    match arrangement.packs.as_slice() {
        [] => vec![String::new()],
        packs => packs.iter().map(|p| if p.is_empty() { String::new() } else { format!("{p}.") }).collect(),
    }
}

fn stream(place: &str, flow: &str) -> [String; 3] {
    [flow.to_owned(), format!("{place}.temperature"), format!("{place}.humidity_ratio")]
}

fn mix<R: Real, const N: usize>(x: &[R]) -> Result<R, Refusal> {
    const NAME: &str = "mix manifold balance";
    let Some((streams, [temperature, pressure])) = x.split_last_chunk::<2>() else {
        return Err(wrong_count(NAME, x.len()));
    };
    let (temperature, pressure) = (*temperature, *pressure);
    let at = |[flow, temperature, humidity_ratio]: [R; 3]| Stream {
        flow,
        air: Air { temperature, pressure, humidity_ratio },
    };
    let streams: Vec<[R; 3]> = streams.chunks_exact(3).filter_map(|c| c.try_into().ok()).collect();
    let whole = x.len() == 3 * N + 2;
    let Some(streams) = <[[R; 3]; N]>::try_from(streams).ok().filter(|_| whole) else {
        return Err(wrong_count(NAME, x.len()));
    };
    let streams = streams.map(at);
    // Water as the streams bring it, so that only the temperature is judged.
    let humidity_ratio = thermo::stream::mixed(&streams, pressure, Equilibrium)?.air.humidity_ratio;
    Ok(mixing::manifold_balance(&streams, Air { temperature, pressure, humidity_ratio }, Equilibrium)?.power)
}

fn mix_of_one<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    mix::<R, 2>(x)
}

fn mix_of_two<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    mix::<R, 3>(x)
}

fn sum<R: Real>(x: &[R]) -> R {
    x.iter().fold(R::of(0.0), |a, b| a + *b)
}

fn recirculated<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    match x.split_first() {
        Some((recirculated, flows)) if flows.len() == packs(a).len() => {
            mixing::recirculation_share(*recirculated, sum(flows))
        }
        _ => Err(wrong_count("recirculation share", x.len())),
    }
}

fn by_temperatures<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [base, added, mixed] = inputs("share by temperatures", x)?;
    mixing::share_by_temperature(base, added, mixed)
}

fn hot_share<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [base, added, mixed, pressure, humidity_ratio] = inputs("share by enthalpies", x)?;
    let air = |temperature| Air { temperature, pressure, humidity_ratio };
    mixing::share_by_enthalpy(air(base), air(added), air(mixed), Equilibrium)
}

fn fresh_of<R: Real>(a: &Arrangement, flows: &[R], trim: R, x: &[R]) -> Result<R, Refusal> {
    if flows.len() != packs(a).len() {
        return Err(wrong_count("fresh air", x.len()));
    }
    let supply = fresh_air::supply(sum(flows), trim, R::of(0.0))?;
    fresh_air::per_occupant(supply, R::of(a.parameters.occupants.unwrap_or(f64::NAN)))
}

fn fresh_with_trim<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    match x.split_first() {
        Some((trim, flows)) => fresh_of(a, flows, *trim, x),
        None => Err(wrong_count("fresh air", x.len())),
    }
}

fn fresh_of_packs<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    fresh_of(a, x, R::of(0.0), x)
}

fn over_cfr<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [air] = inputs("fresh air over the rule", x)?;
    fresh_air::share_of(air, R::of(fresh_air::CFR_25_831.si()))
}

fn over_cs<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [air] = inputs("fresh air over the rule", x)?;
    fresh_air::share_of(air, R::of(fresh_air::CS_25_831.si()))
}

fn altitude<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [p] = inputs("pressure altitude", x)?;
    atmosphere::pressure_altitude(p)
}
