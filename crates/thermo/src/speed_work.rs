//! Speed against work of a wheel: the work of one geometry goes with the square of its speed. A wrong number of pulses
//! per turn, a swapped thermometer or a slipped unit of one breaks the law at once.

use crate::domain::{DomainError, check, finite, positive};
use units::Real;

/// Work coefficient without a diameter: work over speed squared.
///
/// ```text
/// k = Δh/N²
/// ```
/// * Units: J/kg of work ([`compressor::specific_work`](crate::machine::compressor::specific_work); per kg of moist or
///   of dry air, but always the same one), rad/s; m² out, the square of a radius times the work coefficient ψ.
/// * Range: work above 0 J/kg, speed above 0 rad/s. It varies with the flow coefficient, little for one operating line.
/// * Outside: [`DomainError`].
/// * Source: Euler's equation of turbomachines, similarity; B.S. Massey, Mechanics of Fluids (from memory).
///
/// ```
/// let k = thermo::speed_work::work_per_speed_squared(57_600.0, 4000.0)?;
/// assert!((k - 0.0036).abs() < 1e-15);
/// # Ok::<(), thermo::DomainError>(())
/// ```
pub fn work_per_speed_squared<R: Real>(work: R, speed: R) -> Result<R, DomainError> {
    const NAME: &str = "work per speed squared";
    let work = positive(NAME, "specific work", work, "above 0 J/kg")?;
    let speed = positive(NAME, "speed", speed, "above 0 rad/s")?;
    finite(NAME, work / speed / speed)
}

/// Work coefficient.
///
/// ```text
/// ψ = Δh/U²     U = N·D/2
/// ```
/// * Units: J/kg, rad/s, m (diameter at the wheel's rim); ratio out, 0.6…0.9 for a radial wheel (from memory).
/// * Range: all above 0. ψ = 2Δh/U² is met too: the factor is part of the name.
/// * Outside: [`DomainError`].
/// * Source: as [`work_per_speed_squared`].
pub fn work_coefficient<R: Real>(work: R, speed: R, diameter: R) -> Result<R, DomainError> {
    const NAME: &str = "work coefficient";
    let radius = positive(NAME, "diameter", diameter, "above 0 m")? / 2.0;
    finite(NAME, work_per_speed_squared(work, speed)? / radius / radius)
}

/// Speed from work by the law, and the measured speed over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawSpeed<R> {
    /// √(Δh/k), rad/s.
    pub speed: R,
    /// Measured speed over it: 1 where the law holds, 2 or 0.5 where a pulse factor is wrong.
    pub measured_over_law: R,
}

/// Speed from work by the law, held against the measured one.
///
/// ```text
/// N = √(Δh/k)     r = N_measured/N
/// ```
/// * Units: J/kg, m² (k of a run that was right), rad/s.
/// * Range: work and k above 0, measured speed 0 rad/s or more.
/// * Outside: [`DomainError`].
/// * Source: as [`work_per_speed_squared`].
pub fn law_speed<R: Real>(work: R, coefficient: R, measured: R) -> Result<LawSpeed<R>, DomainError> {
    const NAME: &str = "speed from work";
    let work = positive(NAME, "specific work", work, "above 0 J/kg")?;
    let coefficient = positive(NAME, "work per speed squared", coefficient, "above 0 m²")?;
    let measured = check(NAME, "measured speed", measured, "0 rad/s or more", |x| x >= 0.0)?;
    let speed = finite(NAME, (work / coefficient).sqrt())?;
    Ok(LawSpeed { speed, measured_over_law: finite(NAME, measured / speed)? })
}
