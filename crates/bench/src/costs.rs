//! What one call of a formula costs: plain, with derivatives, and the dry ones beside the bare arithmetic.

#![allow(clippy::disallowed_methods)]

use crate::error::Error;
use crate::rounds::{Work, about, figures, rounds, spread};
use crate::{Figures, Place};
use sensors::Thermocouple;
use thermo::corrected::{corrected_flow, corrected_speed};
use thermo::exchanger::{Arrangement, Mixing, temperature_effectiveness, transfer_units};
use thermo::flow_meter::{Device, Limits, Meter, Tapping, Upstream, mass_flow};
use thermo::isentropic::{compression_efficiency, expansion_efficiency};
use thermo::machine::State;
use thermo::machine::turbine::wet_efficiency;
use thermo::pressure_ratio::pressure_ratio;
use thermo::saturation::Condensate;
use thermo::{DomainError, dry_air, humid_air};
use units::{AbsolutePressure, AngularSpeed, Dual, MassFlow, Temperature};

/// A formula in plain numbers, and in numbers that carry the derivatives by all of its arguments.
macro_rules! both {
    ($work:ident, $name:literal, $inputs:expr, |$x:ident| $call:expr) => {
        $work.push(Work::new($name, $inputs, |x| {
            let $x = *x;
            $call
        }));
        $work.push(Work::new(concat!($name, ", with derivatives"), $inputs, |x| {
            let $x = Dual::variables(*x);
            $call
        }));
    };
}

/// Formulas of one call each, ns.
pub(crate) fn formulas(_: &Place) -> Result<Figures, Error> {
    const ICE: Condensate = Condensate::Equilibrium;
    const UNMIXED: Arrangement = Arrangement::CrossFlow(Mixing::BothUnmixed);
    let mut work = vec![];
    both!(work, "dry enthalpy", about([400.0, 3e5], [0.2, 0.2]), |x| dry_air::enthalpy(x[0], x[1]));
    let humid = || about([320.0, 2e5, 0.008], [0.05, 0.2, 0.5]);
    both!(work, "humid enthalpy", humid(), |x| humid_air::enthalpy(x[0], x[1], x[2]));
    both!(work, "humid heat capacity", humid(), |x| humid_air::heat_capacity(x[0], x[1], x[2]));
    both!(work, "humidity ratio from relative humidity", about([290.0, 2e5, 0.5], [0.02, 0.2, 0.9]), |x| {
        humid_air::humidity_ratio_from_relative_humidity(x[0], x[1], x[2], ICE)
    });
    both!(work, "dew point", about([2e5, 0.008], [0.2, 0.5]), |x| humid_air::dew_point(x[0], x[1], ICE));
    both!(work, "wet bulb", humid(), |x| humid_air::wet_bulb(x[0], x[1], x[2], ICE));
    let turbine = || about([310.0, 3.5e5, 270.0, 1.1e5, 0.012], [0.01, 0.05, 0.01, 0.05, 0.2]);
    both!(work, "wet turbine efficiency", turbine(), |x| {
        wet_efficiency(State::new(x[0], x[1]), State::new(x[2], x[3]), x[4], ICE)
    });
    let exchanger = || about([0.7, 0.6], [0.15, 0.4]);
    both!(work, "cross-flow inversion, exact", exchanger(), |x| transfer_units(UNMIXED, x[0], x[1]));
    let orifice = || about([10e3, 2e5, 2.378, 1.82e-5, 1.4, 0.1, 0.06], [0.5, 0.1, 0.1, 0.01, 0.001, 0.01, 0.01]);
    both!(work, "orifice mass flow", orifice(), |x| {
        let device = Device::Orifice(Tapping::Flange);
        let meter = Meter { device, pipe_diameter: x[5], throat_diameter: x[6], limits: Limits::Enforced };
        let air = Upstream { pressure: x[1], density: x[2], viscosity: x[3], isentropic_exponent: Some(x[4]) };
        mass_flow(&meter, &air, x[0])
    });
    both!(work, "thermocouple K, inverse", about([8.0], [0.9]), |x| Thermocouple::K.temperature_c(x[0]));
    let ns = rounds(&work)?;
    Ok(figures(&work, &ns))
}

