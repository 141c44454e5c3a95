//! Each reason from its cause: a log in, samples and snapshots out.

use crate::rig::{AIR, BARO, BOX, FLOW, GAUGE, LINE, Log, ROOM, Run, T, make, with};
use channels::{Calibration, ChannelSpec, Convert, HalfWidth, Pair, Part, Uncertainty};
use pack::{OrderedPair, PackOrder, Running};
use pipeline::Plan;
use sensors::{Conversion, CurrentLoop, PairConversion, Thermocouple};
use std::sync::Arc;
use stream::{ChannelId, EventKind, EventTime, FaultKind, GapCause, LinkState, Reading, Reason, Span};
use uncertainty::standard::Shape;
use units::Quantity;

/// A standard uncertainty as it is.
fn standard(half_width: HalfWidth) -> Part {
    Part { half_width, shape: Shape::Normal { k: 1.0 } }
}

/// The reasons of a channel's samples, in a row.
fn reasons(run: &Run, channel: usize) -> String {
    let word = |r: Reading| if r.reason() == Reason::None { "." } else { r.reason().word() };
    run.samples(channel).iter().map(|s| word(s.reading)).collect::<Vec<_>>().join(" ")
}

#[test]
fn open_and_short_from_a_current_loop() {
    let plan = || {
        let conversion = Convert::One(Conversion::CurrentLoop(CurrentLoop::new(0.0, 1.6).unwrap()));
        with(FLOW, |s| ChannelSpec { conversion, ..s })
    };
    let mut log = Log::default();
    for (t, ma) in [(100, "12"), (200, "0.02"), (300, "21.5"), (400, "11.9")] {
        log.line(t, t, LINE, AIR, &format!("290,{ma}"));
    }
    let run = log.ticks(500, 1000).through(plan());
    assert_eq!(reasons(&run, FLOW), ". open short .");
    assert_eq!(run.at(200, FLOW), Reading::Bad(Reason::Open));
    let x = run.at(400, FLOW).number().unwrap();
    assert!((x - 0.79).abs() < 1e-12, "{x}");
}

#[test]
fn rail_from_a_burnt_out_thermocouple_and_range_from_a_slip() {
    let plan = with(T, |s| ChannelSpec { rail: Some((0.0, 1645.0)), range: Some((200.0, 600.0)), ..s });
    let mut log = Log::default();
    log.t(100, 300.0).t(200, 1645.0).t(300, 0.0).t(400, 665.0).t(500, 301.0);
    assert_eq!(reasons(&log.through(plan), T), ". rail rail range .");
}

#[test]
fn rate_is_judged_on_event_times_and_not_across_a_link_that_was_down() {
    let plan = || with(T, |s| ChannelSpec { rate: Some(10.0), ..s });
    let mut log = Log::default();
    log.t(100, 300.0).t(200, 350.0).t(300, 300.5);
    log.link(400, 400, LINE, None, LinkState::Down).link(450, 450, LINE, None, LinkState::Up).t(500, 350.0);
    assert_eq!(reasons(&log.through(plan()), T), ". rate . .");
    let mut unrecorded = Log::default();
    unrecorded.t(100, 300.0).gap(150, None, 3, GapCause::NotRecorded).t(200, 350.0);
    assert_eq!(reasons(&unrecorded.through(plan()), T), ". .");
}

#[test]
fn frozen_and_stale_are_two_things() {
    let plan = with(T, |s| ChannelSpec { frozen_after: Some(Span::from_secs(1)), ..s });
    let mut log = Log::default();
    for i in 1..=15 {
        log.t(i * 100, 300.0);
    }
    let run = log.ticks(1600, 3000).through(plan);
    assert_eq!(run.at(1000, T), Reading::Good(300.0));
    assert_eq!(run.at(1200, T), Reading::Uncertain(300.0, Reason::Frozen));
    assert_eq!(run.at(2600, T), Reading::Stale);
}

#[test]
fn what_an_instrument_says_of_itself_is_the_reason() {
    let mut log = Log::default();
    for (i, word) in ["---", "ERR", "PAR", "CRC"].iter().enumerate() {
        log.line(100 * (i as i64 + 1), 100 * (i as i64 + 1), LINE, AIR, &format!("{word},1"));
    }
    let run = log.run();
    assert_eq!(reasons(&run, T), "not-available error-code parity crc");
}

#[test]
fn a_device_whose_answers_are_all_spoiled_says_why() {
    let reason = |kind| {
        let mut log = Log::default();
        log.t(100, 300.0);
        for i in 3..=25 {
            log.fault(i * 100, AIR, kind, b"\x01");
        }
        let run = log.through(make());
        assert_eq!(run.at(1000, T), Reading::Good(300.0), "one spoiled answer takes no value away");
        assert_eq!(run.at(1500, GAUGE), Reading::Missing(Reason::NotYet), "another device's channel");
        run.at(2000, T)
    };
    assert_eq!(reason(FaultKind::Checksum), Reading::Bad(Reason::Crc));
    assert_eq!(reason(FaultKind::LateAnswer), Reading::Bad(Reason::Late));
    assert_eq!(reason(FaultKind::Exception), Reading::Bad(Reason::ErrorCode));
    assert_eq!(reason(FaultKind::TimeOut), Reading::Stale);
}

