//! Measurement science against published values: one module per source.
//!
//! Case numbers (MS-…) are those of the project's list of validation cases; the tolerance of each is the case's.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)]

mod measurement_cao_rhinehart;
mod measurement_jcgm_100;
mod measurement_jcgm_101;
mod measurement_jcgm_106;
mod measurement_ncsli_risk;
mod measurement_nist_strd;
mod measurement_step_response;

/// Checks one figure and names it when it fails.
#[track_caller]
fn near(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: {got}, published {expected} ± {tolerance}");
}
