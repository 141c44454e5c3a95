//! The words of events. Each function appends at most one event.

use crate::core::QUALITY_EVENT_PAUSE;
use crate::judge::{Moment, News};
use crate::plan::Plan;
use decode::DecodeError;
use limits::Change;
use limits::first_out::Place;
use limits::words::{Named, plain};
use pack::OrderedPair;
use stream::{
    AlarmState, Anchor, Batch, ChannelId, Event, EventKind, EventTime, FaultKind, Gap, Link, LogEntry, OperatorAction,
    OperatorContent, Quality, RawRecord, Reading, Reason, SourceId, Span,
};

fn event(
    time: EventTime,
    ordinal: u64,
    kind: EventKind,
    source: Option<SourceId>,
    subject: &str,
    text: String,
) -> Event {
    Event { time, ordinal, kind, source, subject: subject.to_owned(), value: None, text }
}

fn device_name(plan: &Plan, source: SourceId, device: Option<u16>) -> String {
    let Some(s) = plan.layout.sources.get(usize::from(source.0)) else { return String::new() };
    match device.and_then(|d| s.devices.get(usize::from(d))) {
        Some(d) => format!("{}/{d}", s.name),
        None => s.name.clone(),
    }
}

/// A column as texts call it.
fn named(plan: &Plan, column: ChannelId) -> Named<'_> {
    let column = plan.layout.columns.get(usize::from(column.0));
    column.map_or_else(Named::default, |c| Named { name: &c.name, unit: &c.unit })
}

/// A limit changed; `hidden` where its alarm is not announced.
pub(crate) fn limit(now: Moment<'_>, i: usize, change: &Change, hidden: Option<AlarmState>, out: &mut Batch) {
    let spec = now.plan.limits[i].spec();
    let names = |c| named(now.plan, c);
    let shown = spec.shown(&names);
    let (kind, value, mut what) = match *change {
        Change::Crossed { value, since, .. } => {
            (EventKind::LimitCrossed, Some(value), format!("crossed since {since}"))
        }
        Change::Returned { value, since, latched: false } => {
            (EventKind::LimitReturned, Some(value), format!("met again since {since}"))
        }
        // It stays crossed: not returned.
        Change::Returned { .. } | Change::NotEnabled { latched: true } => return,
        Change::Reset => (EventKind::LimitReturned, None, "over: reset".to_owned()),
        Change::NotEnabled { latched: false } => (EventKind::LimitReturned, None, "over: not enabled".to_owned()),
        Change::NotJudged { reason, crossed } => {
            let stays = if crossed { "; it stays crossed" } else { "" };
            (EventKind::LimitNotJudged, None, format!("not judged: no value ({}){stays}", reason.word()))
        }
        Change::JudgedAgain { value, crossed } => {
            let how = if crossed { "crossed" } else { "not crossed" };
            (EventKind::LimitNotJudged, Some(value), format!("judged again: {how}"))
        }
    };
    if let Some(hidden) = hidden {
        what.push_str(&format!(", not announced ({})", hidden.word()));
    }
    // As the document writes it; the value itself stands in SI beside the text.
    let share = spec.settings.share.is_some();
    let says = value.map_or_else(String::new, |x| format!("; {}", spec.kind.figure.text(x, share, &shown)));
    let here = match *change {
        Change::Crossed { limit_here: Some(x), .. } => format!(", here {}", shown.value(x)),
        _ => String::new(),
    };
    let priority = if spec.priority.is_empty() { String::new() } else { format!("; priority {}", spec.priority) };
    let text = format!("{what}{says}; limit: {}{here}, from {}{priority}", spec.says(&names), spec.source());
    let mut e = event(now.time, now.ordinal, kind, None, &spec.name, text);
    e.value = value;
    out.events.push(e);
}

