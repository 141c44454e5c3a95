//! Total and static temperature and pressure of moving air.
//!
//! A wall tap reads the static pressure; a probe in the stream reads close to the total temperature: static temperature
//! plus the recovery factor times the rise on standstill. Leaving the difference out on one side of a compressor at
//! Mach 0.2 costs 8 % of its efficiency. No water condenses or evaporates within the change.

use crate::domain::{DomainError, check};
use crate::humid_air::properties::{density, speed_of_sound};
use crate::humid_air::terms::Terms;
use crate::humid_air::{T_MAX, check_pressure, check_state, check_temperature, finished};
use crate::isentropic::pressure as isentropic_pressure;
use crate::root::rising_root;
use units::{Dual, Real};

/// Moving air at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moving<R> {
    /// K.
    pub static_temperature: R,
    /// K.
    pub total_temperature: R,
    /// Pa absolute.
    pub static_pressure: R,
    /// Pa absolute.
    pub total_pressure: R,
    /// Mean over the area, m/s.
    pub velocity: R,
    /// Velocity over the local speed of sound.
    pub mach: R,
}

/// From a probe's temperature, a wall tap's pressure, the flow and the duct's area.
///
/// ```text
/// T_probe = T_s + r (T_t − T_s),  h(T_t, p_t) = h(T_s, p_s) + V²/2,  s(T_t, p_t) = s(T_s, p_s),  V = ṁ/(ρ(T_s, p_s) A)
/// ```
/// * Units: K, Pa absolute, kg/s of moist air, m², dimensionless, kg/kg in.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10, area above 0, recovery factor r 0.5…1, flow 0 or more and below Mach 1.
///   Bare thermocouples across the stream: r 0.68 ± 0.07, along it 0.86 ± 0.09 (NACA TN 766 and textbooks, from
///   memory); shielded total-temperature probes 0.95…0.99 (common practice, no source).
/// * Outside: [`DomainError`].
/// * Source: first law and constant entropy; definition of the recovery factor.
///
/// ```
/// let m = thermo::total_static::from_probe(345.0, 242.5e3, 0.5, 0.005, 0.9, 0.0)?;
/// assert!(m.mach > 0.1 && m.total_temperature > 345.0 && m.static_temperature < 345.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn from_probe<R: Real>(
    probe_temperature: R,
    static_pressure: R,
    flow: R,
    area: R,
    recovery: R,
    w: R,
) -> Result<Moving<R>, DomainError> {
    const NAME: &str = "total from probe and wall tap";
    check_state(NAME, probe_temperature.value(), static_pressure.value(), w.value())?;
    check_flow(NAME, flow, area)?;
    check(NAME, "recovery factor", recovery.value(), "within 0.5…1", |r| (0.5..=1.0).contains(&r))?;
    if flow == 0.0 {
        return at_rest(probe_temperature, static_pressure, flow / area, w);
    }
    let plain = Probe {
        temperature: Dual::constant(probe_temperature.value()),
        pressure: Dual::constant(static_pressure.value()),
        flux: Dual::constant((flow / area).value()),
        recovery: Dual::constant(recovery.value()),
        w: Dual::constant(w.value()),
    };
    let t = probe_temperature.value();
    let found = rising_root(((0.82 * t).max(150.0), t), t * 0.999, |ts| plain.residual(NAME, ts));
    let root = found?.ok_or(too_fast(NAME, flow.value()))?;
    let full = Probe { temperature: probe_temperature, pressure: static_pressure, flux: flow / area, recovery, w };
    let ts = root.with(full.residual(NAME, R::of(root.x))?);
    moving(NAME, ts, full.total(ts), static_pressure, full.flux, w)
}

