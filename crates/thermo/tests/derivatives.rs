//! Every formula of exchangers, flow meters, nozzles, valves and atmosphere in dual numbers: the value has the bits
//! of the plain computation, the derivatives are those of finite differences.

use thermo::DomainError;
use thermo::exchanger::duty::{self, duty, rating};
use thermo::exchanger::wet::{ColdSide, MoistSide, wet_duty};
use thermo::exchanger::{Arrangement, Mixing, effectiveness, transfer_units};
use thermo::flow_meter::{self, Convergent, Device, Limits, Meter, Tapping, Upstream};
use thermo::leak_down::{State, leak_rate, mean_leak_rate};
use thermo::valve_flow::{self, Gas, effective_area};
use thermo::{atmosphere, critical_nozzle, pressure_drop};
use units::{Dual, Real};

/// Compares one formula at one place. Differences of fourth order with steps of 1e-3 of the argument.
fn compare<const N: usize>(
    name: &str,
    x: [f64; N],
    plain: impl Fn([f64; N]) -> Result<f64, DomainError>,
    dual: impl Fn([Dual<N>; N]) -> Result<Dual<N>, DomainError>,
) {
    let value = plain(x).unwrap_or_else(|e| panic!("{name} {x:?}: {e}"));
    let with = dual(Dual::variables(x)).unwrap_or_else(|e| panic!("{name} {x:?}: {e}"));
    assert_eq!(with.value.to_bits(), value.to_bits(), "{name} {x:?}: {} {value}", with.value);
    for i in 0..N {
        let step = 1e-3 * x[i].abs();
        let at = |k: f64| {
            let mut y = x;
            y[i] += k * step;
            plain(y).unwrap_or_else(|e| panic!("{name} {y:?}: {e}"))
        };
        let difference = (8.0 * (at(1.0) - at(-1.0)) - (at(2.0) - at(-2.0))) / (12.0 * step);
        let scale = (value / x[i]).abs().max(difference.abs());
        let off = (with.partials[i] - difference).abs();
        assert!(off <= 1e-7 * scale, "{name} {x:?} argument {i}: {} for {difference}", with.partials[i]);
    }
}

/// The same formula text for both kinds of number.
macro_rules! compare {
    ($name:expr, $x:expr, |$a:pat_param| $formula:expr) => {
        compare($name, $x, |$a| $formula, |$a| $formula)
    };
}

const MIXINGS: [Mixing; 4] = [Mixing::BothUnmixed, Mixing::MinMixed, Mixing::MaxMixed, Mixing::BothMixed];

fn arrangements() -> Vec<Arrangement> {
    let mut all = vec![
        Arrangement::CounterFlow,
        Arrangement::ParallelFlow,
        Arrangement::ShellAndTube { shells: 1 },
        Arrangement::ShellAndTube { shells: 3 },
    ];
    all.extend(MIXINGS.map(Arrangement::CrossFlow));
    all.extend(MIXINGS.map(|mixing| Arrangement::CrossCounterFlow { passes: 3, mixing }));
    all
}

#[test]
fn effectiveness_and_transfer_units() {
    for arrangement in arrangements() {
        for ntu in [0.02, 0.4, 1.3, 2.9, 4.5] {
            for ratio in [1e-6, 0.01, 0.37, 0.8, 0.99] {
                let name = format!("{arrangement:?}");
                compare!(&name, [ntu, ratio], |[n, c]| effectiveness(arrangement, n, c));
                let at = effectiveness(arrangement, ntu, ratio).unwrap();
                let slope = effectiveness(arrangement, Dual::<1>::variable(ntu, 0), Dual::constant(ratio)).unwrap();
                // The finite difference needs room below the limit; the both mixed curve bends at its top.
                if slope.partials[0] * ntu < 0.15 * at {
                    continue;
                }
                compare!(&name, [at, ratio], |[e, c]| transfer_units(arrangement, e, c));
            }
        }
    }
}

