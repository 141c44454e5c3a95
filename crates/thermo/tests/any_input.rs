//! Exchangers, flow meters, nozzles, valves, atmosphere: whatever numbers come in, a finite number or a refusal comes
//! out, and the derivatives of a result are finite too.

use thermo::DomainError;
use thermo::exchanger::duty::{self, duty, rating};
use thermo::exchanger::wet::{ColdSide, MoistSide, saturated_enthalpy, wet_duty};
use thermo::exchanger::{Arrangement, Mixing, effectiveness, hot_side_effectiveness, transfer_units};
use thermo::flow_meter::{self, Convergent, Device, Limits, Meter, Tapping, Upstream};
use thermo::humid_air::uncertainty::model;
use thermo::leak_down::{State, leak_rate, mean_leak_rate};
use thermo::saturation::Condensate;
use thermo::valve_flow::{self, Gas, effective_area};
use thermo::{atmosphere, corrected, critical_nozzle, pressure_drop};
use units::{Dual, Real};

/// Numbers that break formulas, and the ordinary ones they have to be among to get past the first check.
const POOL: [f64; 40] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN,
    f64::MIN_POSITIVE,
    5e-324,
    f64::EPSILON,
    0.0,
    -0.0,
    -1.0,
    1e-300,
    1e-12,
    1e-5,
    1.85e-5,
    1e-3,
    0.0125,
    0.06,
    0.1,
    0.5,
    0.75,
    0.999_999,
    1.0,
    1.000_000_1,
    1.4,
    2.0,
    10.0,
    287.05,
    300.0,
    450.0,
    499.0,
    1000.0,
    1e4,
    5e4,
    1e5,
    2e5,
    1e6,
    1e8,
    1e30,
    1e300,
];

/// A sequence that is the same on every run.
struct Sequence(u64);

impl Sequence {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// Mostly from the pool, sometimes any bits.
    fn number(&mut self) -> f64 {
        let n = self.next();
        if n.is_multiple_of(16) { f64::from_bits(self.next()) } else { POOL[(n / 16 % 40) as usize] }
    }
}

fn check<const N: usize>(
    name: &str,
    plain: impl Fn([f64; N]) -> Result<Vec<f64>, DomainError>,
    dual: impl Fn([Dual<N>; N]) -> Result<Vec<Dual<N>>, DomainError>,
) {
    let mut sequence = Sequence(0x2545_f491_4f6c_dd1d ^ name.len() as u64);
    let (mut rounds, mut results) = (0, 0);
    while rounds < 2000 || (results == 0 && rounds < 200_000) {
        rounds += 1;
        let x: [f64; N] = std::array::from_fn(|_| sequence.number());
        match plain(x) {
            Ok(values) => {
                results += 1;
                assert!(values.iter().all(|v| v.is_finite()), "{name} {x:?}: {values:?}");
            }
            Err(e) => assert!(!e.argument.is_empty() && !e.valid.is_empty() && !e.formula.is_empty()),
        }
        if let Ok(values) = dual(Dual::variables(x)) {
            assert!(values.iter().all(|v| Real::is_finite(*v)), "{name} {x:?}: {values:?}");
        }
    }
    assert!(results > 0, "{name}: nothing got through, the test shows nothing");
}

macro_rules! check {
    ($name:expr, |$a:pat_param| $formula:expr) => {
        check($name, |$a| $formula, |$a| $formula)
    };
}

fn one<R>(result: Result<R, DomainError>) -> Result<Vec<R>, DomainError> {
    result.map(|r| vec![r])
}

const MIXINGS: [Mixing; 4] = [Mixing::BothUnmixed, Mixing::MinMixed, Mixing::MaxMixed, Mixing::BothMixed];

