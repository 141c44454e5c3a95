//! Every kind of limit, and what goes with limits, from snapshots to events.

use crate::rig::{AIR, FLOW, LINE, Log, T, plan_with, run_with};
use limits::{Comparison, Condition, Group, Key, Limit, LimitSpec, Settings, Side, kinds};
use pipeline::Core;
use std::sync::Arc;
use stream::{AlarmState, Batch, ChannelId, EventKind, GapCause, LimitState, OperatorContent, Span};

const SECOND: Span = Span::from_secs(1);

fn spec(name: &str, kind: &str, settings: Settings) -> LimitSpec {
    let (kind, unit) = (kinds::find(kind).unwrap(), units::find("degC").unwrap());
    LimitSpec::new(name, ChannelId(T as u16), kind, settings, unit, "TEST")
}

fn flow() -> ChannelId {
    ChannelId(FLOW as u16)
}

fn limits(specs: impl IntoIterator<Item = LimitSpec>) -> Vec<Limit> {
    specs.into_iter().map(|s| Limit::new(s).unwrap()).collect()
}

/// One line of the instrument just before each grid time from `from` on: temperature in K (`---` for none), flow.
fn lines(log: &mut Log, from: i64, values: &[(&str, &str)]) -> i64 {
    for (i, (t, flow)) in values.iter().enumerate() {
        let at = from + 100 * i as i64 - 10;
        log.line(at, at, LINE, AIR, &format!("{t},{flow}"));
    }
    from + 100 * values.len() as i64
}

/// Events of limits and alarms, one line each: time in ms, kind, subject, text.
fn told(specs: impl IntoIterator<Item = LimitSpec>, log: &Log) -> String {
    let run = run_with(plan_with(limits(specs)), &log.entries);
    let other = [EventKind::Quality, EventKind::Link, EventKind::Gap, EventKind::End];
    let of = run.out.events.iter().filter(|e| !other.contains(&e.kind));
    let short = |text: &str| text.replace("1970-01-01T00:00:0", "").replace("00000000Z", "s");
    of.map(|e| format!("{} {} {}: {}", e.time.0 / 1_000_000, e.kind.word(), e.subject, short(&e.text)))
        .collect::<Vec<_>>()
        .join("\n")
}

/// A course of temperatures with a flow of 1 kg/s, and what a limit tells of it.
fn course(spec: LimitSpec, kelvin: &[&str]) -> String {
    let mut log = Log::default();
    let values: Vec<(&str, &str)> = kelvin.iter().map(|t| (*t, "1")).collect();
    let end = lines(&mut log, 100, &values);
    told([spec], log.ticks(end, end + 300))
}

