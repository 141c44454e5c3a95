//! Snapshots of an installation: two packs, 200 channels, all their derived quantities, 100 limits.

use crate::error::Error;
use crate::rounds::{Work, figures, rounds};
use crate::{Figures, Place};
use limits::{Limit, LimitSpec, Settings};
use pack::{Architecture, Arrangement, Evaluator, ExchangerFlow, Parameters, RamSide, Uncertain, WaterSeparation};
use std::cell::{Cell, RefCell};
use std::sync::Arc;
use stream::{ChannelId, EventTime, Reading, Span};

const CHANNELS: usize = 200;
const LIMITS: usize = 100;
const STEP: Span = Span::from_millis(100);
/// Different snapshots, one after the other.
const SNAPSHOTS: usize = 64;

/// Of each pack: channel, value, standard uncertainty, SI.
const OF_PACK: [(&str, f64, f64); 31] = [
    ("pack_in.temperature", 468.0, 0.8),
    ("pack_in.pressure", 265e3, 400.0),
    ("pack_in.flow", 0.5, 0.008),
    ("bypass.flow", 0.02, 0.001),
    ("primary_out.temperature", 383.0, 0.6),
    ("compressor_in.pressure", 255e3, 400.0),
    ("compressor_out.temperature", 440.0, 0.6),
    ("compressor_out.pressure", 372e3, 500.0),
    ("secondary_out.temperature", 326.0, 0.5),
    ("secondary_out.pressure", 359e3, 500.0),
    ("acm.speed", 4200.0, 4.0),
    ("ram_in.temperature", 311.3, 0.4),
    ("secondary_ram_out.temperature", 354.0, 1.0),
    ("primary_ram_out.temperature", 384.0, 1.0),
    ("fan_out.temperature", 390.0, 1.0),
    ("ram_in.flow", 1.35, 0.04),
    ("reheater_hot_out.temperature", 317.0, 0.4),
    ("condenser_hot_out.temperature", 297.0, 0.4),
    ("condenser_hot_out.pressure", 346e3, 500.0),
    ("drain.flow", 5.9e-3, 1e-4),
    ("extractor_out.temperature", 297.2, 0.4),
    ("extractor_out.pressure", 341e3, 500.0),
    ("turbine1_in.temperature", 311.0, 0.4),
    ("turbine1_in.pressure", 336e3, 500.0),
    ("turbine1_out.temperature", 262.0, 0.4),
    ("turbine1_out.pressure", 111e3, 200.0),
    ("condenser_cold_out.temperature", 283.0, 0.4),
    ("discharge.temperature", 290.0, 0.4),
    ("discharge.pressure", 106e3, 150.0),
    ("valve.bypass.position", 0.01, 0.01),
    ("anti_ice.flow", 0.01, 0.001),
];
const COMMON: [(&str, f64, f64); 13] = [
    ("ambient.temperature", 311.0, 0.4),
    ("ambient.pressure", 101_300.0, 30.0),
    ("ambient.dew_point", 297.0, 0.3),
    ("recirc.temperature", 299.0, 0.4),
    ("recirc.pressure", 103e3, 150.0),
    ("recirc.dew_point", 285.0, 0.3),
    ("recirc.flow", 0.3, 0.006),
    ("mix.temperature", 289.0, 0.4),
    ("mix.pressure", 103.5e3, 150.0),
    ("trim.temperature", 450.0, 1.0),
    ("trim.flow", 0.02, 0.0005),
    ("zone.fwd.duct.temperature", 296.0, 0.4),
    ("zone.fwd.cabin.pressure", 95e3, 60.0),
];

