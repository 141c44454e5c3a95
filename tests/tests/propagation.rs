//! First-order uncertainties of thermodynamic formulas against simulation with some ten thousand trials, and the
//! verdict on where first order does not hold.
#![allow(clippy::unwrap_used)]

use thermo::exchanger::{Arrangement, Mixing, duty::rating};
use thermo::flow_meter::{Device, Limits, Meter, Tapping, Upstream, mass_flow};
use thermo::humid_air::humidity::{dew_point, saturation_humidity_ratio};
use thermo::machine::{State, compressor, turbine};
use thermo::saturation::Condensate::{Equilibrium, Supercooled};
use thermo::{DomainError, corrected};
use uncertainty::monte_carlo::{Evaluated, evaluate, simulate};
use uncertainty::propagate::{Verdict, judge};
use uncertainty::{Correlation, Distribution, Input, Shared};
use units::{Dual, Real};

/// A formula that refuses gives a number that is none, which the propagation reports as an error.
fn or_nan<R: Real>(result: Result<R, DomainError>) -> R {
    result.unwrap_or(R::of(f64::NAN))
}

/// T1, p1, T2, p2, w.
fn wet_turbine<R: Real>(x: &[R]) -> R {
    or_nan(turbine::wet_efficiency(State::new(x[0], x[1]), State::new(x[2], x[3]), x[4], Supercooled))
}

/// T1, p1, T2, p2, w.
fn dry_turbine<R: Real>(x: &[R]) -> R {
    or_nan(turbine::dry_efficiency(State::new(x[0], x[1]), State::new(x[2], x[3]), x[4]))
}

/// T1, p1, T2, p2, w.
fn compressor_efficiency<R: Real>(x: &[R]) -> R {
    or_nan(compressor::efficiency(State::new(x[0], x[1]), State::new(x[2], x[3]), x[4]))
}

/// Heat, both capacity flows, both inlet temperatures.
fn conductance<R: Real>(x: &[R]) -> R {
    let arrangement = Arrangement::CrossFlow(Mixing::BothUnmixed);
    or_nan(rating(arrangement, x[0], x[1], x[2], x[3], x[4]).map(|r| r.conductance))
}

/// Flow, temperature, pressure, humidity ratio.
fn corrected_flow<R: Real>(x: &[R]) -> R {
    or_nan(corrected::humid_flow(x[0], x[1], x[2], x[3]))
}

/// D, d, p1, ρ1, μ, Δp.
fn orifice<R: Real>(x: &[R]) -> R {
    let device = Device::Orifice(Tapping::Flange);
    let meter = Meter { device, pipe_diameter: x[0], throat_diameter: x[1], limits: Limits::Enforced };
    let air = Upstream { pressure: x[2], density: x[3], viscosity: x[4], isentropic_exponent: Some(R::of(1.4)) };
    or_nan(mass_flow(&meter, &air, x[5]).map(|r| r.mass_flow))
}

/// Pressure, humidity ratio.
fn dew<R: Real>(x: &[R]) -> R {
    or_nan(dew_point(x[0], x[1], Equilibrium))
}

/// Holds first order and second order against a simulation of plain numbers: u within its sampling error (u of n trials
/// scatters by u/√(2n), the mean by u/√n; four times that) and what the second order says.
fn agree<const N: usize>(
    what: &str,
    inputs: &[Input],
    shared: Option<&[Option<Shared>]>,
    trials: usize,
    dual: fn(&[Dual<N>]) -> Dual<N>,
    plain: fn(&[f64]) -> f64,
) {
    let normal: Vec<_> = inputs.iter().map(|i| Distribution::Normal { mean: i.value, u: i.u }).collect();
    for correlation in [Some(Correlation::Independent), shared.map(Correlation::Groups)].into_iter().flatten() {
        let judged = judge::<N>(inputs, correlation, dual).unwrap();
        let (first, second) = (judged.first_order.combined, judged.second_order.unwrap());
        let simulated = simulate(&normal, correlation, trials, 11, plain).unwrap();
        let scatter = 4.0 / (2.0 * trials as f64).sqrt();
        let text = format!("{what}, {correlation:?}: {first:?}, {second:?}, {} ± {}", simulated.mean(), simulated.u());
        assert_eq!(judged.verdict, Verdict::Straight, "{text}");
        assert!((simulated.u() / second.u - 1.0).abs() < scatter, "u of second order; {text}");
        let off = (second.u / first.u - 1.0).abs();
        assert!((simulated.u() / first.u - 1.0).abs() < scatter + off, "u of first order; {text}");
        let mean = first.value + second.shift;
        assert!((simulated.mean() - mean).abs() < 1.5 * scatter * first.u, "mean; {text}");
        println!(
            "{what}: first order {:.6} ± {:.3e}, off by {:+.4} u",
            first.value,
            first.u,
            simulated.u() / first.u - 1.0
        );
    }
}

/// The part of a standard uncertainty that comes from one scanner (0) or one barometer (1).
fn common(group: u16, u: f64) -> Option<Shared> {
    Some(Shared { group, u })
}

