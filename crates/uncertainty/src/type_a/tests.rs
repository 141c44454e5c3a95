use super::*;
use crate::monte_carlo::Generator;
use proptest::prelude::*;

/// First-order noise: what a sensor of time constant τ makes of white noise, ρ from one reading to the next.
pub(crate) fn first_order_noise(n: usize, rho: f64, generator: &mut Generator) -> Vec<f64> {
    let mut x = generator.normal();
    (0..n)
        .map(|_| {
            x = rho * x + (1.0 - rho * rho).sqrt() * generator.normal();
            x
        })
        .collect()
}

/// The mean of 400 readings with ρ = 0.9 is known to √(19/400) = 0.218 of a reading's spread: measured over 400 runs,
/// against what the formula says, and against what ignoring the correlation would say.
#[test]
fn correlated_readings_get_their_true_uncertainty() {
    let (n, rho, runs) = (400usize, 0.9, 400);
    let mut generator = Generator::new(11);
    let (mut spread, mut said, mut naive, mut inside) = (0.0, 0.0, 0.0, 0);
    for _ in 0..runs {
        let x = first_order_noise(n, rho, &mut generator);
        let m = mean_of_correlated(&x).unwrap();
        spread += m.mean * m.mean;
        said += m.u;
        naive += mean(&x).unwrap().u;
        let k = crate::standard::two_sided_factor(0.95, m.dof).unwrap();
        inside += usize::from(m.mean.abs() <= k * m.u);
    }
    let true_u = (spread / f64::from(runs)).sqrt();
    let (said, naive) = (said / f64::from(runs), naive / f64::from(runs));
    assert!((true_u - 0.218).abs() < 0.02, "{true_u}");
    assert!((said / true_u - 1.0).abs() < 0.12, "{said} against {true_u}");
    assert!(naive < 0.3 * true_u, "{naive}");
    let share = inside as f64 / f64::from(runs);
    assert!((0.90..=0.98).contains(&share), "{share}");
}

#[test]
fn independent_readings_are_worth_their_count() {
    let x: Vec<f64> = (0..50).map(|i| if i % 2 == 0 { 1.0 } else { 2.0 }).collect();
    let (a, b) = (mean(&x).unwrap(), mean_of_correlated(&x).unwrap());
    assert_eq!(b.effective_count, 50.0);
    assert!((a.u / b.u - 1.0).abs() < 1e-12);
}

#[test]
fn equal_readings_have_no_spread() {
    let m = mean_of_correlated(&[0.1; 10]).unwrap();
    assert_eq!((m.mean, m.u), (0.1, 0.0));
}

#[test]
fn a_window_that_is_all_one_slope_is_worth_little() {
    let ramp: Vec<f64> = (0..20).map(f64::from).collect();
    let m = mean_of_correlated(&ramp);
    assert!(m.is_err() || m.unwrap().effective_count < 5.0);
}

#[test]
fn slow_sensor_read_fast() {
    // Time constant 2 s, ten readings a second for 10 s.
    let n = effective_count(100.0, (-0.1f64 / 2.0).exp()).unwrap();
    assert!((n - 2.5).abs() < 0.01, "{n}");
}

proptest! {
    #[test]
    fn no_readings_give_nan(x in prop::collection::vec(any::<f64>(), 0..12), rho in any::<f64>()) {
        let good = |m: Result<Mean, DomainError>| m.map_or(true, |m| {
            m.mean.is_finite() && m.s.is_finite() && m.u.is_finite() && m.dof >= 1.0 && m.effective_count >= 2.0
        });
        prop_assert!(good(mean(&x)) && good(mean_of_correlated(&x)));
        prop_assert!(correlation(&x, &x).map_or(true, |r| r.is_finite()));
        prop_assert!(effective_count(rho, rho.abs().fract()).map_or(true, f64::is_finite));
    }
}
