//! A plan made by hand: two lines, three devices, five channels, two limits. And a log written entry by entry.

use channels::{Barometer, Channel, ChannelSpec, Reference};
use decode::text::{TextField, TextFormat};
use decode::{Decoder, DeviceFormat, Format};
use limits::{Basis, Limit, LimitSpec, Settings};
use pipeline::{ChannelPlan, Core, Plan, Sequencer, SourcePlan};
use std::sync::Arc;
use stream::{
    Anchor, Batch, ChannelId, Column, EntryBody, Event, EventKind, EventTime, FaultKind, Gap, GapCause, Layout,
    LimitInfo, Link, LinkState, LogEntry, OperatorAction, Origin, Payload, RawRecord, Reading, Reason, RecordKind,
    Sample, SourceId, SourceInfo, Span,
};
use units::Quantity;

/// Kelvin, from `line/air`; stale after 1 s.
pub(crate) const T: usize = 0;
/// Gauge kPa with the barometer `BARO`, from `line/box`; stale after 1 s.
pub(crate) const GAUGE: usize = 1;
/// Absolute Pa, from `room/baro`; stale after 3 s.
pub(crate) const BARO: usize = 2;
/// kg/s, from `line/air`: fed by the second field; plausible 0 to 2; stale after 1 s.
pub(crate) const FLOW: usize = 3;

/// The source with two devices.
pub(crate) const LINE: SourceId = SourceId(0);
/// The source with the barometer.
pub(crate) const ROOM: SourceId = SourceId(1);
/// Devices of `LINE`.
pub(crate) const AIR: u16 = 0;
pub(crate) const BOX: u16 = 1;

/// Limits: `T` above 300 K, dead band 5 K, on each snapshot; the same on every sample; each with delays of 200 ms.
pub(crate) const ON_GRID: usize = 0;
pub(crate) const ON_SAMPLE: usize = 1;

pub(crate) const GRID_MS: i64 = 100;
pub(crate) const LATENESS_MS: i64 = 250;

pub(crate) fn ms(t: i64) -> EventTime {
    EventTime(t * 1_000_000)
}

fn text_device(name: &str, readings: &[&str]) -> DeviceFormat {
    let field = |(i, name): (usize, &&str)| TextField {
        name: (*name).to_owned(),
        position: i as u16 + 1,
        unit: None,
        label: None,
        unit_text: None,
        nothing: vec![
            ("---".to_owned(), Reason::NotAvailable),
            ("ERR".to_owned(), Reason::ErrorCode),
            ("PAR".to_owned(), Reason::Parity),
            ("CRC".to_owned(), Reason::Crc),
        ],
        scale: 1.0,
        offset: 0.0,
    };
    let fields = readings.iter().enumerate().map(field).collect();
    let format = Format::Text(TextFormat::new(None, ',', fields).unwrap().into());
    DeviceFormat { name: name.to_owned(), format }
}

struct ChannelRow {
    name: &'static str,
    quantity: Quantity,
    unit: &'static str,
    reference: Option<Reference>,
    range: Option<(f64, f64)>,
    stale_s: i64,
    source: SourceId,
    device: Option<u16>,
}

fn channel_rows() -> Vec<ChannelRow> {
    let gauge = Reference::Gauge { barometer: Some(Barometer::Channel(ChannelId(BARO as u16))) };
    let row = |name, quantity, unit, reference, stale_s, source, device| ChannelRow {
        name,
        quantity,
        unit,
        reference,
        range: (quantity == Quantity::MassFlow).then_some((0.0, 2.0)),
        stale_s,
        source,
        device: Some(device),
    };
    vec![
        row("a.temperature", Quantity::Temperature, "K", None, 1, LINE, AIR),
        row("b.pressure", Quantity::Pressure, "kPa", Some(gauge), 1, LINE, BOX),
        row("ambient.pressure", Quantity::Pressure, "Pa", Some(Reference::Absolute), 3, ROOM, 0),
        row("a.flow", Quantity::MassFlow, "kg/s", None, 1, LINE, AIR),
    ]
}

fn channel(r: &ChannelRow) -> ChannelPlan {
    let spec = ChannelSpec {
        reference: r.reference,
        range: r.range,
        stale_after: Span::from_secs(r.stale_s),
        ..ChannelSpec::new(r.name, r.quantity, units::find(r.unit).unwrap())
    };
    ChannelPlan { channel: Channel::new(spec).unwrap(), device: r.device }
}