#[test]
fn band() {
    let settings = Settings { low: Some(280.0), high: Some(290.0), dead_band: Some(1.0), ..Settings::default() };
    insta::assert_snapshot!(course(spec("band", "band", settings), &["285", "279", "280.5", "281", "291"]), @r"
    200 limit-crossed band: crossed since 0.2s; a.temperature = 5.85 degC; limit: from 6.85 degC to 16.85 degC, from TEST
    400 limit-returned band: met again since 0.4s; a.temperature = 7.85 degC; limit: from 6.85 degC to 16.85 degC, from TEST
    500 limit-crossed band: crossed since 0.5s; a.temperature = 17.85 degC; limit: from 6.85 degC to 16.85 degC, from TEST
    ");
}

#[test]
fn rate() {
    let settings = Settings { per_second: Some(5.0), window: Some(Span::from_millis(200)), ..Settings::default() };
    let kelvin = ["280", "280", "280", "280.5", "282", "282", "282"];
    insta::assert_snapshot!(course(spec("rate", "rate", settings), &kelvin), @r"
    500 limit-crossed rate: crossed since 0.5s; change of a.temperature = 10 K/s; limit: not changing faster than 5 K/s over 0.2 s, from TEST
    700 limit-returned rate: met again since 0.7s; change of a.temperature = 0 K/s; limit: not changing faster than 5 K/s over 0.2 s, from TEST
    ");
}

#[test]
fn curve() {
    let mut log = Log::default();
    let values = [("290", "0.5"), ("296", "0.5"), ("296", "0.9"), ("296", "1.5"), ("296", "0.9"), ("296", "0.5")];
    let end = lines(&mut log, 100, &values);
    let points = Some(vec![(0.0, 280.0), (1.0, 300.0)]);
    let settings = Settings { points, other: Some((Key::Over, flow())), ..Settings::default() };
    insta::assert_snapshot!(told([spec("curve", "curve", settings)], log.ticks(end, end + 300)), @r"
    200 limit-crossed curve: crossed since 0.2s; a.temperature = 22.85 degC; limit: not above the curve over a.flow, here 16.85 degC, from TEST
    300 limit-returned curve: met again since 0.3s; a.temperature = 22.85 degC; limit: not above the curve over a.flow, from TEST
    400 limit-not-judged curve: not judged: no value (outside-table); limit: not above the curve over a.flow, from TEST
    500 limit-not-judged curve: judged again: not crossed; a.temperature = 22.85 degC; limit: not above the curve over a.flow, from TEST
    600 limit-crossed curve: crossed since 0.6s; a.temperature = 22.85 degC; limit: not above the curve over a.flow, here 16.85 degC, from TEST
    ");
}

#[test]
fn disagreement_and_deviation() {
    let mut log = Log::default();
    let values = [("1", "1"), ("4", "1"), ("0.5", "1"), ("---", "1"), ("5", "1"), ("1", "---"), ("1", "1")];
    let end = lines(&mut log, 100, &values);
    let other = |key| Some((key, flow()));
    let apart = Settings { other: other(Key::With), ..Settings::threshold(2.0, 0.0) };
    let off = Settings { low: Some(-0.4), high: Some(2.0), other: other(Key::Expected), ..Settings::default() };
    let specs = [spec("apart", "disagreement", apart), spec("off", "deviation", off)];
    insta::assert_snapshot!(told(specs, log.ticks(end, end + 300)), @r"
    200 limit-crossed apart: crossed since 0.2s; a.temperature differs from a.flow by 3 K; limit: within 2 K of a.flow, from TEST
    200 limit-crossed off: crossed since 0.2s; a.temperature - a.flow = 3 K; limit: from -0.4 K to 2 K off a.flow, from TEST
    300 limit-returned apart: met again since 0.3s; a.temperature differs from a.flow by 0.5 K; limit: within 2 K of a.flow, from TEST
    400 limit-not-judged apart: not judged: no value (not-available); limit: within 2 K of a.flow, from TEST
    400 limit-not-judged off: not judged: no value (not-available); it stays crossed; limit: from -0.4 K to 2 K off a.flow, from TEST
    500 limit-crossed apart: crossed since 0.5s; a.temperature differs from a.flow by 4 K; limit: within 2 K of a.flow, from TEST
    500 limit-not-judged off: judged again: crossed; a.temperature - a.flow = 4 K; limit: from -0.4 K to 2 K off a.flow, from TEST
    600 limit-not-judged apart: not judged: no value (input-missing); it stays crossed; limit: within 2 K of a.flow, from TEST
    600 limit-not-judged off: not judged: no value (input-missing); it stays crossed; limit: from -0.4 K to 2 K off a.flow, from TEST
    700 limit-returned apart: met again since 0.7s; a.temperature differs from a.flow by 0 K; limit: within 2 K of a.flow, from TEST
    700 limit-returned off: met again since 0.7s; a.temperature - a.flow = 0 K; limit: from -0.4 K to 2 K off a.flow, from TEST
    ");
}

#[test]
fn stuck_while_a_driver_moves() {
    let mut log = Log::default();
    let values = [("290", "0.1"), ("290", "0.1"), ("290", "0.1"), ("290", "0.2"), ("290", "0.9"), ("292", "0.9")];
    let end = lines(&mut log, 100, &values);
    let settings = Settings {
        change: Some(0.5),
        window: Some(Span::from_millis(200)),
        driver_change: Some(0.5),
        other: Some((Key::Driver, flow())),
        ..Settings::default()
    };
    insta::assert_snapshot!(told([spec("stuck", "stuck", settings)], log.ticks(end, end + 300)), @r"
    500 limit-crossed stuck: crossed since 0.5s; a.temperature has not changed for 0.4 s; limit: moving by more than 0.5 K in 0.2 s while a.flow moves by 0.5 kg/s, from TEST
    600 limit-returned stuck: met again since 0.6s; a.temperature has not changed for 0 s; limit: moving by more than 0.5 K in 0.2 s while a.flow moves by 0.5 kg/s, from TEST
    ");
}

#[test]
fn count() {
    let settings = Settings { count: Some(1), window: Some(SECOND), ..Settings::threshold(300.0, 1.0) };
    let kelvin = ["299", "301", "299", "301", "299", "299", "299", "299", "299", "299", "299", "299", "299"];
    insta::assert_snapshot!(course(spec("count", "count", settings), &kelvin), @r"
    400 limit-crossed count: crossed since 0.4s; a.temperature: 2 times; limit: at most 1 times above 26.85 degC in 1 s, from TEST
    1200 limit-returned count: met again since 1.2s; a.temperature: 1 times; limit: at most 1 times above 26.85 degC in 1 s, from TEST
    ");
}

#[test]
fn an_enabled_limit_with_hold_off_on_grid_and_on_samples() {
    let mut log = Log::default();
    let values = [("310", "0"), ("310", "1"), ("310", "1"), ("310", "1"), ("310", "1"), ("310", "0"), ("310", "0")];
    let end = lines(&mut log, 100, &values);
    let enabled = |name, basis| LimitSpec {
        enable: Condition::All(vec![Comparison::new(flow(), Side::Above, 0.5, 0.0)]),
        hold_off: Span::from_millis(200),
        basis,
        ..spec(name, "above", Settings::threshold(300.0, 0.0))
    };
    let specs = || [enabled("grid", limits::Basis::Snapshot), enabled("sample", limits::Basis::EverySample)];
    log.ticks(end, end + 500);
    insta::assert_snapshot!(told(specs(), &log), @r"
    490 limit-crossed sample: crossed since 0.490000000Z; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    400 limit-crossed grid: crossed since 0.4s; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    600 limit-returned grid: over: not enabled; limit: not above 26.85 degC, from TEST
    600 limit-returned sample: over: not enabled; limit: not above 26.85 degC, from TEST
    ");
    let run = run_with(plan_with(limits(specs())), &log.entries);
    let states: Vec<&str> = run.out.snapshots.iter().map(|s| s.limits[0].word()).collect();
    assert_eq!(
        states[..7],
        ["not-enabled", "not-enabled", "not-enabled", "outside", "outside", "not-enabled", "not-enabled"]
    );
    let count = run.counts.limits[0];
    assert_eq!((count.crossed, count.judged), (1, 2));
    assert!(count.not_enabled >= 5);
}

#[test]
fn the_first_of_a_group_and_ties_inside_the_age_of_samples() {
    let group = |l: LimitSpec| LimitSpec { group: Some(Group { name: "trip".into(), window: SECOND }), ..l };
    let on_flow = |name, threshold| LimitSpec {
        column: flow(),
        unit: units::find("kg/s").unwrap(),
        ..spec(name, "above", Settings::threshold(threshold, 0.0))
    };
    let hot = || group(spec("hot", "above", Settings::threshold(300.0, 0.0)));
    let slow = LimitSpec { on_delay: Span::from_millis(300), ..hot() };
    let slow = LimitSpec { name: "slow".into(), ..slow };
    let mut log = Log::default();
    // 200: nothing; 300: hot, slow and more go outside between the same samples; 400: most; 600: slow is declared.
    let values = [("290", "0"), ("290", "0"), ("310", "1"), ("310", "2"), ("310", "2"), ("310", "2"), ("290", "0")];
    let end = lines(&mut log, 100, &values);
    let specs = [group(on_flow("most", 1.5)), hot(), group(on_flow("more", 0.5)), slow];
    insta::assert_snapshot!(told(specs, log.ticks(end, end + 500)), @r"
    300 limit-crossed hot: crossed since 0.3s; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    300 first-out trip: hot first
    300 limit-crossed more: crossed since 0.3s; a.flow = 1 kg/s; limit: not above 0.5 kg/s, from TEST
    300 first-out trip: more tied with hot: between the same samples
    400 limit-crossed most: crossed since 0.4s; a.flow = 2 kg/s; limit: not above 1.5 kg/s, from TEST
    400 first-out trip: most at least 0 s after hot
    600 limit-crossed slow: crossed since 0.3s; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    600 first-out trip: slow tied with hot: between the same samples
    700 limit-returned most: met again since 0.7s; a.flow = 0 kg/s; limit: not above 1.5 kg/s, from TEST
    700 limit-returned hot: met again since 0.7s; a.temperature = 16.85 degC; limit: not above 26.85 degC, from TEST
    700 limit-returned more: met again since 0.7s; a.flow = 0 kg/s; limit: not above 0.5 kg/s, from TEST
    700 limit-returned slow: met again since 0.7s; a.temperature = 16.85 degC; limit: not above 26.85 degC, from TEST
    ");
    // The one that is declared later was outside first.
    let slow = LimitSpec { on_delay: Span::from_millis(300), ..hot() };
    let mut log = Log::default();
    let values = [("290", "0"), ("310", "0"), ("310", "0"), ("310", "1"), ("310", "1"), ("310", "1")];
    let end = lines(&mut log, 100, &values);
    insta::assert_snapshot!(told([group(on_flow("more", 0.5)), slow], log.ticks(end, end + 500)), @r"
    400 limit-crossed more: crossed since 0.4s; a.flow = 1 kg/s; limit: not above 0.5 kg/s, from TEST
    400 first-out trip: more first
    500 limit-crossed hot: crossed since 0.2s; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    500 first-out trip: hot first, at least 0.1 s before more, which was declared earlier
    ");
}

#[test]
fn a_cause_hides_its_consequences_and_keeps_them_in_the_log() {
    let cause = LimitSpec {
        column: flow(),
        unit: units::find("kg/s").unwrap(),
        ..spec("no-flow", "below", Settings::threshold(0.5, 0.0))
    };
    let hot = LimitSpec { suppressed_by: vec![1], ..spec("hot", "above", Settings::threshold(300.0, 0.0)) };
    let mut log = Log::default();
    let values = [("290", "1"), ("310", "0"), ("310", "0"), ("310", "1"), ("310", "1"), ("290", "1")];
    let end = lines(&mut log, 100, &values);
    log.ticks(end, end + 500);
    let specs = || [hot.clone(), cause.clone()];
    insta::assert_snapshot!(told(specs(), &log), @r"
    200 limit-crossed hot: crossed since 0.2s, not announced (suppressed-by-design); a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST
    200 limit-crossed no-flow: crossed since 0.2s; a.flow = 0 kg/s; limit: not below 0.5 kg/s, from TEST
    400 alarm hot: not suppressed any more; announced, it is there
    400 limit-returned no-flow: met again since 0.4s; a.flow = 1 kg/s; limit: not below 0.5 kg/s, from TEST
    600 limit-returned hot: met again since 0.6s; a.temperature = 16.85 degC; limit: not above 26.85 degC, from TEST
    ");
    let run = run_with(plan_with(limits(specs())), &log.entries);
    let alarms: Vec<&str> = run.out.snapshots.iter().map(|s| s.alarms[0].crossed.word()).collect();
    let hidden = "suppressed-by-design";
    let back = "returned-unacknowledged";
    assert_eq!(alarms[..6], ["normal", hidden, hidden, "unacknowledged", "unacknowledged", back]);
    assert_eq!((run.counts.limits[0].crossed, run.counts.limits[0].announced), (1, 0));
}

#[test]
fn an_operator_acknowledges_shelves_and_resets() {
    let hot = LimitSpec {
        latching: true,
        longest_shelving: SECOND,
        priority: "2 (call the engineer)".into(),
        ..spec("hot", "above", Settings::threshold(300.0, 0.0))
    };
    let shelve = |ms, reason: &str| OperatorContent::Shelve {
        limit: "hot".into(),
        length: Span::from_millis(ms),
        reason: reason.into(),
    };
    let hot_alone = |f: fn(String) -> OperatorContent| f("hot".into());
    let mut log = Log::default();
    lines(&mut log, 100, &[("290", "1"), ("310", "1"), ("310", "1"), ("310", "1"), ("310", "1")]);
    log.operator(550, hot_alone(OperatorContent::Acknowledge)).operator(560, hot_alone(OperatorContent::Reset));
    log.operator(570, shelve(2000, "too long")).operator(575, shelve(300, " ")).operator(580, shelve(300, "probe out"));
    lines(&mut log, 600, &[("310", "1"), ("310", "1"), ("310", "1"), ("310", "1"), ("290", "1"), ("290", "1")]);
    log.ticks(1200, 1400).operator(1410, hot_alone(OperatorContent::Reset));
    log.operator(1420, hot_alone(OperatorContent::Acknowledge));
    log.operator(1430, OperatorContent::OutOfService { limit: "hot".into(), reason: "probe changed".into() });
    log.operator(1440, OperatorContent::InService("hot".into()))
        .operator(1450, OperatorContent::Unshelve("hot".into()));
    log.operator(1460, OperatorContent::Acknowledge("cold".into())).ticks(1500, 1900);
    insta::assert_snapshot!(told([hot.clone()], &log), @r"
    200 limit-crossed hot: crossed since 0.2s; a.temperature = 36.85 degC; limit: not above 26.85 degC, from TEST; priority 2 (call the engineer)
    550 alarm hot: acknowledged, by lee
    560 alarm hot: not reset: only a latched limit that is inside again can be, by lee
    570 alarm hot: not shelved: it may be for more than 0 s and at most 1 s, by lee
    575 alarm hot: not done: say why, by lee
    580 alarm hot: shelved until 0.880000000Z: probe out, by lee
    900 alarm hot: shelving over; announced, it is there
    1000 alarm hot: latched: stays crossed until it is reset
    1410 alarm hot: reset, by lee
    1410 limit-returned hot: over: reset; limit: not above 26.85 degC, from TEST; priority 2 (call the engineer)
    1420 alarm hot: acknowledged, by lee
    1430 alarm hot: out of service: probe changed, by lee
    1440 alarm hot: in service again, by lee
    1450 alarm hot: not unshelved: it was not shelved, by lee
    1460 alarm cold: no limit of this run has this name; nothing was changed, by lee
    ");
    let run = run_with(plan_with(limits([hot])), &log.entries);
    let last = run.out.snapshots.last().unwrap();
    assert_eq!((last.limits[0], last.alarms[0].crossed), (LimitState::Inside, AlarmState::Normal));
}

/// Evaluation starts afresh after a stretch that was not recorded: nothing is shelved any more, nothing latched.
#[test]
fn after_a_stretch_that_was_not_recorded_limits_start_afresh() {
    let hot = LimitSpec { latching: true, ..spec("hot", "above", Settings::threshold(300.0, 0.0)) };
    let mut log = Log::default();
    let end = lines(&mut log, 100, &[("310", "1"), ("290", "1"), ("290", "1")]);
    log.ticks(end, end + 400).gap(end + 410, None, 3, GapCause::NotRecorded);
    let end = lines(&mut log, end + 500, &[("290", "1"), ("290", "1")]);
    let run = run_with(plan_with(limits([hot])), &log.ticks(end, end + 400).entries);
    let states: Vec<LimitState> = run.out.snapshots.iter().map(|s| s.limits[0]).collect();
    assert!(states.contains(&LimitState::Latched) && states.last() == Some(&LimitState::Inside), "{states:?}");
    assert_eq!(run.counts.limits[0].crossed, 1);
}

/// All kinds in one run, each crossed; entry by entry or at once, the same.
#[test]
fn every_kind_gives_the_same_twice() {
    let settings = |kind: &str| match kind {
        "above" | "below" => Settings::threshold(300.0, 1.0),
        "band" => Settings { low: Some(285.0), high: Some(300.0), ..Settings::default() },
        "rate" => Settings { per_second: Some(20.0), window: Some(Span::from_millis(300)), ..Settings::default() },
        "curve" => Settings {
            points: Some(vec![(0.0, 280.0), (1.0, 300.0)]),
            other: Some((Key::Over, flow())),
            ..Settings::default()
        },
        "disagreement" => Settings { other: Some((Key::With, flow())), ..Settings::threshold(290.0, 1.0) },
        "stuck" => Settings { change: Some(0.5), window: Some(Span::from_millis(200)), ..Settings::default() },
        "count" => Settings { count: Some(1), window: Some(SECOND), ..Settings::threshold(300.0, 1.0) },
        "deviation" => Settings { low: Some(295.0), other: Some((Key::Expected, flow())), ..Settings::default() },
        other => panic!("{other}: a kind without a course through the core"),
    };
    let specs: Vec<LimitSpec> = kinds::KINDS.iter().map(|k| spec(k.name, k.name, settings(k.name))).collect();
    let values: Vec<(String, String)> =
        (0..60).map(|i| (format!("{}", 290 + (i * 7) % 23), format!("{}", f64::from(i % 11) / 9.0))).collect();
    let values: Vec<(&str, &str)> = values.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    let mut log = Log::default();
    let end = lines(&mut log, 100, &values);
    log.ticks(end, end + 400);
    let plan = plan_with(limits(specs));
    let whole = run_with(Arc::clone(&plan), &log.entries);
    let crossed: Vec<u64> = whole.counts.limits.iter().map(|l| l.crossed).collect();
    assert!(crossed.iter().all(|n| *n > 0), "{crossed:?}: every kind is crossed");
    let mut core = Core::new(plan);
    let mut out = Batch::default();
    for entry in &log.entries {
        let mut batch = Batch::default();
        core.push(entry, &mut batch);
        out.snapshots.append(&mut batch.snapshots);
        out.events.append(&mut batch.events);
    }
    assert_eq!((out.snapshots, out.events), (whole.out.snapshots, whole.out.events));
}
