//! Heat, outlets and conductance of a dry exchanger from capacity flows and temperatures.

use super::{Arrangement, effectiveness, transfer_units};
use crate::domain::{DomainError, check, finite, positive};
use crate::smooth::log_mean;
use units::Real;

const ABOVE_ZERO_K: &str = "above 0 K";
const ABOVE_ZERO_C: &str = "above 0 W/K";

/// An exchanger at work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duty<R> {
    /// Heat from the hot to the cold side, W; negative where the cold inlet is the hotter one.
    pub heat: R,
    /// Effectiveness q/(C_min·ΔT_in).
    pub effectiveness: R,
    /// Transfer units UA/C_min.
    pub transfer_units: R,
    /// C_min/C_max.
    pub capacity_ratio: R,
    /// Hot outlet, K.
    pub hot_out: R,
    /// Cold outlet, K.
    pub cold_out: R,
}

/// Heat and outlet temperatures from conductance, capacity flows and inlet temperatures.
///
/// ```text
/// N = UA/C_min   q = ε(N, C_min/C_max)·C_min·(T_hot,in − T_cold,in)   T_hot,out = T_hot,in − q/C_hot
/// ```
/// * Units: W/K, W/K, W/K, K, K. A capacity flow is mass flow times mean specific heat at constant pressure.
/// * Range: UA from 0, capacity flows above 0 W/K, temperatures above 0 K; N up to
///   [`MAX_TRANSFER_UNITS`](super::MAX_TRANSFER_UNITS). Dry: where water condenses see [`wet`](super::wet).
/// * Outside: [`DomainError`].
/// * Source: definition of the effectiveness–NTU method; Kays & London, Compact Heat Exchangers (from memory).
///
/// ```
/// use thermo::exchanger::{Arrangement, duty::duty};
/// let d = duty(Arrangement::ParallelFlow, 15_000.0, 10_000.0, 20_000.0, 423.15, 313.15)?;
/// assert!((d.heat - 656_040.57).abs() < 0.01);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn duty<R: Real>(
    arrangement: Arrangement,
    conductance: R,
    hot_capacity: R,
    cold_capacity: R,
    hot_in: R,
    cold_in: R,
) -> Result<Duty<R>, DomainError> {
    const NAME: &str = "exchanger duty";
    let ua = check(NAME, "conductance UA", conductance, "0 W/K or more", |x| x >= 0.0)?;
    let hot = positive(NAME, "hot capacity flow", hot_capacity, ABOVE_ZERO_C)?;
    let cold = positive(NAME, "cold capacity flow", cold_capacity, ABOVE_ZERO_C)?;
    let hot_in = positive(NAME, "hot inlet temperature", hot_in, ABOVE_ZERO_K)?;
    let cold_in = positive(NAME, "cold inlet temperature", cold_in, ABOVE_ZERO_K)?;
    let (min, max) = (hot.min(cold), hot.max(cold));
    let capacity_ratio = min / max;
    let ntu = ua / min;
    let effectiveness = effectiveness(arrangement, ntu, capacity_ratio)?;
    let heat = finite(NAME, effectiveness * min * (hot_in - cold_in))?;
    let hot_out = finite(NAME, hot_in - heat / hot)?;
    let cold_out = finite(NAME, cold_in + heat / cold)?;
    Ok(Duty { heat, effectiveness, transfer_units: ntu, capacity_ratio, hot_out, cold_out })
}

/// Effectiveness, transfer units and conductance from the heat transferred.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating<R> {
    /// Effectiveness q/(C_min·ΔT_in).
    pub effectiveness: R,
    /// Transfer units UA/C_min.
    pub transfer_units: R,
    /// C_min/C_max.
    pub capacity_ratio: R,
    /// Conductance UA, W/K.
    pub conductance: R,
}

/// Conductance UA from measured heat, capacity flows and inlet temperatures.
///
/// ```text
/// ε = q/(C_min·(T_hot,in − T_cold,in))   N = N(ε, C_min/C_max)   UA = N·C_min
/// ```
/// * Units: W, W/K, W/K, K, K; UA in W/K. Where water condenses on the hot side its capacity flow is its enthalpy drop
///   over its temperature drop; UA is then an apparent one.
/// * Range: as [`transfer_units`]; inlets at least [`MIN_INLET_DIFFERENCE`](super::MIN_INLET_DIFFERENCE) apart.
/// * Outside: [`DomainError`].
/// * Source: as [`duty`].
pub fn rating<R: Real>(
    arrangement: Arrangement,
    heat: R,
    hot_capacity: R,
    cold_capacity: R,
    hot_in: R,
    cold_in: R,
) -> Result<Rating<R>, DomainError> {
    const NAME: &str = "exchanger rating";
    let hot = positive(NAME, "hot capacity flow", hot_capacity, ABOVE_ZERO_C)?;
    let cold = positive(NAME, "cold capacity flow", cold_capacity, ABOVE_ZERO_C)?;
    let effectiveness = effectiveness_from_heat(heat, hot.min(cold), hot_in, cold_in)?;
    let min = hot.min(cold);
    let capacity_ratio = min / hot.max(cold);
    let transfer_units = transfer_units(arrangement, effectiveness, capacity_ratio)?;
    let conductance = finite(NAME, transfer_units * min)?;
    Ok(Rating { effectiveness, transfer_units, capacity_ratio, conductance })
}

