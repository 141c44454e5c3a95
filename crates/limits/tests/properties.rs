//! What holds for any course of values and any times.

#![allow(clippy::unwrap_used)]

use limits::{Change, Limit, LimitSpec, Settings, kinds};
use proptest::prelude::*;
use stream::{ChannelId, EventTime, LimitState, Reading, Reason, Span};

const DELAY: i64 = 100;

fn limit(latching: bool, n_of_m: Option<(u8, u8)>) -> Limit {
    let (kind, unit) = (kinds::find("above").unwrap(), units::find("K").unwrap());
    let on_delay = if n_of_m.is_some() { Span::ZERO } else { Span(DELAY) };
    let spec = LimitSpec::new("hot", ChannelId(0), kind, Settings::threshold(10.0, 2.0), unit, "own example");
    Limit::new(LimitSpec { on_delay, off_delay: Span(DELAY), latching, n_of_m, ..spec }).unwrap()
}

/// Steps in time, and values about the limit or none.
fn course() -> impl Strategy<Value = Vec<(i64, Reading)>> {
    let reading = prop_oneof![
        3 => Just(Reading::Good(11.0)),
        2 => Just(Reading::Good(5.0)),
        1 => Just(Reading::Good(9.0)),
        1 => Just(Reading::Bad(Reason::Open)),
        1 => Just(Reading::Stale),
    ];
    let course = proptest::collection::vec((0..80i64, reading), 1..60);
    course.prop_map(|steps| {
        let mut time = 0;
        steps
            .into_iter()
            .map(|(step, reading)| {
                time += step;
                (time, reading)
            })
            .collect()
    })
}

proptest! {
    #[test]
    fn a_delay_is_served_by_values_alone_and_bad_data_changes_nothing(course in course(), latching: bool) {
        let mut limit = limit(latching, None);
        for (i, (time, reading)) in course.iter().enumerate() {
            let before = limit.state();
            let change = limit.step(EventTime(*time), EventTime(*time), &[*reading]);
            if reading.number().is_none() {
                let lost = matches!(change, None | Some(Change::NotJudged { .. }));
                prop_assert!(lost && before.is_outside() == limit.state().is_outside());
            }
            if let Some(Change::Crossed { since, onset, .. }) = change {
                // Every value from `since` on was outside, and there were no others.
                let stretch = course[..=i].iter().filter(|(t, _)| EventTime(*t) > since);
                prop_assert!(stretch.clone().all(|(_, r)| r.number().is_some_and(|x| x > 10.0)));
                prop_assert!(EventTime(*time) - since >= Span(DELAY));
                prop_assert!(onset.after <= onset.by && onset.by == since);
            }
            if let Some(Change::Returned { since, latched, .. }) = change {
                let stretch = course[..=i].iter().filter(|(t, _)| EventTime(*t) > since);
                prop_assert!(stretch.clone().all(|(_, r)| r.number().is_some_and(|x| x <= 8.0)));
                prop_assert!(EventTime(*time) - since >= Span(DELAY) && latched == latching);
            }
            prop_assert!(!latching || !before.is_outside() || limit.state().is_outside());
        }
    }

    #[test]
    fn n_of_m_counts_judged_values_since_the_last_change(course in course(), n in 1..5u8, more in 0..4u8) {
        let (mut limit, m) = (limit(false, Some((n, n + more))), n + more);
        let mut judged: Vec<bool> = Vec::new();
        for (time, reading) in course {
            let was = limit.state().is_outside();
            let change = limit.step(EventTime(time), EventTime(time), &[reading]);
            if let Some(x) = reading.number().filter(|_| !was) {
                judged.push(x > 10.0);
                let window = &judged[judged.len().saturating_sub(usize::from(m))..];
                let hits = window.iter().filter(|o| **o).count();
                let crossed = x > 10.0 && hits >= usize::from(n);
                prop_assert_eq!(matches!(change, Some(Change::Crossed { .. })), crossed);
            }
            if matches!(change, Some(Change::Crossed { .. } | Change::Returned { .. })) {
                judged.clear();
            }
        }
    }

    /// No kind panics, tells a number that is none, or judges what is not there, whatever comes.
    #[test]
    fn no_kind_minds_any_number(
        values in proptest::collection::vec((any::<i64>(), any::<f64>(), any::<f64>()), 0..40),
        numbers in proptest::array::uniform8(any::<f64>()),
        window in any::<i64>(), count in any::<u32>(), side in 0..3usize,
    ) {
        for kind in kinds::KINDS {
            let key = kind.needs.iter().chain(kind.may).find(|k| k.is_column());
            let has = |k| kind.needs.contains(&k) || kind.may.contains(&k);
            let settings = Settings {
                threshold: has(limits::Key::Threshold).then_some(numbers[0]),
                low: has(limits::Key::Low).then_some(numbers[1]),
                high: has(limits::Key::High).then_some(numbers[2]),
                per_second: has(limits::Key::PerSecond).then_some(numbers[3].abs()),
                dead_band: has(limits::Key::DeadBand).then_some(numbers[4].abs()),
                window: has(limits::Key::Window).then_some(Span(window)),
                count: has(limits::Key::Count).then_some(count % 20),
                side: has(limits::Key::Side).then_some(limits::Side::WORDS[side].0),
                points: has(limits::Key::Points).then(|| vec![(numbers[5], 1.0), (numbers[6], numbers[7])]),
                change: has(limits::Key::Change).then_some(numbers[5].abs()),
                driver_change: has(limits::Key::DriverChange).then_some(numbers[6].abs()),
                other: key.map(|k| (*k, ChannelId(1))),
                share: None,
            };
            let spec = LimitSpec::new("x", ChannelId(0), kind, settings, units::find("K").unwrap(), "own example");
            let columns = spec.other().map_or(1, |_| 2);
            let Ok(mut limit) = Limit::new(spec) else { continue };
            for (time, a, b) in &values {
                let readings = [Reading::finite(*a), Reading::finite(*b)];
                limit.step(EventTime(*time), EventTime(*time), &readings[..columns]);
                prop_assert!(limit.state() != LimitState::Inside || a.is_finite());
            }
        }
    }
}
