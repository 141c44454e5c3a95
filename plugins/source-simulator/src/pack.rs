//! A simulated pack of an invented unit: three wheels, high-pressure water separation, ram sides in series with the
//! secondary exchanger first. All figures are our own invention; their order of magnitude is common practice, no
//! source.
//!
//! What it is: dry air of constant heat capacity, exchangers by effectiveness, a rotor with inertia and a power
//! balance, first-order lags for temperatures and flow. What it is not: humid air (water neither condenses nor
//! freezes), component maps, heat soak of walls. Lags are shorter than on a real unit so that a demonstration of one
//! minute shows a start, a steady stretch and a recovery.
//!
//! **Invariant:** the state is a function of seed, script and simulated time alone: no clock, and the same however
//! the time is cut into `advance` calls, to one step.

// A simulated instrument is an input: what it gives is logged, and only results from the log are promised to the bit.
#![allow(clippy::disallowed_methods)]

use crate::script::Script;

/// Specific heat capacity of dry air at constant pressure, J/(kg K), taken constant.
const CP: f64 = 1005.0;
/// (γ − 1)/γ with γ = 1.4.
const KAPPA: f64 = 2.0 / 7.0;
/// The step of the integration, s.
const STEP: f64 = 0.005;

// Boundary conditions in K, Pa and as a share; flows in kg/s; the speed of the rotor in rad/s.
const BLEED_T: f64 = 461.0;
const BLEED_P: f64 = 362_000.0;
const AMBIENT_T: f64 = 303.2;
const AMBIENT_P: f64 = 100_600.0;
const AMBIENT_RH: f64 = 0.43;
const FLOW: f64 = 0.42;
const RAM_FLOW: f64 = 0.95;
const SPEED: f64 = 4_100.0;
/// Conductance of the primary and the secondary exchanger at the flows above, W/K.
const PRIMARY_UA: f64 = 820.0;
const SECONDARY_UA: f64 = 980.0;
/// Effectiveness of reheater and condenser.
const REHEATER: f64 = 0.55;
const CONDENSER: f64 = 0.50;
/// Compressor pressure rise as a share of the inlet pressure at `SPEED`.
const COMPRESSOR_RISE: f64 = 0.42;
const COMPRESSOR_EFFICIENCY: f64 = 0.76;
const TURBINE_EFFICIENCY: f64 = 0.80;
/// Flow constant of the turbine in the elliptic law, kg K^0.5 / (s Pa).
const NOZZLE: f64 = 2.32e-5;
/// Power of the fan and of bearings and windage at `SPEED`, W.
const FAN_POWER: f64 = 3_400.0;
const LOSS_POWER: f64 = 700.0;
/// Moment of inertia of the rotor, kg m².
const INERTIA: f64 = 0.009;
/// Pressure drops at `FLOW`, Pa.
const PRIMARY_DROP: f64 = 9_000.0;
const SECONDARY_DROP: f64 = 11_000.0;
const SEPARATION_DROP: f64 = 9_500.0;
const CONDENSER_COLD_DROP: f64 = 4_800.0;
const DUCT_DROP: f64 = 4_200.0;
/// Position of the bypass valve while running, and the share of the flow that passes it when fully open.
const BYPASS_POSITION: f64 = 0.30;
const BYPASS_SHARE: f64 = 0.30;
/// Lags, s.
const FLOW_LAG: f64 = 0.8;
const GAS_LAG: f64 = 1.6;
const RAM_LAG: f64 = 1.0;
const DUCT_LAG: f64 = 2.5;
const BEARING_LAG: f64 = 12.0;
const REST_LAG: f64 = 30.0;
/// How much warmer than the turbine's inlet the bearings run at `SPEED`, K.
const BEARING_RISE: f64 = 45.0;