#[test]
fn exchangers() {
    let mut all = vec![Arrangement::CounterFlow, Arrangement::ParallelFlow];
    all.extend([1, 3].map(|shells| Arrangement::ShellAndTube { shells }));
    all.extend(MIXINGS.map(Arrangement::CrossFlow));
    all.extend(MIXINGS.map(|mixing| Arrangement::CrossCounterFlow { passes: 64, mixing }));
    for arrangement in all {
        check!(&format!("{arrangement:?}"), |[n, c]| one(effectiveness(arrangement, n, c)));
        check!(&format!("{arrangement:?} inverse"), |[e, c]| one(transfer_units(arrangement, e, c)));
        check!("duty", |[ua, h, c, a, b]| duty(arrangement, ua, h, c, a, b).map(|d| vec![
            d.heat,
            d.effectiveness,
            d.transfer_units,
            d.capacity_ratio,
            d.hot_out,
            d.cold_out
        ]));
        check!("rating", |[q, h, c, a, b]| rating(arrangement, q, h, c, a, b).map(|r| vec![
            r.effectiveness,
            r.transfer_units,
            r.capacity_ratio,
            r.conductance
        ]));
    }
    for passes in [0, 65, u32::MAX] {
        let mixing = Mixing::BothUnmixed;
        assert!(effectiveness(Arrangement::CrossCounterFlow { passes, mixing }, 1.0, 0.5).is_err());
        assert!(transfer_units(Arrangement::ShellAndTube { shells: passes }, 0.5, 0.5).is_err());
    }
    check!("balance", |[a, b]| one(duty::heat_balance(a, b)));
    check!("fouling", |[a, b]| one(duty::fouling_resistance(a, b)));
    check!("overall", |[a, b, c]| one(duty::overall_conductance(a, b, c)));
    check!("mean difference", |[a, b]| one(duty::log_mean_difference(a, b)));
    check!("from heat", |[q, c, a, b]| one(duty::effectiveness_from_heat(q, c, a, b)));
}

#[test]
fn wet_exchanger() {
    check!("wet", |[flow, h, t, cp, ha, c, tc, hc]| {
        let moist =
            MoistSide { dry_air_flow: flow, enthalpy_in: h, temperature_in: t, heat_capacity: cp, conductance: ha };
        let cold = ColdSide { capacity_flow: c, temperature_in: tc, conductance: hc };
        // 287.05 K and 300 K of the pool lie on a line that passes through ordinary enthalpies.
        wet_duty(Arrangement::CounterFlow, moist, cold, |t| Ok((t - 280.0) * 1000.0)).map(|d| {
            vec![d.heat, d.effectiveness, d.enthalpy_out, d.temperature_out, d.surface_temperature, d.cold_out]
        })
    });
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
    for device in DEVICES {
        let name = format!("{device:?}");
        // Geometry inside, the rest anything; then everything anything beyond the limits.
        check!(&name, |[p, rho, mu, kappa, dp]| {
            let limits = Limits::Enforced;
            let meter = Meter { device, pipe_diameter: Real::of(0.2), throat_diameter: Real::of(0.1), limits };
            let upstream = Upstream { pressure: p, density: rho, viscosity: mu, isentropic_exponent: Some(kappa) };
            flow_meter::mass_flow(&meter, &upstream, dp)
                .map(|r| vec![r.mass_flow, r.reynolds, r.discharge_coefficient, r.expansibility])
        });
        check!(&name, |[pipe_diameter, throat_diameter, p, rho, mu, kappa, dp]| {
            let meter = Meter { device, pipe_diameter, throat_diameter, limits: Limits::Extrapolated };
            let upstream = Upstream { pressure: p, density: rho, viscosity: mu, isentropic_exponent: Some(kappa) };
            flow_meter::mass_flow(&meter, &upstream, dp)
                .map(|r| vec![r.mass_flow, r.reynolds, r.discharge_coefficient, r.expansibility])
        });
        check!(&name, |[pipe_diameter, throat_diameter, p, rho, mu, kappa, flow]| {
            let meter = Meter { device, pipe_diameter, throat_diameter, limits: Limits::Extrapolated };
            let upstream = Upstream { pressure: p, density: rho, viscosity: mu, isentropic_exponent: Some(kappa) };
            one(flow_meter::pressure_difference(&meter, &upstream, flow))
        });
        check!(&name, |[pipe_diameter, throat_diameter, re, c]| {
            let meter = Meter { device, pipe_diameter, throat_diameter, limits: Limits::Extrapolated };
            let air = Upstream { pressure: re, density: c, viscosity: c, isentropic_exponent: Some(c) };
            if let Some(u) = flow_meter::uncertainty(&meter, re, &air, c)? {
                assert!(u.discharge_coefficient.is_finite() && u.expansibility.is_finite(), "{u:?}");
            }
            Ok(vec![flow_meter::expansibility(&meter, re, c, c)?])
        });
        check!(&name, |[pipe_diameter, throat_diameter, re, c]| {
            let meter = Meter { device, pipe_diameter, throat_diameter, limits: Limits::Extrapolated };
            let loss = flow_meter::pressure_loss(&meter, c, re)?;
            Ok(vec![loss.low, loss.high, flow_meter::discharge_coefficient(&meter, re)?])
        });
    }
    check!("1991", |[b, p, d, k]| one(flow_meter::orifice_expansibility_1991(b, p, d, k)));
    check!("diameter", |[d, a, t, r]| one(flow_meter::diameter_at(d, a, t, r)));
}

