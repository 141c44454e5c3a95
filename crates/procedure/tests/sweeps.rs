//! Simulated slow sweeps whose hysteresis and dead band are known.

use procedure::stroke::{Polarity, Sample, StrokeError, SweepCriteria, sweep};

/// Up and down (times over) at a rate, sampled at 10 Hz; dwell at the turns.
fn command(rate: f64, times: u32, dwell: f64) -> Vec<Sample> {
    let way = 1.0 / rate;
    let period = 2.0 * (way + dwell);
    let count = (period * f64::from(times) * 10.0) as u32;
    (0..=count)
        .map(|i| {
            let time = f64::from(i) / 10.0;
            let t = time % period;
            let value = match t {
                t if t < way => t * rate,
                t if t < way + dwell => 1.0,
                t if t < 2.0 * way + dwell => 1.0 - (t - way - dwell) * rate,
                _ => 0.0,
            };
            Sample { time, value }
        })
        .collect()
}

/// Backlash: the position follows only when the command has gone through half the play on either side.
fn backlash(command: &[Sample], play: f64, of: impl Fn(f64) -> f64) -> Vec<Sample> {
    let mut at = command[0].value;
    let follow = command.iter().map(|c| {
        at = at.clamp(c.value - play / 2.0, c.value + play / 2.0);
        Sample { time: c.time, value: of(at) }
    });
    follow.collect()
}

#[track_caller]
fn near(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{got} for {expected} ± {tolerance}");
}

/// Play b: the branches are b apart, and after a turn the command goes b before anything moves, and 0.005 until it has
/// moved by the threshold.
#[test]
fn hysteresis_and_dead_band() {
    for play in [0.0, 0.01, 0.04, 0.1] {
        for (times, dwell) in [(1, 0.0), (2, 20.0)] {
            let command = command(0.005, times, dwell);
            let s = sweep(&command, &backlash(&command, play, |x| x), &SweepCriteria::default()).unwrap();
            near(s.hysteresis, play, 0.001);
            near(s.dead_band.unwrap(), play + 0.005, 0.001);
            near(s.gain, 1.0, 0.01 + play / 2.0);
            assert!(s.rate < 0.005 + 1e-9 && (dwell > 0.0 || s.rate > 0.005 - 1e-9), "{}", s.rate);
            assert_eq!(s.polarity, Polarity::AsCommanded);
            near(s.errors[2].error_rising.unwrap(), play / 2.0, 0.001);
            near(s.errors[2].error_falling.unwrap(), -play / 2.0, 0.001);
        }
    }
}

#[test]
fn reversed_offset_and_bent() {
    let command = command(0.005, 1, 0.0);
    let reversed = sweep(&command, &backlash(&command, 0.02, |x| 1.0 - x), &SweepCriteria::default()).unwrap();
    assert_eq!(reversed.polarity, Polarity::Reversed);
    near(reversed.hysteresis, 0.02, 0.001);
    let offset = sweep(&command, &backlash(&command, 0.0, |x| 0.05 + 0.9 * x), &SweepCriteria::default()).unwrap();
    near(offset.gain, 0.9, 1e-6);
    near(offset.offset, 0.05, 1e-6);
    for (at, error) in offset.errors.iter().zip([-0.05, -0.025, 0.0, 0.025, 0.05]) {
        near(at.error_rising.unwrap(), error, 1e-6);
        near(at.error_falling.unwrap(), error, 1e-6);
    }
    near(offset.linearity, 0.0, 1e-9);
    near(offset.range.0, 0.05, 1e-9);
    // x + 0.1·x(1 − x): the best line through the parabola is off by 0.1/6 at the ends and half that in the middle.
    let bent =
        sweep(&command, &backlash(&command, 0.0, |x| x + 0.1 * x * (1.0 - x)), &SweepCriteria::default()).unwrap();
    near(bent.linearity, 0.1 / 6.0, 0.0005);
}

#[test]
fn noise_and_a_coarse_command() {
    let fine = command(0.005, 1, 0.0);
    let mut position = backlash(&fine, 0.03, |x| x);
    let mut state = 7u64;
    for s in &mut position {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        s.value += ((state >> 33) as f64 / (1u64 << 31) as f64 - 0.5) * 0.002;
    }
    let coarse: Vec<_> = fine.iter().step_by(10).copied().collect();
    let s = sweep(&coarse, &position, &SweepCriteria::default()).unwrap();
    near(s.hysteresis, 0.03, 0.002);
    near(s.dead_band.unwrap(), 0.035, 0.003);
}

#[test]
fn refusals() {
    let fast = command(0.05, 1, 0.0);
    let slow = command(0.005, 1, 0.0);
    let of = |c: &[Sample], p: &[Sample]| sweep(c, p, &SweepCriteria::default()).unwrap_err();
    assert!(matches!(of(&fast, &fast), StrokeError::TooFast { rate, .. } if (rate - 0.05).abs() < 1e-6));
    assert!(matches!(of(&slow[..2000], &slow[..2000]), StrokeError::NoWayBack { way: "falling", .. }));
    let still: Vec<_> = slow.iter().map(|s| Sample { value: 0.4, ..*s }).collect();
    assert!(matches!(of(&slow, &still), StrokeError::Stuck { .. }));
    assert!(matches!(of(&still, &slow), StrokeError::NoWayBack { .. }));
    assert!(matches!(of(&slow, &slow[..5]), StrokeError::TooFew { found: 5, .. }));
    let mut bad = slow.clone();
    bad[7].value = f64::NAN;
    assert!(matches!(of(&slow, &bad), StrokeError::Value { channel: "position", index: 7, .. }));
    let none = SweepCriteria { coverage: f64::NAN, ..SweepCriteria::default() };
    assert!(matches!(sweep(&slow, &slow, &none), Err(StrokeError::Criterion { name: "coverage", .. })));
}

/// Odd numbers and lengths: figures or a reason.
#[test]
fn any_input() {
    const ODD: [f64; 8] = [f64::NAN, f64::INFINITY, f64::MAX, -0.4, 0.0, 1.4, 5e-324, 1e12];
    let (mut given, mut refused) = (0, 0);
    let mut state = 9u64;
    let mut draw = |n: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % n
    };
    for _ in 0..1500 {
        let mut c = command(0.008, 1, 0.0);
        let mut p = backlash(&c, 0.02, |x| x);
        c.truncate(c.len() - draw(300).saturating_sub(200));
        for _ in 0..draw(3) {
            let (channel, odd) = (if draw(2) == 0 { &mut c } else { &mut p }, ODD[draw(8)]);
            let k = draw(channel.len());
            *(if draw(2) == 0 { &mut channel[k].time } else { &mut channel[k].value }) = odd;
        }
        match sweep(&c, &p, &SweepCriteria::default()) {
            Ok(s) => {
                given += 1;
                let figures = [s.gain, s.offset, s.hysteresis, s.linearity, s.rate, s.range.0, s.range.1];
                assert!(figures.iter().all(|x| x.is_finite()) && s.dead_band.is_none_or(f64::is_finite), "{s:?}");
            }
            Err(e) => {
                refused += 1;
                assert!(!e.to_string().is_empty());
            }
        }
    }
    assert!(given > 100 && refused > 100, "{given} {refused}");
}