/// The unit at a moment, SI throughout (s, K, Pa absolute, kg/s, rad/s; positions and humidity 0 to 1).
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)] // each field is named by place and quantity
pub struct State {
    pub time: f64,
    pub ambient_temperature: f64,
    pub ambient_pressure: f64,
    pub ambient_relative_humidity: f64,
    pub bleed_temperature: f64,
    pub bleed_pressure: f64,
    pub flow: f64,
    pub ram_flow: f64,
    pub speed: f64,
    pub pack_in_temperature: f64,
    pub pack_in_pressure: f64,
    pub primary_out_temperature: f64,
    pub compressor_in_pressure: f64,
    pub compressor_out_temperature: f64,
    pub compressor_out_pressure: f64,
    pub secondary_out_temperature: f64,
    pub turbine_in_temperature: f64,
    pub turbine_in_pressure: f64,
    pub turbine_out_temperature: f64,
    pub turbine_out_pressure: f64,
    pub discharge_temperature: f64,
    pub discharge_pressure: f64,
    pub ram_in_temperature: f64,
    pub secondary_ram_out_temperature: f64,
    pub primary_ram_out_temperature: f64,
    pub ram_pressure_difference: f64,
    pub bearing_temperature: f64,
    pub flow_valve_position: f64,
    pub ram_door_position: f64,
    pub bypass_position: f64,
}

/// The simulated unit.
#[derive(Clone, Debug)]
pub struct Pack {
    seed: u64,
    script: Script,
    steps: u64,
    /// Simulated time asked for and not yet stepped, s.
    rest: f64,
    state: State,
}

impl Pack {
    /// The unit at rest, everything at ambient, with the default script.
    pub fn new(seed: u64) -> Pack {
        Pack::with_script(seed, Script::default())
    }

    /// The unit at rest, everything at ambient.
    pub fn with_script(seed: u64, script: Script) -> Pack {
        let (t, p) = (AMBIENT_T, AMBIENT_P);
        let state = State {
            time: 0.0,
            ambient_temperature: t,
            ambient_pressure: p,
            ambient_relative_humidity: AMBIENT_RH,
            bleed_temperature: BLEED_T,
            bleed_pressure: BLEED_P,
            flow: 0.0,
            ram_flow: 0.0,
            speed: 0.0,
            pack_in_temperature: t,
            pack_in_pressure: p,
            primary_out_temperature: t,
            compressor_in_pressure: p,
            compressor_out_temperature: t,
            compressor_out_pressure: p,
            secondary_out_temperature: t,
            turbine_in_temperature: t,
            turbine_in_pressure: p,
            turbine_out_temperature: t,
            turbine_out_pressure: p,
            discharge_temperature: t,
            discharge_pressure: p,
            ram_in_temperature: t,
            secondary_ram_out_temperature: t,
            primary_ram_out_temperature: t,
            ram_pressure_difference: 0.0,
            bearing_temperature: t,
            flow_valve_position: 0.0,
            ram_door_position: 1.0,
            bypass_position: 0.0,
        };
        Pack { seed, script, steps: 0, rest: 0.0, state }
    }

    /// Lets so many seconds pass. A negative or non-finite time passes nothing.
    pub fn advance(&mut self, dt: f64) {
        if dt.is_finite() && dt > 0.0 {
            self.rest += dt;
        }
        while self.rest >= STEP {
            self.rest -= STEP;
            self.steps += 1;
            self.step();
        }
    }

    /// The unit as it is.
    pub fn state(&self) -> State {
        self.state
    }

    /// The unit as its sensors see it: with noise, the same for the same seed and simulated time.
    pub fn sensed(&self) -> State {
        let mut s = self.state;
        let noise = |index: u64| normal(self.seed, self.steps, index);
        let temperatures = [
            &mut s.ambient_temperature,
            &mut s.bleed_temperature,
            &mut s.pack_in_temperature,
            &mut s.primary_out_temperature,
            &mut s.compressor_out_temperature,
            &mut s.secondary_out_temperature,
            &mut s.turbine_in_temperature,
            &mut s.turbine_out_temperature,
            &mut s.discharge_temperature,
            &mut s.ram_in_temperature,
            &mut s.secondary_ram_out_temperature,
            &mut s.primary_ram_out_temperature,
            &mut s.bearing_temperature,
        ];
        for (i, t) in temperatures.into_iter().enumerate() {
            *t += 0.08 * noise(i as u64);
        }
        let pressures = [
            &mut s.bleed_pressure,
            &mut s.pack_in_pressure,
            &mut s.compressor_in_pressure,
            &mut s.compressor_out_pressure,
            &mut s.turbine_in_pressure,
            &mut s.turbine_out_pressure,
            &mut s.discharge_pressure,
        ];
        for (i, p) in pressures.into_iter().enumerate() {
            *p += 60.0 * noise(32 + i as u64);
        }
        s.flow *= 1.0 + 0.002 * noise(64);
        s.speed *= 1.0 + 0.000_5 * noise(65);
        s.ram_pressure_difference += 3.0 * noise(66);
        s.ambient_relative_humidity += 0.001 * noise(67);
        s
    }

