//! Humidity ratio at a place: all water, per kg of dry air.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::facts::Fact;
use crate::{Arrangement, WaterSeparation};
use thermo::humid_air::{
    humidity_ratio_from_dew_point, humidity_ratio_from_relative_humidity, saturation_humidity_ratio,
};
use thermo::moisture::{Sampling, joined_humidity, left_after_drain, seen};
use thermo::saturation::Condensate::Equilibrium;
use units::{Quantity, Real};

const NAME: &str = "humidity ratio";
/// From this share of saturation on a hygrometer cannot tell air from fog: 0.3 K of dew point are 2 % of the humidity
/// (common practice, no source).
const SATURATED: f64 = 0.97;
const HERE: &str = "<place>.humidity_ratio";

pub(super) static HUMIDITY_RATIO: Derived = Derived {
    name: HERE,
    scope: Scope::Place,
    quantity: Quantity::HumidityRatio,
    summary: "all water the air carries at a place, vapour, liquid and ice, per mass of dry air",
    validity: "from the place's own dew point or relative humidity, else as upstream less what was drained; \
               refused where the dew point is more than 0.5 K above the temperature beside it",
    source: "saturation by Hyland and Wexler (1983) with enhancement factor",
    order: None,
    ways,
};

fn ways(site: &super::Site) -> Vec<Way> {
    let at = site.at;
    let own = |quantity: &str| format!("{at}.{quantity}");
    let way = |formula, needs: Vec<String>, compute| Way {
        formula,
        needs,
        constants: vec![],
        assumes: "",
        compute: Some(compute),
    };
    let dew_needs = vec![own("dew_point"), own("pressure"), own("temperature")];
    let relative_needs = vec![own("relative_humidity"), own("temperature"), own("pressure")];
    let dew_text = "W of saturated air at the dew point and pressure";
    let relative_text = "W of air at T, p and relative humidity";
    const ALL: &str = "the hygrometer sees all water";
    let dew = match site.facts.of(at, "dew_point") {
        Fact::Vapour => way(dew_text, dew_needs, formula!(vapour_from_dew_point)),
        Fact::TotalWater => way(dew_text, dew_needs[..2].to_vec(), formula!(from_total_dew_point)),
        _ => way(dew_text, dew_needs, formula!(from_dew_point)).assuming(ALL),
    };
    let relative = match site.facts.of(at, "relative_humidity") {
        Fact::Vapour => way(relative_text, relative_needs, formula!(vapour_from_relative_humidity)),
        Fact::TotalWater => way(relative_text, relative_needs, formula!(from_relative_humidity)),
        _ => way(relative_text, relative_needs, formula!(from_relative_humidity)).assuming(ALL),
    };
    let mut ways = vec![dew, relative];
    let separation = site.arrangement.separation;
    match upstream(at, separation) {
        Upstream::None => {}
        Upstream::Same(place) => {
            ways.push(Way::same_as("as upstream: nothing joins or is drained between", humidity(place)))
        }
        Upstream::Outside => ways.push(
            way("as outside air", vec![humidity("ambient")], formula!(same)).assuming("bleed air is outside air"),
        ),
        Upstream::Machine(place) => {
            let flows = ["acm.core_flow", "pack_in.flow"].map(str::to_owned);
            let needs = [humidity("pack_in"), humidity(place)].into_iter().chain(flows).collect();
            ways.push(way("W pack_in + m core/m pack_in (W turbine - W pack_in)", needs, formula!(joined)));
            let alone = way("as through the machine", vec![humidity(place)], formula!(same));
            ways.push(alone.assuming("the bypass is shut"));
        }
        Upstream::Extractor(place) => {
            ways.push(way(
                "W upstream - m drain (1 + W)/m core",
                vec![humidity(place), "drain.flow".into(), "acm.core_flow".into()],
                formula!(less_drained),
            ));
            ways.push(way(
                "as upstream, not saturated at the coldest place before: nothing to drain",
                vec![humidity(place), format!("{place}.temperature"), format!("{place}.property_pressure")],
                formula!(not_saturated),
            ));
        }
    }
    if at == "bleed" && site.arrangement.parameters.supply_humidity_ratio.is_some() {
        ways.insert(
            2,
            way("as declared in the pack file", vec![], formula!(declared)).assuming("the declared humidity"),
        );
    }
    ways
}

