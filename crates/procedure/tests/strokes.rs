//! Simulated strokes whose figures are known: read back to within one sample.
// The simulated strokes are not promised to the bit.
#![allow(clippy::disallowed_methods)]

use procedure::stroke::{Criteria, Direction, Outcome, Polarity, Sample, Stroke, StrokeError, stroke};

const COMMAND: f64 = 2.0;

fn sampled(rate: f64, phase: f64, seconds: f64, f: impl Fn(f64) -> f64) -> Vec<Sample> {
    let count = (seconds * rate) as u32;
    (0..count).map(|i| (f64::from(i) + phase) / rate).map(|time| Sample { time, value: f(time) }).collect()
}

/// A command at 2 s from `from` to `to`, a position that answers `answer(t since command)` as share of the travel.
fn simulate(rate: f64, phase: f64, seconds: f64, from: f64, to: f64, answer: impl Fn(f64) -> f64) -> [Vec<Sample>; 2] {
    let command = sampled(100.0, 0.0, seconds, |t| if t >= COMMAND { to } else { from });
    let position = sampled(rate, phase, seconds, |t| from + (to - from) * answer(t - COMMAND));
    [command, position]
}

fn moved([command, position]: &[Vec<Sample>; 2]) -> Stroke {
    match stroke(command, position, &Criteria::default()) {
        Ok(Outcome::Moved(s)) => s,
        other => panic!("{other:?}"),
    }
}

#[track_caller]
fn near(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{got} for {expected} ± {tolerance}");
}

/// Delay and ramp, open and close, whole and partial, fast and slow sampling at any phase.
#[test]
fn delay_and_ramp() {
    for rate in [20.0, 50.0, 200.0] {
        for phase in [0.0, 0.3, 0.99] {
            for (from, to) in [(0.0, 1.0), (1.0, 0.0), (0.2, 0.7), (0.9, 0.1)] {
                for (delay, ramp) in [(0.0, 0.5), (0.35, 2.0), (1.2, 15.0)] {
                    let s = moved(&simulate(rate, phase, 25.0, from, to, |t| ((t - delay) / ramp).clamp(0.0, 1.0)));
                    let sample = 1.0 / rate;
                    let travel = to - from;
                    near(s.first_motion.seconds, delay + 0.005 / travel.abs() * ramp, sample);
                    near(s.stroke_time.seconds, delay + 0.98 * ramp, sample);
                    near(s.ten_to_ninety.seconds, 0.8 * ramp, sample);
                    near(s.first_motion.resolution, sample + 0.01, 1e-9);
                    near(s.start, from, 1e-12);
                    near(s.end, to, 1e-12);
                    near(s.position_error, 0.0, 1e-12);
                    near(s.command_time, COMMAND, 1e-9);
                    assert_eq!(s.polarity, Polarity::AsCommanded);
                    assert_eq!(s.direction == Direction::Opening, to > from);
                    assert!(s.overshoot < 1e-9 && s.holds.is_empty(), "{s:?}");
                }
            }
        }
    }
}

/// x = 1 − e^(−t/τ): motion at −τ ln 0.995, 10–90 % in τ ln 9, within 2 % after τ ln 50.
#[test]
fn first_order_end() {
    for tau in [0.3, 1.0, 3.0] {
        for (delay, rate) in [(0.0, 100.0), (0.5, 25.0)] {
            let answer = |t: f64| if t < delay { 0.0 } else { 1.0 - (-(t - delay) / tau).exp() };
            let s = moved(&simulate(rate, 0.4, 40.0, 0.0, 1.0, answer));
            near(s.first_motion.seconds, delay - tau * 0.995_f64.ln(), 1.0 / rate);
            near(s.ten_to_ninety.seconds, tau * 9.0_f64.ln(), 1.0 / rate);
            near(s.stroke_time.seconds, delay + tau * 50.0_f64.ln(), 1.0 / rate);
            assert!(s.overshoot < 1e-5 && s.holds.is_empty(), "{s:?}");
        }
    }
}

