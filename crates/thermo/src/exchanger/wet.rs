//! An exchanger in which water condenses on the hot side, on enthalpy instead of temperature.

use super::{Arrangement, effectiveness};
use crate::domain::{DomainError, check, finite, positive};
use crate::humid_air::humidity::saturation_humidity_ratio;
use crate::humid_air::properties::enthalpy;
use crate::saturation::Condensate;
use units::Real;

const NAME: &str = "wet exchanger";

/// The moist side: air that is cooled. Everything per kg of dry air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoistSide<R> {
    /// Dry-air mass flow, kg/s.
    pub dry_air_flow: R,
    /// Inlet enthalpy, J/kg of dry air, liquid carried along included.
    pub enthalpy_in: R,
    /// Inlet temperature, K.
    pub temperature_in: R,
    /// Specific heat at constant pressure of the moist air, J/(kg of dry air·K).
    pub heat_capacity: R,
    /// Conductance from the air to the wall, ηhA, W/K.
    pub conductance: R,
}

/// The side that cools.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColdSide<R> {
    /// Capacity flow, W/K.
    pub capacity_flow: R,
    /// Inlet temperature, K.
    pub temperature_in: R,
    /// Conductance from the moist side's surface to the cold fluid, wall and fouling included, W/K.
    pub conductance: R,
}

/// What leaves a wet exchanger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WetDuty<R> {
    /// Heat from the moist to the cold side, sensible and latent, W.
    pub heat: R,
    /// Enthalpy effectiveness ε*.
    pub effectiveness: R,
    /// Outlet enthalpy of the moist side, J/kg of dry air; of what leaves with the air and what drains together.
    pub enthalpy_out: R,
    /// Outlet temperature of the moist side, K.
    pub temperature_out: R,
    /// Effective temperature of the wet surface, K.
    pub surface_temperature: R,
    /// Outlet temperature of the cold side, K.
    pub cold_out: R,
}