fn humidity(place: &str) -> String {
    HERE.replace("<place>", place)
}

/// Where the air at a place comes from.
enum Upstream {
    /// From nowhere this quantity could come from.
    None,
    /// Unchanged from this place.
    Same(&'static str),
    /// From outside.
    Outside,
    /// From this place, through the extractor.
    Extractor(&'static str),
    /// From this place of the machine, where the bypass joins.
    Machine(&'static str),
}

fn upstream(place: &str, separation: WaterSeparation) -> Upstream {
    use Upstream::{Extractor, Machine, Same};
    match place {
        "bleed" => Upstream::Outside,
        "pack_in" => Same("bleed"),
        "primary_out" | "compressor_in" | "compressor_out" | "secondary_in" | "secondary_out" | "reheater_hot_out"
        | "condenser_hot_out" => Same("pack_in"),
        "extractor_out" => Extractor("condenser_hot_out"),
        "turbine1_in" if separation == WaterSeparation::HighPressure => Same("extractor_out"),
        "turbine1_in" => Same("pack_in"),
        "separator_out" => Extractor("turbine1_out"),
        "discharge" if separation == WaterSeparation::LowPressure => Same("separator_out"),
        "discharge" => Machine("turbine1_in"),
        "turbine1_out" | "turbine2_in" | "turbine2_out" | "condenser_cold_in" | "condenser_cold_out" => {
            Same("turbine1_in")
        }
        "ram_in" | "secondary_ram_out" | "primary_ram_out" | "fan_out" => Same("ambient"),
        _ => Upstream::None,
    }
}

fn same<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [w] = inputs(NAME, x)?;
    Ok(w)
}

/// What goes around the machine is of the pack's inlet and joins what has gone through it.
fn joined<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [around, through, core, pack] = inputs(NAME, x)?;
    joined_humidity(around, through, pack, core)
}

fn declared<R: Real>(arrangement: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [] = inputs(NAME, x)?;
    Ok(R::of(arrangement.parameters.supply_humidity_ratio.unwrap_or(f64::NAN)))
}

fn from_dew_point<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [dew_point, p, t] = inputs(NAME, x)?;
    if dew_point > t.value() + 0.5 {
        return Err(above_temperature(dew_point.value()));
    }
    humidity_ratio_from_dew_point(dew_point, p, Equilibrium)
}

/// A heated sample line: drops have evaporated in it, so its dew point may be above the temperature in the duct.
fn from_total_dew_point<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [dew_point, p] = inputs(NAME, x)?;
    humidity_ratio_from_dew_point(dew_point, p, Equilibrium)
}

fn vapour_from_dew_point<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let w = from_dew_point(a, x)?;
    let [_, p, t] = inputs(NAME, x)?;
    all_of_vapour(w, t, p)
}

fn vapour_from_relative_humidity<R: Real>(a: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let w = from_relative_humidity(a, x)?;
    let [_, t, p] = inputs(NAME, x)?;
    all_of_vapour(w, t, p)
}

/// What a mirror in the duct sees is all water only where the air is not saturated.
fn all_of_vapour<R: Real>(w: R, t: R, p: R) -> Result<R, Refusal> {
    let valid = "below 97 % of saturation: a mirror or film in the duct sees no drops, so all water is not known";
    let refusal = Refusal { formula: NAME, argument: "vapour seen", value: w.value(), valid };
    seen(Sampling::Vapour, w, t, p, Equilibrium, SATURATED)?.total.ok_or(refusal)
}

fn above_temperature(value: f64) -> Refusal {
    let valid = "not above the temperature at the same place: sensor swapped, in another air stream, or free water";
    Refusal { formula: NAME, argument: "dew point", value, valid }
}

fn from_relative_humidity<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [humidity, t, p] = inputs(NAME, x)?;
    humidity_ratio_from_relative_humidity(t, p, humidity, Equilibrium)
}

fn less_drained<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [w, drained, flow] = inputs(NAME, x)?;
    left_after_drain(w, drained, flow)
}

fn not_saturated<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [w, t, p] = inputs(NAME, x)?;
    let most = saturation_humidity_ratio(t, p, Equilibrium)?;
    if w > most.value() {
        let valid = "below saturation where water would be taken out: it condenses there, and no drain flow says \
                     how much has gone";
        return Err(Refusal { formula: NAME, argument: "humidity ratio", value: w.value(), valid });
    }
    Ok(w)
}
