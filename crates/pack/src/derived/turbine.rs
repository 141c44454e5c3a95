//! Power of the turbines, the fan's, and what is left at the shaft.

use super::{Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::{Architecture, Arrangement};
use thermo::exchanger::stations::side;
use thermo::humid_air::gas_constant;
use thermo::machine::{State, turbine};
use thermo::saturation::Condensate::Equilibrium;
use thermo::shaft::{self, Powers};
use thermo::stream::{Air, Stream};
use thermo::valve_flow::{Gas, effective_area};
use units::{Quantity, Real};

const POWER: &str = "m turbine/(1 + W) (h1 - h2), condensate included";
const VALIDITY: &str = "refused where the pressure does not fall";

pub(super) static TURBINE1_POWER: Derived = Derived {
    name: "turbine1.power",
    scope: Scope::Pack,
    quantity: Quantity::Power,
    summary: "power the turbine gives off, on the flow of dry air; the first one's, where there are two",
    validity: VALIDITY,
    source: "first law",
    order: None,
    ways: |_| vec![Way::new(POWER, with_flow("turbine1_in", "turbine1_out").each(), formula!(power))],
};

pub(super) static TURBINE2_POWER: Derived = Derived {
    name: "turbine2.power",
    scope: Scope::Pack,
    quantity: Quantity::Power,
    summary: "power the second turbine of a four-wheel machine gives off",
    validity: VALIDITY,
    source: "first law",
    order: None,
    ways: |site| match site.arrangement.architecture {
        Architecture::FourWheel => {
            vec![Way::new(POWER, with_flow("turbine2_in", "turbine2_out").each(), formula!(power))]
        }
        _ => vec![],
    },
};

pub(super) static DRY_AIR_RATED_TEMPERATURE: Derived = Derived {
    name: "turbine1.dry_air_rated_temperature",
    scope: Scope::Pack,
    quantity: Quantity::Temperature,
    summary: "temperature at which dry air would have the same enthalpy drop from the turbine's inlet; not what the \
              machine would reach in dry air",
    validity: VALIDITY,
    source: "definition from memory of trade use; other definitions of the name are met",
    order: None,
    ways: |_| {
        let text = "h_a(T1, p1) - h_a(T, p2) = h1 - h2 with condensate";
        let [t1, p1, t2, p2, w, _] = with_flow("turbine1_in", "turbine1_out").0;
        vec![Way::new(text, [&*t1, &*p1, &*t2, &*p2, &*w], formula!(dry_rated))]
    },
};

pub(super) static NOZZLE_AREA: Derived = Derived {
    name: "turbine1.effective_nozzle_area",
    scope: Scope::Pack,
    quantity: Quantity::Area,
    summary: "area of the hole that would pass the turbine's flow between its pressures: wear, deposits and a lying \
              flow \
              meter show in it",
    validity: "refused where the pressure does not fall; the whole expansion is taken for the nozzle's, so it is to be \
               compared at like expansion ratios only",
    source: "isentropic flow of an ideal gas, choked or not, with a constant exponent of 1.4",
    order: None,
    ways: |_| {
        let needs = with_flow("turbine1_in", "turbine1_out").0;
        let [t1, p1, _, p2, w, flow] = needs;
        vec![Way::new("m turbine sqrt(R T1)/(p1 psi(p2/p1))", [&*flow, &*t1, &*p1, &*p2, &*w], formula!(nozzle))]
    },
};

pub(super) static FAN_POWER: Derived = Derived {
    name: "fan.power",
    scope: Scope::Pack,
    quantity: Quantity::Power,
    summary: "power the ram fan takes up, from the temperature rise across it and the ram flow",
    validity: "refused where the fan's outlet is not at least 1 K above its inlet; needs the ram flow measured, or \
               found from a heat balance",
    source: "first law",
    order: None,
    ways: |_| {
        let text = "m ram/(1 + W) (h2 - h1)";
        let stations = ["primary_ram_out.temperature", "primary_ram_out.property_pressure", "fan_out.temperature"];
        let needs = |more: &[&str]| stations.iter().chain(more).map(|n| (*n).to_owned()).collect::<Vec<_>>();
        let way = |needs, compute| Way { formula: text, needs, constants: vec![], assumes: "", compute: Some(compute) };
        let flows = ["ram_in.flow", "ram_in.flow_from_heat"];
        let humid = flows.map(|f| way(needs(&[f, "fan_out.humidity_ratio"]), formula!(fan)));
        let dry = flows.map(|f| way(needs(&[f]), formula!(dry_fan)).assuming("dry air: no humidity is known"));
        humid.into_iter().chain(dry).collect()
    },
};

pub(super) static SHAFT_BALANCE: Derived = Derived {
    name: "acm.shaft_balance",
    scope: Scope::Pack,
    quantity: Quantity::Power,
    summary: "what the turbines give off less what compressor and fan take up: losses, and all errors of \
              measurement; a \
              weak test for a lying probe, to be weighed with its uncertainty",
    validity: "steady speed; refused where the turbines give off nothing",
    source: "conservation of energy",
    order: None,
    ways: |site| balance_ways(site, formula!(residual), formula!(residual2), formula!(residual_no_fan)),
};

pub(super) static SHAFT_BALANCE_SHARE: Derived = Derived {
    name: "acm.shaft_balance_share",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "the shaft balance as a share of the turbines' power",
    validity: "steady speed; refused where the turbines give off nothing",
    source: "conservation of energy",
    order: None,
    ways: |site| balance_ways(site, formula!(share), formula!(share2), formula!(share_no_fan)),
};

fn balance_ways(site: &Site, one: super::Compute, two: super::Compute, no_fan: super::Compute) -> Vec<Way> {
    match site.arrangement.architecture {
        Architecture::Simple => vec![],
        Architecture::TwoWheel => {
            vec![Way::new("P turbine1 - P compressor", ["turbine1.power", "compressor.power"], no_fan)]
        }
        Architecture::ThreeWheel => {
            let needs = ["turbine1.power", "compressor.power", "fan.power"];
            vec![Way::new("P turbine1 - P compressor - P fan", needs, one)]
        }
        Architecture::FourWheel => {
            let needs = ["turbine1.power", "compressor.power", "fan.power", "turbine2.power"];
            vec![Way::new("P turbine1 + P turbine2 - P compressor - P fan", needs, two)]
        }
    }
}

/// Temperatures and pressures of two stations, humidity and the turbines' flow.
struct Stations([String; 6]);

impl Stations {
    fn each(&self) -> [&str; 6] {
        std::array::from_fn(|i| self.0[i].as_str())
    }
}

fn with_flow(inlet: &str, outlet: &str) -> Stations {
    let at = |place: &str, quantity: &str| format!("{place}.{quantity}");
    Stations([
        at(inlet, "total_temperature"),
        at(inlet, "total_pressure"),
        at(outlet, "total_temperature"),
        at(outlet, "total_pressure"),
        at(inlet, "humidity_ratio"),
        "turbine1_in.flow".to_owned(),
    ])
}

fn power<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, w, flow] = inputs("turbine power", x)?;
    turbine::power(flow, State::new(t1, p1), State::new(t2, p2), w, Equilibrium)
}