/// Heat and outlets of an exchanger whose whole hot surface is wet.
///
/// ```text
/// c_s = (h_s(T_c,out) − h_s(T_c,in))/(T_c,out − T_c,in)      h_s: of saturated air at the moist side's pressure
/// 1/UA* = c_p/(ηhA)_air + c_s/(ηhA)_cold                        Lewis number 1
/// m_min, m_max of m_air and C_cold/c_s        N* = UA*/m_min   ε* = ε(N*, m_min/m_max) of the arrangement
/// q = ε*·m_min·(h_in − h_s(T_c,in))           T_c,out = T_c,in + q/C_cold   (iterated: c_s depends on it)
/// h_s(T_s) = h_in − (h_in − h_out)/(1 − e^−N_a)   N_a = (ηhA)_air/(m_air·c_p)
/// T_out = T_s + (T_in − T_s)·e^−N_a
/// ```
/// Condensation takes place only where T_s is below the inlet's dew point: else the exchanger is dry and
/// [`duty`](super::duty::duty) holds. For a partly wet surface the greater of the dry and the wet heat is close (within
/// some 5 % by the method's authors, from memory). Fully wet, the heat is 0.5 to 5 % above that of the same exchanger
/// cut into small pieces (four cases in the tests): the method takes the saturation line as straight. The heat of the
/// water that drains is left in h_out.
///
/// `h_s` gives h_s(T), J/kg of dry air, for any temperature between the two inlets: [`saturated_enthalpy`] at the
/// moist side's pressure. It may refuse from some temperature upwards (boiling, the end of the saturation curve).
///
/// * Units: see the fields.
/// * Range: flows, conductances and c_p above zero, temperatures above 0 K, h_in above h_s(T_c,in)
///   and at most h_s(T_in + 2 K), or where h_s ends below that, at most h_s there. A rise of the cold side below 0.01 K
///   has c_s over 0.01 K.
/// * Outside: [`DomainError`]; an error of `h_s` at the cold inlet is handed on.
/// * Source: enthalpy potential of F. Merkel (1925); effectiveness model of J.E. Braun, S.A. Klein, J.W. Mitchell,
///   Effectiveness models for cooling towers and cooling coils, ASHRAE Transactions 95(2), 1989 (from memory). Worked
///   in example SM2-1 of J.W. Mitchell and J.E. Braun, Principles of Heating, Ventilation, and Air Conditioning in
///   Buildings, 2012: its heat is met to 0.2 %.
pub fn wet_duty<R: Real>(
    arrangement: Arrangement,
    moist: MoistSide<R>,
    cold: ColdSide<R>,
    h_s: impl Fn(R) -> Result<R, DomainError>,
) -> Result<WetDuty<R>, DomainError> {
    check_sides(&moist, &cold)?;
    let inlet_saturated = h_s(cold.temperature_in)?;
    let potential = positive(
        NAME,
        "inlet enthalpy above that of air saturated at the cold inlet temperature",
        moist.enthalpy_in - inlet_saturated,
        "above 0 J/kg: else no heat flows to the cold side",
    )?;
    let wet = Wet { arrangement, moist, cold, inlet_saturated, potential };

    let lowest = cold.temperature_in.value();
    let (highest, most, valid) = highest_saturated(lowest, moist.temperature_in.value() + SUPERSATURATED, &h_s)?;
    let refused = DomainError { formula: NAME, argument: "inlet enthalpy", value: moist.enthalpy_in.value(), valid };
    if moist.enthalpy_in > most {
        return Err(refused);
    }
    let excess = |t: R| -> Result<R, DomainError> {
        let (heat, _) = wet.heat(h_s(t)?, t)?;
        Ok(cold.temperature_in + heat / cold.capacity_flow - t)
    };
    let cold_out = root(lowest + LEAST_CHORD, highest, &excess)?.ok_or(refused)?;
    let (heat, effectiveness) = wet.heat(h_s(cold_out)?, cold_out)?;
    let enthalpy_out = moist.enthalpy_in - heat / moist.dry_air_flow;

    let air_units = moist.conductance / (moist.dry_air_flow * moist.heat_capacity);
    let reached = -(-air_units).exp_m1();
    let at_surface = moist.enthalpy_in - (moist.enthalpy_in - enthalpy_out) / reached;
    let above = (at_surface - inlet_saturated).value();
    if above < -1e-6 * potential.value() {
        return Err(DomainError { formula: NAME, argument: SURFACE, value: above, valid: "0 J/kg or more" });
    }
    let surface = root(lowest, highest, &|t: R| Ok(at_surface - h_s(t)?))?.ok_or(refused)?;
    let temperature_out = surface + (moist.temperature_in - surface) * (-air_units).exp();
    Ok(WetDuty {
        heat: finite(NAME, heat)?,
        effectiveness,
        enthalpy_out: finite(NAME, enthalpy_out)?,
        temperature_out: finite(NAME, temperature_out)?,
        surface_temperature: finite(NAME, surface)?,
        cold_out: finite(NAME, cold.temperature_in + heat / cold.capacity_flow)?,
    })
}

/// Enthalpy of air saturated at a temperature and pressure, for [`wet_duty`].
///
/// ```text
/// h_s(T) = h(T, p, W_s(T, p))
/// ```
/// * Units: K, Pa absolute; J/kg of dry air out.
/// * Range: as [`saturation_humidity_ratio`] and [`enthalpy`]. A surface below 0 °C is taken as the condensate says:
///   ice
///   or supercooled water; the enthalpy has a kink where they part.
/// * Outside: [`DomainError`].
/// * Source: as these.
pub fn saturated_enthalpy<R: Real>(temperature: R, pressure: R, condensate: Condensate) -> Result<R, DomainError> {
    enthalpy(temperature, pressure, saturation_humidity_ratio(temperature, pressure, condensate)?)
}

/// The shortest temperature step c_s is formed over, K.
const LEAST_CHORD: f64 = 0.01;

/// How far the saturation temperature of the inlet's enthalpy may lie above its temperature (water carried along), K.
const SUPERSATURATED: f64 = 2.0;

const SUPER: &str = "at most that of air saturated 2 K above the inlet temperature, in J/kg of dry air";

const BEYOND: &str = "at most that of air saturated where the given saturation enthalpy ends, in J/kg of dry air";