#[test]
fn nozzles_and_valves() {
    use critical_nozzle::{Stagnation, Throat, critical_flow_function, humid_critical_flow_function, mass_flow};
    for throat in [Throat::Toroidal, Throat::ToroidalAccurate, Throat::Cylindrical] {
        check!("nozzle", |[d, p, t, r, mu, c]| {
            let state =
                Stagnation { pressure: p, temperature: t, gas_constant: r, viscosity: mu, critical_flow_function: c };
            mass_flow(throat, d, state).map(|x| vec![x.mass_flow, x.reynolds, x.discharge_coefficient])
        });
    }
    check!("C*", |[p, t]| one(critical_flow_function(p, t)));
    check!("humid C*", |[p, t, w]| one(humid_critical_flow_function(p, t, w)));
    check!("valve", |[area, p1, t, r, k, p2]| {
        let gas = Gas { pressure: p1, temperature: t, gas_constant: r, isentropic_exponent: k };
        one(valve_flow::mass_flow(area, gas, p2))
    });
    check!("area", |[flow, p1, t, r, k, p2]| {
        let gas = Gas { pressure: p1, temperature: t, gas_constant: r, isentropic_exponent: k };
        one(effective_area(flow, gas, p2))
    });
    check!("ψ", |[r, k]| one(valve_flow::flow_function(r, k)));
    check!("r_c", |[k]| one(valve_flow::critical_pressure_ratio(k)));
}

#[test]
fn corrected_quantities_and_the_model_s_uncertainty() {
    check!("W_c", |[flow, t, p, w]| one(corrected::humid_flow(flow, t, p, w)));
    check!("N_c", |[speed, t, w]| one(corrected::humid_speed(speed, t, w)));
    for condensate in [Condensate::Equilibrium, Condensate::Supercooled] {
        check!("saturated enthalpy", |[t, p]| one(saturated_enthalpy(t, p, condensate)));
    }
    check!("hot side", |[a, b, c]| one(hot_side_effectiveness(a, b, c)));
    check!("model", |[t, p, w]| {
        let u = model(Real::value(t), Real::value(p), Real::value(w))?;
        one(Ok(t * 0.0 + (u.density + u.enthalpy_difference + u.saturation + u.dew_point)))
    });
}

#[test]
fn atmosphere_leaks_and_pressure_drops() {
    check!("air", |[h]| atmosphere::standard_air(h).map(|a| vec![
        a.temperature,
        a.pressure,
        a.density,
        a.speed_of_sound
    ]));
    check!("altitude", |[p]| one(atmosphere::pressure_altitude(p)));
    check!("rate", |[p, r]| one(atmosphere::altitude_rate(p, r)));
    check!("geopotential", |[z]| one(atmosphere::geopotential_altitude(z)));
    check!("geometric", |[h]| one(atmosphere::geometric_altitude(h)));
    check!("viscosity", |[t]| one(atmosphere::viscosity(t)));
    check!("density", |[p, t]| one(atmosphere::density(p, t)));
    check!("leak", |[v, r, p, t, dp, dt]| one(leak_rate(v, r, p, t, dp, dt)));
    check!("mean leak", |[v, r, p1, t1, p2, t2, s]| {
        let state = |pressure, temperature| State { pressure, temperature };
        one(mean_leak_rate(v, r, state(p1, t1), state(p2, t2), s))
    });
    check!("σΔp", |[d, a, b]| one(pressure_drop::corrected_pressure_drop(d, a, b)));
    check!("Δp/δ", |[d, p]| one(pressure_drop::referred_pressure_drop(d, p)));
}
