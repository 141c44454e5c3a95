//! Humid air, compressors, turbines and moving air against published values: one module per source; and conventions
//! that trip people, shown with the program's own functions.
//!
//! Case numbers (HA-…, AC-…, CV-…) are those of the project's list of validation cases; the tolerance of each is the
//! case's. Two rows need the source's own convention to meet it: the enthalpy of HA-07 (humidity ratio of ideal gases)
//! and the net power of AC-08 (the table's enthalpies, of an ideal gas); what real air gives is asserted beside them.
//! A printed figure that was cut or rounded is met as printed; tables of an ideal gas are met at a pressure where air
//! is one.
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

use thermo::constant_heat_capacity::{compression_outlet, expansion_outlet};

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
    (
        compression_outlet(t1, compression, compressor, gamma).unwrap_or(f64::NAN),
        expansion_outlet(t3, expansion, turbine, gamma).unwrap_or(f64::NAN),
    )
}
