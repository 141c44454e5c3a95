//! Times in tables: decimal numbers to whole nanoseconds, and RFC 3339.

/// A decimal number of units (`-12.5`, `1.25e-3`) to nanoseconds, exactly; what is finer than a nanosecond is rounded,
/// halves away from zero. `per_unit`: nanoseconds in a unit. `None` for anything that is no such number, and for times
/// past what 64 bits hold.
pub(super) fn decimal_ns(text: &[u8], per_unit: i64) -> Option<i64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    let e = digits.iter().position(|b| matches!(b, b'e' | b'E')).unwrap_or(digits.len());
    let exponent = if e < digits.len() { small_exponent(&digits[e + 1..])? } else { 0 };
    let (mut mantissa, mut places, mut seen, mut point) = (0i128, 0i32, false, false);
    for b in &digits[..e] {
        match b {
            b'.' if !point => point = true,
            // Digits beyond these are finer than a nanosecond by far, and too many for a time before the point.
            b'0'..=b'9' if mantissa < 1_000_000_000_000_000_000_000_000 => {
                mantissa = mantissa * 10 + i128::from(b - b'0');
                places += i32::from(point);
                seen = true;
            }
            b'0'..=b'9' if point => {}
            _ => return None,
        }
    }
    if !seen {
        return None;
    }
    let power = exponent - places;
    if let (Ok(m), -9..=0) = (i64::try_from(mantissa), power)
        && let ten = 10i64.pow(power.unsigned_abs())
        && per_unit % ten == 0
    {
        let ns = m.checked_mul(per_unit / ten)?;
        return Some(if negative { -ns } else { ns });
    }
    let size = mantissa.checked_mul(i128::from(per_unit))?;
    let ns = match power {
        0.. => size.checked_mul(10i128.checked_pow(power.unsigned_abs())?)?,
        _ => match 10i128.checked_pow(power.unsigned_abs()) {
            Some(ten) => (size + ten / 2) / ten,
            None => 0,
        },
    };
    i64::try_from(if negative { -ns } else { ns }).ok()
}

/// A decimal exponent of at most three digits.
fn small_exponent(text: &[u8]) -> Option<i32> {
    let (sign, digits) = match text {
        [b'-', rest @ ..] => (-1, rest),
        [b'+', rest @ ..] => (1, rest),
        rest => (1, rest),
    };
    if !(1..=3).contains(&digits.len()) || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    Some(sign * digits.iter().fold(0, |n, b| n * 10 + i32::from(b - b'0')))
}

/// An RFC 3339 time (`2026-05-04T12:34:56.789Z`, `…+02:00`; a blank may stand for the T) to ns since 1970 UTC. The
/// zone is required. `None` for anything else, for a leap second, and outside the years 1678 to 2261.
pub(super) fn rfc3339_ns(text: &[u8]) -> Option<i64> {
    let (clock, zone) = match text {
        [clock @ .., b'Z' | b'z'] => (clock, 0),
        [clock @ .., sign @ (b'+' | b'-'), h1, h2, b':', m1, m2] => {
            let (hours, minutes) = (number(&[*h1, *h2])?, number(&[*m1, *m2])?);
            if hours > 23 || minutes > 59 {
                return None;
            }
            let seconds = hours * 3600 + minutes * 60;
            (clock, if *sign == b'-' { -seconds } else { seconds })
        }
        _ => return None,
    };
    local_ns(clock)?.checked_sub(zone * 1_000_000_000)
}

