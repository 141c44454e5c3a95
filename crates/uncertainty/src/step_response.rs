//! Times and overshoot of first- and second-order systems after a step.

use crate::domain::{Checks, DomainError};
use units::math;

const CHECK: Checks = Checks("step response");

/// Time at which a first-order system has come a share of the way.
///
/// ```text
/// t = −τ·ln(1 − share)        0.632 at τ
/// ```
/// * Units: of τ. * Range: τ above 0, 0 ≤ share < 1. * Outside: [`DomainError`]. * Source: definition.
pub fn time_to_share(tau: f64, share: f64) -> Result<f64, DomainError> {
    let tau = CHECK.positive("time constant", tau)?;
    let share = CHECK.that("share", share, "0 or above and below 1", |s| (0.0..1.0).contains(&s))?;
    CHECK.result(0.0 - tau * math::ln_1p(-share))
}

/// Rise time of a first-order system from 10 % to 90 %.
///
/// ```text
/// t = τ·ln 9
/// ```
/// * Units: of τ. * Range: τ above 0. * Outside: [`DomainError`]. * Source: definition.
pub fn rise_time(tau: f64) -> Result<f64, DomainError> {
    CHECK.result(CHECK.positive("time constant", tau)? * math::ln(9.0))
}

/// Time after which a first-order system stays within a band about its final value, as a share of the step.
///
/// ```text
/// t = −τ·ln(band)        3.912·τ for 2 %
/// ```
/// * Units: of τ. * Range: τ above 0, 0 < band < 1. * Outside: [`DomainError`]. * Source: definition.
pub fn settling_time(tau: f64, band: f64) -> Result<f64, DomainError> {
    let tau = CHECK.positive("time constant", tau)?;
    let band = CHECK.that("band", band, "above 0 and below 1", |b| b > 0.0 && b < 1.0)?;
    CHECK.result(-tau * math::ln(band))
}

/// First overshoot of a second-order system as a share of the step.
///
/// ```text
/// M = exp(−π·ζ/√(1 − ζ²))
/// ```
/// * Units: ratios.
/// * Range: damping ratio 0 to below 1 (from 1 on there is none). * Outside: [`DomainError`].
/// * Source: any text on control.
pub fn overshoot(damping_ratio: f64) -> Result<f64, DomainError> {
    let zeta = underdamped(damping_ratio)?;
    CHECK.result(math::exp(-std::f64::consts::PI * zeta / sine(zeta)))
}

/// Damping ratio from a first overshoot.
///
/// ```text
/// ζ = L/√(π² + L²)        L = −ln M
/// ```
/// * Units: ratios.
/// * Range: 0 < M ≤ 1. * Outside: [`DomainError`]. * Source: inverse of [`overshoot`].
pub fn damping_ratio(overshoot: f64) -> Result<f64, DomainError> {
    let m = CHECK.that("overshoot", overshoot, "above 0, at most 1", |m| m > 0.0 && m <= 1.0)?;
    let l = 0.0 - math::ln(m);
    CHECK.result(l / math::sqrt(std::f64::consts::PI * std::f64::consts::PI + l * l))
}

/// Time of the first overshoot of a second-order system.
///
/// ```text
/// t = π/(ω_n·√(1 − ζ²))
/// ```
/// * Units: ω_n in rad/s, t in s. * Range: ω_n above 0, damping ratio 0 to below 1. * Outside: [`DomainError`].
/// * Source: any text on control.
pub fn peak_time(natural_frequency: f64, damping_ratio: f64) -> Result<f64, DomainError> {
    let omega = CHECK.positive("natural frequency", natural_frequency)?;
    CHECK.result(std::f64::consts::PI / (omega * sine(underdamped(damping_ratio)?)))
}

/// Response of a first-order system to a unit step at time t.
///
/// ```text
/// y = 1 − exp(−t/τ)
/// ```
/// * Units: time in one unit throughout; ratio out.
/// * Range: τ above 0, t 0 or above. * Outside: [`DomainError`]. * Source: definition.
pub fn first_order(t: f64, tau: f64) -> Result<f64, DomainError> {
    let t = CHECK.not_negative("time", t)?;
    CHECK.result(0.0 - math::exp_m1(-t / CHECK.positive("time constant", tau)?))
}

/// Response of an underdamped second-order system to a unit step at time t.
///
/// ```text
/// y = 1 − exp(−ζ·ω_n·t)·(cos ω_d·t + ζ/√(1 − ζ²)·sin ω_d·t)        ω_d = ω_n·√(1 − ζ²)
/// ```
/// * Units: t in s and ω_n in rad/s, or any unit and its inverse; ratio out.
/// * Range: ω_n above 0, damping ratio 0 to below 1, t 0 or above, ω_n·t finite. * Outside: [`DomainError`].
/// * Source: any text on control.
pub fn second_order(t: f64, natural_frequency: f64, damping_ratio: f64) -> Result<f64, DomainError> {
    let t = CHECK.not_negative("time", t)?;
    let omega = CHECK.positive("natural frequency", natural_frequency)?;
    let zeta = underdamped(damping_ratio)?;
    let phase = CHECK.finite("natural frequency times time", omega * t)?;
    let angle = phase * sine(zeta);
    let swing = math::cos(angle) + zeta / sine(zeta) * math::sin(angle);
    CHECK.result(1.0 - math::exp(-zeta * phase) * swing)
}

fn underdamped(damping_ratio: f64) -> Result<f64, DomainError> {
    CHECK.that("damping ratio", damping_ratio, "0 or above and below 1", |z| (0.0..1.0).contains(&z))
}

/// √(1 − ζ²) with its digits near ζ = 1.
fn sine(zeta: f64) -> f64 {
    math::sqrt((1.0 - zeta) * (1.0 + zeta))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_response_has_its_peak_where_and_as_high_as_said() {
        let (omega, zeta) = (2.5, 0.35);
        let peak = peak_time(omega, zeta).unwrap();
        assert!((second_order(peak, omega, zeta).unwrap() - 1.0 - overshoot(zeta).unwrap()).abs() < 1e-15);
        for t in [0.9 * peak, 1.1 * peak] {
            assert!(second_order(t, omega, zeta).unwrap() < second_order(peak, omega, zeta).unwrap());
        }
        assert!((damping_ratio(overshoot(zeta).unwrap()).unwrap() - zeta).abs() < 1e-15);
    }

    #[test]
    fn the_first_order_times_are_on_the_curve() {
        let tau = 3.0;
        let at = |t| first_order(t, tau).unwrap();
        assert!((at(time_to_share(tau, 0.7).unwrap()) - 0.7).abs() < 1e-15);
        assert!((at(settling_time(tau, 0.02).unwrap()) - 0.98).abs() < 1e-15);
        let (t10, t90) = (time_to_share(tau, 0.1).unwrap(), time_to_share(tau, 0.9).unwrap());
        assert!((t90 - t10 - rise_time(tau).unwrap()).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn no_number_gives_nan(a in any::<f64>(), b in any::<f64>(), c in any::<f64>()) {
            let f = b.abs().fract();
            for r in [
                time_to_share(a, b), time_to_share(a, f), rise_time(a), settling_time(a, f), overshoot(a), overshoot(f),
                damping_ratio(a), damping_ratio(f), peak_time(a, f), first_order(a, c), second_order(a, c, f),
            ] {
                prop_assert!(r.map_or(true, f64::is_finite));
            }
        }
    }
}
