//! Every short sequence of events against a plain reading of the rules, written the other way round: from the whole
//! history instead of a state.

#![allow(clippy::unwrap_used)]

use limits::{Change, Limit, LimitSpec, Settings, kinds};
use stream::{ChannelId, EventTime, LimitState, Reading, Reason, Span};

const THRESHOLD: f64 = 100.0;
const DEAD_BAND: f64 = 10.0;

/// What can come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Input {
    In,
    Band,
    Out,
    Bad,
}

use Input::{Bad, Band, In, Out};

fn reading(input: Input) -> Reading {
    match input {
        In => Reading::Good(80.0),
        Band => Reading::Good(95.0),
        Out => Reading::Uncertain(101.0, Reason::Range),
        Bad => Reading::Bad(Reason::Open),
    }
}

fn limit(on_delay: i64, off_delay: i64) -> Limit {
    let (kind, unit) = (kinds::find("above").unwrap(), units::find("K").unwrap());
    let settings = Settings::threshold(THRESHOLD, DEAD_BAND);
    let spec = LimitSpec::new("compressor_out high", ChannelId(0), kind, settings, unit, "own example");
    Limit::new(LimitSpec { on_delay: Span(on_delay), off_delay: Span(off_delay), ..spec }).unwrap()
}

fn step(limit: &mut Limit, time: EventTime, input: Input) -> Option<Change> {
    limit.step(time, time, &[reading(input)])
}

/// The state after a history, from the rules alone:
/// * crossed at the first input that ends a stretch of nothing but `Out` at least the on-delay long
/// * from then on returned at the first input that ends a stretch of nothing but `In` at least the off-delay long
fn state_by_the_rules(history: &[(i64, Input)], on_delay: i64, off_delay: i64) -> LimitState {
    let served = |end: usize, of: Input, delay: i64| {
        let stretch = history[..=end].iter().rev().take_while(|(_, i)| *i == of);
        stretch.last().is_some_and(|(start, _)| history[end].0 - start >= delay)
    };
    let mut crossed = false;
    for end in 0..history.len() {
        crossed = if crossed { !served(end, In, off_delay) } else { served(end, Out, on_delay) };
    }
    match (history[history.len() - 1].1, crossed) {
        (Bad, false) => LimitState::NotJudged,
        (Bad, true) => LimitState::OutsideNotJudged,
        (Out, false) => LimitState::Pending,
        (_, false) => LimitState::Inside,
        (In, true) => LimitState::Returning,
        (_, true) => LimitState::Outside,
    }
}

/// Calls back with every sequence of inputs up to this length.
fn every_sequence(length: u32, mut f: impl FnMut(&[Input])) {
    for n in 1..=length {
        for code in 0..4_usize.pow(n) {
            let sequence: Vec<Input> = (0..n).map(|i| [In, Band, Out, Bad][code / 4_usize.pow(i) % 4]).collect();
            f(&sequence);
        }
    }
}

#[test]
fn every_sequence_to_length_6_follows_the_rules() {
    let even = [0, 1, 2, 3, 4, 5];
    let uneven = [0, 1, 4, 4, 5, 9];
    let mut steps = 0;
    for times in [even, uneven] {
        for (on_delay, off_delay) in [(0, 0), (1, 0), (0, 1), (1, 2), (2, 1), (3, 3), (5, 2)] {
            every_sequence(6, |sequence| {
                let history: Vec<(i64, Input)> = times.into_iter().zip(sequence.iter().copied()).collect();
                let mut limit = limit(on_delay, off_delay);
                for (i, (time, input)) in history.iter().enumerate() {
                    let before = limit.state();
                    let change = step(&mut limit, EventTime(*time), *input);
                    let expected = state_by_the_rules(&history[..=i], on_delay, off_delay);
                    assert_eq!(limit.state(), expected, "{:?}, delays {on_delay} {off_delay}", &history[..=i]);
                    check_change(change, before, limit.state(), i == 0);
                    steps += 1;
                }
            });
        }
    }
    assert_eq!(steps, 14 * (4 + 2 * 16 + 3 * 64 + 4 * 256 + 5 * 1024 + 6 * 4096));
}

/// A change is told exactly where the states before and after differ in what it tells.
fn check_change(change: Option<Change>, before: LimitState, after: LimitState, first: bool) {
    let judged = LimitState::is_judged;
    match change {
        Some(Change::Crossed { value, .. }) => {
            assert!(!before.is_outside() && after == LimitState::Outside && value > 100.0)
        }
        Some(Change::Returned { value, .. }) => {
            assert!(before.is_outside() && after == LimitState::Inside && value <= 90.0)
        }
        Some(Change::NotJudged { reason, crossed }) => {
            assert!(judged(before) && !judged(after) && reason == Reason::Open && crossed == after.is_outside());
        }
        Some(Change::JudgedAgain { crossed, .. }) => {
            assert!(!judged(before) && judged(after) && crossed == after.is_outside());
        }
        Some(Change::NotEnabled { .. } | Change::Reset) => panic!("it is always enabled"),
        None => {
            assert_eq!(before.is_outside(), after.is_outside());
            let never_judged_before = before == LimitState::NotJudged;
            assert!(judged(before) == judged(after) || first || never_judged_before, "{before:?} {after:?}");
        }
    }
}

/// More readings of the same kind in between change no state at the times of the first ones.
#[test]
fn the_rate_of_steps_does_not_matter() {
    for (on_delay, off_delay) in [(0, 0), (4, 8), (8, 4), (5, 3), (12, 12)] {
        every_sequence(6, |sequence| {
            let (mut coarse, mut fine) = (limit(on_delay, off_delay), limit(on_delay, off_delay));
            for (i, input) in sequence.iter().enumerate() {
                let time = 4 * i as i64;
                if i > 0 && sequence[i - 1] == *input {
                    for earlier in [3, 2, 1] {
                        step(&mut fine, EventTime(time - earlier), *input);
                    }
                }
                step(&mut fine, EventTime(time), *input);
                step(&mut coarse, EventTime(time), *input);
                assert_eq!(fine.state(), coarse.state(), "{sequence:?} at {time}, delays {on_delay} {off_delay}");
            }
        });
    }
}