/// From total temperature, total pressure, the flow and the duct's area: what wall taps and a bare probe would read.
///
/// ```text
/// h(T_t, p_t) = h(T_s, p_s) + V²/2,  s(T_t, p_t) = s(T_s, p_s),  ρ(T_s, p_s) V A = ṁ;  the subsonic solution
/// ```
/// * Units: K, Pa absolute, kg/s of moist air, m², kg/kg in.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10, area above 0, flow 0 or more and below the choked one.
/// * Outside: [`DomainError`].
/// * Source: first law and constant entropy.
///
/// ```
/// let m = thermo::total_static::from_total(346.0, 250e3, 0.5, 0.005, 0.0)?;
/// assert!(m.static_pressure < 250e3 && m.static_temperature < 346.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn from_total<R: Real>(
    total_temperature: R,
    total_pressure: R,
    flow: R,
    area: R,
    w: R,
) -> Result<Moving<R>, DomainError> {
    const NAME: &str = "static from total";
    check_state(NAME, total_temperature.value(), total_pressure.value(), w.value())?;
    check_flow(NAME, flow, area)?;
    if flow == 0.0 {
        return at_rest(total_temperature, total_pressure, flow / area, w);
    }
    let (t, p) = (Dual::constant(total_temperature.value()), Dual::constant(total_pressure.value()));
    let (flux, x) = (Dual::constant((flow / area).value()), Dual::constant(w.value()));
    // Not far beyond the sonic temperature, where the flow falls again.
    let gamma = crate::humid_air::properties::heat_capacity_ratio(t.value, p.value, x.value)?;
    let sonic = (t.value * 2.0 / (gamma + 1.0)).max(150.0);
    let found = rising_root((sonic, t.value), t.value * 0.999, |ts| missing_flux(ts, t, p, flux, x));
    let root = found?.ok_or(too_fast(NAME, flow.value()))?;
    let flux = flow / area;
    let residual = missing_flux(R::of(root.x), total_temperature, total_pressure, flux, w)?;
    let ts = root.with(residual);
    let ps = isentropic_pressure(total_temperature, total_pressure, ts, w)?;
    moving(NAME, ts, total_temperature, ps, flux, w)
}

/// Total temperature and pressure of air brought to rest from a velocity: ram air without loss.
///
/// ```text
/// h(T_t, p_t) = h(T_s, p_s) + V²/2,  s(T_t, p_t) = s(T_s, p_s)
/// ```
/// * Units: K, Pa absolute, m/s, kg/kg in; (K, Pa) out.
/// * Range: 150…1000 K, 100 Pa…2 MPa, w 0…10, velocity 0…700 m/s.
/// * Outside: [`DomainError`].
/// * Source: first law and constant entropy.
///
/// ```
/// let (t, p) = thermo::total_static::brought_to_rest(255.0, 35e3, 250.0, 0.0)?;
/// assert!((t - 286.1).abs() < 0.2 && p > 52e3);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn brought_to_rest<R: Real>(t: R, p: R, velocity: R, w: R) -> Result<(R, R), DomainError> {
    const NAME: &str = "air brought to rest";
    check_state(NAME, t.value(), p.value(), w.value())?;
    check(NAME, "velocity", velocity.value(), "within 0…700 m/s", |v| (0.0..=700.0).contains(&v))?;
    let (t1, p1) = (Dual::constant(t.value()), Dual::constant(p.value()));
    let (v1, w1) = (Dual::constant(velocity.value()), Dual::constant(w.value()));
    let guess = t.value() + 0.5 * velocity.value() * velocity.value() / 1006.0;
    let root = rising_root((t.value(), T_MAX), guess, |tt| missing_energy(tt, t1, p1, v1, w1))?;
    let Some(root) = root else {
        let valid = "such that the total temperature is below 1000 K";
        return Err(DomainError { formula: NAME, argument: "velocity", value: velocity.value(), valid });
    };
    let total = root.with(missing_energy(R::of(root.x), t, p, velocity, w)?);
    Ok((finished(NAME, total)?, isentropic_pressure(t, p, total, w)?))
}

/// Pressure reached by a real intake.
///
/// ```text
/// p = p_s + η (p_t − p_s)
/// ```
/// * Units: Pa absolute, dimensionless in; Pa out. The total temperature does not depend on η.
/// * Range: pressures 100 Pa…2 MPa, total not below static, η 0…1 (defined on the pressure rise; others exist).
/// * Outside: [`DomainError`].
/// * Source: definition, as in P.K. Nag, Basic and Applied Thermodynamics, example 14.12.
///
/// ```
/// assert!((thermo::total_static::intake_pressure(35e3, 52_356.0, 0.85)? - 49_752.6).abs() < 0.1);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn intake_pressure<R: Real>(static_pressure: R, total_pressure: R, efficiency: R) -> Result<R, DomainError> {
    const NAME: &str = "intake pressure";
    check_pressure(NAME, "static pressure", static_pressure.value())?;
    check_pressure(NAME, "total pressure", total_pressure.value())?;
    let rise = total_pressure - static_pressure;
    check(NAME, "total minus static pressure", rise.value(), "0 Pa or more (swapped?)", |x| x >= 0.0)?;
    check(NAME, "intake efficiency", efficiency.value(), "within 0…1", |x| (0.0..=1.0).contains(&x))?;
    finished(NAME, static_pressure + efficiency * rise)
}

