//! Total temperature and pressure where a bare probe or a wall tap reads in moving air.

use super::{Compute, Derived, Refusal, Scope, Site, Way, formula, inputs};
use crate::facts::Fact;
use crate::{Arrangement, PLACES, place::Path};
use thermo::total_static::{Moving, from_probe};
use units::{Quantity, Real};

const VALIDITY: &str = "needs the probe's kind, recovery factor and duct area from its channel and the flow there; \
                        without them the reading itself stands for it; refused from the speed of sound on";
const SOURCE: &str = "first law and constant entropy; definition of the recovery factor";
const TEXT: &str = "T probe = Ts + r (T - Ts), h(T) = h(Ts) + V^2/2, V = m/(rho A)";

pub(super) static TOTAL_TEMPERATURE: Derived = Derived {
    name: "<place>.total_temperature",
    scope: Scope::Place,
    quantity: Quantity::Temperature,
    summary: "temperature of the air brought to rest, where a bare probe reads less",
    validity: VALIDITY,
    source: SOURCE,
    order: None,
    ways: |site| {
        let reads_less = matches!(site.facts.of(site.at, "temperature"), Fact::Static { recovery: Some(_), .. });
        let corrected =
            if reads_less { corrected(site, formula!(temperature), formula!(dry_temperature)) } else { vec![] };
        with_plain(corrected, site, "temperature")
    },
};

pub(super) static TOTAL_PRESSURE: Derived = Derived {
    name: "<place>.total_pressure",
    scope: Scope::Place,
    quantity: Quantity::Pressure,
    summary: "pressure of the air brought to rest, where a wall tap reads less",
    validity: VALIDITY,
    source: SOURCE,
    order: None,
    ways: |site| {
        let reads_less = matches!(site.facts.of(site.at, "pressure"), Fact::Static { .. });
        let corrected = if reads_less { corrected(site, formula!(pressure), formula!(dry_pressure)) } else { vec![] };
        with_plain(corrected, site, "pressure")
    },
};

fn with_plain(mut ways: Vec<Way>, site: &Site, quantity: &str) -> Vec<Way> {
    let text = if ways.is_empty() { "taken for total" } else { "taken for total: no flow is known there" };
    ways.push(Way::same_as(text, format!("{}.{quantity}", site.at)));
    ways
}

fn corrected(site: &Site, humid: Compute, dry: Compute) -> Vec<Way> {
    let (Some(area), Some(flow)) = (site.facts.area(site.at), flow_at(site.at)) else { return vec![] };
    let recovery = match site.facts.of(site.at, "temperature") {
        Fact::Static { recovery: Some(r), .. } => r,
        _ => 1.0,
    };
    let own = |quantity: &str| format!("{}.{quantity}", site.at);
    let needs = [own("temperature"), own("pressure"), flow.to_owned()];
    let way = |needs: Vec<String>, compute| Way {
        formula: TEXT,
        needs,
        constants: vec![area, recovery],
        assumes: "",
        compute: Some(compute),
    };
    let with_humidity = needs.iter().cloned().chain([own("humidity_ratio")]).collect();
    vec![way(with_humidity, humid), way(needs.to_vec(), dry).assuming("dry air: no humidity is known")]
}

/// The flow that passes a place.
fn flow_at(place: &str) -> Option<&'static str> {
    match place {
        "pack_in" | "primary_out" => Some("pack_in.flow"),
        "discharge" => Some("discharge.flow"),
        "turbine1_in" | "turbine1_out" | "turbine2_in" | "turbine2_out" | "condenser_cold_in"
        | "condenser_cold_out" | "separator_out" => Some("turbine1_in.flow"),
        "ram_in" | "secondary_ram_out" | "primary_ram_out" | "fan_out" => Some("ram_in.flow"),
        _ => PLACES.iter().any(|p| p.name == place && p.path == Path::Hot && p.per_pack).then_some("acm.core_flow"),
    }
}

fn moving<R: Real>(x: &[R]) -> Result<Moving<R>, Refusal> {
    let [t, p, flow, w, area, recovery] = inputs("total from probe and wall tap", x)?;
    from_probe(t, p, flow, area, recovery, w)
}

fn dry_moving<R: Real>(x: &[R]) -> Result<Moving<R>, Refusal> {
    let [t, p, flow, area, recovery] = inputs("total from probe and wall tap", x)?;
    moving(&[t, p, flow, R::of(0.0), area, recovery])
}

fn temperature<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(moving(x)?.total_temperature)
}

fn dry_temperature<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(dry_moving(x)?.total_temperature)
}

fn pressure<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(moving(x)?.total_pressure)
}

fn dry_pressure<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    Ok(dry_moving(x)?.total_pressure)
}
