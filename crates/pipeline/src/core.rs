//! The core: one log entry at a time becomes samples, snapshots and events.

use crate::align::{Grid, Slot};
use crate::counts::{Counts, LimitCounts, SourceCounts};
use crate::events::{self, Told};
use crate::guard::{self, Guard};
use crate::held::{Held, News};
use crate::judge::{Judge, Moment};
use crate::order::Order;
use crate::plan::{ChannelPlan, Plan};
use decode::{DecodeError, Raw};
use pack::{Evaluator, Uncertain};
use std::sync::Arc;
use stream::{
    Batch, ChannelId, EntryBody, EventTime, FaultKind, Gap, GapCause, Link, LinkState, LogEntry, RawRecord, Reading,
    RecordKind, Sample, Snapshot, SourceId, Span,
};

/// Where no entry came for longer than this, no snapshots are made for the rest of the pause.
pub const LONGEST_PAUSE: Span = Span::from_secs(60);

/// How long a channel's quality must have stood before another change of it makes an event again.
pub(crate) const QUALITY_EVENT_PAUSE: Span = Span::from_secs(5);

/// The evaluation of one run.
pub struct Core {
    plan: Arc<Plan>,
    state: State,
}

/// What the core remembers from entry to entry. Starts afresh after a stretch that was not recorded.
pub(crate) struct State {
    pub(crate) counts: Counts,
    grid: Grid,
    last_logged: Option<EventTime>,
    /// What each channel said up to the last closed grid time.
    held: Vec<Held>,
    /// What each channel said up to this entry, for the channels that want another one's reading.
    newest: Vec<Held>,
    /// Whether each source's link was up when last heard of.
    up: Vec<bool>,
    /// Which channels another one wants: of these alone `newest` is needed.
    is_wanted: Vec<bool>,
    /// The judge of each channel's samples; none before the run's start is known.
    guards: Vec<Guard>,
    /// When the run started: its first entry.
    start: Option<EventTime>,
    order: Order,
    judge: Judge,
    told: Vec<Told>,
    /// Per source: whether the first of each fault kind was told, and last the first record that did not decode.
    pub(crate) fault_told: Vec<[bool; FaultKind::ALL.len() + 1]>,
    pub(crate) late_told: Vec<bool>,
    pub(crate) wall_offset: Option<i64>,
    evaluator: Evaluator,
    readings: Vec<Reading>,
    uncertain: Vec<Option<Uncertain>>,
    /// Per channel: the cause its error has in common with others.
    causes: Vec<Option<u16>>,
    /// Readings of the record in hand that want another channel's: that may stand behind them in the same record.
    waiting: Vec<(ChannelId, Raw)>,
}

impl State {
    fn new(plan: &Plan, counts: Counts) -> State {
        let (channels, sources) = (plan.channels.len(), plan.sources.len());
        let causes = plan.causes();
        let count = causes.iter().flatten().max().map_or(0, |c| usize::from(*c) + 1);
        State {
            counts,
            grid: Grid::new(plan.layout.grid),
            last_logged: None,
            held: vec![Held::default(); channels],
            newest: vec![Held::default(); channels],
            up: vec![false; sources],
            is_wanted: guard::wanted(plan),
            guards: Vec::new(),
            start: None,
            order: Order::new(plan),
            judge: Judge::new(plan),
            told: vec![Told::NOTHING; channels],
            fault_told: vec![[false; FaultKind::ALL.len() + 1]; sources],
            late_told: vec![false; sources],
            wall_offset: None,
            evaluator: Evaluator::new(Arc::clone(&plan.pack), count),
            causes,
            readings: Vec::with_capacity(channels),
            uncertain: Vec::with_capacity(channels),
            waiting: Vec::new(),
        }
    }
}

impl Core {
    /// A core at the beginning of a run.
    pub fn new(plan: Arc<Plan>) -> Core {
        let counts = Counts {
            sources: vec![SourceCounts::default(); plan.sources.len()],
            limits: vec![LimitCounts::default(); plan.limits.len()],
            numbers: vec![0; plan.channels.len()],
            ..Counts::default()
        };
        Core { state: State::new(&plan, counts), plan }
    }