#[test]
fn a_link_that_is_down_is_source_down() {
    let mut log = Log::default();
    log.t(100, 300.0).link(200, 200, LINE, Some(AIR), LinkState::Down).ticks(300, 800);
    assert_eq!(log.run().at(300, T), Reading::Missing(Reason::SourceDown));
}

#[test]
fn a_sample_that_came_too_late_is_kept_with_a_doubt_and_not_evaluated() {
    let mut log = Log::default();
    log.t(100, 300.0).ticks(200, 900).line(1000, 300, LINE, AIR, "305,1").ticks(1100, 1500);
    let run = log.run();
    assert_eq!(reasons(&run, T), ". late");
    assert_eq!(run.samples(T)[1].reading, Reading::Uncertain(305.0, Reason::Late));
    assert_eq!(run.at(1000, T), Reading::Good(300.0));
}

#[test]
fn a_calibration_is_judged_at_the_runs_start() {
    let run = |calibration: Calibration| {
        let mut log = Log::default();
        log.t(100, 300.0).t(900, 300.0);
        reasons(&log.through(with(T, |s| ChannelSpec { calibration, ..s })), T)
    };
    let valid = |from: i64, until: i64| Calibration::Valid { from: EventTime(from), until: EventTime(until) };
    assert_eq!(run(Calibration::NotAsked), ". .");
    assert_eq!(run(valid(0, 200_000_000)), ". .", "due while it runs: it was valid at the start");
    assert_eq!(run(valid(0, 100_000_000)), "not-calibrated not-calibrated");
    assert_eq!(run(valid(100_000_001, 900_000_000)), "not-calibrated not-calibrated");
    assert_eq!(run(Calibration::Unknown), "not-calibrated not-calibrated");
}

#[test]
fn a_simulated_source_among_real_ones_is_marked_value_by_value_and_a_simulated_run_as_a_whole() {
    let run = |simulated: [bool; 2]| {
        let mut plan = make();
        let layout = Arc::make_mut(&mut plan.layout);
        layout.sources.iter_mut().zip(simulated).for_each(|(s, is)| s.simulated = is);
        let mut log = Log::default();
        log.baro(50, 100_000.0).t(100, 300.0).gauge(200, 50.0).ticks(300, 800);
        let run = log.through(plan);
        [reasons(&run, T), reasons(&run, BARO), reasons(&run, GAUGE)]
    };
    assert_eq!(run([false, true]), [".", "simulated", "input-uncertain"]);
    assert_eq!(run([true, false]), ["simulated", ".", "simulated"]);
    assert_eq!(run([true, true]), [".", ".", "."]);
}

/// `T` as a thermocouple in mV whose reference junction is `FLOW`'s field, told as a temperature.
fn thermocouple() -> Plan {
    let celsius = units::find("degC").unwrap();
    let conversion = PairConversion::Thermocouple(Thermocouple::K);
    let pair = Pair { conversion, with: ChannelId(BARO as u16), second_unit: celsius, within: Span::from_millis(500) };
    let mut plan = with(T, |s| ChannelSpec { conversion: Convert::Pair(pair), unit: celsius, ..s });
    let junction = ChannelSpec {
        stale_after: Span::from_secs(3),
        ..ChannelSpec::new("room.junction", Quantity::Temperature, celsius)
    };
    plan.channels[BARO].channel = channels::Channel::new(junction).unwrap();
    plan.channels[GAUGE].channel = plan.channels[FLOW].channel.clone();
    plan
}

#[test]
fn a_pair_takes_the_newest_other_half_and_its_quality() {
    let mut log = Log::default();
    log.line(100, 100, LINE, AIR, "7.138,1");
    log.baro(150, 25.0).line(200, 200, LINE, AIR, "7.138,1");
    log.line(600, 600, LINE, AIR, "7.138,1").line(700, 700, LINE, AIR, "7.138,1");
    log.baro(750, -300.0).line(800, 800, LINE, AIR, "7.138,1");
    log.line(850, 850, ROOM, 0, "---").line(900, 900, LINE, AIR, "7.138,1");
    let run = log.through(thermocouple());
    // Not there yet; there; still within 500 ms; too old for this pair; below 0 K; none.
    assert_eq!(reasons(&run, T), "input-missing . . input-missing outside-table input-missing");
    let t = run.samples(T)[1].reading.number().unwrap();
    assert!((t - 473.15).abs() < 0.01, "{t}");
}

