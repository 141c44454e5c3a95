//! What a limit does, told step by step: time in s, what came in, the state after it, and what changed.

#![allow(clippy::unwrap_used)]

use limits::{Basis, Change, Comparison, Condition, Key, Limit, LimitError, LimitSpec, Settings, Side, kinds};
use stream::{ChannelId, EventTime, LimitState, Reading, Reason, Span};

fn spec(kind: &str, dead_band: f64, on_s: i64, off_s: i64) -> LimitSpec {
    let (kind, unit) = (kinds::find(kind).unwrap(), units::find("K").unwrap());
    LimitSpec {
        on_delay: Span::from_secs(on_s),
        off_delay: Span::from_secs(off_s),
        basis: Basis::EverySample,
        revision: "A".into(),
        paragraph: "2.1".into(),
        ..LimitSpec::new(
            "discharge high",
            ChannelId(3),
            kind,
            Settings::threshold(300.0, dead_band),
            unit,
            "own example",
        )
    }
}

fn step(limit: &mut Limit, time: EventTime, reading: Reading) -> Option<Change> {
    limit.step(time, time, &[reading])
}

/// One line a step; `-` is a reading without a number.
fn story(spec: LimitSpec, steps: &[(f64, &str)]) -> String {
    let mut limit = Limit::new(spec).unwrap();
    let mut lines = Vec::new();
    for (seconds, input) in steps {
        let reading = input.parse().map_or(Reading::Bad(Reason::Open), Reading::Good);
        let change = step(&mut limit, EventTime((seconds * 1e9) as i64), reading);
        let change = match change {
            None => String::new(),
            Some(Change::Crossed { value, since, .. }) => {
                format!("crossed at {value}, outside since {}", since.0 / 1_000_000_000)
            }
            Some(Change::Returned { value, since, latched }) => {
                let stays = if latched { ", latched" } else { "" };
                format!("returned at {value}, inside since {}{stays}", since.0 / 1_000_000_000)
            }
            Some(Change::Reset) => "reset".to_owned(),
            Some(Change::NotEnabled { latched }) => format!("not enabled, latched: {latched}"),
            Some(Change::NotJudged { reason, crossed }) => format!("lost: {}, crossed: {crossed}", reason.word()),
            Some(Change::JudgedAgain { value, crossed }) => format!("judged again at {value}, crossed: {crossed}"),
        };
        lines.push(format!("{seconds:>4} {input:>4}  {:<19}{change}", limit.state().word()).trim_end().to_string());
    }
    lines.join("\n")
}

