//! Water along the way: what is removed, what is free, how far from ice.

use super::{Derived, Refusal, Scope, Way, formula, inputs};
use crate::{Architecture, Arrangement, WaterSeparation};
use thermo::humid_air::dew_point;
use thermo::moisture;
use thermo::saturation::Condensate::Equilibrium;
use units::{Quantity, Real};

const DISCHARGE: [&str; 3] = ["discharge.temperature", "discharge.property_pressure", "discharge.humidity_ratio"];

pub(super) static WATER_REMOVED: Derived = Derived {
    name: "extractor.water_removed",
    scope: Scope::Pack,
    quantity: Quantity::MassFlow,
    summary: "water taken out of the air between the pack's inlet and the turbine",
    validity: "refused where the flow is negative; the difference of two similar humidity ratios is uncertain",
    source: "conservation of mass",
    order: None,
    ways: |site| match site.arrangement.separation {
        WaterSeparation::HighPressure => {
            let needs = ["acm.core_flow", "condenser_hot_out.humidity_ratio", "extractor_out.humidity_ratio"];
            vec![Way::new("m core/(1 + W before) (W before - W after)", needs, formula!(removed))]
        }
        _ => vec![],
    },
};

pub(super) static EXTRACTION_EFFICIENCY: Derived = Derived {
    name: "extractor.efficiency",
    scope: Scope::Pack,
    quantity: Quantity::Ratio,
    summary: "drained water over the free water that comes to the extractor",
    validity: "refused where no water is free there; collect long enough, 5 to 10 minutes (common practice, no \
               source); \
               outside 0 to 1 uncertain (order)",
    source: "definition",
    order: Some((0.0, 1.0)),
    ways: |site| match site.arrangement.separation {
        WaterSeparation::HighPressure => {
            let needs = [
                "drain.flow",
                "acm.core_flow",
                "condenser_hot_out.humidity_ratio",
                "condenser_hot_out.temperature",
                "condenser_hot_out.property_pressure",
            ];
            vec![Way::new("m drain (1 + W)/(m core (W - W sat(T condenser_hot_out, p)))", needs, formula!(extraction))]
        }
        _ => vec![],
    },
};

pub(super) static FREE_WATER: Derived = Derived {
    name: "discharge.free_water",
    scope: Scope::Pack,
    quantity: Quantity::HumidityRatio,
    summary: "water and ice that the discharged air carries as drops, per mass of dry air",
    validity: "0 where the air is not saturated; a difference of similar numbers near saturation",
    source: "saturation by Hyland and Wexler (1983) with enhancement factor",
    order: None,
    ways: |_| vec![Way::new("W - W sat(T, p), not below 0", DISCHARGE, formula!(free))],
};

pub(super) static DISCHARGE_DEW_POINT: Derived = Derived {
    name: "discharge.dew_point_of_all_water",
    scope: Scope::Pack,
    quantity: Quantity::Temperature,
    summary: "dew or frost point of the discharged air with all its water as vapour",
    validity: "refused for dry air, which has none",
    source: "saturation by Hyland and Wexler (1983) with enhancement factor",
    order: None,
    ways: |_| {
        let needs = ["discharge.property_pressure", "discharge.humidity_ratio"];
        vec![Way::new("T at which W saturates at p", needs, formula!(dew))]
    },
};

pub(super) static DEW_POINT_MARGIN: Derived = Derived {
    name: "discharge.dew_point_margin",
    scope: Scope::Pack,
    quantity: Quantity::TemperatureDifference,
    summary: "how far the discharged air is above its dew or frost point; below 0 it carries free water",
    validity: "refused for dry air",
    source: "common practice, no source",
    order: None,
    ways: |_| vec![Way::new("T - T dew(p, W)", DISCHARGE, formula!(margin))],
};

pub(super) static TURBINE_ICING_MARGIN: Derived = Derived {
    name: "turbine1.icing_margin",
    scope: Scope::Pack,
    quantity: Quantity::TemperatureDifference,
    summary: "how far the turbine's outlet may cool before ice can form there; below 0 where it can",
    validity: "refused for dry air, which leaves no ice",
    source: "common practice, no source",
    order: None,
    ways: |_| {
        let needs = ["turbine1_out.temperature", "turbine1_out.property_pressure", "turbine1_in.humidity_ratio"];
        vec![Way::new("T - min(0 degC, T frost(p, W))", needs, formula!(icing))]
    },
};

pub(super) static CONDENSER_ICING_MARGIN: Derived = Derived {
    name: "condenser.icing_margin",
    scope: Scope::Pack,
    quantity: Quantity::TemperatureDifference,
    summary: "how far the condenser's coldest wetted surface may cool before ice can form on it; below 0 where it can",
    validity: "the surface is taken half-way between the cold inlet and the hot outlet; refused for dry air",
    source: "common practice, no source",
    order: None,
    ways: |site| {
        let cold = match (site.arrangement.separation, site.arrangement.architecture) {
            (WaterSeparation::HighPressure, Architecture::Simple) => return vec![],
            (WaterSeparation::HighPressure, _) => "condenser_cold_in.temperature",
            _ => return vec![],
        };
        let needs = [
            cold,
            "condenser_hot_out.temperature",
            "condenser_hot_out.property_pressure",
            "condenser_hot_out.humidity_ratio",
        ];
        let text = "T surface - min(0 degC, T frost(p, W)), T surface = (T cold_in + T hot_out)/2";
        vec![Way::new(text, needs, formula!(surface)).assuming("equal film coefficients on both sides")]
    },
};

fn removed<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [flow, before, after] = inputs("water removed", x)?;
    moisture::removed(flow, before, after)
}

fn extraction<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [drain, flow, w, t, p] = inputs("extraction efficiency", x)?;
    moisture::extraction_efficiency(drain, flow, w, t, p, Equilibrium)
}

fn free<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t, p, w] = inputs("free water", x)?;
    moisture::free_water(t, p, w, Equilibrium)
}

fn dew<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [p, w] = inputs("dew point", x)?;
    dew_point(p, w, Equilibrium)
}

fn margin<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t, p, w] = inputs("dew-point margin", x)?;
    moisture::dew_point_margin(t, p, w, Equilibrium)
}

fn icing<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [t, p, w] = inputs("icing margin", x)?;
    moisture::icing_margin(t, p, w)
}

fn surface<R: Real>(_: &Arrangement, x: &[R]) -> Result<R, Refusal> {
    let [cold, hot, p, w] = inputs("icing margin", x)?;
    moisture::icing_margin(moisture::coldest_surface(cold, hot, R::of(0.5))?, p, w)
}
