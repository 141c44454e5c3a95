//! Cooling capacity of a pack and what it costs.

use super::{Compute, Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::Arrangement;
use thermo::capacity::{self, Cooling};
use thermo::saturation::Condensate::Equilibrium;
use thermo::stream::{Air, Stream};
use units::{Quantity, Real};

const VALIDITY: &str = "relative to the cabin of the pack file, else to the recirculated air; below 0 where the supply \
                        heats; at 0 degC exactly with condensate refused";
const SOURCE: &str = "first law, with the liquid term; the split by what evaporates is ours";
const SUPPLY: [&str; 4] =
    ["discharge.flow", "discharge.temperature", "discharge.property_pressure", "discharge.humidity_ratio"];

const fn capacity(name: &'static str, summary: &'static str, ways: fn(&Site) -> Vec<Way>) -> Derived {
    let (scope, quantity) = (Scope::Pack, Quantity::Power);
    Derived { name, scope, quantity, summary, validity: VALIDITY, source: SOURCE, order: None, ways }
}

pub(super) static TOTAL: Derived =
    capacity("pack.cooling_capacity", "cooling capacity on enthalpy, drops included", |site| {
        ways(
            site,
            "m discharge/(1 + W) (h cabin - h discharge), condensate included",
            formula!(total),
            formula!(total_of_measured),
        )
    });

pub(super) static SENSIBLE: Derived = capacity(
    "pack.sensible_cooling_capacity",
    "part of the cooling capacity that warms dry air and the vapour supplied up to the cabin's temperature",
    |site| {
        ways(
            site,
            "m discharge/(1 + W) (h gas(T cabin) - h gas(T discharge))",
            formula!(sensible),
            formula!(sensible_of_measured),
        )
    },
);

pub(super) static LATENT: Derived = capacity(
    "pack.latent_cooling_capacity",
    "the rest of the cooling capacity: drops that evaporate, and vapour taken up until the cabin's humidity is reached",
    |site| ways(site, "total - sensible", formula!(latent), formula!(latent_of_measured)),
);

pub(super) static SPECIFIC: Derived = Derived {
    name: "pack.specific_cooling_capacity",
    scope: Scope::Pack,
    quantity: Quantity::SpecificEnergy,
    summary: "cooling capacity per mass of bleed air",
    validity: "refused where the pack flow is not above 0",
    source: "definition",
    order: None,
    ways: |_| vec![Way::new("Q/m pack_in", ["pack.cooling_capacity", "pack_in.flow"], formula!(specific))],
};

pub(super) static SHAFT_PERFORMANCE: Derived = Derived {
    name: "pack.coefficient_of_performance_on_shaft_power",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "cooling capacity over the power of the first turbine's shaft",
    validity: "refused where the turbine gives off nothing; not to be mixed with other definitions",
    source: "definition",
    order: None,
    ways: |_| vec![Way::new("Q/P turbine1", ["pack.cooling_capacity", "turbine1.power"], formula!(performance))],
};

pub(super) static BLEED_PERFORMANCE: Derived = Derived {
    name: "pack.coefficient_of_performance_on_bleed_enthalpy",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "cooling capacity over the power that the bleed air brings above outside air; not the fuel",
    validity: "refused where the bleed is not richer than outside air; not to be mixed with other definitions",
    source: "definition",
    order: None,
    ways: |_| {
        let needs = [
            "pack.cooling_capacity",
            "pack_in.flow",
            "pack_in.temperature",
            "pack_in.property_pressure",
            "ambient.temperature",
            "ambient.pressure",
            "pack_in.humidity_ratio",
        ];
        let text = "Q (1 + W)/(m pack_in (h pack_in - h ambient))";
        vec![Way::new(text, needs, formula!(on_bleed))]
    },
};

fn ways(site: &Site, text: &'static str, declared: Compute, measured: Compute) -> Vec<Way> {
    let p = &site.arrangement.parameters;
    if p.cabin_temperature.is_some() && p.cabin_humidity_ratio.is_some() {
        return vec![Way::new(text, SUPPLY, declared).assuming("the cabin of the pack file")];
    }
    let [flow, t, pressure, w] = SUPPLY;
    let needs = [flow, t, pressure, w, "recirc.temperature", "recirc.humidity_ratio"];
    vec![Way::new(text, needs, measured).assuming("the cabin is as the recirculated air")]
}

fn cooling<R: Real>(x: &[R], cabin: [R; 2]) -> Result<Cooling<R>, Refusal> {
    let [flow, temperature, pressure, humidity_ratio] = inputs("cooling capacity", x)?;
    let supply = Stream { flow, air: Air { temperature, pressure, humidity_ratio } };
    let [temperature, humidity_ratio] = cabin;
    capacity::cooling(supply, Air { temperature, pressure, humidity_ratio }, Equilibrium)
}

fn of_file<R: Real>(a: &Arrangement, x: &[R]) -> Result<Cooling<R>, Refusal> {
    let none = f64::NAN;
    let p = &a.parameters;
    cooling(x, [p.cabin_temperature, p.cabin_humidity_ratio].map(|v| R::of(v.unwrap_or(none))))
}

fn of_measured<R: Real>(x: &[R]) -> Result<Cooling<R>, Refusal> {
    let [flow, t, p, w, cabin_t, cabin_w] = inputs("cooling capacity", x)?;
    cooling(&[flow, t, p, w], [cabin_t, cabin_w])
}

fn total<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_file(a, x)?.total)
}

fn sensible<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_file(a, x)?.sensible)
}

fn latent<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_file(a, x)?.latent)
}

fn total_of_measured<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_measured(x)?.total)
}

fn sensible_of_measured<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_measured(x)?.sensible)
}

fn latent_of_measured<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(of_measured(x)?.latent)
}

fn specific<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [capacity, flow] = inputs("specific capacity", x)?;
    capacity::specific(capacity, flow)
}

fn performance<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [capacity, power] = inputs("coefficient of performance", x)?;
    capacity::performance(capacity, power)
}

fn on_bleed<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [capacity, flow, temperature, pressure, t_ambient, p_ambient, humidity_ratio] =
        inputs("coefficient of performance", x)?;
    let bleed = Stream { flow, air: Air { temperature, pressure, humidity_ratio } };
    capacity::performance(capacity, capacity::bleed_power(bleed, t_ambient, p_ambient, Equilibrium)?)
}