#[test]
fn delays_are_served_without_a_break() {
    let steps = [
        (0.0, "299"),
        (1.0, "301"),
        (2.0, "299"),
        (3.0, "301"),
        (4.0, "302"),
        (5.0, "303"),
        (6.0, "299"),
        (7.0, "295"),
        (8.0, "299"),
        (9.0, "295"),
        (12.0, "294"),
    ];
    insta::assert_snapshot!(story(spec("above", 5.0, 2, 3), &steps), @r"
     0  299  inside
     1  301  pending
     2  299  inside
     3  301  pending
     4  302  pending
     5  303  outside            crossed at 303, outside since 3
     6  299  outside
     7  295  returning
     8  299  outside
     9  295  returning
    12  294  inside             returned at 294, inside since 9
    ");
}

#[test]
fn without_delay_the_first_value_decides() {
    let steps = [(0.0, "301"), (0.1, "300"), (0.2, "300.1")];
    insta::assert_snapshot!(story(spec("above", 0.0, 0, 0), &steps), @r"
      0  301  outside            crossed at 301, outside since 0
    0.1  300  inside             returned at 300, inside since 0
    0.2 300.1  outside            crossed at 300.1, outside since 0
    ");
}

#[test]
fn below_is_the_mirror_of_above() {
    let steps = [(0.0, "300"), (1.0, "299.9"), (2.0, "304"), (3.0, "305")];
    insta::assert_snapshot!(story(spec("below", 5.0, 0, 0), &steps), @r"
    0  300  inside
    1 299.9  outside            crossed at 299.9, outside since 1
    2  304  outside
    3  305  inside             returned at 305, inside since 3
    ");
}

#[test]
fn a_lost_value_neither_raises_nor_hides() {
    let steps = [
        (0.0, "-"),
        (1.0, "301"),
        (2.0, "-"),
        (3.0, "301"),
        (4.0, "301"),
        (5.0, "301"),
        (6.0, "-"),
        (7.0, "-"),
        (8.0, "301"),
        (9.0, "290"),
        (10.0, "-"),
        (11.0, "290"),
        (14.0, "290"),
    ];
    insta::assert_snapshot!(story(spec("above", 5.0, 2, 3), &steps), @r"
     0    -  not-judged
     1  301  pending
     2    -  not-judged         lost: open, crossed: false
     3  301  pending            judged again at 301, crossed: false
     4  301  pending
     5  301  outside            crossed at 301, outside since 3
     6    -  outside-not-judged lost: open, crossed: true
     7    -  outside-not-judged
     8  301  outside            judged again at 301, crossed: true
     9  290  returning
    10    -  outside-not-judged lost: open, crossed: true
    11  290  returning          judged again at 290, crossed: true
    14  290  inside             returned at 290, inside since 11
    ");
}

/// 10 000 values that hop across the threshold, counted.
fn chatter(dead_band: f64, on_s: i64, off_s: i64) -> (usize, usize) {
    let mut limit = Limit::new(spec("above", dead_band, on_s, off_s)).unwrap();
    let (mut crossed, mut returned) = (0, 0);
    for i in 0..10_000_i64 {
        let value = if i % 2 == 0 { 301.0 } else { 299.0 };
        match step(&mut limit, EventTime(i * 100_000_000), Reading::Good(value)) {
            Some(Change::Crossed { .. }) => crossed += 1,
            Some(Change::Returned { .. }) => returned += 1,
            _ => {}
        }
    }
    (crossed, returned)
}

#[test]
fn chatter_is_tamed_by_dead_band_or_delay() {
    assert_eq!(chatter(0.0, 0, 0), (5000, 5000));
    assert_eq!(chatter(5.0, 0, 0), (1, 0));
    assert_eq!(chatter(0.0, 0, 1), (1, 0));
    assert_eq!(chatter(0.0, 1, 0), (0, 0));
}

/// A wild time stamp that lies before the one that started the clock serves no delay.
#[test]
fn time_that_goes_back_serves_nothing() {
    let steps = [(10.0, "301"), (1.0, "301"), (11.0, "301"), (12.0, "301")];
    insta::assert_snapshot!(story(spec("above", 5.0, 2, 3), &steps), @r"
    10  301  pending
     1  301  pending
    11  301  pending
    12  301  outside            crossed at 301, outside since 10
    ");
}

#[test]
fn n_of_the_last_m_and_the_newest_among_them() {
    let spec = LimitSpec { n_of_m: Some((3, 5)), ..spec("above", 0.0, 0, 0) };
    let steps = ["301", "299", "301", "-", "299", "299", "301", "301", "299", "301"];
    let steps: Vec<(f64, &str)> = steps.into_iter().enumerate().map(|(i, s)| (i as f64, s)).collect();
    insta::assert_snapshot!(story(spec, &steps), @r"
    0  301  pending
    1  299  pending
    2  301  pending
    3    -  not-judged         lost: open, crossed: false
    4  299  inside             judged again at 299, crossed: false
    5  299  inside
    6  301  pending
    7  301  outside            crossed at 301, outside since 6
    8  299  inside             returned at 299, inside since 8
    9  301  pending
    ");
}

#[test]
fn a_latching_limit_stays_until_it_is_reset() {
    let latching = LimitSpec { latching: true, ..spec("above", 0.0, 0, 0) };
    let steps = [(0.0, "301"), (1.0, "299"), (2.0, "-"), (3.0, "299"), (4.0, "301"), (5.0, "299")];
    insta::assert_snapshot!(story(latching.clone(), &steps), @r"
    0  301  outside            crossed at 301, outside since 0
    1  299  latched            returned at 299, inside since 1, latched
    2    -  outside-not-judged lost: open, crossed: true
    3  299  latched            judged again at 299, crossed: true
    4  301  outside            crossed at 301, outside since 4
    5  299  latched            returned at 299, inside since 5, latched
    ");
    let mut limit = Limit::new(latching).unwrap();
    let at = |s: i64| EventTime(s * 1_000_000_000);
    step(&mut limit, at(0), Reading::Good(301.0));
    assert!(limit.reset().is_none() && limit.state() == LimitState::Outside);
    step(&mut limit, at(1), Reading::Good(299.0));
    assert!(
        limit.state() == LimitState::Latched
            && limit.reset() == Some(Change::Reset)
            && limit.state() == LimitState::Inside
    );
    assert_eq!(limit.reset(), None);
}

/// Column 0 enables above 10 with 2 of hysteresis; hold-off 2 s. One line a second: enabling value, value.
fn enabled(latching: bool, steps: &[(&str, &str)]) -> String {
    let enable = Condition::All(vec![Comparison::new(ChannelId(0), Side::Above, 10.0, 2.0)]);
    let hold_off = Span::from_secs(2);
    let mut limit = Limit::new(LimitSpec { enable, hold_off, latching, ..spec("above", 0.0, 0, 0) }).unwrap();
    let mut lines = Vec::new();
    for (s, (enabling, value)) in steps.iter().enumerate() {
        let [enabling, reading] = [enabling, value].map(|x| x.parse().map_or(Reading::Stale, Reading::Good));
        let time = EventTime(s as i64 * 1_000_000_000);
        let changes = [limit.enable(time, &[enabling]), step(&mut limit, time, reading)];
        let told: Vec<&str> = changes
            .into_iter()
            .flatten()
            .map(|c| match c {
                Change::Crossed { .. } => "crossed",
                Change::Returned { .. } => "returned",
                Change::NotEnabled { latched: false } => "over: not enabled",
                Change::NotEnabled { latched: true } => "latched: not enabled",
                Change::Reset => "reset",
                Change::NotJudged { .. } => "lost",
                Change::JudgedAgain { .. } => "judged again",
            })
            .collect();
        lines.push(format!("{s} {:<19} {}", limit.state().word(), told.join(", ")).trim_end().to_owned());
    }
    lines.join("\n")
}

#[test]
fn a_condition_and_its_hold_off() {
    let steps = [
        ("0", "301"),
        ("11", "301"),
        ("9", "301"),
        ("9", "301"),
        ("-", "301"),
        ("9", "301"),
        ("9", "301"),
        ("9", "301"),
        ("8", "301"),
        ("-", "301"),
        ("0", "301"),
    ];
    insta::assert_snapshot!(enabled(false, &steps), @r"
    0 not-enabled
    1 not-enabled
    2 not-enabled
    3 outside             crossed
    4 outside-not-judged  lost
    5 outside             judged again
    6 outside
    7 outside
    8 not-enabled         over: not enabled
    9 not-judged
    10 not-enabled
    ");
    insta::assert_snapshot!(enabled(true, &[("11", "301"), ("11", "301"), ("11", "301"), ("0", "299"), ("11", "299")]), @r"
    0 not-enabled
    1 not-enabled
    2 outside             crossed
    3 latched             latched: not enabled
    4 latched
    ");
}

#[test]
fn descriptions_that_cannot_be_used_say_why() {
    let change = |f: &dyn Fn(&mut LimitSpec)| {
        let mut s = LimitSpec { on_delay: Span::ZERO, ..spec("above", 5.0, 2, 3) };
        f(&mut s);
        Limit::new(s).unwrap_err().to_string()
    };
    let text = [
        change(&|s| s.name = " ".into()),
        change(&|s| s.name = "a\nb".into()),
        change(&|s| s.settings.threshold = Some(f64::NAN)),
        change(&|s| s.settings.dead_band = Some(f64::INFINITY)),
        change(&|s| s.settings.dead_band = Some(-1.0)),
        change(&|s| s.settings.threshold = None),
        change(&|s| s.settings.window = Some(Span::from_secs(1))),
        change(&|s| s.settings.other = Some((Key::With, ChannelId(1)))),
        change(&|s| s.on_delay = Span::from_secs(-2)),
        change(&|s| s.off_delay = Span::from_millis(-500)),
        change(&|s| s.n_of_m = Some((3, 2))),
        change(&|s| (s.n_of_m, s.on_delay) = (Some((2, 3)), Span::from_secs(1))),
        change(&|s| s.hold_off = Span::from_secs(1)),
        change(&|s| s.document.clear()).replace("is taken from, a", "is taken from,\na"),
    ];
    insta::assert_snapshot!(text.join("\n"), @r#"
    a limit has no name; name it, events and tables refer to it
    limit "a\nb": its name holds a line break or another control character; write it without
    limit 'discharge high' (above): threshold is not a finite number; give one
    limit 'discharge high' (above): dead_band is not a finite number; give one
    limit 'discharge high' (above): dead_band is below zero; give 0 or more
    limit 'discharge high' (above): threshold is missing; add it
    limit 'discharge high' (above): window is no key of this kind of limit; leave it out
    limit 'discharge high' (above): with is no key of this kind of limit; leave it out
    limit 'discharge high': on-delay in s is -2; give 0 or more
    limit 'discharge high': off-delay in s is -0.5; give 0 or more
    limit 'discharge high': n_of_m is not two whole numbers with 1 <= n <= m <= 64; write [3, 5] for 3 of the last 5
    limit 'discharge high': n_of_m and on_delay are both given; leave one of them out
    limit 'discharge high': hold_off waits after enable, and there is no enable; add it or leave hold_off out
    limit 'discharge high' names no document; enter document, revision and paragraph it is taken from,
    a verdict is worth what its limit is worth
    "#);
    assert!(matches!(
        Limit::new(LimitSpec { document: "  ".into(), ..spec("above", 0.0, 0, 0) }),
        Err(LimitError::NoDocument { .. })
    ));
}

#[test]
fn the_source_is_one_line() {
    assert_eq!(spec("above", 0.0, 0, 0).source(), "own example, A, 2.1");
    assert_eq!(LimitSpec { paragraph: String::new(), ..spec("above", 0.0, 0, 0) }.source(), "own example, A");
}
