//! Which series there are. Built afresh for every scrape from the newest snapshot and the run's counts.

use crate::names;
use plugin_api::Counters;
use plugin_api::counters::SourceCounters;
use prometheus::proto::{Counter, Gauge, LabelPair, Metric, MetricFamily, MetricType};
use std::collections::BTreeMap;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::atomic::{AtomicU8, AtomicU64};
use std::time::{Duration, Instant};
use stream::{AlarmState, Batch, EventTime, FaultKind, Layout, LimitState, Quality, Snapshot};

/// The newest the sink has been given.
#[derive(Clone, Debug)]
pub struct Latest {
    snapshot: Option<Snapshot>,
    /// When the newest snapshot came, in this process's own time.
    came: Option<Instant>,
    /// When each column's last usable sample was received.
    usable: Vec<Option<EventTime>>,
}

impl Latest {
    /// Nothing yet.
    pub fn new(layout: &Layout) -> Latest {
        Latest { snapshot: None, came: None, usable: vec![None; layout.columns.len()] }
    }

    /// Keeps what is newest in the batch.
    pub fn take(&mut self, batch: &Batch) {
        for s in &batch.samples {
            if let (Some(_), Some(slot)) = (s.reading.number(), self.usable.get_mut(usize::from(s.channel.0))) {
                *slot = Some(slot.map_or(s.time, |t| t.max(s.time)));
            }
        }
        if let Some(s) = batch.snapshots.last() {
            self.snapshot = Some(s.clone());
            self.came = Some(Instant::now());
        }
    }

    /// The same, without values where no snapshot came for `longest`: the run stands still, and what it last said is
    /// no value of now.
    pub fn of_now(&self, longest: Duration) -> Latest {
        let mut latest = self.clone();
        if self.came.is_some_and(|t| t.elapsed() > longest) {
            latest.snapshot = None;
        }
        latest
    }
}

/// All families, in the order they are written; a family without a series is left out.
pub fn all(layout: &Layout, counters: &Counters, latest: &Latest) -> Vec<MetricFamily> {
    let mut out = vec![
        info("bise_build_info", "The program's version; always 1.", "version", env!("CARGO_PKG_VERSION")),
        info("bise_run_info", "The run's name; always 1.", "run", &layout.run),
    ];
    out.extend(values(layout, latest));
    out.extend(channel_states(layout, counters, latest));
    out.extend(limits(layout, latest));
    out.extend(sources(layout, counters));
    out.extend(recording(counters));
    out.extend(progress(counters, latest));
    out.retain(|f| !f.get_metric().is_empty());
    out
}

/// One family a unit, one series a column that has a number.
fn values(layout: &Layout, latest: &Latest) -> Vec<MetricFamily> {
    let mut by_unit: BTreeMap<String, Vec<Metric>> = BTreeMap::new();
    let readings = latest.snapshot.iter().flat_map(|s| &s.readings);
    for (column, reading) in layout.columns.iter().zip(readings) {
        if let Some(x) = reading.number() {
            by_unit.entry(names::ending(&column.unit)).or_default().push(gauge(x, &[("channel", &column.name)]));
        }
    }
    let help = "Value in the newest snapshot; absent while stale, bad or missing.";
    by_unit.into_iter().map(|(unit, m)| gauges(&format!("bise_channel_{unit}"), help, m)).collect()
}

fn channel_states(layout: &Layout, counters: &Counters, latest: &Latest) -> [MetricFamily; 2] {
    let now = event_time(counters, latest);
    let ages = layout.columns.iter().zip(&latest.usable).filter_map(|(column, usable)| {
        usable.map(|t| gauge((now - t).as_secs_f64().max(0.0), &[("channel", &column.name)]))
    });
    let ages = ages.collect();
    let mut qualities = Vec::new();
    let readings = latest.snapshot.iter().flat_map(|s| &s.readings);
    for (column, reading) in layout.columns.iter().zip(readings) {
        for q in [Quality::Good, Quality::Uncertain, Quality::Bad, Quality::Stale, Quality::Missing] {
            let is = f64::from(u8::from(reading.quality() == q));
            qualities.push(gauge(is, &[("channel", &column.name), ("quality", q.word())]));
        }
    }
    [
        gauges("bise_channel_age_seconds", "Event time since the channel's last usable sample.", ages),
        gauges("bise_channel_quality", "1 for the quality a channel has, 0 for the others.", qualities),
    ]
}

