//! A rotor left to itself: how long it takes, and what brakes it. Shorter than it was = a rub.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Time between two shares of the starting speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoastDown<R> {
    /// Interpolated, s.
    pub seconds: R,
    /// The longer of the two sample intervals in which the crossings lie, s: what interpolation may be wrong by.
    pub resolution: f64,
}

/// Time a rotor takes from one share of its starting speed to another, interpolated between samples.
///
/// ```text
/// t = t(N = b·N_0) − t(N = a·N_0)     a = 0.9, b = 0.1 by custom
/// ```
/// The end is the first crossing of b·N_0; the start is the last crossing of a·N_0 before it.
///
/// * Units: s (from any zero), rad/s, rad/s, shares; s out.
/// * Range: as many times as speeds, two at least; times rise; speeds finite; N_0 above 0; 0 < b < a ≤ 1. Speeds that
///   do not come from above a·N_0 down below b·N_0 have no coast-down.
/// * Outside: [`DomainError`], also for the first time or speed that is no number.
/// * Source: common practice, no source.
///
/// ```
/// let (times, speeds) = ([0.0, 10.0, 20.0, 30.0], [3000.0, 2000.0, 1000.0, 0.0]);
/// let coast = thermo::coast_down::time(&times, &speeds, 3000.0, (0.9, 0.1))?;
/// assert!((coast.seconds - 24.0).abs() < 1e-12 && coast.resolution == 10.0);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn time<R: Real>(
    times: &[f64],
    speeds: &[R],
    starting_speed: R,
    (from, to): (f64, f64),
) -> Result<CoastDown<R>, DomainError> {
    const NAME: &str = "coast-down time";
    let start = positive(NAME, "starting speed", starting_speed, "above 0 rad/s")?;
    check(NAME, "first share", from, "above the second, up to 1", |a| a > to && a <= 1.0)?;
    check(NAME, "second share", to, "above 0", |b| b > 0.0)?;
    let lengths = "as many as there are times";
    check(NAME, "number of speeds", speeds.len() as f64, lengths, |_| speeds.len() == times.len())?;
    for (i, (time, speed)) in times.iter().zip(speeds).enumerate() {
        let before = i.checked_sub(1).map_or(f64::NEG_INFINITY, |k| times[k]);
        check(NAME, "time", *time, "a finite number above the one before it", |t| t > before)?;
        check(NAME, "speed", *speed, "a finite number in rad/s", |_| true)?;
    }
    let (high, low) = (start * from, start * to);
    let falls = |level: R, k: usize| speeds[k - 1] >= level && speeds[k] < level;
    let missed = |argument, level: R| {
        let valid = "a speed in rad/s that the rotor falls through: the samples start below it, or end above it";
        DomainError { formula: NAME, argument, value: level.value(), valid }
    };
    let end = (1..speeds.len()).find(|&k| falls(low, k)).ok_or(missed("last speed", low))?;
    let begin = (1..=end).rev().find(|&k| falls(high, k)).ok_or(missed("first speed", high))?;
    let at = |level: R, k: usize| {
        let share = (speeds[k - 1] - level) / (speeds[k - 1] - speeds[k]);
        share * (times[k] - times[k - 1]) + times[k - 1]
    };
    let resolution = (times[end] - times[end - 1]).max(times[begin] - times[begin - 1]);
    check(NAME, "sample interval", resolution, "a finite number in s", |_| true)?;
    Ok(CoastDown { seconds: finite(NAME, at(low, end) - at(high, begin))?, resolution })
}

/// Torque that changes a rotor's speed; above 0 where it brakes.
///
/// ```text
/// M = −J·dN/dt
/// ```
/// * Units: kg·m², rad/s²; N·m out.
/// * Range: inertia above 0 kg·m², any finite rate.
/// * Outside: [`DomainError`].
/// * Source: Newton's second law.
pub fn torque<R: Real>(inertia: R, speed_rate: R) -> Result<R, DomainError> {
    const NAME: &str = "braking torque";
    let inertia = positive(NAME, "moment of inertia", inertia, "above 0 kg·m²")?;
    finite(NAME, -(inertia * check(NAME, "rate of speed", speed_rate, "a finite number in rad/s²", |_| true)?))
}

/// Mean braking torque of a coast-down.
///
/// ```text
/// M = J·(N_1 − N_2)/t
/// ```
/// * Units: kg·m², rad/s, rad/s, s; N·m out.
/// * Range: inertia and time above 0, speeds 0 rad/s or more.
/// * Outside: [`DomainError`].
/// * Source: as [`torque`].
pub fn mean_torque<R: Real>(inertia: R, first_speed: R, last_speed: R, seconds: R) -> Result<R, DomainError> {
    const NAME: &str = "mean braking torque";
    const SPEED: &str = "0 rad/s or more";
    let first = check(NAME, "first speed", first_speed, SPEED, |x| x >= 0.0)?;
    let last = check(NAME, "last speed", last_speed, SPEED, |x| x >= 0.0)?;
    torque(inertia, (last - first) / positive(NAME, "time", seconds, "above 0 s")?)
}

/// Coast-down time corrected to a reference density: thinner air brakes less.
///
/// ```text
/// t_ref = t·(s·ρ/ρ_ref + 1 − s)
/// ```
/// * Units: s, kg/m³, kg/m³, share of the braking torque at reference density that is the air's; s out.
/// * Range: time and densities above 0, share 0…1 (1 = all drag is the air's, the usual assumption).
/// * Outside: [`DomainError`].
/// * Source: torque of the air proportional to density; common practice, no source.
pub fn time_at_density<R: Real>(seconds: R, density: R, reference: R, air_share: R) -> Result<R, DomainError> {
    const NAME: &str = "coast-down time at reference density";
    let seconds = positive(NAME, "time", seconds, "above 0 s")?;
    let density = positive(NAME, "density", density, "above 0 kg/m³")?;
    let reference = positive(NAME, "reference density", reference, "above 0 kg/m³")?;
    let share = check(NAME, "share of the air", air_share, "within 0…1", |x| (0.0..=1.0).contains(&x))?;
    finite(NAME, seconds * (share * (density / reference) - share + 1.0))
}
