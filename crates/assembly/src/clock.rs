//! What is done to the times of a capture whose recorder had another clock: only what the run file says.

use crate::config::run::ClockTable;
use crate::load::Text;
use crate::problem::Problems;
use std::fmt;
use stream::{EntryBody, EventTime, Span};

/// time + offset + drift × (time − since).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockFix {
    /// Added to every time.
    pub offset: Span,
    /// Added per time since `since`, in 10⁻¹².
    pub drift_e12: i64,
    /// Where the offset holds, on the capture's own clock.
    pub since: EventTime,
    /// How it was found.
    pub found: String,
}

impl ClockFix {
    /// The corrected time.
    pub fn apply(&self, t: EventTime) -> EventTime {
        let since = i128::from(t.0) - i128::from(self.since.0);
        // Rounded to the nearest nanosecond, halves up.
        let drift = (since * i128::from(self.drift_e12) + 500_000_000_000).div_euclid(1_000_000_000_000);
        let all = i128::from(t.0) + i128::from(self.offset.0) + drift;
        EventTime(all.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64)
    }

    /// Corrects every time of an entry.
    pub fn correct(&self, entry: &mut EntryBody) {
        match entry {
            EntryBody::Record(r) => r.event_time = self.apply(r.event_time),
            EntryBody::Link(l) => l.event_time = self.apply(l.event_time),
            EntryBody::Gap(g) => (g.from, g.to) = (self.apply(g.from), self.apply(g.to)),
            EntryBody::Anchor(a) => a.event_time = self.apply(a.event_time),
            EntryBody::Operator(a) => a.pressed_at = self.apply(a.pressed_at),
            EntryBody::Tick | EntryBody::End => {}
        }
    }

    /// What a run file says.
    pub(crate) fn read(text: &Text, table: &ClockTable, bad: &mut Problems) -> Option<ClockFix> {
        let before = bad.0.len();
        let offset = signed(table.offset.get_ref());
        if offset.is_none() {
            let message = format!("{:?} is no offset", table.offset.get_ref());
            bad.0.push(text.problem(&table.offset, message, "write sign, number, unit: +3.25s, -120ms"));
        }
        let mut drift_e12 = 0;
        if let Some(drift) = &table.drift_ppm {
            // A clock that is a tenth wrong is none.
            if drift.get_ref().abs() <= 100_000.0 {
                drift_e12 = (drift.get_ref() * 1e6).round() as i64;
            } else {
                let message = format!("a drift of {} ppm is not that of a clock", drift.get_ref());
                bad.0.push(text.problem(drift, message, "write parts per million: 11.8"));
            }
        }
        let since = table.since.as_ref().map(|s| {
            let t: Option<jiff::Timestamp> = s.get_ref().parse().ok();
            let ns = t.and_then(|t| i64::try_from(t.as_nanosecond()).ok());
            if ns.is_none() {
                let message = format!("{:?} is not a moment", s.get_ref());
                bad.0.push(text.problem(s, message, "write date, time and zone: 2026-03-01T08:00:00Z"));
            }
            EventTime(ns.unwrap_or(0))
        });
        if let (Some(drift), None) = (&table.drift_ppm, &table.since) {
            let help = "write since = \"2026-03-01T08:00:00Z\", where the offset holds";
            bad.0.push(text.problem(drift, "a drift counts from a moment", help));
        }
        if bad.0.len() > before {
            return None;
        }
        let since = since.unwrap_or(EventTime(0));
        Some(ClockFix { offset: offset?, drift_e12, since, found: table.found.clone() })
    }
}

fn signed(text: &str) -> Option<Span> {
    let (negative, size) = match text.trim().split_at_checked(1)? {
        ("-", rest) => (true, rest),
        ("+", rest) => (false, rest),
        _ => (false, text.trim()),
    };
    let size = crate::config::text::duration(size).ok()?;
    Some(if negative { Span(-size.0) } else { size })
}

/// For people: in the summary and the manifest.
impl fmt::Display for ClockFix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.offset.0 < 0 { '-' } else { '+' };
        let ns = self.offset.0.unsigned_abs();
        write!(f, "{sign}{}.{:09} s", ns / 1_000_000_000, ns % 1_000_000_000)?;
        if self.drift_e12 != 0 {
            write!(f, " {:+} ppm since {}", self.drift_e12 as f64 / 1e6, self.since)?;
        }
        if !self.found.is_empty() {
            write!(f, " ({})", self.found)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_with_sign_and_unit() {
        assert_eq!(signed("+3.25s"), Some(Span(3_250_000_000)));
        assert_eq!(signed("-120ms"), Some(Span(-120_000_000)));
        assert_eq!(signed("2h"), Some(Span::from_secs(7200)));
        for bad in ["", "-", "3", "--3s", "soon"] {
            assert_eq!(signed(bad), None, "{bad}");
        }
    }

    #[test]
    fn offset_and_drift_to_the_nanosecond() {
        let since = EventTime(1_000_000_000_000_000_000);
        let fix = ClockFix { offset: Span(-1_500_000_000), drift_e12: 12_500_000, since, found: String::new() };
        assert_eq!(fix.apply(since), since + Span(-1_500_000_000));
        // 12.5 ppm of an hour are 45 ms.
        assert_eq!(
            fix.apply(since + Span::from_secs(3600)),
            since + Span(3_600_000_000_000 - 1_500_000_000 + 45_000_000)
        );
        assert_eq!(fix.apply(since + Span(-40_000)), since + Span(-40_000 - 1_500_000_000));
        assert_eq!(fix.apply(EventTime(i64::MIN)).0, i64::MIN);
        assert_eq!(fix.to_string(), "-1.500000000 s +12.5 ppm since 2001-09-09T01:46:40.000000000Z");
    }
}