/// At C_r = 1, C_r = 0 and NTU = 0 there is no room on both sides: one-sided differences, 1e-4.
#[test]
fn effectiveness_at_its_corners() {
    for arrangement in arrangements() {
        for (ntu, ratio, toward) in [(1.7, 1.0, -1e-5), (1.7, 0.0, 1e-5), (0.0, 0.5, 1e-5)] {
            let [n, c] = Dual::<2>::variables([ntu, ratio]);
            let e = effectiveness(arrangement, n, c).unwrap();
            let (dn, dc) = if ntu == 0.0 { (toward, 0.0) } else { (0.0, toward) };
            let difference = (effectiveness(arrangement, ntu + dn, ratio + dc).unwrap() - e.value) / toward;
            let partial = if ntu == 0.0 { e.partials[0] } else { e.partials[1] };
            assert!((partial - difference).abs() < 1e-4, "{arrangement:?} {ntu} {ratio}: {partial} {difference}");
        }
    }
}

#[test]
fn duties() {
    const CROSS: Arrangement = Arrangement::CrossFlow(Mixing::BothUnmixed);
    for x in [[600.0, 500.0, 800.0, 450.0, 300.0], [900.0, 800.0, 500.0, 420.0, 260.0]] {
        compare!("heat", x, |a| duty(CROSS, a[0], a[1], a[2], a[3], a[4]).map(|d| d.heat));
        compare!("hot out", x, |a| duty(CROSS, a[0], a[1], a[2], a[3], a[4]).map(|d| d.hot_out));
        compare!("cold out", x, |a| duty(CROSS, a[0], a[1], a[2], a[3], a[4]).map(|d| d.cold_out));
    }
    for x in [[30e3, 500.0, 800.0, 450.0, 300.0], [30e3, 800.0, 500.0, 420.0, 300.0]] {
        compare!("UA", x, |a| rating(CROSS, a[0], a[1], a[2], a[3], a[4]).map(|r| r.conductance));
    }
    compare!("balance", [30e3, 29e3], |a| duty::heat_balance(a[0], a[1]));
    compare!("fouling", [400.0, 500.0], |a| duty::fouling_resistance(a[0], a[1]));
    compare!("overall", [400.0, 500.0, 1e-4], |a| duty::overall_conductance(a[0], a[1], a[2]));
    for x in [[40.0, 25.0], [25.0, 40.0], [30.0, 30.001]] {
        compare!("mean difference", x, |a| duty::log_mean_difference(a[0], a[1]));
    }
}

/// Enthalpy of saturated air at 101 325 Pa by Magnus' formula, for the test alone; the pressure is an argument too.
fn saturated<R: Real>(t: R, p: R) -> Result<R, DomainError> {
    let c = t - 273.15;
    let vapour = (c * 17.62 / (c + 243.12)).exp() * 611.2;
    let w = vapour * 0.622 / (p - vapour);
    Ok(c * 1006.0 + w * (c * 1860.0 + 2.501e6))
}

#[test]
fn wet_exchanger() {
    fn wet<R: Real>(a: [R; 9]) -> Result<thermo::exchanger::wet::WetDuty<R>, DomainError> {
        let moist = MoistSide {
            dry_air_flow: a[0],
            enthalpy_in: a[1],
            temperature_in: a[2],
            heat_capacity: a[3],
            conductance: a[4],
        };
        let cold = ColdSide { capacity_flow: a[5], temperature_in: a[6], conductance: a[7] };
        wet_duty(Arrangement::CrossFlow(Mixing::BothUnmixed), moist, cold, |t| saturated(t, a[8]))
    }
    let x = [0.5, 80e3, 303.15, 1045.0, 900.0, 600.0, 275.15, 1100.0, 101_325.0];
    let hot = [0.6, 95e3, 310.0, 1050.0, 500.0, 1600.0, 270.0, 2000.0, 101_325.0];
    for x in [x, hot] {
        // Steps of 1e-3 of a temperature are 0.3 K: the saturation line's curvature is inside.
        compare!("wet heat", x, |a| wet(a).map(|d| d.heat));
        compare!("wet out", x, |a| wet(a).map(|d| d.temperature_out));
        compare!("wet cold out", x, |a| wet(a).map(|d| d.cold_out));
    }
}