fn column(r: &ChannelRow) -> Column {
    Column {
        name: r.name.to_owned(),
        unit: r.quantity.si_symbol().to_owned(),
        ucum: r.quantity.si_ucum().to_owned(),
        origin: Origin::Channel(r.source),
        provenance: String::new(),
        with_uncertainty: false,
        about: Vec::new(),
    }
}

fn limit(name: &str, basis: Basis) -> Limit {
    let (kind, unit) = (limits::kinds::find("above").unwrap(), units::find("K").unwrap());
    let spec = LimitSpec {
        on_delay: Span::from_millis(200),
        off_delay: Span::from_millis(200),
        basis,
        revision: "1".to_owned(),
        ..LimitSpec::new(name, ChannelId(T as u16), kind, Settings::threshold(300.0, 5.0), unit, "TEST")
    };
    Limit::new(spec).unwrap()
}

pub(crate) fn plan() -> Arc<Plan> {
    Arc::new(make())
}

/// The plan with a channel's description changed.
pub(crate) fn with(channel: usize, change: impl FnOnce(ChannelSpec) -> ChannelSpec) -> Plan {
    let mut plan = make();
    let spec = change(plan.channels[channel].channel.spec().clone());
    plan.channels[channel].channel = Channel::new(spec).unwrap();
    plan
}

pub(crate) fn make() -> Plan {
    make_with(vec![limit("on-grid", Basis::Snapshot), limit("on-sample", Basis::EverySample)])
}

/// The plan with other limits.
pub(crate) fn plan_with(limits: Vec<Limit>) -> Arc<Plan> {
    Arc::new(make_with(limits))
}

fn make_with(limits: Vec<Limit>) -> Plan {
    let rows = channel_rows();
    let source = |name: &str, devices: &[&str]| SourceInfo {
        name: name.to_owned(),
        kind: "serial".to_owned(),
        devices: devices.iter().map(|d| (*d).to_owned()).collect(),
        simulated: false,
    };
    let layout = Layout {
        run: "rig".to_owned(),
        grid: Span::from_millis(GRID_MS),
        sources: vec![source("line", &["air", "box"]), source("room", &["baro"])],
        columns: rows.iter().map(column).collect(),
        limits: limits
            .iter()
            .map(|l| LimitInfo { name: l.spec().name.clone(), column: l.spec().column, source: l.spec().source() })
            .collect(),
    };
    let id = |i: usize| vec![ChannelId(i as u16)];
    let line = Decoder::devices(vec![text_device("air", &["t", "flow"]), text_device("box", &["p", "spare"])]).unwrap();
    let room = Decoder::devices(vec![text_device("baro", &["p"])]).unwrap();
    Plan {
        layout: Arc::new(layout),
        lateness: Span::from_millis(LATENESS_MS),
        sources: vec![
            SourcePlan { decoder: line, targets: vec![id(T), id(FLOW), id(GAUGE), Vec::new()] },
            SourcePlan { decoder: room, targets: vec![id(BARO)] },
        ],
        channels: rows.iter().map(channel).collect(),
        pack: Arc::new(pack::plan_nothing(channel_rows().len())),
        orders: Vec::new(),
        limits,
    }
}

/// A log being written: every method takes the time at which the entry is logged, in ms.
pub(crate) struct Log {
    sequencer: Sequencer,
    sequence: u64,
    pub(crate) entries: Vec<LogEntry>,
}

impl Default for Log {
    fn default() -> Self {
        Log { sequencer: Sequencer::new(Span::from_millis(GRID_MS)), sequence: 0, entries: Vec::new() }
    }
}

impl Log {
    pub(crate) fn push(&mut self, at: EventTime, body: EntryBody) -> &mut Log {
        self.entries.push(self.sequencer.push(body, at));
        self
    }

    pub(crate) fn tick(&mut self, at: i64) -> &mut Log {
        self.push(ms(at), EntryBody::Tick)
    }

    /// Ticks every grid step from `from` to `to`.
    pub(crate) fn ticks(&mut self, from: i64, to: i64) -> &mut Log {
        for t in (from..=to).step_by(GRID_MS as usize) {
            self.tick(t);
        }
        self
    }

    pub(crate) fn end(&mut self, at: i64) -> &mut Log {
        self.push(ms(at), EntryBody::End)
    }

    /// A line of text of a device, received at `t`.
    pub(crate) fn line(&mut self, at: i64, t: i64, source: SourceId, device: u16, text: &str) -> &mut Log {
        self.record(ms(at), line(source, self.sequence, ms(t), device, text))
    }