fn dry_rated<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p1, t2, p2, w] = inputs("dry-air-rated temperature", x)?;
    turbine::dry_air_rated_temperature(State::new(t1, p1), State::new(t2, p2), w, Equilibrium)
}

fn nozzle<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [flow, temperature, pressure, downstream, w] = inputs("effective nozzle area", x)?;
    let (gas_constant, isentropic_exponent) = (gas_constant(w)?, R::of(1.4));
    effective_area(flow, Gas { pressure, temperature, gas_constant, isentropic_exponent }, downstream)
}

fn fan<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p, t2, flow, w] = inputs("fan power", x)?;
    if t2 <= t1.value() {
        let valid = "above the temperature before the fan";
        return Err(Refusal { formula: "fan power", argument: "temperature after the fan", value: t2.value(), valid });
    }
    // The fan's pressure rise of some kPa moves the enthalpy by less than 0.01 K: one pressure for both.
    let at = |temperature| Air { temperature, pressure: p, humidity_ratio: w };
    Ok(side(Stream { flow, air: at(t1) }, at(t2), Equilibrium)?.heat)
}

fn dry_fan<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t1, p, t2, flow] = inputs("fan power", x)?;
    fan(a, &[t1, p, t2, flow, R::of(0.0)])
}

fn powers<R: Real>(turbines: R, compressor: R, fan: R) -> Result<shaft::Balance<R>, Refusal> {
    shaft::balance(Powers { turbines, compressor, fan, motor: R::of(0.0) })
}

fn residual<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine, compressor, fan] = inputs("shaft balance", x)?;
    Ok(powers(turbine, compressor, fan)?.residual)
}

fn residual2<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine1, compressor, fan, turbine2] = inputs("shaft balance", x)?;
    Ok(powers(turbine1 + turbine2, compressor, fan)?.residual)
}

fn residual_no_fan<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine, compressor] = inputs("shaft balance", x)?;
    Ok(powers(turbine, compressor, R::of(0.0))?.residual)
}

fn share<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine, compressor, fan] = inputs("shaft balance", x)?;
    Ok(powers(turbine, compressor, fan)?.share)
}

fn share2<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine1, compressor, fan, turbine2] = inputs("shaft balance", x)?;
    Ok(powers(turbine1 + turbine2, compressor, fan)?.share)
}

fn share_no_fan<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [turbine, compressor] = inputs("shaft balance", x)?;
    Ok(powers(turbine, compressor, R::of(0.0))?.share)
}
