//! Snapshots of humid air: 16 inputs, 8 derived quantities with real-gas properties, 24 limits.

use crate::error::Error;
use crate::rounds::{Work, about, figures, rounds, spread};
use crate::{Figures, Place};
use limits::{Limit, LimitSpec, Settings};
use std::cell::{Cell, RefCell};
use stream::{ChannelId, EventTime, Reading, Span};
use thermo::DomainError;
use thermo::exchanger::duty::effectiveness_from_heat;
use thermo::humid_air::{enthalpy, heat_capacity, humidity_ratio_from_relative_humidity, saturation_humidity_ratio};
use thermo::isentropic::{compression_efficiency, expansion_efficiency};
use units::{Dual, Real};

/// Bleed in, primary out, compressor out, secondary out, turbine in, turbine out, ram in, ram out in K; bleed,
/// compressor in, compressor out, turbine in, turbine out in Pa; relative humidity, bleed flow kg/s, speed rad/s.
const MIDDLE: [f64; 16] =
    [470.0, 380.0, 430.0, 320.0, 300.0, 270.0, 288.0, 340.0, 3.2e5, 2.9e5, 4.4e5, 4.2e5, 1.05e5, 0.5, 0.5, 4600.0];
const STEP: Span = Span::from_millis(100);
const HIGH: [f64; 8] = [0.9, 0.95, 0.8, 0.85, 0.02, 5e4, 2.0, 22.0];
const CABIN: f64 = 297.0;
/// Standard uncertainties of the inputs.
const U: [f64; 16] = [1.0, 1.0, 1.0, 1.0, 0.5, 0.5, 0.5, 1.0, 1e3, 1e3, 1e3, 1e3, 300.0, 0.02, 0.01, 5.0];

/// Formulas and limits on 16 numbers in memory: without records, quality and results written. In turn with the same in
/// numbers that carry their 16 derivatives, the standard uncertainty of each of the 8 from them.
pub(crate) fn evaluate(_: &Place) -> Result<Figures, Error> {
    let inputs = about(MIDDLE, std::array::from_fn(share));
    let plain = limited(limits()?, |x: &[f64; 16]| derived(*x));
    let with_u = limited(limits()?, |x: &[f64; 16]| {
        let derived = derived(Dual::variables(*x))?;
        std::hint::black_box(derived.map(uncertainty));
        Ok(derived.map(|d| d.value))
    });
    let alone = limited(limits()?, |x: &[f64; 16]| Ok(std::array::from_fn(|i| x[i])));
    let work = [
        Work::new("ns", inputs.clone(), plain),
        Work::new("ns_with_uncertainty", inputs.clone(), with_u),
        Work::new("ns_limits_alone", inputs, alone),
    ];
    let ns = rounds(&work)?;
    let median = |i: usize| spread(&ns[i])["median"].as_f64().map(|x| x / 1000.0);
    let mut line = figures(&work, &ns);
    line.insert("us_per_snapshot".to_owned(), median(0).into());
    line.insert("us_per_snapshot_with_uncertainty".to_owned(), median(1).into());
    let middle = derived(MIDDLE).map_err(|e| Error::Failed(e.to_string()))?;
    line.insert("at_middle".to_owned(), middle.to_vec().into());
    Ok(line)
}

/// How far the inputs lie apart: 4 K, 2 %, all humidities, 10 % of the flow, 2 % of the speed.
fn share(input: usize) -> f64 {
    match input {
        0..8 => 4.0 / MIDDLE[input],
        13 => 1.0,
        14 => 0.1,
        _ => 0.02,
    }
}

/// Effectiveness of both exchangers, efficiency of compressor and turbine, humidity ratio, cooling power, ram-air
/// ratio, speed squared.
fn derived<R: Real>(x: [R; 16]) -> Result<[R; 8], DomainError> {
    let [bleed, primary, compressor, secondary, turbine_in, turbine_out, ram_in, ram_out, p_bleed, p1, p2, p3, p4, ..] =
        x;
    let [.., humidity, flow, speed] = x;
    let (one, gamma) = (R::of(1.0), R::of(1.0 / (1.0 - 0.2857)));
    let condensate = thermo::saturation::Condensate::Equilibrium;
    let e1 = effectiveness_from_heat(bleed - primary, one, bleed, ram_in)?;
    let e2 = effectiveness_from_heat(compressor - secondary, one, compressor, ram_in)?;
    let compression = compression_efficiency(primary, compressor, p2 / p1, gamma)?;
    let expansion = expansion_efficiency(turbine_in, turbine_out, p3 / p4, gamma)?;
    let w = humidity_ratio_from_relative_humidity(ram_in, p4, humidity, condensate)?;
    let supply = turbine_out.max(R::of(274.0));
    let saturated = saturation_humidity_ratio(supply, p4, condensate)?;
    let cooling = flow * (enthalpy(R::of(CABIN), p4, w)? - enthalpy(supply, p4, saturated)?);
    let taken = flow * heat_capacity(bleed, p_bleed, w)? * (bleed - primary);
    let ram = taken / (heat_capacity(ram_in, p4, w)? * (ram_out - ram_in));
    Ok([e1, e2, compression, expansion, w, cooling, ram, speed * speed * 1e-6])
}

fn uncertainty(result: Dual<16>) -> f64 {
    result.partials.iter().zip(U).map(|(slope, u)| (slope * u) * (slope * u)).sum::<f64>().sqrt()
}

/// The derived quantities of an input, then inputs and derived quantities against the limits, a snapshot later each
/// time.
fn limited(
    limits: Vec<Limit>,
    derived: impl Fn(&[f64; 16]) -> Result<[f64; 8], DomainError>,
) -> impl Fn(&[f64; 16]) -> Result<usize, DomainError> {
    let (limits, time) = (RefCell::new(limits), Cell::new(EventTime(0)));
    move |x| {
        let values = derived(x)?;
        time.set(time.get() + STEP);
        let readings = x.iter().chain(&values).map(|v| Reading::finite(*v));
        let mut limits = limits.borrow_mut();
        Ok(limits.iter_mut().zip(readings).filter_map(|(limit, r)| limit.step(time.get(), time.get(), &[r])).count())
    }
}

fn limits() -> Result<Vec<Limit>, Error> {
    let failed = |e: &dyn std::fmt::Display| Error::Failed(e.to_string());
    let kind = limits::kinds::find("above").map_err(|e| failed(&e))?;
    let unit = units::find("1").map_err(|e| failed(&e))?;
    let delay = Span(STEP.0 * 5);
    let limit = |i: usize| {
        let (column, settings) = (ChannelId(i as u16), Settings::threshold(HIGH[i % HIGH.len()], 0.0));
        let spec = LimitSpec::new(&format!("limit {i}"), column, kind, settings, unit, "invented");
        LimitSpec { on_delay: delay, off_delay: delay, ..spec }
    };
    (0..24).map(|i| Limit::new(limit(i)).map_err(|e| failed(&e))).collect()
}