const DEVICES: [Device; 9] = [
    Device::Orifice(Tapping::Corner),
    Device::Orifice(Tapping::DAndHalfD),
    Device::Orifice(Tapping::Flange),
    Device::Isa1932Nozzle,
    Device::LongRadiusNozzle,
    Device::VenturiNozzle,
    Device::VenturiTube(Convergent::AsCast),
    Device::VenturiTube(Convergent::Machined),
    Device::VenturiTube(Convergent::RoughWelded),
];

#[test]
fn flow_meters() {
    fn parts<R: Real>(device: Device, a: [R; 7]) -> (Meter<R>, Upstream<R>, R) {
        let meter = Meter { device, pipe_diameter: a[0], throat_diameter: a[1], limits: Limits::Extrapolated };
        let upstream = Upstream { pressure: a[2], density: a[3], viscosity: a[4], isentropic_exponent: Some(a[5]) };
        (meter, upstream, a[6])
    }
    fn flow<R: Real>(device: Device, a: [R; 7]) -> Result<R, DomainError> {
        let (meter, upstream, difference) = parts(device, a);
        flow_meter::mass_flow(&meter, &upstream, difference).map(|r| r.mass_flow)
    }
    fn difference<R: Real>(device: Device, a: [R; 7]) -> Result<R, DomainError> {
        let (meter, upstream, flow) = parts(device, a);
        flow_meter::pressure_difference(&meter, &upstream, flow)
    }
    fn loss<R: Real>(device: Device, a: [R; 4]) -> Result<R, DomainError> {
        let meter = Meter { device, pipe_diameter: a[0], throat_diameter: a[1], limits: Limits::Extrapolated };
        flow_meter::pressure_loss(&meter, a[2], a[3]).map(|l| l.low)
    }
    for device in DEVICES {
        for (pipe, drop) in [(0.1, 5e3), (0.062, 30e3), (0.2, 500.0)] {
            let x = [pipe, 0.6 * pipe, 2e5, 2.3, 1.85e-5, 1.4, drop];
            compare!("flow", x, |a| flow(device, a));
            let mut x = x;
            x[6] = flow(device, x).unwrap();
            compare!("difference", x, |a| difference(device, a));
        }
        let x = [0.1, 0.06, 0.61, 1e4];
        compare!("loss", x, |a| loss(device, a));
    }
    compare!("ε of 1991", [0.5, 1e5, 1e4, 1.4], |a| flow_meter::orifice_expansibility_1991(a[0], a[1], a[2], a[3]));
    compare!("diameter", [0.1, 16e-6, 400.0, 293.0], |a| flow_meter::diameter_at(a[0], a[1], a[2], a[3]));
}