    /// The plan it runs.
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    /// What was counted so far.
    pub fn counts(&self) -> &Counts {
        &self.state.counts
    }

    /// Takes one entry; what it brings about is appended to `out`.
    pub fn push(&mut self, entry: &LogEntry, out: &mut Batch) {
        let Core { plan, state } = self;
        let events = out.events.len();
        state.counts.entries += 1;
        state.started(plan, entry.logged_at);
        state.close_due(plan, entry, out);
        match &entry.body {
            EntryBody::Record(r) => state.record(plan, entry, r, out),
            EntryBody::Tick => {}
            EntryBody::Link(l) => state.link(plan, entry, l, out),
            EntryBody::Gap(g) => state.gap(plan, entry, g, out),
            EntryBody::Anchor(a) => {
                events::clock(state.wall_offset.replace(a.wall_offset_ns), a, entry.ordinal, out);
            }
            EntryBody::Operator(a) => state.judge.operator(plan, a, entry, &mut state.counts.limits, out),
            EntryBody::End => state.end(plan, entry, out),
        }
        state.counts.events += (out.events.len() - events) as u64;
    }
}

impl State {
    /// Settles, once, what depends on when the run started.
    #[inline]
    fn started(&mut self, plan: &Plan, now: EventTime) {
        if self.guards.len() < plan.channels.len() {
            self.guards = Guard::all(plan, *self.start.get_or_insert(now));
        }
    }

    /// Closes every snapshot whose time has come.
    fn close_due(&mut self, plan: &Plan, entry: &LogEntry, out: &mut Batch) {
        let now = entry.logged_at;
        let mut until = now;
        if let Some(last) = self.last_logged
            && now - last > LONGEST_PAUSE
        {
            until = last + LONGEST_PAUSE;
        }
        self.last_logged = Some(now);
        while let Some(g) = self.grid.next(now).filter(|g| *g + plan.lateness <= until) {
            self.close(plan, g, entry.ordinal, out);
        }
        if until < now {
            events::pause(until, now, entry.ordinal, out);
            self.grid.skip_to(now - plan.lateness, &mut self.held);
        }
    }

    fn close(&mut self, plan: &Plan, g: EventTime, ordinal: u64, out: &mut Batch) {
        self.grid.close(&mut self.held);
        self.readings.clear();
        for (i, c) in plan.channels.iter().enumerate() {
            let reading = self.held[i].at(g, c.channel.spec().stale_after);
            self.readings.push(reading);
            events::quality(&mut self.told[i], reading, g, &plan.layout.columns[i].name, ordinal, out);
        }
        self.order.judge(plan, &mut self.readings, g, ordinal, out);
        let (readings, causes) = (&self.readings, &self.causes);
        let uncertain = |(i, c): (usize, &ChannelPlan)| {
            let u = c.channel.standard_uncertainty(readings[i].number()?)?;
            Some(Uncertain { u, shared: causes[i].map(|cause| (cause, u)) })
        };
        self.uncertain.clear();
        self.uncertain.extend(plan.channels.iter().enumerate().map(uncertain));
        self.evaluator.evaluate(&self.readings, &self.uncertain);
        let now = Moment { plan, time: g, ordinal };
        self.judge.snapshot(now, self.evaluator.readings(), &self.held, &mut self.counts.limits, out);
        self.counts.snapshots += 1;
        out.snapshots.push(Snapshot {
            time: g,
            readings: self.evaluator.readings().into(),
            uncertainties: self.uncertainties(plan),
            limits: self.judge.states(),
            alarms: self.judge.alarms(),
        });
    }