    pub(crate) fn record(&mut self, at: EventTime, record: RawRecord) -> &mut Log {
        self.sequence += 1;
        self.push(at, EntryBody::Record(record))
    }

    /// A temperature, logged as it is received.
    pub(crate) fn t(&mut self, t: i64, kelvin: f64) -> &mut Log {
        self.line(t, t, LINE, AIR, &format!("{kelvin},1"))
    }

    /// A barometer reading, logged as it is received.
    pub(crate) fn baro(&mut self, t: i64, pascal: f64) -> &mut Log {
        self.line(t, t, ROOM, 0, &format!("{pascal}"))
    }

    /// A gauge pressure, logged as it is received.
    pub(crate) fn gauge(&mut self, t: i64, kpa: f64) -> &mut Log {
        self.line(t, t, LINE, BOX, &format!("{kpa},0"))
    }

    pub(crate) fn fault(&mut self, at: i64, device: u16, kind: FaultKind, bytes: &[u8]) -> &mut Log {
        let payload = RawRecord::fault_payload(device, kind, bytes);
        let (sequence, event_time) = (self.sequence, ms(at));
        self.record(ms(at), RawRecord { source: LINE, sequence, event_time, kind: RecordKind::Fault, payload })
    }

    pub(crate) fn link(
        &mut self,
        at: i64,
        t: i64,
        source: SourceId,
        device: Option<u16>,
        state: LinkState,
    ) -> &mut Log {
        let link = Link { source, device, event_time: ms(t), state, detail: "said so".to_owned() };
        self.push(ms(at), EntryBody::Link(link))
    }

    pub(crate) fn gap(&mut self, at: i64, source: Option<SourceId>, lost: u64, cause: GapCause) -> &mut Log {
        self.push(ms(at), EntryBody::Gap(Gap { source, lost, from: ms(at - 10), to: ms(at), cause }))
    }

    pub(crate) fn anchor(&mut self, at: i64, offset_ns: i64) -> &mut Log {
        self.push(ms(at), EntryBody::Anchor(Anchor { event_time: ms(at), wall_offset_ns: offset_ns }))
    }

    pub(crate) fn operator(&mut self, at: i64, content: stream::OperatorContent) -> &mut Log {
        let action = OperatorAction { author: "lee".to_owned(), pressed_at: ms(at), content };
        self.push(ms(at), EntryBody::Operator(action))
    }

    /// Everything through a new core.
    pub(crate) fn run(&self) -> Run {
        run(&self.entries)
    }

    /// Everything through a new core with this plan.
    pub(crate) fn through(&self, plan: Plan) -> Run {
        run_with(Arc::new(plan), &self.entries)
    }
}

pub(crate) fn line(source: SourceId, sequence: u64, event_time: EventTime, device: u16, text: &str) -> RawRecord {
    let mut payload = Payload::from_slice(&device.to_le_bytes());
    payload.extend_from_slice(text.as_bytes());
    RawRecord { source, sequence, event_time, kind: RecordKind::TextLine, payload }
}

/// What a log came to.
pub(crate) struct Run {
    pub(crate) out: Batch,
    pub(crate) counts: pipeline::Counts,
}

pub(crate) fn run(entries: &[LogEntry]) -> Run {
    run_with(plan(), entries)
}

pub(crate) fn run_with(plan: Arc<Plan>, entries: &[LogEntry]) -> Run {
    let mut core = Core::new(plan);
    let mut out = Batch::default();
    entries.iter().for_each(|e| core.push(e, &mut out));
    Run { out, counts: core.counts().clone() }
}

impl Run {
    /// The grid times of the snapshots, ms.
    pub(crate) fn times(&self) -> Vec<i64> {
        self.out.snapshots.iter().map(|s| s.time.0 / 1_000_000).collect()
    }

    /// A channel's reading in the snapshot of grid time `t`.
    pub(crate) fn at(&self, t: i64, channel: usize) -> Reading {
        let found = self.out.snapshots.iter().find(|s| s.time == ms(t));
        found.unwrap_or_else(|| panic!("no snapshot at {t} ms; there are {:?}", self.times())).readings[channel]
    }

    pub(crate) fn events(&self, kind: EventKind) -> Vec<&Event> {
        self.out.events.iter().filter(|e| e.kind == kind).collect()
    }

    pub(crate) fn samples(&self, channel: usize) -> Vec<&Sample> {
        self.out.samples.iter().filter(|s| usize::from(s.channel.0) == channel).collect()
    }
}