    fn step(&mut self) {
        let t = self.steps as f64 * STEP;
        // The supply wanders a little and slowly: no real supply is constant.
        let supply = 1.0 + 0.004 * (0.11 * t).sin() + 0.000_5 * normal(self.seed, self.steps, 99);
        let s = &mut self.state;
        s.time = t;
        s.flow_valve_position = self.script.flow_valve(t);
        s.ram_door_position = self.script.ram_area(t);
        s.bypass_position = BYPASS_POSITION * s.flow_valve_position;
        s.bleed_pressure = BLEED_P * supply;
        lag(&mut s.flow, FLOW * s.flow_valve_position * supply, FLOW_LAG);
        rotor(s);
        pressures(s);
        temperatures(s);
    }
}

/// Flow through compressor and turbine, kg/s: what does not pass the bypass.
fn core_flow(s: &State) -> f64 {
    s.flow * (1.0 - BYPASS_SHARE * s.bypass_position)
}

fn pressure_ratio(s: &State) -> f64 {
    1.0 + COMPRESSOR_RISE * (s.speed / SPEED).powi(2)
}

/// Enthalpy rise of the compressor per kg over CP, K.
fn compressor_rise(s: &State) -> f64 {
    s.primary_out_temperature * (pressure_ratio(s).powf(KAPPA) - 1.0) / COMPRESSOR_EFFICIENCY
}

/// Enthalpy drop of the turbine per kg over CP, K.
fn turbine_drop(s: &State) -> f64 {
    let expansion = (s.turbine_in_pressure / s.turbine_out_pressure).max(1.0);
    s.turbine_in_temperature * (1.0 - expansion.powf(-KAPPA)) * TURBINE_EFFICIENCY
}

/// J ω dω/dt = turbine − compressor − fan − losses.
fn rotor(s: &mut State) {
    let n = s.speed / SPEED;
    let capacity = core_flow(s) * CP;
    let fan = FAN_POWER * n.powi(3) * s.ram_door_position.max(0.2);
    let surplus = capacity * (turbine_drop(s) - compressor_rise(s)) - fan - LOSS_POWER * n * n;
    s.speed = (s.speed + STEP * surplus / (INERTIA * s.speed.max(100.0))).max(0.0);
    // The fan on the shaft draws the ram air; the door throttles it.
    s.ram_flow = RAM_FLOW * (s.speed / SPEED) * s.ram_door_position;
    s.ram_pressure_difference = 1_900.0 * (s.speed / SPEED).powi(2) * (0.3 + 0.7 * s.ram_door_position);
}

/// Back from the discharge: drops with the square of the flow, the turbine by the elliptic law
/// m √T / p = K √(1 − (p_out/p_in)²) (Stodola; from memory).
fn pressures(s: &mut State) {
    let (all, core) = ((s.flow / FLOW).powi(2), (core_flow(s) / FLOW).powi(2));
    s.discharge_pressure = s.ambient_pressure + DUCT_DROP * all;
    s.turbine_out_pressure = s.discharge_pressure + CONDENSER_COLD_DROP * core;
    let through = core_flow(s) * s.turbine_in_temperature.sqrt() / NOZZLE;
    s.turbine_in_pressure = s.turbine_out_pressure.hypot(through);
    s.compressor_out_pressure = s.turbine_in_pressure + (SECONDARY_DROP + SEPARATION_DROP) * core;
    s.compressor_in_pressure = s.compressor_out_pressure / pressure_ratio(s);
    s.pack_in_pressure = s.compressor_in_pressure + PRIMARY_DROP * all;
}