/// A date and time without zone (`2026-05-04T12:34:56.789`, a blank may stand for the T), in ns since 1970 of the same
/// clock.
pub(super) fn local_ns(clock: &[u8]) -> Option<i64> {
    let (head, fraction) = clock.split_at_checked(19)?;
    let &[y1, y2, y3, y4, b'-', o1, o2, b'-', d1, d2, b'T' | b't' | b' ', h1, h2, b':', m1, m2, b':', s1, s2] = head
    else {
        return None;
    };
    let (year, month, day) = (number(&[y1, y2, y3, y4])?, number(&[o1, o2])?, number(&[d1, d2])?);
    let (hour, minute, second) = (number(&[h1, h2])?, number(&[m1, m2])?, number(&[s1, s2])?);
    let inside = (1678..=2261).contains(&year) && (1..=days_in(year, month)?).contains(&day);
    if !inside || hour > 23 || minute > 59 || second > 59 {
        return None;
    }
    let fraction_ns = match fraction {
        [] => 0,
        [b'.', _, ..] => decimal_ns(fraction, 1_000_000_000)?,
        _ => return None,
    };
    let seconds = days_from_1970(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second;
    seconds.checked_mul(1_000_000_000)?.checked_add(fraction_ns)
}

fn number(digits: &[u8]) -> Option<i64> {
    digits.iter().try_fold(0, |n, b| b.is_ascii_digit().then(|| n * 10 + i64::from(b - b'0')))
}

pub(super) fn days_in(year: i64, month: i64) -> Option<i64> {
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => Some(31),
        4 | 6 | 9 | 11 => Some(30),
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => Some(29),
        2 => Some(28),
        _ => None,
    }
}

/// Days since 1970-01-01 in the proleptic Gregorian calendar, years counted from March so that the leap day is last.
pub(super) fn days_from_1970(year: i64, month: i64, day: i64) -> i64 {
    let (y, m) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    y * 365 + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + (m * 153 + 2) / 5 + day - 1 - 719_468
}

#[cfg(test)]
mod tests {
    use super::{decimal_ns, rfc3339_ns};
    use proptest::prelude::*;
    use stream::EventTime;

    #[test]
    fn decimals_are_exact() {
        assert_eq!(decimal_ns(b"12.345678901", 1_000_000_000), Some(12_345_678_901));
        assert_eq!(decimal_ns(b"0.30000000000000004", 1_000_000_000), Some(300_000_000));
        assert_eq!(decimal_ns(b"0.29999999999999999", 1_000_000_000), Some(300_000_000));
        assert_eq!(decimal_ns(b"-.5", 1_000_000), Some(-500_000));
        assert_eq!(decimal_ns(b"7.5", 1), Some(8));
        assert_eq!(decimal_ns(b"1.5e-3", 1_000_000_000), Some(1_500_000));
        assert_eq!(decimal_ns(b"1E3", 1_000_000), Some(1_000_000_000));
        assert_eq!(decimal_ns(b"0.1", 3_600_000_000_000), Some(360_000_000_000));
        assert_eq!(decimal_ns(b"1.123456789012345678901234567890", 1_000_000_000), Some(1_123_456_789));
        assert_eq!(decimal_ns(b"1e-99", 1_000_000_000), Some(0));
        for bad in ["", ".", "-", "1e", "e3", "1e99", "1e1000", "1,5", "nan", "9300000000", "1.2.3"] {
            assert_eq!(decimal_ns(bad.as_bytes(), 1_000_000_000), None, "{bad}");
        }
    }

    #[test]
    fn rfc_3339_examples() {
        // RFC 3339, section 5.8 (from memory): the first two examples; the others are ours.
        assert_eq!(rfc3339_ns(b"1985-04-12T23:20:50.52Z"), Some(482_196_050_520_000_000));
        assert_eq!(rfc3339_ns(b"1996-12-19T16:39:57-08:00"), Some(851_042_397_000_000_000));
        assert_eq!(rfc3339_ns(b"1970-01-01 00:00:00Z"), Some(0));
        for bad in [
            "1985-04-12T23:20:50",
            "1985-02-29T00:00:00Z",
            "1985-13-01T00:00:00Z",
            "1985-04-12T24:00:00Z",
            "1985-04-12T23:20:60Z",
            "1985-04-12T23:20:50.Z",
            "85-04-12T23:20:50Z",
            "",
            "Z",
        ] {
            assert_eq!(rfc3339_ns(bad.as_bytes()), None, "{bad}");
        }
    }

    proptest! {
        #[test]
        fn reads_what_event_time_prints(ns in -9_200_000_000_000_000_000i64..9_200_000_000_000_000_000) {
            prop_assert_eq!(rfc3339_ns(EventTime(ns).to_string().as_bytes()), Some(ns));
        }
    }
}