/// Second order: overshoot e^(−πζ/√(1−ζ²)); over when the oscillation enters the band for good, found on a fine grid.
#[test]
fn overshoot() {
    let (omega, rate) = (4.0_f64, 200.0);
    for zeta in [0.3_f64, 0.5, 0.7] {
        let damped = omega * (1.0 - zeta * zeta).sqrt();
        let answer = |t: f64| {
            if t < 0.0 {
                return 0.0;
            }
            1.0 - (-zeta * omega * t).exp() * ((damped * t).cos() + zeta * omega / damped * (damped * t).sin())
        };
        let s = moved(&simulate(rate, 0.0, 20.0, 0.1, 0.9, answer));
        near(s.overshoot, (-std::f64::consts::PI * zeta / (1.0 - zeta * zeta).sqrt()).exp(), 5e-4);
        let outside = (0..100_000).rev().map(|i| f64::from(i) * 1e-4).find(|&t| (answer(t) - 1.0).abs() > 0.02);
        near(s.stroke_time.seconds, outside.unwrap(), 1.0 / rate);
    }
}

/// Two holds on the way, of 2 s at 0.3 and 1 s at 0.7; none in a slow stroke without.
#[test]
fn stepped_holds() {
    let answer = |t: f64| match t {
        t if t < 0.0 => 0.0,
        t if t < 1.5 => 0.2 * t,
        t if t < 3.5 => 0.3,
        t if t < 5.5 => 0.3 + 0.2 * (t - 3.5),
        t if t < 6.5 => 0.7,
        t => (0.7 + 0.2 * (t - 6.5)).min(1.0),
    };
    let rate = 50.0;
    let s = moved(&simulate(rate, 0.5, 15.0, 0.0, 1.0, answer));
    assert_eq!(s.holds.len(), 2, "{s:?}");
    // The spread allowed, 0.01, is passed in 0.05 s at this speed: on either side at most that.
    for (hold, (after, duration, position)) in s.holds.iter().zip([(1.5, 2.0, 0.3), (5.5, 1.0, 0.7)]) {
        near(hold.after.seconds, after, 0.05 + 1.0 / rate);
        near(hold.duration.seconds, duration, 0.05 + 2.0 / rate);
        near(hold.position, position, 0.005);
    }
    near(s.stroke_time.seconds, 7.9, 1.0 / rate);
    let slow = moved(&simulate(rate, 0.0, 140.0, 0.0, 1.0, |t| (t / 120.0).clamp(0.0, 1.0)));
    assert!(slow.holds.is_empty(), "{:?}", slow.holds);
}

/// A repeatable disturbance of ± 0.002.
fn noise(state: &mut u64) -> f64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    ((*state >> 11) as f64 / (1u64 << 53) as f64 - 0.5) * 0.004
}

#[test]
fn noise_moves_figures_little() {
    let mut state = 88_172_645_463_325_252;
    for _ in 0..20 {
        let mut data = simulate(50.0, 0.0, 15.0, 0.0, 1.0, |t| ((t - 0.4) / 4.0).clamp(0.0, 1.0));
        for sample in &mut data[1] {
            sample.value += noise(&mut state);
        }
        let s = moved(&data);
        // 0.002 of position is 0.008 s of this ramp; one sample more.
        near(s.first_motion.seconds, 0.42, 0.03);
        near(s.stroke_time.seconds, 0.4 + 0.98 * 4.0, 0.04);
        near(s.ten_to_ninety.seconds, 3.2, 0.04);
        near(s.end, 1.0, 0.001);
        assert!(s.overshoot < 0.003 && s.holds.is_empty());
    }
}

#[test]
fn reversed_polarity_and_position_error() {
    let [command, _] = simulate(50.0, 0.0, 10.0, 0.0, 1.0, |_| 0.0);
    let position = sampled(50.0, 0.0, 10.0, |t| 1.0 - ((t - 2.3) / 2.0).clamp(0.0, 1.0));
    let s = moved(&[command.clone(), position]);
    assert_eq!((s.polarity, s.direction), (Polarity::Reversed, Direction::Opening));
    near(s.stroke_time.seconds, 0.3 + 1.96, 0.02);
    // It stops at 0.93 of the way.
    let short = sampled(50.0, 0.0, 10.0, |t| ((t - 2.3) / 2.0).clamp(0.0, 0.93));
    near(moved(&[command, short]).position_error, 0.07, 1e-9);
}

