//! Short texts in configuration files: durations and quantities with their unit.

use std::ops::Range;
use stream::Span;
use units::Unit;

/// `200ms`, `3s`, `30min`, `2h`.
///
/// # Errors
/// What is wrong, for a message.
pub fn duration(text: &str) -> Result<Span, String> {
    let parsed: Result<jiff::SignedDuration, _> = text.trim().parse();
    match parsed {
        Ok(d) if d.is_negative() => Err(format!("{text:?} is negative; write 0s or more")),
        Ok(d) => i64::try_from(d.as_nanos()).map(Span).map_err(|_| format!("{text:?} is longer than 292 years")),
        Err(_) => Err(format!("{text:?} is not a duration; write a number with its unit: 200ms, 3s, 30min, 2h")),
    }
}

/// `85 degC`: the number and its unit.
///
/// # Errors
/// What is wrong, for a message.
pub fn quantity(text: &str) -> Result<(f64, &'static Unit), String> {
    let text = text.trim();
    let split = text.find(|c: char| c.is_whitespace()).unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let value: f64 = number
        .parse()
        .ok()
        .filter(|x: &f64| x.is_finite())
        .ok_or_else(|| format!("{text:?} does not begin with a number; write number, space, unit: 85 degC"))?;
    let unit = unit.trim();
    if unit.is_empty() {
        return Err(format!("{text:?} has no unit; write number, space, unit: 85 degC (1 for a ratio)"));
    }
    Ok((value, units::find(unit).map_err(|e| e.to_string())?))
}

/// A place in a text that stands at `span` of its file, one character for the quotation mark.
pub fn inside(span: Range<usize>, offset: usize, length: usize) -> Range<usize> {
    let start = (span.start + 1 + offset).min(span.end);
    start..(start + length).min(span.end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations() {
        assert_eq!(duration("200ms"), Ok(Span::from_millis(200)));
        assert_eq!(duration("1h 30min"), Ok(Span::from_secs(5400)));
        for wrong in ["", "3", "-3s", "3 parsecs"] {
            assert!(duration(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn quantities() {
        let (x, u) = quantity("85 degC").unwrap();
        assert_eq!((x, u.symbol), (85.0, "degC"));
        for wrong in ["", "85", "degC", "nan degC", "85 furlong"] {
            assert!(quantity(wrong).is_err(), "{wrong}");
        }
    }
}