const SURFACE: &str = "enthalpy at the surface above that of air saturated at the cold inlet temperature";

/// The highest temperature up to `wanted` at which there is saturated air, its enthalpy, and what is valid for the
/// inlet's. Above boiling there is none; just below it the enthalpy is greater than that of any inlet.
fn highest_saturated<R: Real>(
    lowest: f64,
    wanted: f64,
    h_s: &impl Fn(R) -> Result<R, DomainError>,
) -> Result<(f64, R, &'static str), DomainError> {
    const HALVINGS: u32 = 40;
    if let Ok(most) = h_s(R::of(wanted)) {
        return Ok((wanted, most, SUPER));
    }
    let (mut good, mut bad) = (lowest, wanted);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (good + bad);
        if h_s(R::of(middle)).is_ok() {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Ok((good, h_s(R::of(good))?, BEYOND))
}

struct Wet<R> {
    arrangement: Arrangement,
    moist: MoistSide<R>,
    cold: ColdSide<R>,
    inlet_saturated: R,
    potential: R,
}

impl<R: Real> Wet<R> {
    /// Heat and effectiveness for a supposed outlet temperature of the cold side, at which saturated air has the
    /// enthalpy `outlet_saturated`.
    fn heat(&self, outlet_saturated: R, cold_out: R) -> Result<(R, R), DomainError> {
        let slope = (outlet_saturated - self.inlet_saturated) / (cold_out - self.cold.temperature_in);
        let slope = positive(NAME, "slope of the saturation enthalpy", slope, "above 0 J/(kg·K)")?;
        let one = R::of(1.0);
        let ua = one / (self.moist.heat_capacity / self.moist.conductance + slope / self.cold.conductance);
        let (air, cold) = (self.moist.dry_air_flow, self.cold.capacity_flow / slope);
        let (min, max) = (air.min(cold), air.max(cold));
        let effectiveness = effectiveness(self.arrangement, ua / min, min / max)?;
        Ok((effectiveness * min * self.potential, effectiveness))
    }
}

fn check_sides<R: Real>(moist: &MoistSide<R>, cold: &ColdSide<R>) -> Result<(), DomainError> {
    positive(NAME, "dry-air flow", moist.dry_air_flow, "above 0 kg/s")?;
    check(NAME, "inlet enthalpy", moist.enthalpy_in, "a finite number in J/kg", |_| true)?;
    positive(NAME, "moist inlet temperature", moist.temperature_in, "above 0 K")?;
    positive(NAME, "specific heat", moist.heat_capacity, "above 0 J/(kg·K)")?;
    positive(NAME, "conductance of the moist side", moist.conductance, "above 0 W/K")?;
    positive(NAME, "capacity flow of the cold side", cold.capacity_flow, "above 0 W/K")?;
    positive(NAME, "cold inlet temperature", cold.temperature_in, "above 0 K")?;
    positive(NAME, "conductance of the cold side", cold.conductance, "above 0 W/K")?;
    let inlets = moist.temperature_in - cold.temperature_in;
    check(NAME, "moist minus cold inlet temperature", inlets, "at least 1 K", |d| d >= 1.0).map(drop)
}

/// The root of a falling function between two temperatures, by halving with plain numbers, then with its derivatives;
/// `None` where it is not below the upper one.
fn root<R: Real>(low: f64, high: f64, f: &impl Fn(R) -> Result<R, DomainError>) -> Result<Option<R>, DomainError> {
    const HALVINGS: u32 = 64;
    let (mut a, mut b) = (low, high);
    let mut bounded = false;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (a + b);
        if middle <= a || middle >= b {
            break;
        }
        if f(R::of(middle))? > 0.0 {
            a = middle;
        } else {
            b = middle;
            bounded = true;
        }
    }
    if !bounded {
        return Ok(None);
    }
    let root = 0.5 * (a + b);
    let step = 1e-3_f64;
    let up = step.min(high - root);
    let slope = (f(R::of(root + up))?.value() - f(R::of(root - step))?.value()) / (up + step);
    Ok(Some(R::at_root(root, f(R::of(root))?, slope)))
}
