use super::*;
use std::sync::atomic::Ordering::Relaxed;
use stream::{
    AlarmState, Alarms, ChannelId, Column, EventTime, LimitInfo, LimitState, Origin, Reading, Reason, Sample, Snapshot,
    SourceId, SourceInfo, Span,
};

fn column(name: &str, unit: &str) -> Column {
    Column {
        name: name.into(),
        unit: unit.into(),
        ucum: unit.into(),
        origin: Origin::Channel(SourceId(0)),
        provenance: String::new(),
        with_uncertainty: false,
        about: Vec::new(),
    }
}

fn layout() -> Layout {
    Layout {
        run: "bench".into(),
        grid: Span::from_millis(100),
        sources: vec![SourceInfo { name: "line".into(), kind: "serial".into(), devices: vec![], simulated: false }],
        columns: vec![column("pack_in.temperature", "K"), column("pack_in.flow", "kg/s"), column("odd \"\\\n", "1")],
        limits: vec![LimitInfo { name: "hot".into(), column: ChannelId(0), source: "D".into() }],
    }
}

fn snapshot(readings: [Reading; 3], state: LimitState) -> Batch {
    let time = EventTime(20_000_000_000);
    let sample = Sample { time: time - Span::from_millis(1500), channel: ChannelId(0), reading: Reading::Good(1.0) };
    let alarms = Alarms { crossed: AlarmState::Shelved, no_data: AlarmState::Normal };
    let nothing = Sample { time, channel: ChannelId(0), reading: Reading::Bad(Reason::Open) };
    let (readings, limits, alarms) = (readings.into(), [state].into(), [alarms].into());
    let snapshot = Snapshot { time, readings, uncertainties: [].into(), limits, alarms };
    Batch { samples: vec![sample, nothing], snapshots: vec![snapshot], events: vec![] }
}

fn sink() -> Metrics {
    let layout = Arc::new(layout());
    let counters = Arc::new(Counters::new(&layout));
    Metrics::new(layout, counters)
}

fn lines(m: &Metrics, with: &str) -> Vec<String> {
    m.shared.text().unwrap().lines().filter(|l| l.contains(with) && !l.starts_with('#')).map(String::from).collect()
}

#[test]
fn describes_itself() {
    assert_eq!(plugin_api::conformance::sink_description(&PLUGIN), Vec::<String>::new());
}

#[test]
fn refuses_unknown_options() {
    let setup = |text| SinkSetup {
        options: plugin_api::Options::from_text(text),
        layout: Arc::new(layout()),
        counters: Arc::default(),
        folder: None,
    };
    assert!(build(&setup("")).is_ok());
    let e = build(&setup("adress = \"x\"")).err().unwrap();
    assert!(e.message.contains("unknown field `adress`"), "{e}");
}

#[test]
fn the_whole_text() {
    let mut m = sink();
    let readings = [Reading::Good(300.25), Reading::Uncertain(0.5, Reason::Range), Reading::Good(-1e-7)];
    m.write(&snapshot(readings, LimitState::Returning)).unwrap();
    let c = &m.shared.counters;
    c.sources[0].records.store(12, Relaxed);
    c.sources[0].faults[0].store(3, Relaxed);
    c.sources[0].link.store(2, Relaxed);
    c.sources[0].queue_capacity.store(4096, Relaxed);
    c.recording.synced.store(7, Relaxed);
    c.recording.writing.store(1, Relaxed);
    c.event_time_ns.store(20_250_000_000, Relaxed);
    c.wall_offset_ns.store(1_000_000_000, Relaxed);
    let version = format!("version=\"{}\"", env!("CARGO_PKG_VERSION"));
    insta::assert_snapshot!(m.shared.text().unwrap().replace(&version, "version=\"0.0.0\""));
}

#[test]
fn before_the_first_snapshot_there_are_no_values() {
    let text = sink().shared.text().unwrap();
    assert!(!text.contains("bise_channel_") && !text.contains("bise_event_timestamp"), "{text}");
    assert!(text.contains("bise_snapshots_total 0\n"));
}

#[test]
fn what_is_stale_bad_or_missing_is_absent() {
    let mut m = sink();
    m.write(&snapshot([Reading::Good(300.0); 3], LimitState::Inside)).unwrap();
    assert_eq!(lines(&m, "bise_channel_kelvin").len(), 1);
    for none in [Reading::Stale, Reading::Bad(Reason::Open), Reading::Missing(Reason::SourceDown)] {
        m.write(&snapshot([none, Reading::Good(0.4), none], LimitState::NotJudged)).unwrap();
        assert_eq!(lines(&m, "bise_channel_kelvin"), Vec::<String>::new());
        assert_eq!(lines(&m, "bise_channel_ratio"), Vec::<String>::new());
        assert_eq!(
            lines(&m, "bise_channel_kilograms_per_second"),
            ["bise_channel_kilograms_per_second{channel=\"pack_in.flow\"} 0.4"]
        );
        let word = none.quality().word();
        let line = format!("bise_channel_quality{{channel=\"pack_in.temperature\",quality=\"{word}\"}} 1");
        assert_eq!(lines(&m, &format!("temperature\",quality=\"{word}\"")), [line]);
    }
    // The age goes on, of the last sample that could be used.
    assert_eq!(lines(&m, "age_seconds"), ["bise_channel_age_seconds{channel=\"pack_in.temperature\"} 1.5"]);
}

#[test]
fn label_values_are_escaped() {
    let mut m = sink();
    m.write(&snapshot([Reading::Good(1.0); 3], LimitState::Inside)).unwrap();
    assert_eq!(lines(&m, "bise_channel_ratio"), ["bise_channel_ratio{channel=\"odd \\\"\\\\\\n\"} 1"]);
}

/// Every series of a family that says it is a counter stays or grows from scrape to scrape.
#[test]
fn counters_never_decrease() {
    let m = sink();
    let counts = |text: &str| -> std::collections::BTreeMap<String, f64> {
        let is_count = |l: &&str| l.split(['{', ' ']).next().is_some_and(|n| n.ends_with("_total"));
        let pair = |l: &str| l.rsplit_once(' ').map(|(k, v)| (k.to_owned(), v.parse().unwrap())).unwrap();
        text.lines().filter(is_count).map(pair).collect()
    };
    let mut before = counts(&m.shared.text().unwrap());
    assert!(before.len() > 20);
    for round in 0..5u64 {
        let c = &m.shared.counters;
        for a in
            [&c.sources[0].records, &c.sources[0].lost, &c.sources[0].faults[4], &c.snapshots, &c.recording.entries]
        {
            a.fetch_add(round * 1000, Relaxed);
        }
        c.sources[0].queue.store(100 - round, Relaxed);
        let after = counts(&m.shared.text().unwrap());
        assert!(before.iter().all(|(k, v)| after[k] >= *v));
        assert!(!after.contains_key("bise_source_queue_messages{source=\"line\"}"));
        before = after;
    }
    assert_eq!(before["bise_snapshots_total"], 10_000.0);
}

#[test]
fn the_answer_says_what_it_is() {
    let response = sink().shared.answer();
    assert_eq!(response.status(), StatusCode::OK);
    assert_eq!(response.headers()[header::CONTENT_TYPE], "text/plain; version=0.0.4; charset=utf-8");
}