/// Readings in memory: without records, quality of inputs and results written. The values alone, in turn with their
/// uncertainties; both with the limits, and the limits alone.
pub(crate) fn evaluate(_: &Place) -> Result<Figures, Error> {
    let (names, values, uncertain) = channels();
    let plan = Arc::new(pack::plan(&arrangement(), &names, &[], &[]));
    let inputs: Vec<Vec<Reading>> = (0..SNAPSHOTS)
        .map(|i| values.iter().map(|x| Reading::Good(x * (1.0 + 1e-5 * (i as f64 - 32.0)))).collect())
        .collect();
    let none = vec![None; CHANNELS];
    let work = [
        Work::new("ns", inputs.clone(), evaluated(&plan, none)?),
        Work::new("ns_with_uncertainty", inputs.clone(), evaluated(&plan, uncertain)?),
        Work::new("ns_limits_alone", inputs, limits_alone()?),
    ];
    let ns = rounds(&work)?;
    let mut line = figures(&work, &ns);
    line.insert("channels".to_owned(), CHANNELS.into());
    line.insert("derived".to_owned(), plan.derived.len().into());
    line.insert("limits".to_owned(), LIMITS.into());
    Ok(line)
}

fn arrangement() -> Arrangement {
    Arrangement {
        name: "two packs".into(),
        packs: vec!["left".into(), "right".into()],
        architecture: Architecture::ThreeWheel,
        separation: WaterSeparation::HighPressure,
        ram: RamSide::SecondaryFirst,
        parameters: Parameters {
            primary: Some(ExchangerFlow::Cross),
            secondary: Some(ExchangerFlow::Cross),
            reheater: Some(ExchangerFlow::Counter),
            condenser: Some(ExchangerFlow::Cross),
            occupants: Some(120.0),
            ..Parameters::default()
        },
    }
}

type Channels = (Vec<String>, Vec<f64>, Vec<Option<Uncertain>>);

/// What feeds the packs, and other channels up to the count.
fn channels() -> Channels {
    let of = |prefix: &'static str| OF_PACK.iter().map(move |(n, x, u)| (format!("{prefix}.{n}"), *x, *u));
    let common = COMMON.iter().map(|(n, x, u)| ((*n).to_owned(), *x, *u));
    let more = (0..).map(|i| (format!("bench.extra{i}.temperature"), 300.0, 0.5));
    let mut found = (Vec::new(), Vec::new(), Vec::new());
    for (name, x, u) in of("left").chain(of("right")).chain(common).chain(more).take(CHANNELS) {
        found.0.push(name);
        found.1.push(x);
        found.2.push(Some(Uncertain { u, shared: None }));
    }
    found
}

fn evaluated(
    plan: &Arc<pack::PackPlan>,
    uncertain: Vec<Option<Uncertain>>,
) -> Result<impl Fn(&Vec<Reading>) -> Result<usize, Error> + 'static, Error> {
    let evaluator = RefCell::new(Evaluator::new(plan.clone(), 0));
    let judged = judged()?;
    Ok(move |x: &Vec<Reading>| {
        let mut evaluator = evaluator.borrow_mut();
        evaluator.evaluate(x, &uncertain);
        Ok(judged(evaluator.readings()))
    })
}

fn limits_alone() -> Result<impl Fn(&Vec<Reading>) -> Result<usize, Error> + 'static, Error> {
    let judged = judged()?;
    Ok(move |x: &Vec<Reading>| Ok(judged(x)))
}

/// Every second column against its limit, a snapshot later each time.
fn judged() -> Result<impl Fn(&[Reading]) -> usize + 'static, Error> {
    let failed = |e: &dyn std::fmt::Display| Error::Failed(e.to_string());
    let kind = limits::kinds::find("above").map_err(|e| failed(&e))?;
    let unit = units::find("1").map_err(|e| failed(&e))?;
    let limit = |i: usize| {
        let spec = LimitSpec::new(
            &format!("limit {i}"),
            ChannelId(i as u16),
            kind,
            Settings::threshold(1e9, 0.0),
            unit,
            "invented",
        );
        Limit::new(LimitSpec { on_delay: Span(STEP.0 * 5), off_delay: Span(STEP.0 * 5), ..spec })
    };
    let limits: Vec<Limit> = (0..LIMITS).map(limit).collect::<Result<_, _>>().map_err(|e| failed(&e))?;
    let (limits, time) = (RefCell::new(limits), Cell::new(EventTime(0)));
    Ok(move |readings: &[Reading]| {
        time.set(time.get() + STEP);
        let mut limits = limits.borrow_mut();
        let columns = readings.iter().step_by(2);
        limits.iter_mut().zip(columns).filter_map(|(l, r)| l.step(time.get(), time.get(), &[*r])).count()
    })
}