    /// Of the columns that have one.
    fn uncertainties(&self, plan: &Plan) -> Box<[Option<f64>]> {
        let channels = plan.channels.len();
        let of = |i: usize| match i.checked_sub(channels) {
            None => self.uncertain[i].map(|u| u.u),
            Some(derived) => self.evaluator.uncertainty(derived),
        };
        plan.layout.columns.iter().enumerate().filter(|(_, c)| c.with_uncertainty).map(|(i, _)| of(i)).collect()
    }

    fn record(&mut self, plan: &Plan, entry: &LogEntry, r: &RawRecord, out: &mut Batch) {
        let s = usize::from(r.source.0);
        let Some(source) = plan.sources.get(s) else { return };
        let counts = &mut self.counts.sources[s];
        counts.records += 1;
        counts.bytes += r.payload.len() as u64;
        if r.kind == RecordKind::Fault {
            return self.fault(plan, entry, r, out);
        }
        let slot = if r.event_time > entry.logged_at { Slot::Future } else { self.grid.slot(r.event_time) };
        if !matches!(slot, Slot::Open(_)) {
            counts.late += 1;
            events::late(&mut self.late_told[s], plan, r, slot == Slot::Future, entry.ordinal, out);
        }
        let first = out.samples.len();
        let in_time = matches!(slot, Slot::Open(_));
        let (newest, waiting, is_wanted) = (&mut self.newest, &mut self.waiting, &self.is_wanted);
        let guards = &mut self.guards;
        let mut sample = |id: ChannelId, raw| {
            let i = usize::from(id.0);
            let mut reading = normalise(plan, newest, id, raw, r.event_time);
            if in_time && !guards[i].is_idle() {
                reading = guards[i].judge(r.event_time, raw, reading);
            }
            if in_time && is_wanted[i] {
                newest[i].take(News::Sample(r.event_time, reading));
            }
            out.samples.push(Sample { time: r.event_time, channel: id, reading });
        };
        let decoded = source.decoder.decode(r, &mut |reading, raw| {
            for &id in &source.targets[usize::from(reading)] {
                match plan.channels[usize::from(id.0)].channel.other() {
                    Some(_) => waiting.push((id, raw)),
                    None => sample(id, raw),
                }
            }
        });
        waiting.drain(..).for_each(|(id, raw)| sample(id, raw));
        if !in_time {
            guard::late(&mut out.samples[first..]);
        }
        let counts = &mut self.counts.sources[s];
        counts.samples += (out.samples.len() - first) as u64;
        for s in &out.samples[first..] {
            self.counts.numbers[usize::from(s.channel.0)] += u64::from(s.reading.number().is_some());
        }
        match decoded {
            Ok(()) => counts.unmapped += u64::from(out.samples.len() == first),
            Err(DecodeError::Unmapped(_)) => counts.unmapped += 1,
            Err(e @ DecodeError::Unfit(_)) => {
                counts.undecodable += 1;
                events::undecodable(&mut self.fault_told[s], plan, r, &e, entry.ordinal, out);
            }
        }
        if let Slot::Open(n) = slot
            && first < out.samples.len()
        {
            self.take(plan, n, first, entry.ordinal, out);
        }
    }

    /// Puts the samples from `first` on into their grid slot and runs the limits that want every sample.
    fn take(&mut self, plan: &Plan, slot: usize, first: usize, ordinal: u64, out: &mut Batch) {
        let news = |s: &Sample| (s.channel, News::Sample(s.time, s.reading));
        self.grid.waiting(slot).extend(out.samples[first..].iter().map(news));
        for i in first..out.samples.len() {
            let s = out.samples[i];
            let now = Moment { plan, time: s.time, ordinal };
            self.judge.sample(now, s, &mut self.counts.limits, out);
        }
    }

    fn fault(&mut self, plan: &Plan, entry: &LogEntry, r: &RawRecord, out: &mut Batch) {
        let s = usize::from(r.source.0);
        match r.fault() {
            Some((device, kind, bytes)) => {
                self.counts.sources[s].faults[kind as usize - 1] += 1;
                events::fault(&mut self.fault_told[s], plan, r, device, kind, bytes, entry.ordinal, out);
                if let Some(reason) = spoils(kind) {
                    let time = r.event_time.min(entry.logged_at);
                    self.tell(plan, r.source, Some(device), time, News::Spoiled(time, reason));
                }
            }
            None => self.counts.sources[s].undecodable += 1,
        }
    }