fn temperatures(s: &mut State) {
    if s.flow < 1e-3 || s.ram_flow < 1e-3 {
        return rest(s);
    }
    let (core, ram) = (core_flow(s), s.ram_flow);
    let size = ((core / FLOW) * (ram / RAM_FLOW)).powf(0.4);
    lag(&mut s.pack_in_temperature, s.bleed_temperature, GAS_LAG);
    let e1 = effectiveness(PRIMARY_UA * size, core * CP, ram * CP);
    let q1 = e1 * core.min(ram) * (s.pack_in_temperature - s.secondary_ram_out_temperature);
    lag(&mut s.primary_out_temperature, s.pack_in_temperature - q1 / core, GAS_LAG);
    lag(&mut s.primary_ram_out_temperature, s.secondary_ram_out_temperature + q1 / ram, RAM_LAG);
    let outlet = s.primary_out_temperature + compressor_rise(s);
    lag(&mut s.compressor_out_temperature, outlet, 0.3);
    let e2 = effectiveness(SECONDARY_UA * size, core * CP, ram * CP);
    let q2 = e2 * core.min(ram) * (s.compressor_out_temperature - s.ram_in_temperature);
    lag(&mut s.secondary_out_temperature, s.compressor_out_temperature - q2 / core, GAS_LAG);
    lag(&mut s.secondary_ram_out_temperature, s.ram_in_temperature + q2 / ram, RAM_LAG);
    let (turbine_in, condenser_rise) = water_separation(s.secondary_out_temperature, s.turbine_out_temperature);
    lag(&mut s.turbine_in_temperature, turbine_in, GAS_LAG);
    let outlet = s.turbine_in_temperature - turbine_drop(s);
    lag(&mut s.turbine_out_temperature, outlet, 0.5);
    let share = 1.0 - core / s.flow;
    let mixed = (1.0 - share) * (s.turbine_out_temperature + condenser_rise) + share * s.pack_in_temperature;
    lag(&mut s.discharge_temperature, mixed, DUCT_LAG);
    let bearing = s.turbine_in_temperature + BEARING_RISE * s.speed / SPEED;
    lag(&mut s.bearing_temperature, bearing, BEARING_LAG);
}

/// With nothing flowing everything goes back to ambient.
fn rest(s: &mut State) {
    for t in [
        &mut s.pack_in_temperature,
        &mut s.primary_out_temperature,
        &mut s.compressor_out_temperature,
        &mut s.secondary_out_temperature,
        &mut s.turbine_in_temperature,
        &mut s.turbine_out_temperature,
        &mut s.discharge_temperature,
        &mut s.secondary_ram_out_temperature,
        &mut s.primary_ram_out_temperature,
        &mut s.bearing_temperature,
    ] {
        lag(t, s.ambient_temperature, REST_LAG);
    }
}

/// Turbine inlet temperature and the condenser's cold-side rise: reheater and condenser around a dry extractor, both
/// with equal flow on both sides, closed form of their two heat balances.
fn water_separation(secondary_out: f64, turbine_out: f64) -> (f64, f64) {
    let reheated = secondary_out * (1.0 - REHEATER) + REHEATER * CONDENSER * turbine_out;
    let hot_out = reheated / (1.0 - REHEATER * (1.0 - CONDENSER));
    let condenser_rise = CONDENSER * (hot_out - turbine_out);
    (secondary_out - condenser_rise, condenser_rise)
}

/// Effectiveness of a counter-flow exchanger from its conductance and two capacity rates, all W/K: with
/// NTU = UA/C_min and c = C_min/C_max, (1 − e^(−NTU(1−c))) / (1 − c e^(−NTU(1−c))), NTU/(1 + NTU) at c = 1
/// (Kays & London, Compact Heat Exchangers, 3rd edition 1984; from memory).
fn effectiveness(ua: f64, one: f64, other: f64) -> f64 {
    let (least, most) = (one.min(other), one.max(other));
    let (ntu, c) = (ua / least, least / most);
    if (1.0 - c).abs() < 1e-6 {
        return ntu / (1.0 + ntu);
    }
    let e = (-ntu * (1.0 - c)).exp();
    (1.0 - e) / (1.0 - c * e)
}

fn lag(x: &mut f64, target: f64, seconds: f64) {
    *x += (target - *x) * (STEP / seconds).min(1.0);
}

/// A number of zero mean and unit variance that depends on its three arguments alone: four uniform ones summed, each
/// from the splitmix64 finaliser (Steele, Lea & Flood 2014; constants from memory).
fn normal(seed: u64, step: u64, index: u64) -> f64 {
    let mut sum = 0.0;
    for part in 0..4 {
        let key = seed ^ (step << 16) ^ (index << 3) ^ part;
        let mut z = key.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        sum += (z >> 11) as f64 / (1u64 << 53) as f64 - 0.5;
    }
    sum * 3f64.sqrt()
}

#[cfg(test)]
#[path = "pack/tests.rs"]
mod tests;
