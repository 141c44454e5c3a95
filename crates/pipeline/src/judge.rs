//! Limits and their alarms: what each snapshot, each sample and each operator's action does to them.

use crate::counts::LimitCounts;
use crate::events;
use crate::held::Held;
use crate::plan::Plan;
use limits::first_out::Place;
use limits::{Alarm, Basis, Change, FirstOut, Limit, Onset};
use stream::{
    Alarms, Batch, ChannelId, EventTime, LimitState, LogEntry, OperatorAction, OperatorContent, Reading, Reason,
    Sample, Span,
};

/// Where and when something is judged.
#[derive(Clone, Copy)]
pub(crate) struct Moment<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) time: EventTime,
    pub(crate) ordinal: u64,
}

/// What became of an alarm, for an event.
pub(crate) enum News<'a> {
    Acknowledged { waited: bool },
    Reset { done: bool },
    Shelved { until: EventTime, reason: &'a str },
    TooLong { longest: Span },
    NoReason,
    Unshelved { was: bool, announced: bool },
    ShelvingOver { announced: bool },
    OutOfService { reason: &'a str },
    InService { was_out: bool, announced: bool },
    NotSuppressed { announced: bool },
    Latched,
    NoSuchLimit,
}

/// All limits of a run as they stand.
pub(crate) struct Judge {
    limits: Vec<Limit>,
    alarms: Vec<Alarm>,
    /// By column: the limits that judge every sample of it.
    every_sample: Vec<Vec<usize>>,
    /// The newest sample each every-sample limit has seen.
    seen: Vec<EventTime>,
    groups: Vec<Group>,
    /// The group of each limit.
    group_of: Vec<Option<usize>>,
    /// Limits that depend on others or on time: looked at in each snapshot.
    suppressible: Vec<usize>,
    /// Changes of the snapshot in hand.
    changes: Vec<(usize, Change)>,
}

/// Limits of which the first one crossed counts.
struct Group {
    name: String,
    window: Span,
    members: Vec<usize>,
    first_out: FirstOut,
}

impl Judge {
    pub(crate) fn new(plan: &Plan) -> Judge {
        let limits = plan.limits.to_vec();
        let mut every_sample = vec![Vec::new(); plan.layout.columns.len()];
        let mut groups: Vec<Group> = Vec::new();
        let mut group_of = Vec::new();
        for (l, limit) in limits.iter().enumerate() {
            let spec = limit.spec();
            if spec.basis == Basis::EverySample
                && let Some(of) = every_sample.get_mut(usize::from(spec.column.0))
            {
                of.push(l);
            }
            group_of.push(spec.group.as_ref().map(|g| {
                let at = groups.iter().position(|o| o.name == g.name).unwrap_or(groups.len());
                if at == groups.len() {
                    let (name, first_out) = (g.name.clone(), FirstOut::default());
                    groups.push(Group { name, window: g.window, members: Vec::new(), first_out });
                }
                groups[at].members.push(l);
                at
            }));
        }
        Judge {
            alarms: vec![Alarm::default(); limits.len()],
            every_sample,
            seen: vec![EventTime(i64::MIN); limits.len()],
            groups,
            group_of,
            suppressible: (0..limits.len()).filter(|l| !limits[*l].spec().suppressed_by.is_empty()).collect(),
            changes: Vec::new(),
            limits,
        }
    }

    pub(crate) fn states(&self) -> Box<[LimitState]> {
        self.limits.iter().map(Limit::state).collect()
    }

    pub(crate) fn alarms(&self) -> Box<[Alarms]> {
        self.alarms.iter().map(Alarm::states).collect()
    }

    /// Judges a snapshot. All limits make their step first: what explains a limit may stand behind it in the list.
    pub(crate) fn snapshot(
        &mut self,
        now: Moment<'_>,
        readings: &[Reading],
        held: &[Held],
        counts: &mut [LimitCounts],
        out: &mut Batch,
    ) {
        let mut changes = std::mem::take(&mut self.changes);
        for l in 0..self.limits.len() {
            let limit = &mut self.limits[l];
            let over = limit.enable(now.time, readings);
            let spec = limit.spec();
            let reading = |c: ChannelId| readings.get(usize::from(c.0)).copied().unwrap_or(NO_COLUMN);
            let values = [reading(spec.column), spec.other().map_or(NO_COLUMN, reading)];
            let values = if spec.other().is_some() { &values[..] } else { &values[..1] };
            let judged_here = spec.basis == Basis::Snapshot
                // An every-sample limit is asked here only whether it still has a value to judge.
                || (values[0].number().is_none() && self.seen[l] < now.time);
            let step = if judged_here {
                let taken = if spec.group.is_some() { taken(now, limit, held) } else { now.time };
                limit.step(now.time, taken, values)
            } else {
                None
            };
            changes.extend(over.into_iter().chain(step).map(|c| (l, c)));
        }
        self.suppress(now, out);
        self.expire(now, out);
        for (l, change) in changes.drain(..) {
            self.changed(now, l, &change, counts, out);
        }
        self.changes = changes;
        for ((c, limit), alarm) in counts.iter_mut().zip(&self.limits).zip(&mut self.alarms) {
            alarm.follow(limit, None);
            c.last = limit.state();
            let count = match c.last {
                LimitState::NotEnabled => &mut c.not_enabled,
                s if s.is_judged() => &mut c.judged,
                _ => &mut c.not_judged,
            };
            *count += 1;
        }
        self.quiet();
    }

    /// Judges a sample.
    pub(crate) fn sample(&mut self, now: Moment<'_>, s: Sample, counts: &mut [LimitCounts], out: &mut Batch) {
        for n in 0..self.every_sample[usize::from(s.channel.0)].len() {
            let l = self.every_sample[usize::from(s.channel.0)][n];
            if s.time < self.seen[l] {
                continue;
            }
            self.seen[l] = s.time;
            if let Some(change) = self.limits[l].step(s.time, s.time, &[s.reading]) {
                self.changed(now, l, &change, counts, out);
            }
        }
    }

    fn changed(&mut self, now: Moment<'_>, l: usize, change: &Change, counts: &mut [LimitCounts], out: &mut Batch) {
        let announced = self.alarms[l].follow(&self.limits[l], Some(change));
        if let Change::Crossed { onset, .. } = *change {
            counts[l].crossed += 1;
            counts[l].announced += u64::from(announced);
            let alarm = self.alarms[l];
            events::limit(now, l, change, alarm.is_hidden().then(|| alarm.states().crossed), out);
            self.first_out(now, l, onset, out);
            return;
        }
        events::limit(now, l, change, None, out);
        if matches!(change, Change::Returned { latched: true, .. } | Change::NotEnabled { latched: true }) {
            events::alarm(now, now.time, &self.limits[l].spec().name, None, &News::Latched, out);
        }
    }

    fn first_out(&mut self, now: Moment<'_>, l: usize, onset: Onset, out: &mut Batch) {
        let Some(group) = self.group_of[l].and_then(|g| self.groups.get_mut(g)) else { return };
        if let Some(place) = group.first_out.crossed(l, onset, now.time, group.window) {
            let name = |l: usize| self.limits[l].spec().name.as_str();
            let (other, by) = match place {
                Place::First => ("", Span::ZERO),
                Place::Tied { with } => (name(with), Span::ZERO),
                Place::Before { other, by } => (name(other), by),
                Place::After { first, by } => (name(first), by),
            };
            events::first_out(now, &group.name, name(l), place, other, by, out);
        }
    }

    /// Groups of which nothing is crossed any more.
    fn quiet(&mut self) {
        for group in self.groups.iter_mut().filter(|g| g.first_out.first().is_some()) {
            if group.members.iter().all(|l| !self.limits[*l].state().is_outside()) {
                group.first_out.quiet();
            }
        }
    }

    fn suppress(&mut self, now: Moment<'_>, out: &mut Batch) {
        for &l in &self.suppressible {
            let spec = self.limits[l].spec();
            let outside = |s: &usize| self.limits.get(*s).is_some_and(|s| s.state().is_outside());
            let explained = spec.suppressed_by.iter().any(outside);
            let was = self.alarms[l].is_suppressed();
            let announced = self.alarms[l].suppress(explained);
            if was && !explained && announced {
                events::alarm(now, now.time, &spec.name, None, &News::NotSuppressed { announced }, out);
            }
        }
    }

    fn expire(&mut self, now: Moment<'_>, out: &mut Batch) {
        for (alarm, limit) in self.alarms.iter_mut().zip(&self.limits) {
            let (over, announced) = alarm.pass(now.time);
            if over {
                events::alarm(now, now.time, &limit.spec().name, None, &News::ShelvingOver { announced }, out);
            }
        }
    }

    /// An operator did something. It counts from when it was logged; the event's time is when the key was pressed.
    pub(crate) fn operator(
        &mut self,
        plan: &Plan,
        a: &OperatorAction,
        entry: &LogEntry,
        counts: &mut [LimitCounts],
        out: &mut Batch,
    ) {
        let now = Moment { plan, time: entry.logged_at, ordinal: entry.ordinal };
        let Some(name) = a.content.limit() else { return events::operator(a, entry.ordinal, out) };
        let tell = |news: News<'_>, out: &mut Batch| {
            events::alarm(now, a.pressed_at, name, Some(&a.author), &news, out);
        };
        let Some(l) = self.limits.iter().position(|l| l.spec().name == name) else {
            return tell(News::NoSuchLimit, out);
        };
        let (limit, alarm) = (&mut self.limits[l], &mut self.alarms[l]);
        let news = match &a.content {
            OperatorContent::Acknowledge(_) => News::Acknowledged { waited: alarm.acknowledge() },
            OperatorContent::Reset(_) => {
                let change = limit.reset();
                tell(News::Reset { done: change.is_some() }, out);
                if let Some(change) = change {
                    self.changed(now, l, &change, counts, out);
                    self.quiet();
                }
                return;
            }
            OperatorContent::Shelve { length, reason, .. } => {
                let longest = limit.spec().longest_shelving;
                if *length > longest || *length <= Span::ZERO {
                    News::TooLong { longest }
                } else if reason.trim().is_empty() {
                    News::NoReason
                } else {
                    let until = now.time + *length;
                    alarm.shelve(until);
                    News::Shelved { until, reason }
                }
            }
            OperatorContent::Unshelve(_) => {
                let (was, announced) = alarm.unshelve();
                News::Unshelved { was, announced }
            }
            OperatorContent::OutOfService { reason, .. } if reason.trim().is_empty() => News::NoReason,
            OperatorContent::OutOfService { reason, .. } => {
                alarm.take_out(true);
                News::OutOfService { reason }
            }
            OperatorContent::InService(_) => {
                let (was_out, announced) = alarm.take_out(false);
                News::InService { was_out, announced }
            }
            OperatorContent::Note(_) | OperatorContent::TestBegin(_) | OperatorContent::TestEnd => return,
        };
        tell(news, out);
    }
}

/// What a limit on a column that is not there sees; `assembly` makes none.
const NO_COLUMN: Reading = Reading::Missing(Reason::InputMissing);

/// When the oldest sample was taken that a limit sees in this snapshot.
fn taken(now: Moment<'_>, limit: &Limit, held: &[Held]) -> EventTime {
    let spec = limit.spec();
    let of_channel = |c: usize| held.get(c).and_then(Held::taken).unwrap_or(now.time);
    let of = |c: ChannelId| {
        let c = usize::from(c.0);
        match now.plan.pack.derived.get(c.wrapping_sub(held.len())) {
            Some(d) => d.support.iter().map(|i| of_channel(*i)).min().unwrap_or(now.time),
            None => of_channel(c),
        }
    };
    [Some(spec.column), spec.other()].into_iter().flatten().map(of).min().unwrap_or(now.time)
}