    fn link(&mut self, plan: &Plan, entry: &LogEntry, l: &Link, out: &mut Batch) {
        let Some(counts) = self.counts.sources.get_mut(usize::from(l.source.0)) else { return };
        if l.device.is_none() {
            let was_up = std::mem::replace(&mut self.up[usize::from(l.source.0)], l.state != LinkState::Down);
            counts.link_losses += u64::from(was_up && l.state == LinkState::Down);
            counts.link = Some(l.state);
        }
        // A change always counts, also one that is told late.
        let time = l.event_time.min(entry.logged_at);
        let news = News::Link(time, l.state == LinkState::Down);
        self.tell(plan, l.source, l.device, time, news);
        events::link(plan, l, entry.ordinal, out);
    }

    /// Tells the channels of a source, or of one device of it, what concerns them all.
    fn tell(&mut self, plan: &Plan, from: SourceId, device: Option<u16>, time: EventTime, news: News) {
        let slot = if let Slot::Open(n) = self.grid.slot(time) { n } else { 0 };
        for (i, c) in plan.channels.iter().enumerate() {
            let stream::Origin::Channel(source) = plan.layout.columns[i].origin else { continue };
            if source == from && (device.is_none() || device == c.device) {
                self.newest[i].take(news);
                self.grid.waiting(slot).push((ChannelId(i as u16), news));
                if matches!(news, News::Link(_, true)) {
                    self.guards[i].forget();
                }
            }
        }
    }

    fn gap(&mut self, plan: &Plan, entry: &LogEntry, g: &Gap, out: &mut Batch) {
        if let Some(c) = g.source.and_then(|s| self.counts.sources.get_mut(usize::from(s.0))) {
            c.lost = c.lost.saturating_add(g.lost);
        }
        if g.source.is_none() {
            self.counts.stretch(g.cause, g.to - g.from);
        }
        events::gap(plan, g, entry.ordinal, out);
        if g.cause == GapCause::NotRecorded {
            let counts = std::mem::take(&mut self.counts);
            let start = self.start;
            *self = State { last_logged: Some(entry.logged_at), start, ..State::new(plan, counts) };
            self.started(plan, entry.logged_at);
            self.grid.next(entry.logged_at);
        }
    }

    /// The run ended: what still waits is closed, up to the last moment something can have happened.
    fn end(&mut self, plan: &Plan, entry: &LogEntry, out: &mut Batch) {
        while let Some(g) = self.grid.next(entry.logged_at).filter(|g| *g <= entry.logged_at) {
            self.close(plan, g, entry.ordinal, out);
        }
        events::end(entry, out);
    }
}

/// The reason that a fault gives a channel for which nothing better came.
fn spoils(kind: FaultKind) -> Option<stream::Reason> {
    match kind {
        FaultKind::Checksum => Some(stream::Reason::Crc),
        FaultKind::LateAnswer => Some(stream::Reason::Late),
        FaultKind::Exception => Some(stream::Reason::ErrorCode),
        FaultKind::Malformed => Some(stream::Reason::NotANumber),
        _ => None,
    }
}

/// Raw reading to SI, with the newest value of another channel where this one wants it.
fn normalise(plan: &Plan, newest: &[Held], id: ChannelId, raw: Raw, time: EventTime) -> Reading {
    let x = match raw {
        Raw::Nothing(reason) => return Reading::Bad(reason),
        Raw::Number(x) => x,
    };
    let channel = &plan.channels[usize::from(id.0)].channel;
    let other = channel.other().map(|b| {
        let b = usize::from(b.0);
        newest[b].at(time, plan.channels[b].channel.spec().stale_after.min(channel.other_within()))
    });
    channel.reading(x, other)
}