/// `T` must not be colder than `FLOW`'s field taken as K; it runs when the barometer reads above 100 rad/s.
fn ordered(u: f64) -> Plan {
    let kelvin = units::find("K").unwrap();
    let parts: Vec<Part> = vec![standard(HalfWidth::Absolute(u))];
    let uncertain = Some(Uncertainty { parts, correlation: None });
    let mut plan = with(T, |s| ChannelSpec { uncertainty: uncertain.clone(), ..s });
    let other =
        ChannelSpec { uncertainty: uncertain, ..ChannelSpec::new("b.temperature", Quantity::Temperature, kelvin) };
    plan.channels[FLOW].channel = channels::Channel::new(other).unwrap();
    let speed = ChannelSpec::new("acm.speed", Quantity::AngularSpeed, units::find("rad/s").unwrap());
    plan.channels[BARO].channel = channels::Channel::new(speed).unwrap();
    let pairs = vec![OrderedPair { higher: T, lower: FLOW, margin: 2.0 }];
    plan.orders = vec![PackOrder { running: Running { speed: Some(BARO), pressures: None }, pairs }];
    plan
}

/// The unit ran in until this time, ms.
const WARM: i64 = 31_000;

fn order_of(plan: Plan, speed: f64, rows: &[(i64, &str)]) -> Run {
    let mut log = Log::default();
    for t in (50..WARM).step_by(500) {
        log.baro(t, speed);
    }
    let mut last = WARM;
    for (t, row) in rows.iter().map(|(t, row)| (t + WARM, row)) {
        log.baro(t - 10, speed).line(t, t, LINE, AIR, row);
        last = t;
    }
    log.ticks(last + 100, last + 400).through(plan)
}

#[test]
fn against_the_order_both_are_in_doubt_while_it_runs_and_only_then() {
    let swapped = [(100, "300,350")];
    let run = order_of(ordered(0.1), 2000.0, &swapped);
    let t = WARM + 100;
    assert_eq!(run.at(t, T), Reading::Uncertain(300.0, Reason::Order));
    assert_eq!(run.at(t, FLOW), Reading::Uncertain(350.0, Reason::Order));
    assert_eq!(run.samples(T)[0].reading, Reading::Good(300.0), "the sample is as it was measured");
    let at_rest = order_of(ordered(0.1), 10.0, &swapped);
    assert_eq!((at_rest.at(t, T), at_rest.at(t, FLOW)), (Reading::Good(300.0), Reading::Good(350.0)));
    let mut warming_up = Log::default();
    warming_up.baro(50, 2000.0).line(100, 100, LINE, AIR, "300,350").ticks(200, 600);
    assert_eq!(warming_up.through(ordered(0.1)).at(200, T), Reading::Good(300.0));
}

#[test]
fn the_margin_is_the_declared_one_or_three_standard_uncertainties_of_the_difference() {
    let says = |u: f64, by: f64| {
        order_of(ordered(u), 2000.0, &[(100, &format!("300,{}", 300.0 + by))]).at(WARM + 100, T).reason()
    };
    assert_eq!((says(0.1, 2.0), says(0.1, 2.1)), (Reason::None, Reason::Order));
    // 3·√2·1 K = 4.243 K.
    assert_eq!((says(1.0, 4.2), says(1.0, 4.3)), (Reason::None, Reason::Order));
}

#[test]
fn one_event_where_it_begins_and_one_where_it_ends() {
    let row = |i: i64| (100 * i, if (20..80).contains(&i) { "300,350" } else { "360,350" });
    let rows: Vec<(i64, &str)> = (1..150).map(row).collect();
    let run = order_of(ordered(0.1), 2000.0, &rows);
    let told: Vec<(i64, &str)> = run
        .events(EventKind::Quality)
        .into_iter()
        .filter(|e| e.text.contains("order"))
        .map(|e| (e.time.0 / 1_000_000, e.text.as_str()))
        .collect();
    let begins = "uncertain: order: 300 K, below a.flow of 350 K; one of them is swapped, of another type, or wrong";
    assert_eq!(
        told,
        [(WARM + 2000, begins), (WARM + 8000, "the order to a.flow is as it must be, or cannot be judged")]
    );
}

/// The same log gives the same qualities however it is cut into runs of the core: state is a function of the log.
#[test]
fn qualities_are_a_function_of_plan_and_log() {
    let plan = || with(T, |s| ChannelSpec { rate: Some(10.0), frozen_after: Some(Span::from_secs(1)), ..s });
    let mut log = Log::default();
    for i in 1..60 {
        log.t(i * 100, if i % 7 == 0 { 400.0 } else { 300.0 });
    }
    log.fault(6000, BOX, FaultKind::Checksum, b"x").ticks(6100, 6500);
    let (a, b) = (log.through(plan()), log.through(plan()));
    assert_eq!(a.out.samples, b.out.samples);
    assert_eq!(a.out.snapshots, b.out.snapshots);
}