/// Dry quantities in plain numbers, each after the bare arithmetic: no checks, no types, the standard library's own
/// functions. Every figure holds the loop that hands the inputs out, which is given too.
pub(crate) fn dry(_: &Place) -> Result<Figures, Error> {
    let temperatures = || about([470.0, 380.0, 288.0], [0.02, 0.02, 0.02]);
    let pressures = || about([4.4e5, 2.9e5], [0.02, 0.02]);
    let flows = || about([0.5, 470.0, 3.2e5], [0.1, 0.02, 0.02]);
    let speeds = || about([4600.0, 380.0], [0.02, 0.02]);
    let compressor = || about([380.0, 430.0, 1.5], [0.01, 0.01, 0.02]);
    let turbine = || about([300.0, 270.0, 4.0], [0.01, 0.01, 0.02]);
    let (k, pa) = (Temperature::from_si, AbsolutePressure::from_si);
    let pairs = [
        [
            bare("bare effectiveness", temperatures(), |x| (x[0] - x[1]) / (x[0] - x[2])),
            Work::new("effectiveness", temperatures(), move |x| temperature_effectiveness(k(x[0]), k(x[1]), k(x[2]))),
        ],
        [
            bare("bare pressure ratio", pressures(), |x| x[0] / x[1]),
            Work::new("pressure ratio", pressures(), move |x| pressure_ratio(pa(x[0]), pa(x[1]))),
        ],
        [
            bare("bare corrected flow", flows(), |x| x[0] * (x[1] / 288.15).sqrt() / (x[2] / 101_325.0)),
            Work::new("corrected flow", flows(), move |x| corrected_flow(MassFlow::from_si(x[0]), k(x[1]), pa(x[2]))),
        ],
        [
            bare("bare corrected speed", speeds(), |x| x[0] / (x[1] / 288.15).sqrt()),
            Work::new("corrected speed", speeds(), move |x| corrected_speed(AngularSpeed::from_si(x[0]), k(x[1]))),
        ],
        [
            bare("bare compression efficiency", compressor(), |x| compression(x, f64::powf)),
            Work::new("compression efficiency", compressor(), |x| compression_efficiency(x[0], x[1], x[2], 1.4)),
        ],
        [
            bare("bare expansion efficiency", turbine(), |x| expansion(x, f64::powf)),
            Work::new("expansion efficiency", turbine(), |x| expansion_efficiency(x[0], x[1], x[2], 1.4)),
        ],
        [
            bare("bare compression efficiency, pinned power", compressor(), |x| compression(x, units::math::powf)),
            bare("bare expansion efficiency, pinned power", turbine(), |x| expansion(x, units::math::powf)),
        ],
        [bare("bare loop", temperatures(), |x| x[0]), bare("bare quotient", temperatures(), |x| x[0] / x[1])],
    ];
    let work = pairs.into_iter().flatten().collect::<Vec<_>>();
    let ns = rounds(&work)?;
    let mut line = figures(&work, &ns);
    for ([_, own], [bare_ns, own_ns]) in work.as_chunks::<2>().0.iter().zip(ns.as_chunks::<2>().0) {
        let multiples: Vec<f64> = own_ns.iter().zip(bare_ns).map(|(own, bare)| own / bare).collect();
        if !own.name.starts_with("bare") {
            line.insert(format!("{}, multiple of bare", own.name), spread(&multiples));
        }
    }
    Ok(line)
}

/// (T1 π^((γ−1)/γ) − T1)/(T2 − T1).
fn compression(x: &[f64; 3], power: impl Fn(f64, f64) -> f64) -> f64 {
    x[0] * (power(x[2], 0.4 / 1.4) - 1.0) / (x[1] - x[0])
}

/// (T1 − T2)/(T1 − T1 π^(−(γ−1)/γ)).
fn expansion(x: &[f64; 3], power: impl Fn(f64, f64) -> f64) -> f64 {
    (x[0] - x[1]) / (x[0] * (1.0 - power(x[2], -0.4 / 1.4)))
}

fn bare<const N: usize>(name: &'static str, inputs: Vec<[f64; N]>, f: impl Fn(&[f64; N]) -> f64 + 'static) -> Work {
    Work::new(name, inputs, move |x| Ok::<f64, DomainError>(f(x)))
}