fn limits(layout: &Layout, latest: &Latest) -> [MetricFamily; 3] {
    let (mut outside, mut states, mut alarms) = (Vec::new(), Vec::new(), Vec::new());
    let present = latest.snapshot.iter().flat_map(|s| &s.limits);
    for (limit, state) in layout.limits.iter().zip(present) {
        outside.push(gauge(f64::from(u8::from(state.is_outside())), &[("limit", &limit.name)]));
        for s in LimitState::ALL {
            states.push(gauge(f64::from(u8::from(*state == s)), &[("limit", &limit.name), ("state", s.word())]));
        }
    }
    let present = latest.snapshot.iter().flat_map(|s| &s.alarms);
    for (limit, both) in layout.limits.iter().zip(present) {
        for (alarm, state) in [("crossed", both.crossed), ("no-data", both.no_data)] {
            for s in AlarmState::ALL {
                let labels = [("limit", limit.name.as_str()), ("alarm", alarm), ("state", s.word())];
                alarms.push(gauge(f64::from(u8::from(state == s)), &labels));
            }
        }
    }
    [
        gauges("bise_limit_outside", "1 while a limit counts as crossed.", outside),
        gauges("bise_limit_state", "1 for the state a limit is in, 0 for the others.", states),
        gauges("bise_alarm_state", "1 for the state an alarm is in, 0 for the others.", alarms),
    ]
}

type Count = fn(&SourceCounters) -> &AtomicU64;

/// What is counted for each source: metric, its sentence, the count.
const SOURCE_COUNTS: [(&str, &str, Count); 8] = [
    ("bise_source_records_total", "Records received, faults included.", |s| &s.records),
    ("bise_source_received_bytes_total", "Bytes in the records received.", |s| &s.bytes),
    ("bise_source_samples_total", "Samples made of the records.", |s| &s.samples),
    ("bise_source_lost_total", "Records known to be lost.", |s| &s.lost),
    ("bise_source_late_total", "Records that came after their snapshot had closed.", |s| &s.late),
    ("bise_source_unmapped_total", "Records that no channel is mapped to.", |s| &s.unmapped),
    ("bise_source_undecodable_total", "Records that did not decode.", |s| &s.undecodable),
    ("bise_source_link_losses_total", "How often the link went down.", |s| &s.link_losses),
];

fn sources(layout: &Layout, counters: &Counters) -> Vec<MetricFamily> {
    let each = || layout.sources.iter().map(|s| s.name.as_str()).zip(&counters.sources);
    let mut out = Vec::new();
    for (name, help, count) in SOURCE_COUNTS {
        let metrics = each().map(|(source, c)| counter(count(c), &[("source", source)]));
        out.push(family(name, help, MetricType::COUNTER, metrics.collect()));
    }
    let mut faults = Vec::new();
    for (source, c) in each() {
        for (kind, count) in FaultKind::ALL.into_iter().zip(&c.faults) {
            faults.push(counter(count, &[("source", source), ("kind", kind.word())]));
        }
    }
    out.push(family("bise_source_faults_total", "Bytes of no use, by kind.", MetricType::COUNTER, faults));
    let link = |is: fn(u8) -> bool| {
        each().map(move |(s, c)| gauge(f64::from(u8::from(is(c.link.load(Relaxed)))), &[("source", s)])).collect()
    };
    out.push(gauges("bise_source_link_up", "1 while the link is there.", link(|l| l != 0)));
    out.push(gauges("bise_source_link_degraded", "1 while the link is there and in trouble.", link(|l| l == 2)));
    let queue = |of: Count| each().map(move |(s, c)| gauge(of(c).load(Relaxed) as f64, &[("source", s)])).collect();
    out.push(gauges("bise_source_queue_messages", "Messages waiting in the source's queue.", queue(|c| &c.queue)));
    let capacity = queue(|c| &c.queue_capacity);
    out.push(gauges("bise_source_queue_capacity_messages", "Room in the source's queue.", capacity));
    out
}