/// True effectiveness from the heat transferred.
///
/// ```text
/// ε = q / (C_min·(T_hot,in − T_cold,in))
/// ```
/// * Units: W, W/K, K, K; ratio out.
/// * Range: C_min above 0 W/K, temperatures above 0 K, hot inlet above cold inlet by at least
///   [`MIN_INLET_DIFFERENCE`](super::MIN_INLET_DIFFERENCE). A result outside 0…1 is returned as it is.
/// * Outside: [`DomainError`].
/// * Source: definition; Kays & London, Compact Heat Exchangers (from memory).
pub fn effectiveness_from_heat<R: Real>(heat: R, min_capacity: R, hot_in: R, cold_in: R) -> Result<R, DomainError> {
    const NAME: &str = "effectiveness from heat";
    let heat = check(NAME, "heat", heat, "a finite number in W", |_| true)?;
    let min = positive(NAME, "smaller capacity flow", min_capacity, ABOVE_ZERO_C)?;
    let hot_in = positive(NAME, "hot inlet temperature", hot_in, ABOVE_ZERO_K)?;
    let cold_in = positive(NAME, "cold inlet temperature", cold_in, ABOVE_ZERO_K)?;
    let least = super::MIN_INLET_DIFFERENCE.si();
    let inlets = check(NAME, "hot minus cold inlet", hot_in - cold_in, "at least 1 K", |d| d >= least)?;
    finite(NAME, heat / (min * inlets))
}

/// Heat balance of the two sides as a share of the hot side's heat.
///
/// ```text
/// b = (q_hot − q_cold)/q_hot
/// ```
/// * Units: W, W; ratio out. Means nothing where one side's flow was itself found from the balance.
/// * Range: q_hot other than 0 W.
/// * Outside: [`DomainError`].
/// * Source: definition.
pub fn heat_balance<R: Real>(hot_heat: R, cold_heat: R) -> Result<R, DomainError> {
    const NAME: &str = "heat balance";
    let hot = check(NAME, "heat of the hot side", hot_heat, "a finite number other than 0 W", |q| q != 0.0)?;
    let cold = check(NAME, "heat of the cold side", cold_heat, "a finite number in W", |_| true)?;
    finite(NAME, (hot - cold) / hot)
}

/// Resistance that fouling has added since the exchanger was clean.
///
/// ```text
/// R_f = 1/UA_now − 1/UA_clean
/// ```
/// * Units: W/K, W/K; K/W out (times the area: m²·K/W). Both at the same flows, since each side's own conductance
///   varies with its flow.
/// * Range: both above 0 W/K. A negative result (better than clean) is returned as it is.
/// * Outside: [`DomainError`].
/// * Source: definition; Bergman et al., Fundamentals of Heat and Mass Transfer (from memory).
pub fn fouling_resistance<R: Real>(now: R, clean: R) -> Result<R, DomainError> {
    const NAME: &str = "fouling resistance";
    let now = positive(NAME, "conductance now", now, ABOVE_ZERO_C)?;
    let clean = positive(NAME, "conductance when clean", clean, ABOVE_ZERO_C)?;
    finite(NAME, R::of(1.0) / now - R::of(1.0) / clean)
}

/// Overall conductance from the two sides' own and what lies between.
///
/// ```text
/// 1/UA = 1/(ηhA)_hot + R + 1/(ηhA)_cold
/// ```
/// * Units: W/K, W/K, K/W (wall and fouling); W/K out.
/// * Range: conductances above 0 W/K, resistance 0 K/W or more.
/// * Outside: [`DomainError`].
/// * Source: resistances in series; Bergman et al., Fundamentals of Heat and Mass Transfer (from memory).
pub fn overall_conductance<R: Real>(hot: R, cold: R, resistance: R) -> Result<R, DomainError> {
    const NAME: &str = "overall conductance";
    let hot = positive(NAME, "conductance of the hot side", hot, ABOVE_ZERO_C)?;
    let cold = positive(NAME, "conductance of the cold side", cold, ABOVE_ZERO_C)?;
    let wall = check(NAME, "resistance of wall and fouling", resistance, "0 K/W or more", |r| r >= 0.0)?;
    let one = R::of(1.0);
    finite(NAME, one / (one / hot + wall + one / cold))
}

/// Logarithmic mean of the temperature differences at the two ends of a counter- or parallel-flow exchanger.
///
/// ```text
/// ΔT_m = (ΔT_a − ΔT_b)/ln(ΔT_a/ΔT_b)   equal differences: ΔT_a     UA = q/ΔT_m
/// ```
/// * Units: K, K; K out.
/// * Range: both above 0 K.
/// * Outside: [`DomainError`].
/// * Source: definition; Bergman et al., Fundamentals of Heat and Mass Transfer (from memory).
pub fn log_mean_difference<R: Real>(one_end: R, other_end: R) -> Result<R, DomainError> {
    const NAME: &str = "logarithmic mean temperature difference";
    let a = positive(NAME, "difference at one end", one_end, ABOVE_ZERO_K)?;
    let b = positive(NAME, "difference at the other end", other_end, ABOVE_ZERO_K)?;
    finite(NAME, b / log_mean((a - b) / b))
}
