//! Humid air, compressors, turbines and moving air against published values: one module per source; and conventions
//! that trip people, shown with the program's own functions.
//!
//! Case numbers (HA-…, AC-…, CV-…) are those of the project's list of validation cases; the tolerance of each is the
//! case's, but for rows of AC-05 to AC-08 and HA-07, which are held wider: real air against an ideal-gas book or a chart.
//! Textbook cycles are stated with constant heat capacity; they are met by the functions of that kind, and by those of
//! variable heat capacity where the case says so.

#![allow(clippy::disallowed_methods)]

mod air_ashrae;
mod air_balmer;
mod air_byjus;
mod air_cengel_boles;
mod air_companion_1808;
mod air_cooling_load_sheet;
mod air_coolprop;
mod air_edwards_sanders;
mod air_granet_bluestein;
mod air_halder;
mod air_humid_expansion;
mod air_hyland_wexler;
mod air_moran_shapiro;
mod air_nag;
mod air_onkar_singh;
mod air_psychrolib;
mod air_ques10;
mod air_rajput;
mod air_valan_arasu;
mod conventions;

use thermo::isentropic::temperature_ratio;

/// Checks one figure and names it when it fails; the tolerance is a share of the published value.
#[track_caller]
fn near(what: &str, got: f64, published: f64, tolerance: f64) {
    assert!((got / published - 1.0).abs() <= tolerance, "{what}: {got}, published {published} ± {tolerance}");
}

/// The same with an absolute tolerance.
#[track_caller]
fn within(what: &str, got: f64, published: f64, tolerance: f64) {
    assert!((got - published).abs() <= tolerance, "{what}: {got}, published {published} ± {tolerance}");
}

/// Stations of a reversed Brayton cycle with constant heat capacity: after the compressor, after the turbine.
fn stations(
    t1: f64,
    t3: f64,
    compression: f64,
    expansion: f64,
    compressor: f64,
    turbine: f64,
    gamma: f64,
) -> (f64, f64) {
    let ratio = |pressures: f64| temperature_ratio(pressures, gamma).unwrap_or(f64::NAN);
    let (up, down) = (ratio(compression), ratio(1.0 / expansion));
    (t1 + t1 * (up - 1.0) / compressor, t3 - turbine * t3 * (1.0 - down))
}
