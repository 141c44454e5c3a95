//! Event time: nanoseconds on the boot-time clock, anchored to UTC once when the run starts.

use std::fmt;
use std::ops::{Add, Sub};

/// A moment on the one time line of a run. The number is nanoseconds since 1970-01-01 UTC as the wall clock
/// had it when the run started; after that it advances with the boot-time clock, so no wall-clock step moves it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct EventTime(pub i64);

/// A length of time in nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span(pub i64);

impl Span {
    /// No time at all.
    pub const ZERO: Span = Span(0);

    /// A span of whole milliseconds.
    pub const fn from_millis(ms: i64) -> Span {
        Span(ms * 1_000_000)
    }

    /// A span of whole seconds.
    pub const fn from_secs(s: i64) -> Span {
        Span(s * 1_000_000_000)
    }

    /// The span in seconds, for display and metrics.
    pub fn as_secs_f64(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

impl Add<Span> for EventTime {
    type Output = EventTime;
    /// Saturates at the ends of the line (the year 2262), so that a wild time stamp cannot overflow.
    fn add(self, s: Span) -> EventTime {
        EventTime(self.0.saturating_add(s.0))
    }
}

impl Sub<Span> for EventTime {
    type Output = EventTime;
    fn sub(self, s: Span) -> EventTime {
        EventTime(self.0.saturating_sub(s.0))
    }
}

impl Sub for EventTime {
    type Output = Span;
    fn sub(self, o: EventTime) -> Span {
        Span(self.0.saturating_sub(o.0))
    }
}

/// RFC 3339 in UTC with nanoseconds; written here since pure crates carry no calendar library.
impl fmt::Display for EventTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = self.0.div_euclid(86_400_000_000_000);
        let rest = self.0.rem_euclid(86_400_000_000_000);
        let (y, m, d) = civil(days);
        let s = rest / 1_000_000_000;
        let (h, mi, s, ns) = (s / 3600, s / 60 % 60, s % 60, rest % 1_000_000_000);
        write!(f, "{y:04}-{m:02}-{d:02}T{h:02}:{mi:02}:{s:02}.{ns:09}Z")
    }
}

/// Days since 1970-01-01 to year, month, day in the proleptic Gregorian calendar: counts in 400-year cycles
/// of 146 097 days with the year starting in March.
fn civil(days: i64) -> (i64, i64, i64) {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let doe = z.rem_euclid(146_097);
    let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
    let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    let mp = (5 * doy + 2) / 153;
    let d = doy - (153 * mp + 2) / 5 + 1;
    let m = if mp < 10 { mp + 3 } else { mp - 9 };
    let y = yoe + era * 400 + i64::from(m <= 2);
    (y, m, d)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_rfc_3339() {
        assert_eq!(EventTime(0).to_string(), "1970-01-01T00:00:00.000000000Z");
        assert_eq!(EventTime(951_782_400_000_000_001).to_string(), "2000-02-29T00:00:00.000000001Z");
        assert_eq!(EventTime(1_709_251_199_999_999_999).to_string(), "2024-02-29T23:59:59.999999999Z");
        assert_eq!(EventTime(-1).to_string(), "1969-12-31T23:59:59.999999999Z");
    }

    #[test]
    fn saturates_instead_of_overflowing() {
        assert_eq!(EventTime(i64::MAX) + Span(1), EventTime(i64::MAX));
        assert_eq!(EventTime(i64::MIN) - EventTime(i64::MAX), Span(i64::MIN));
    }
}