/// Something else became of a limit's alarm; `author` where an operator did it.
pub(crate) fn alarm(
    now: Moment<'_>,
    time: EventTime,
    limit: &str,
    author: Option<&str>,
    news: &News<'_>,
    out: &mut Batch,
) {
    let then = |announced: &bool| if *announced { "; announced, it is there" } else { "" };
    let what = match news {
        News::Acknowledged { waited: true } => "acknowledged".to_owned(),
        News::Acknowledged { waited: false } => "acknowledged, nothing waited for it".to_owned(),
        News::Reset { done: true } => "reset".to_owned(),
        News::Reset { done: false } => "not reset: only a latched limit that is inside again can be".to_owned(),
        News::Shelved { until, reason } => format!("shelved until {until}: {reason}"),
        News::TooLong { longest: Span::ZERO } => "not shelved: this limit never may be".to_owned(),
        News::TooLong { longest } => {
            format!("not shelved: it may be for more than 0 s and at most {} s", longest.as_secs_f64())
        }
        News::NoReason => "not done: say why".to_owned(),
        News::Unshelved { was: false, .. } => "not unshelved: it was not shelved".to_owned(),
        News::Unshelved { announced, .. } => format!("unshelved{}", then(announced)),
        News::ShelvingOver { announced } => format!("shelving over{}", then(announced)),
        News::OutOfService { reason } => format!("out of service: {reason}"),
        News::InService { was_out: false, .. } => "in service, as it was".to_owned(),
        News::InService { announced, .. } => format!("in service again{}", then(announced)),
        News::NotSuppressed { announced } => format!("not suppressed any more{}", then(announced)),
        News::Latched => "latched: stays crossed until it is reset".to_owned(),
        News::NoSuchLimit => "no limit of this run has this name; nothing was changed".to_owned(),
    };
    let by = author.map_or_else(String::new, |a| format!(", by {a}"));
    out.events.push(event(time, now.ordinal, EventKind::Alarm, None, limit, format!("{what}{by}")));
}

/// The place of a limit that was crossed in its group; `other` is the limit it is put in order with.
pub(crate) fn first_out(
    now: Moment<'_>,
    group: &str,
    limit: &str,
    place: Place,
    other: &str,
    by: Span,
    out: &mut Batch,
) {
    let by = by.as_secs_f64();
    let text = match place {
        Place::First => format!("{limit} first"),
        Place::Tied { .. } => format!("{limit} tied with {other}: between the same samples"),
        Place::Before { .. } => format!("{limit} first, at least {by} s before {other}, which was declared earlier"),
        Place::After { .. } => format!("{limit} at least {by} s after {other}"),
    };
    out.events.push(event(now.time, now.ordinal, EventKind::FirstOut, None, group, text));
}

/// A channel's quality, as last told in an event and as it is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Told {
    told: (Quality, Reason),
    at: Option<EventTime>,
    now: (Quality, Reason),
    since: EventTime,
}

impl Told {
    pub(crate) const NOTHING: Told = Told {
        told: (Quality::Missing, Reason::NotYet),
        at: None,
        now: (Quality::Missing, Reason::NotYet),
        since: EventTime(i64::MIN),
    };
    pub(crate) const GOOD: Told =
        Told { told: (Quality::Good, Reason::None), now: (Quality::Good, Reason::None), ..Told::NOTHING };

    /// Whether nothing but good is known and told.
    #[inline]
    pub(crate) fn is_good(&self) -> bool {
        self.now.0 == Quality::Good && self.told.0 == Quality::Good
    }

    /// Takes what is now; when that began, where it is to be told.
    fn news(&mut self, now: (Quality, Reason), g: EventTime) -> Option<EventTime> {
        if now != self.now {
            (self.now, self.since) = (now, g);
        }
        if now == self.told || self.at.is_some_and(|at| g - at < QUALITY_EVENT_PAUSE) {
            return None;
        }
        (self.told, self.at) = (now, Some(g));
        Some(self.since)
    }
}

/// A channel's quality changed. A channel that flickers is told of at most every few seconds, so that it makes no
/// flood; the snapshots hold every change. The event's time is when the quality began; it has the value of that moment,
/// and none where it is told later.
pub(crate) fn quality(t: &mut Told, reading: Reading, g: EventTime, name: &str, ordinal: u64, out: &mut Batch) {
    let Some(since) = t.news((reading.quality(), reading.reason()), g) else { return };
    let text = match reading.reason() {
        Reason::None => reading.quality().word().to_owned(),
        r => format!("{}: {}", reading.quality().word(), r.word()),
    };
    let mut e = event(since, ordinal, EventKind::Quality, None, name, text);
    e.value = reading.number().filter(|_| since == g);
    out.events.push(e);
}

/// Two channels stand against the order along the air's way, or do so no more.
pub(crate) fn order(
    t: &mut Told,
    plan: &Plan,
    pair: &OrderedPair,
    against: Option<(f64, f64)>,
    g: EventTime,
    ordinal: u64,
    out: &mut Batch,
) {
    let good = (Quality::Good, Reason::None);
    let now = if against.is_some() { (Quality::Uncertain, Reason::Order) } else { good };
    let Some(since) = t.news(now, g) else { return };
    let column = |i: usize| &plan.layout.columns[i];
    let (higher, lower) = (column(pair.higher), column(pair.lower));
    let text = match against {
        Some((high, low)) => {
            let (high, low, unit) = (plain(high), plain(low), &higher.unit);
            format!(
                "uncertain: order: {high} {unit}, below {} of {low} {unit}; one of them is swapped, of another type, \
                 or wrong",
                lower.name
            )
        }
        None => format!("the order to {} is as it must be, or cannot be judged", lower.name),
    };
    let mut e = event(since, ordinal, EventKind::Quality, None, &higher.name, text);
    e.value = against.map(|a| a.0);
    out.events.push(e);
}

