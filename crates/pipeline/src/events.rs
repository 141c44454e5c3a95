//! The words of events. Each function appends at most one event.

use crate::core::QUALITY_EVENT_PAUSE;
use crate::plan::Plan;
use decode::DecodeError;
use limits::Change;
use pack::OrderedPair;
use stream::{
    Anchor, Batch, Event, EventKind, EventTime, FaultKind, Gap, Link, LogEntry, OperatorAction, OperatorContent,
    Quality, RawRecord, Reading, Reason, SourceId,
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

pub(crate) fn limit(plan: &Plan, i: usize, change: &Change, time: EventTime, ordinal: u64, out: &mut Batch) {
    let spec = plan.limits[i].spec();
    let column = &plan.layout.columns[usize::from(spec.column.0)];
    let (kind, value, what) = match *change {
        Change::Crossed { value, since } => (EventKind::LimitCrossed, Some(value), format!("crossed since {since}")),
        Change::Returned { value, since } => {
            (EventKind::LimitReturned, Some(value), format!("met again since {since}"))
        }
        Change::NotJudged { reason, crossed } => {
            let stays = if crossed { "; it stays crossed" } else { "" };
            (EventKind::LimitNotJudged, None, format!("not judged: no value ({}){stays}", reason.word()))
        }
        Change::JudgedAgain { value, crossed } => {
            let how = if crossed { "crossed" } else { "not crossed" };
            (EventKind::LimitNotJudged, Some(value), format!("judged again: {how}"))
        }
    };
    // As the document writes it; the value itself stands in SI beside the text.
    let reference = spec.reference.filter(|_| spec.unit.reference.is_none());
    let against = reference.map_or_else(String::new, |r| format!(" {}", r.word()));
    let shown = |x: f64| format!("{} {}{against}", plain(spec.unit.from_si(x)), spec.unit.symbol);
    let says = value.map_or_else(String::new, |x| format!("; {} = {}", column.name, shown(x)));
    let text = format!("{what}{says}; limit: not {} {}, from {}", spec.kind.name, shown(spec.threshold), spec.source());
    let mut e = event(time, ordinal, kind, None, &spec.name, text);
    e.value = value;
    out.events.push(e);
}

/// The fewest digits that say a number, at most seven, never in powers of ten: 0.0041667 kg/s and 46000 rpm are both
/// told from their neighbours.
fn plain(x: f64) -> String {
    let rounded: f64 = format!("{x:.6e}").parse().unwrap_or(x);
    format!("{}", rounded + 0.0)
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
/// flood; the snapshots hold every change. The event's time is when the quality began.
pub(crate) fn quality(t: &mut Told, reading: Reading, g: EventTime, name: &str, ordinal: u64, out: &mut Batch) {
    let Some(since) = t.news((reading.quality(), reading.reason()), g) else { return };
    let text = match reading.reason() {
        Reason::None => reading.quality().word().to_owned(),
        r => format!("{}: {}", reading.quality().word(), r.word()),
    };
    let mut e = event(since, ordinal, EventKind::Quality, None, name, text);
    e.value = reading.number();
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

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn numbers_are_plain_and_have_seven_digits_at_most() {
        let said = [
            0.004_157_9,
            0.004_166_7,
            1.0 / 240.0,
            189.999_999_999_999_97,
            46_000.0,
            -0.1,
            -0.0,
            101_325.04,
            2e-9 / 3.0,
            1e15,
            f64::MAX,
        ]
        .map(plain);
        let want = [
            "0.0041579",
            "0.0041667",
            "0.004166667",
            "190",
            "46000",
            "-0.1",
            "0",
            "101325",
            "0.0000000006666667",
            "1000000000000000",
        ];
        assert_eq!(said[..10], want);
        assert!(said[10].starts_with("1797693") && said[10].len() == 309, "{}", said[10]);
    }
}