#[test]
fn nozzles_and_valves() {
    use critical_nozzle::{Stagnation, Throat, critical_flow_function, humid_critical_flow_function, mass_flow};
    fn nozzle<R: Real>(throat: Throat, a: [R; 6]) -> Result<R, DomainError> {
        let upstream = Stagnation {
            pressure: a[1],
            temperature: a[2],
            gas_constant: a[3],
            viscosity: a[4],
            critical_flow_function: a[5],
        };
        mass_flow(throat, a[0], upstream).map(|r| r.mass_flow)
    }
    for throat in [Throat::Toroidal, Throat::ToroidalAccurate, Throat::Cylindrical] {
        let x = [0.012, 4e5, 300.0, 287.05, 1.85e-5, 0.686];
        compare!("nozzle", x, |a| nozzle(throat, a));
    }
    compare!("C*", [3e5, 310.0], |a| critical_flow_function(a[0], a[1]));
    compare!("humid C*", [3e5, 310.0, 0.01], |a| humid_critical_flow_function(a[0], a[1], a[2]));
    for downstream in [100e3, 150e3, 270e3, 299.9e3] {
        fn gas<R: Real>(a: &[R; 6]) -> Gas<R> {
            Gas { pressure: a[1], temperature: a[2], gas_constant: a[3], isentropic_exponent: a[4] }
        }
        if downstream > 299e3 {
            // Steps of 1e-3 would leave the straight line: one argument at a time, by hand.
            let flow = |p: f64| valve_flow::mass_flow(2e-5, gas(&[0.0, 3e5, 290.0, 287.05, 1.4, 0.0]), p).unwrap();
            let dual = gas(&[0.0, 3e5, 290.0, 287.05, 1.4, 0.0].map(Dual::<1>::constant));
            let dual = valve_flow::mass_flow(Dual::constant(2e-5), dual, Dual::variable(downstream, 0)).unwrap();
            let difference = (flow(downstream + 10.0) - flow(downstream - 10.0)) / 20.0;
            assert!((dual.partials[0] / difference - 1.0).abs() < 1e-9);
            continue;
        }
        let x = [2e-5, 3e5, 290.0, 287.05, 1.4, downstream];
        compare!("valve", x, |a| valve_flow::mass_flow(a[0], gas(&a), a[5]));
        let x = [5e-3, 3e5, 290.0, 287.05, 1.4, downstream];
        compare!("area", x, |a| effective_area(a[0], gas(&a), a[5]));
    }
}

#[test]
fn corrected_and_ratio() {
    use thermo::{corrected, pressure_ratio};
    compare!("W_c", [0.5, 310.0, 2e5, 0.012], |a| corrected::humid_flow(a[0], a[1], a[2], a[3]));
    compare!("N_c", [4000.0, 310.0, 0.012], |a| corrected::humid_speed(a[0], a[1], a[2]));
    compare!("π", [4e5, 1e5], |a| pressure_ratio::ratio(a[0], a[1]));
}

#[test]
fn atmosphere_leaks_and_pressure_drops() {
    for altitude in [-2000.0, 1500.0, 9000.0, 15_000.0, 25_000.0, 40_000.0, 49_000.0, 60_000.0, 75_000.0] {
        compare!("p", [altitude], |a| atmosphere::standard_air(a[0]).map(|s| s.pressure));
        compare!("ρ", [altitude], |a| atmosphere::standard_air(a[0]).map(|s| s.density));
        compare!("a", [altitude], |a| atmosphere::standard_air(a[0]).map(|s| s.speed_of_sound));
        let p = atmosphere::standard_air(altitude).unwrap().pressure;
        compare!("H", [p], |a| atmosphere::pressure_altitude(a[0]));
        compare!("rate", [p, -12.0], |a| atmosphere::altitude_rate(a[0], a[1]));
        compare!("geopotential", [altitude], |a| atmosphere::geopotential_altitude(a[0]));
        compare!("geometric", [altitude], |a| atmosphere::geometric_altitude(a[0]));
    }
    compare!("μ", [300.0], |a| atmosphere::viscosity(a[0]));
    compare!("ρ", [1e5, 300.0], |a| atmosphere::density(a[0], a[1]));
    compare!("leak", [0.5, 287.0, 2e5, 300.0, -100.0, -0.01], |a| leak_rate(a[0], a[1], a[2], a[3], a[4], a[5]));
    compare!("mean leak", [0.5, 287.0, 2e5, 300.0, 1.9e5, 299.0, 60.0], |a| {
        let state = |pressure, temperature| State { pressure, temperature };
        mean_leak_rate(a[0], a[1], state(a[2], a[3]), state(a[4], a[5]), a[6])
    });
    compare!("σΔp", [5e3, 2.0, 1.8], |a| pressure_drop::corrected_pressure_drop(a[0], a[1], a[2]));
    compare!("Δp/δ", [5e3, 2e5], |a| pressure_drop::referred_pressure_drop(a[0], a[1]));
}