pub(crate) fn link(plan: &Plan, l: &Link, ordinal: u64, out: &mut Batch) {
    let subject = device_name(plan, l.source, l.device);
    let text = format!("{}: {}", l.state.word(), l.detail);
    out.events.push(event(l.event_time, ordinal, EventKind::Link, Some(l.source), &subject, text));
}

pub(crate) fn gap(plan: &Plan, g: &Gap, ordinal: u64, out: &mut Batch) {
    let subject = g.source.map_or_else(|| "all sources".to_owned(), |s| device_name(plan, s, None));
    let lost = if g.lost == 0 { "an unknown number of".to_owned() } else { g.lost.to_string() };
    let text = format!("{}: {lost} records lost between {} and {}", g.cause.word(), g.from, g.to);
    let mut e = event(g.to, ordinal, EventKind::Gap, g.source, &subject, text);
    e.value = (g.lost > 0).then_some(g.lost as f64);
    out.events.push(e);
}

pub(crate) fn pause(from: EventTime, to: EventTime, ordinal: u64, out: &mut Batch) {
    let text = format!("nothing was logged between {from} and {to}: no snapshots there");
    out.events.push(event(to, ordinal, EventKind::Gap, None, "all sources", text));
}

pub(crate) fn clock(before: Option<i64>, a: &Anchor, ordinal: u64, out: &mut Batch) {
    let text = match before {
        None => format!("wall clock = event time {:+.9} s", a.wall_offset_ns as f64 / 1e9),
        Some(b) => format!(
            "the wall clock moved by {:+.6} s; event times and durations did not",
            a.wall_offset_ns.saturating_sub(b) as f64 / 1e9
        ),
    };
    let mut e = event(a.event_time, ordinal, EventKind::Clock, None, "wall clock", text);
    e.value = Some(a.wall_offset_ns as f64 / 1e9);
    out.events.push(e);
}

pub(crate) fn operator(a: &OperatorAction, ordinal: u64, out: &mut Batch) {
    let (kind, text) = match &a.content {
        OperatorContent::Note(t) => (EventKind::Note, t.clone()),
        OperatorContent::TestBegin(t) => (EventKind::TestBegin, t.clone()),
        OperatorContent::TestEnd => (EventKind::TestEnd, String::new()),
        _ => return,
    };
    out.events.push(event(a.pressed_at, ordinal, kind, None, &a.author, text));
}

pub(crate) fn late(told: &mut bool, plan: &Plan, r: &RawRecord, future: bool, ordinal: u64, out: &mut Batch) {
    if std::mem::replace(told, true) {
        return;
    }
    let subject = device_name(plan, r.source, None);
    let text = if future {
        "a record is stamped after it was logged: kept, counted, not evaluated; later ones are only counted"
    } else {
        "a record came after its snapshot had closed: kept, counted, not evaluated; later ones are only counted"
    };
    out.events.push(event(r.event_time, ordinal, EventKind::Late, Some(r.source), &subject, text.to_owned()));
}

#[allow(clippy::too_many_arguments)]
pub(crate) fn fault(
    told: &mut [bool],
    plan: &Plan,
    r: &RawRecord,
    device: u16,
    kind: FaultKind,
    bytes: &[u8],
    ordinal: u64,
    out: &mut Batch,
) {
    if std::mem::replace(&mut told[kind as usize - 1], true) {
        return;
    }
    let subject = device_name(plan, r.source, Some(device));
    let shown: Vec<String> = bytes.iter().take(16).map(|b| format!("{b:02X}")).collect();
    let more = if bytes.len() > 16 { " ..." } else { "" };
    let text = format!("{}: {}{more}; later ones are only counted", kind.word(), shown.join(" "));
    out.events.push(event(r.event_time, ordinal, EventKind::Fault, Some(r.source), &subject, text));
}

pub(crate) fn undecodable(
    told: &mut [bool],
    plan: &Plan,
    r: &RawRecord,
    e: &DecodeError,
    ordinal: u64,
    out: &mut Batch,
) {
    if std::mem::replace(&mut told[FaultKind::ALL.len()], true) {
        return;
    }
    let subject = device_name(plan, r.source, None);
    let text = format!("a record did not decode: {e}; later ones are only counted");
    out.events.push(event(r.event_time, ordinal, EventKind::Fault, Some(r.source), &subject, text));
}

pub(crate) fn end(entry: &LogEntry, out: &mut Batch) {
    out.events.push(event(entry.logged_at, entry.ordinal, EventKind::End, None, "run", "ended in order".to_owned()));
}
