//! Traces in cabin air (ozone, carbon monoxide, carbon dioxide): mean over time, and the sea level equivalent the rules
//! are stated in.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Temperature of the sea level equivalent, 25 °C in K: 14 CFR 25.832(b).
pub const SEA_LEVEL_TEMPERATURE: f64 = 298.15;

/// Pressure of the sea level equivalent, 760 mmHg in Pa: 14 CFR 25.832(b).
pub const SEA_LEVEL_PRESSURE: f64 = 101_325.0;

/// A concentration held for a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch<R> {
    /// Share by volume (1e-6 = 1 ppmv).
    pub share: R,
    /// s.
    pub seconds: R,
}

/// Mean weighted by time, and the greatest share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure<R> {
    /// Time-weighted average, share by volume.
    pub mean: R,
    /// Greatest share of a stretch.
    pub peak: R,
    /// Time in all, s.
    pub seconds: R,
}

/// Time-weighted average of a concentration.
///
/// ```text
/// c̄ = Σ c_i·t_i/Σ t_i
/// ```
/// * Units: shares by volume, s. That the stretches cover the interval of the rule (three hours) is the caller's to
///   see, [`Exposure::seconds`] says what they cover.
/// * Range: at least one stretch, shares 0…1, durations above 0 s.
/// * Outside: [`DomainError`].
/// * Source: definition as in 14 CFR 25.832(a): "time-weighted average".
///
/// ```
/// use thermo::contaminant::{Stretch, exposure};
/// let hour = |ppm: f64| Stretch { share: ppm * 1e-6, seconds: 3600.0 };
/// let ozone = exposure(&[hour(0.05), hour(0.08), hour(0.16)])?;
/// assert!((ozone.mean * 1e6 - 0.0966667).abs() < 1e-7 && ozone.peak == 0.16e-6);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn exposure<R: Real>(stretches: &[Stretch<R>]) -> Result<Exposure<R>, DomainError> {
    const NAME: &str = "time-weighted average";
    let (mut dose, mut seconds, mut peak) = (R::of(0.0), R::of(0.0), R::of(0.0));
    for stretch in stretches {
        let share = check(NAME, "share by volume", stretch.share, "within 0…1", |x| (0.0..=1.0).contains(&x))?;
        let time = positive(NAME, "duration", stretch.seconds, "above 0 s")?;
        dose += share * time;
        seconds += time;
        peak = peak.max(share);
    }
    let seconds = positive(NAME, "time in all", seconds, "above 0 s: at least one stretch")?;
    Ok(Exposure { mean: finite(NAME, dose / seconds)?, peak, seconds: finite(NAME, seconds)? })
}

/// Sea level equivalent of a share by volume: the share that has as many molecules per volume at 25 °C and 760 mmHg.
///
/// ```text
/// c_0 = c·(p/101 325 Pa)·(298.15 K/T)
/// ```
/// * Units: share by volume, Pa absolute and K in the cabin; share out.
/// * Range: share 0…1, p and T above 0.
/// * Outside: [`DomainError`].
/// * Source: 14 CFR 25.832(b) gives the reference state; the conversion is our own reading of it, by the ideal gas.
pub fn sea_level_equivalent<R: Real>(share: R, pressure: R, temperature: R) -> Result<R, DomainError> {
    const NAME: &str = "sea level equivalent";
    let share = check(NAME, "share by volume", share, "within 0…1", |x| (0.0..=1.0).contains(&x))?;
    let pressure = positive(NAME, "cabin pressure", pressure, "above 0 Pa absolute")?;
    let temperature = positive(NAME, "cabin temperature", temperature, "above 0 K")?;
    finite(NAME, share * (pressure / SEA_LEVEL_PRESSURE) * (R::of(SEA_LEVEL_TEMPERATURE) / temperature))
}