fn recording(counters: &Counters) -> Vec<MetricFamily> {
    let r = &counters.recording;
    let count = |name, help, of| family(name, help, MetricType::COUNTER, vec![counter(of, &[])]);
    let flag = |of: &AtomicU8| vec![gauge(f64::from(of.load(Relaxed)), &[])];
    vec![
        count("bise_recording_entries_total", "Log entries appended.", &r.entries),
        count("bise_recording_synced_entries_total", "Log entries made durable by a sync.", &r.synced),
        count("bise_recording_written_bytes_total", "Bytes written to the log.", &r.bytes),
        count("bise_recording_lost_entries_total", "Log entries that could not be written.", &r.lost),
        gauges("bise_recording_writing", "1 while entries are being recorded, 0 while not.", flag(&r.writing)),
    ]
}

fn progress(counters: &Counters, latest: &Latest) -> Vec<MetricFamily> {
    let snapshots = vec![counter(&counters.snapshots, &[])];
    let mut out = vec![family("bise_snapshots_total", "Snapshots closed.", MetricType::COUNTER, snapshots)];
    let now = event_time(counters, latest);
    if now != EventTime::default() {
        let stamp = now.0.saturating_add(counters.wall_offset_ns.load(Relaxed)) as f64 / 1e9;
        let help = "Newest event time evaluated, as a wall-clock time stamp; time() less this is the lag.";
        out.push(gauges("bise_event_timestamp_seconds", help, vec![gauge(stamp, &[])]));
    }
    if let Some(s) = &latest.snapshot {
        let behind = (now - s.time).as_secs_f64().max(0.0);
        let help = "How far the newest snapshot is behind the newest event time.";
        out.push(gauges("bise_snapshot_lag_seconds", help, vec![gauge(behind, &[])]));
    }
    out
}

/// The newest event time known.
fn event_time(counters: &Counters, latest: &Latest) -> EventTime {
    let of_core = EventTime(counters.event_time_ns.load(Relaxed));
    latest.snapshot.as_ref().map_or(of_core, |s| s.time.max(of_core))
}

fn info(name: &str, help: &str, label: &str, value: &str) -> MetricFamily {
    gauges(name, help, vec![gauge(1.0, &[(label, value)])])
}

fn gauges(name: &str, help: &str, metrics: Vec<Metric>) -> MetricFamily {
    family(name, help, MetricType::GAUGE, metrics)
}

fn family(name: &str, help: &str, kind: MetricType, metrics: Vec<Metric>) -> MetricFamily {
    let mut f = MetricFamily::default();
    f.set_name(name.to_owned());
    f.set_help(help.to_owned());
    f.set_field_type(kind);
    f.set_metric(metrics);
    f
}

fn gauge(value: f64, labels: &[(&str, &str)]) -> Metric {
    let mut g = Gauge::default();
    g.set_value(value);
    let mut m = Metric::from_label(pairs(labels));
    m.set_gauge(g);
    m
}

fn counter(value: &AtomicU64, labels: &[(&str, &str)]) -> Metric {
    let mut c = Counter::default();
    c.set_value(value.load(Relaxed) as f64);
    let mut m = Metric::from_label(pairs(labels));
    m.set_counter(c);
    m
}

fn pairs(labels: &[(&str, &str)]) -> Vec<LabelPair> {
    let pair = |(name, value): &(&str, &str)| {
        let mut p = LabelPair::default();
        p.set_name((*name).to_owned());
        p.set_value((*value).to_owned());
        p
    };
    labels.iter().map(pair).collect()
}