#[test]
fn machines() {
    let stations = |t1, p1, t2, p2| {
        [
            Input::new(t1, 0.4),
            Input::new(p1, 800.0),
            Input::new(t2, 0.4),
            Input::new(p2, 500.0),
            Input::new(0.012, 4e-4),
        ]
    };
    let shared = [common(0, 0.3), common(1, 300.0), common(0, 0.3), common(1, 300.0), None];
    let turbine = stations(313.15, 350e3, 264.5, 110e3);
    agree::<5>("wet turbine", &turbine, Some(&shared), 4_000, wet_turbine, wet_turbine);
    let compressor = stations(330.0, 180e3, 400.0, 300e3);
    agree::<5>("compressor", &compressor, Some(&shared), 4_000, compressor_efficiency, compressor_efficiency);
}

#[test]
fn exchanger_and_corrected_flow() {
    let exchanger = [
        Input::new(70e3, 700.0),
        Input::new(900.0, 10.0),
        Input::new(1400.0, 20.0),
        Input::new(420.0, 0.5),
        Input::new(300.0, 0.5),
    ];
    let shared = [None, common(2, 8.0), common(2, 12.0), common(0, 0.4), common(0, 0.4)];
    agree::<5>("conductance", &exchanger, Some(&shared), 10_000, conductance, conductance);
    let flow = [Input::new(0.8, 0.01), Input::new(310.0, 0.5), Input::new(120e3, 600.0), Input::new(0.01, 5e-4)];
    // The flow was computed from the same pressure and temperature: they move it with them, or against them.
    let shared = [common(1, -0.004), common(0, 0.5), common(1, 600.0), None];
    agree::<4>("corrected flow", &flow, Some(&shared), 40_000, corrected_flow, corrected_flow);
}

#[test]
fn orifice_and_dew_point() {
    let plate = [
        Input::new(0.1, 1e-4),
        Input::new(0.06, 3e-5),
        Input::new(200e3, 1e3),
        Input::new(2.378, 0.015),
        Input::new(1.82e-5, 2e-7),
        Input::new(10e3, 60.0),
    ];
    // Density from the measured pressure.
    let shared = [None, None, common(1, 1e3), common(1, 0.0119), None, None];
    agree::<6>("orifice", &plate, Some(&shared), 10_000, orifice, orifice);
    let air = [Input::new(101_325.0, 200.0), Input::new(0.008, 2e-4)];
    let r = [common(3, 150.0), common(3, -1.5e-4)];
    agree::<2>("dew point", &air, Some(&r), 4_000, dew, dew);
}

/// Near the end of its range the conductance runs away: at an effectiveness of 0.86 ± 0.025 and nearly equal capacity
/// flows it is curved, and the simulation takes over.
#[test]
fn conductance_near_the_highest_effectiveness_curves() {
    let at = |effectiveness: f64| {
        let exact = |x| Input::exact(x);
        [Input::new(effectiveness * 108e3, 2700.0), exact(900.0), exact(1000.0), exact(420.0), exact(300.0)]
    };
    let judged = |effectiveness| judge::<5>(&at(effectiveness), Correlation::Independent, conductance).unwrap();
    let evaluated =
        |effectiveness| evaluate::<5>(&at(effectiveness), Correlation::Independent, (10_000, 5), conductance).unwrap();
    assert_eq!(judged(0.7).verdict, Verdict::Straight);
    assert!(matches!(evaluated(0.7), Evaluated::FirstOrder(_)));

    let (high, simulated) = (judged(0.86), evaluated(0.86));
    assert_eq!(high.verdict, Verdict::Curved, "{high:?}");
    assert!(matches!(simulated, Evaluated::Simulated(_)));
    let off = simulated.u() / high.first_order.combined.u - 1.0;
    assert!(off > 0.1, "u is {off} above that of first order, {high:?}");
    println!("at 0.86: {high:?}, simulated {} ± {}", simulated.value(), simulated.u());
    // Where 1 is nearer than a standard uncertainty there is no figure for it at all.
    let beyond = [Input::new(0.995 * 108e3, 2700.0), Input::exact(900.0), Input::exact(9e4), at(0.7)[3], at(0.7)[4]];
    assert_eq!(judge::<5>(&beyond, Correlation::Independent, conductance).unwrap().verdict, Verdict::Ends);
}

/// At the outlet's dew point the enthalpy has a kink: below it water condenses. First order knows one slope alone.
#[test]
fn a_turbine_outlet_at_its_dew_point_curves() {
    let w = 0.012;
    let dew = dew_point(110e3, w, Supercooled).unwrap();
    assert!((saturation_humidity_ratio(dew, 110e3, Supercooled).unwrap() - w).abs() < 1e-9);
    let outlet =
        |t2| [Input::exact(340.0), Input::exact(250e3), Input::new(t2, 0.5), Input::exact(110e3), Input::exact(w)];
    let judged = |t2| judge::<5>(&outlet(t2), Correlation::Independent, wet_turbine).unwrap();
    assert_eq!(judged(dew + 3.0).verdict, Verdict::Straight);
    assert_eq!(judged(dew - 3.0).verdict, Verdict::Straight);
    let at = judged(dew + 0.1);
    assert_eq!(at.verdict, Verdict::Curved, "{at:?}");
    let simulated = evaluate::<5>(&outlet(dew + 0.1), Correlation::Independent, (2_000, 5), wet_turbine).unwrap();
    assert!(simulated.u() > 1.1 * at.first_order.combined.u, "{} {at:?}", simulated.u());
    // The formula for dry outlets has no value below it.
    assert_eq!(judge::<5>(&outlet(dew + 0.1), Correlation::Independent, dry_turbine).unwrap().verdict, Verdict::Ends);
}
