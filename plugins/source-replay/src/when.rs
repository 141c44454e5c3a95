//! Moments and zones in options.

use plugin_api::{ConfigError, Options};

/// A moment in RFC 3339, ns since 1970 UTC.
pub(crate) fn moment(key: &str, text: &str, options: &Options) -> Result<i64, ConfigError> {
    let t: Option<jiff::Timestamp> = text.parse().ok();
    t.and_then(|t| i64::try_from(t.as_nanosecond()).ok()).ok_or_else(|| {
        let help = "write date, time and zone, a year from 1678 to 2261: 2026-03-01T08:00:00Z";
        ConfigError::new(format!("{key} {text:?} is not a moment"), help, options.span_of(key))
    })
}

/// How far a clock is ahead of UTC, ns: `+01:00`, `-05:30`, `UTC`.
pub(crate) fn zone(key: &str, text: &str, options: &Options) -> Result<i64, ConfigError> {
    let seconds = match text.as_bytes() {
        b"UTC" | b"Z" => Some(0),
        [sign @ (b'+' | b'-'), a, b, b':', c, d] => [a, b, c, d].iter().all(|d| d.is_ascii_digit()).then(|| {
            let two = |x: &u8, y: &u8| i64::from(x - b'0') * 10 + i64::from(y - b'0');
            let size = two(a, b) * 3600 + two(c, d) * 60;
            if *sign == b'-' { -size } else { size }
        }),
        _ => None,
    };
    seconds.filter(|s| s.abs() <= 18 * 3600).map(|s| s * 1_000_000_000).ok_or_else(|| {
        let help = "write how far its clock was ahead of UTC: +01:00 (summer time included), or UTC; names of zones \
                    are not taken: they need tables that change";
        ConfigError::new(format!("{key} {text:?} is no distance from UTC"), help, options.span_of(key))
    })
}
