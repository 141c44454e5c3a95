//! Compressors and turbines: efficiency, work, outlet, in humid air of variable heat capacity.
//!
//! Temperatures and pressures at a machine are **total** ones ([`total_static`](crate::total_static)).

pub mod compressor;
pub mod turbine;

use crate::domain::{DomainError, check};
use crate::humid_air::{check_humidity, check_pressure, check_temperature};
use units::Real;

/// A station: total temperature and total pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State<R> {
    /// K.
    pub temperature: R,
    /// Pa absolute.
    pub pressure: R,
}

impl<R: Real> State<R> {
    /// At this temperature (K) and pressure (Pa absolute).
    pub fn new(temperature: R, pressure: R) -> Self {
        Self { temperature, pressure }
    }
}

fn check_stations<R: Real>(formula: &'static str, inlet: State<R>, outlet: State<R>, w: R) -> Result<(), DomainError> {
    check_temperature(formula, "inlet temperature", inlet.temperature.value())?;
    check_pressure(formula, "inlet pressure", inlet.pressure.value())?;
    check_temperature(formula, "outlet temperature", outlet.temperature.value())?;
    check_pressure(formula, "outlet pressure", outlet.pressure.value())?;
    check_humidity(formula, w.value())
}

fn check_efficiency<R: Real>(formula: &'static str, efficiency: R) -> Result<(), DomainError> {
    let valid = "above 0 up to 1";
    check(formula, "efficiency", efficiency.value(), valid, |x| x > 0.0 && x <= 1.0).map(|_| ())
}

/// Work per kg of dry air times flow of moist air.
fn power<R: Real>(formula: &'static str, flow: R, work: R, w: R) -> Result<R, DomainError> {
    check(formula, "mass flow", flow.value(), "0 kg/s or more", |x| x >= 0.0)?;
    crate::humid_air::finished(formula, flow * work / (w + 1.0))
}