#[test]
fn stuck() {
    let [command, position] = simulate(50.0, 0.0, 10.0, 0.3, 0.8, |t| 0.005 * f64::from(u8::from(t > 0.0)));
    match stroke(&command, &position, &Criteria::default()) {
        Ok(Outcome::Stuck { largest, watched, .. }) => {
            near(largest, 0.0025, 1e-3);
            near(watched, 8.0, 0.03);
        }
        other => panic!("{other:?}"),
    }
}

/// Each refusal has its reason, and the message says what to do.
#[test]
fn refusals() {
    let answer = |t: f64| (t / 2.0).clamp(0.0, 1.0);
    let [command, position] = simulate(50.0, 0.0, 10.0, 0.0, 1.0, answer);
    let of = |c: &[Sample], p: &[Sample]| stroke(c, p, &Criteria::default()).unwrap_err();
    assert!(matches!(of(&command[..150], &position), StrokeError::NoStep { .. }));
    let back = sampled(100.0, 0.0, 10.0, |t| f64::from(u8::from((2.0..6.0).contains(&t))));
    assert!(matches!(of(&back, &position), StrokeError::SecondStep { time } if (time - 6.0).abs() < 1e-9));
    assert!(matches!(of(&command, &position[99..]), StrokeError::TooFew { found: 1, .. }));
    let late = position.partition_point(|s| s.time < 3.5);
    assert!(matches!(of(&command, &position[..late]), StrokeError::NotSettled { .. }));
    let early = sampled(50.0, 0.0, 10.0, |t| answer(t - 1.5));
    assert!(matches!(of(&command, &early), StrokeError::NotAtRest { .. }));
    let little = sampled(50.0, 0.0, 10.0, |t| 0.03 * answer(t - 2.0));
    assert!(matches!(of(&command, &little), StrokeError::TravelTooSmall { .. }));
    let mut percent = position.clone();
    percent[250].value = 75.0;
    assert!(matches!(of(&command, &percent), StrokeError::Value { channel: "position", index: 250, .. }));
    let mut jump = position.clone();
    jump[100].time = 0.5;
    let e = of(&command, &jump);
    assert!(matches!(e, StrokeError::Time { index: 100, .. }));
    assert_eq!(
        e.to_string(),
        "position, sample 100: time 0.5 s does not come after the sample before it; sort, drop doubles"
    );
    let none = Criteria { motion: 0.0, ..Criteria::default() };
    assert!(matches!(stroke(&command, &position, &none), Err(StrokeError::Criterion { name: "motion", .. })));
}

/// Odd numbers anywhere: figures or a reason, never a number that is none.
#[test]
fn any_input() {
    const ODD: [f64; 9] = [f64::NAN, f64::INFINITY, f64::MAX, -1e300, 0.0, -0.0, 1.4, 5e-324, 2.0];
    let mut state = 1_983;
    let mut draw = |n: usize| {
        noise(&mut state);
        (state >> 20) as usize % n
    };
    let (mut given, mut refused) = (0, 0);
    for round in 0..3000 {
        let mut data = simulate(20.0, 0.0, 6.0, 0.0, 1.0, |t| (t / 1.5).clamp(0.0, 1.0));
        for channel in &mut data {
            channel.truncate(if round % 3 == 0 { draw(channel.len() + 1) } else { channel.len() });
        }
        for _ in 0..draw(3) {
            let (c, odd) = (draw(2), ODD[draw(9)]);
            let k = draw(data[c].len().max(1));
            if let Some(s) = data[c].get_mut(k) {
                *(if draw(2) == 0 { &mut s.time } else { &mut s.value }) = odd;
            }
        }
        match stroke(&data[0], &data[1], &Criteria::default()) {
            Ok(Outcome::Moved(s)) => {
                given += 1;
                let spans = [s.first_motion, s.stroke_time, s.ten_to_ninety];
                assert!(spans.iter().all(|x| x.seconds.is_finite() && x.resolution.is_finite()), "{s:?}");
                assert!([s.start, s.end, s.position_error, s.overshoot].iter().all(|x| x.is_finite()));
            }
            Ok(Outcome::Stuck { largest, .. }) => assert!(largest.is_finite()),
            Err(e) => {
                refused += 1;
                assert!(!e.to_string().is_empty());
            }
        }
    }
    assert!(given > 100 && refused > 100, "{given} {refused}");
}