/// Readings at a place; the flow per area.
struct Probe<R> {
    temperature: R,
    pressure: R,
    flux: R,
    recovery: R,
    w: R,
}

impl<R: Real> Probe<R> {
    fn total(&self, ts: R) -> R {
        ts + (self.temperature - ts) / self.recovery
    }

    /// Kinetic energy that the flow has less the one that the probe's rise means: rises with the static temperature.
    fn residual(&self, formula: &'static str, ts: R) -> Result<R, DomainError> {
        let total = self.total(ts);
        check_temperature(formula, "total temperature", total.value())?;
        let v = self.flux / density(ts, self.pressure, self.w)?;
        Ok(-missing_energy(total, ts, self.pressure, v, self.w)?)
    }
}

/// h(T_t, p_t) − h(T_s, p_s) − V²/2, J/kg of moist air.
fn missing_energy<R: Real>(tt: R, ts: R, ps: R, velocity: R, w: R) -> Result<R, DomainError> {
    let pt = isentropic_pressure(ts, ps, tt, w)?;
    let rise = (Terms::at(tt).enthalpy(pt, w) - Terms::at(ts).enthalpy(ps, w)) / (w + 1.0);
    Ok(rise - velocity * velocity * 0.5)
}

/// Square of the wanted mass flux less that reached at this static temperature; rises with it below Mach 1.
fn missing_flux<R: Real>(ts: R, tt: R, pt: R, flux: R, w: R) -> Result<R, DomainError> {
    let ps = isentropic_pressure(tt, pt, ts, w)?;
    let drop = (Terms::at(tt).enthalpy(pt, w) - Terms::at(ts).enthalpy(ps, w)) / (w + 1.0);
    let rho = density(ts, ps, w)?;
    Ok(flux * flux - rho * rho * drop * 2.0)
}

fn moving<R: Real>(formula: &'static str, ts: R, tt: R, ps: R, flux: R, w: R) -> Result<Moving<R>, DomainError> {
    let velocity = flux / density(ts, ps, w)?;
    let mach = velocity / speed_of_sound(ts, ps, w)?;
    if mach > 1.0 {
        return Err(too_fast(formula, flux.value()));
    }
    Ok(Moving {
        static_temperature: finished(formula, ts)?,
        total_temperature: finished(formula, tt)?,
        static_pressure: ps,
        total_pressure: isentropic_pressure(ts, ps, tt, w)?,
        velocity: finished(formula, velocity)?,
        mach: finished(formula, mach)?,
    })
}

/// Without flow; the flow's derivative remains.
fn at_rest<R: Real>(t: R, p: R, flux: R, w: R) -> Result<Moving<R>, DomainError> {
    let velocity = flux / density(t, p, w)?;
    Ok(Moving {
        static_temperature: t,
        total_temperature: t,
        static_pressure: p,
        total_pressure: p,
        velocity,
        mach: velocity / speed_of_sound(t, p, w)?,
    })
}

fn check_flow<R: Real>(formula: &'static str, flow: R, area: R) -> Result<(), DomainError> {
    check(formula, "mass flow", flow.value(), "0 kg/s or more", |x| x >= 0.0)?;
    check(formula, "area", area.value(), "above 0 m²", |x| x > 0.0)?;
    check(formula, "flow over area", (flow / area).value(), "a finite number in kg/(s m²)", |_| true).map(|_| ())
}

fn too_fast(formula: &'static str, flow: f64) -> DomainError {
    let valid = "such that the air is slower than sound (kg/s, or kg/(s m²) of the area)";
    DomainError { formula, argument: "mass flow", value: flow, valid }
}
