//! Dates and times as a pattern says.

use crate::capture::time::{days_from_1970, days_in, decimal_ns};

/// How a date and a time are written: `DD.MM.YYYY hh:mm:ss`. `YYYY`, `MM`, `MMM` (`Mar`), `DD`, `hh`, `mm`, `ss`, `AM`
/// (`AM` or `PM`); every other character stands for itself. Day, month and hour may have one digit, seconds a fraction
/// behind a point or a comma. Without a date it is a time since some start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    text: String,
    pieces: Vec<Piece>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Piece {
    Year,
    Month,
    MonthName,
    Day,
    Hour,
    Minute,
    Second,
    HalfDay,
    Is(u8),
}

const TOKENS: [(&str, Piece); 8] = [
    ("YYYY", Piece::Year),
    ("MMM", Piece::MonthName),
    ("MM", Piece::Month),
    ("DD", Piece::Day),
    ("hh", Piece::Hour),
    ("mm", Piece::Minute),
    ("ss", Piece::Second),
    ("AM", Piece::HalfDay),
];
const MONTHS: [&[u8; 3]; 12] =
    [b"JAN", b"FEB", b"MAR", b"APR", b"MAY", b"JUN", b"JUL", b"AUG", b"SEP", b"OCT", b"NOV", b"DEC"];

impl Pattern {
    /// Reads a pattern.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn new(text: &str) -> Result<Pattern, String> {
        let mut pieces = Vec::new();
        let mut rest = text;
        while let Some(b) = rest.bytes().next() {
            if let Some((token, piece)) = TOKENS.iter().find(|(t, _)| rest.starts_with(t)) {
                if pieces.contains(piece) {
                    return Err(format!("`{token}` is there twice"));
                }
                pieces.push(*piece);
                rest = &rest[token.len()..];
            } else if b.is_ascii() && !b"YMDhms".contains(&b) {
                pieces.push(Piece::Is(b));
                rest = &rest[1..];
            } else {
                return Err(format!("`{rest}` begins with no part of a pattern"));
            }
        }
        let has = |p: Piece| pieces.contains(&p);
        let date = [has(Piece::Year), has(Piece::Month) || has(Piece::MonthName), has(Piece::Day)];
        if !has(Piece::Hour) || !has(Piece::Minute) || has(Piece::Month) && has(Piece::MonthName) {
            return Err("it needs hh and mm, and MM or MMM only once".to_owned());
        }
        if date.contains(&true) && date.contains(&false) {
            return Err("a date needs YYYY, MM (or MMM) and DD".to_owned());
        }
        if has(Piece::HalfDay) && !date[0] {
            return Err("AM and PM belong to a date".to_owned());
        }
        Ok(Pattern { text: text.to_owned(), pieces })
    }

    /// The pattern as it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether it has a date; without one it is a time since some start.
    pub fn has_date(&self) -> bool {
        self.pieces.contains(&Piece::Year)
    }

    /// Nanoseconds since 1970 of the same clock, or since the start; `None` for what is not written so.
    pub fn parse(&self, text: &[u8]) -> Option<i64> {
        let (mut year, mut month, mut day, mut hour, mut minute, mut second_ns) = (1970, 1, 1, 0, 0, 0);
        let mut half = None;
        let mut rest = text;
        for piece in &self.pieces {
            match piece {
                Piece::Year => year = number(&mut rest, 4, 4)?,
                Piece::Month => month = number(&mut rest, 1, 2)?,
                Piece::MonthName => {
                    let (name, after) = rest.split_at_checked(3)?;
                    month = MONTHS.iter().position(|m| m.eq_ignore_ascii_case(name))? as i64 + 1;
                    rest = after;
                }
                Piece::Day => day = number(&mut rest, 1, 2)?,
                Piece::Hour => hour = number(&mut rest, 1, if self.has_date() { 2 } else { 9 })?,
                Piece::Minute => minute = number(&mut rest, 2, 2)?,
                Piece::Second => second_ns = seconds(&mut rest)?,
                Piece::HalfDay => {
                    let (word, after) = rest.split_at_checked(2)?;
                    half = Some(if word.eq_ignore_ascii_case(b"AM") {
                        0
                    } else if word.eq_ignore_ascii_case(b"PM") {
                        12
                    } else {
                        return None;
                    });
                    rest = after;
                }
                Piece::Is(b) => rest = rest.strip_prefix(&[*b])?,
            }
        }
        if let Some(half) = half {
            hour = if (1..=12).contains(&hour) { hour % 12 + half } else { return None };
        }
        let inside = (1678..=2261).contains(&year) && (1..=days_in(year, month)?).contains(&day);
        if !rest.is_empty() || !inside || minute > 59 || self.has_date() && hour > 23 {
            return None;
        }
        let days = if self.has_date() { days_from_1970(year, month, day) } else { 0 };
        (days * 86_400 + hour * 3600 + minute * 60).checked_mul(1_000_000_000)?.checked_add(second_ns)
    }
}

/// A number of at least and at most so many digits.
fn number(rest: &mut &[u8], least: usize, most: usize) -> Option<i64> {
    let n = rest.iter().take(most).take_while(|b| b.is_ascii_digit()).count();
    let (digits, after) = rest.split_at(n);
    *rest = after;
    (n >= least).then(|| digits.iter().fold(0, |x, b| x * 10 + i64::from(b - b'0')))
}

fn seconds(rest: &mut &[u8]) -> Option<i64> {
    let whole = number(rest, 2, 2).filter(|s| *s < 60)? * 1_000_000_000;
    let [b'.' | b',', fraction @ ..] = rest else { return Some(whole) };
    let n = fraction.iter().take_while(|b| b.is_ascii_digit()).count();
    let (digits, after) = fraction.split_at(n);
    if n == 0 {
        return None;
    }
    *rest = after;
    let mut text = smallvec::SmallVec::<[u8; 16]>::from_slice(b".");
    text.extend_from_slice(digits);
    Some(whole + decimal_ns(&text, 1_000_000_000)?)
}

#[cfg(test)]
mod tests {
    use super::Pattern;

    fn parse(pattern: &str, text: &str) -> Option<i64> {
        Pattern::new(pattern).unwrap().parse(text.as_bytes())
    }

    #[test]
    fn dates_as_people_write_them() {
        let noon = Some(1_772_366_400_000_000_000); // 2026-03-01T12:00:00Z
        for (pattern, text) in [
            ("DD.MM.YYYY hh:mm:ss", "01.03.2026 12:00:00"),
            ("DD.MM.YYYY hh:mm:ss", "1.3.2026 12:00:00,000"),
            ("MM/DD/YYYY hh:mm AM", "3/1/2026 12:00 PM"),
            ("DD-MMM-YYYY hh:mm:ss", "01-mar-2026 12:00:00"),
            ("YYYYMMDDThhmmss", "20260301T120000"),
        ] {
            assert_eq!(parse(pattern, text), noon, "{pattern} {text}");
        }
        assert_eq!(parse("MM/DD/YYYY hh:mm AM", "3/1/2026 12:30 AM"), Some(1_772_325_000_000_000_000));
        assert_eq!(parse("hh:mm:ss", "100:00:00.25"), Some(360_000_250_000_000));
        for (pattern, text) in [
            ("DD.MM.YYYY hh:mm:ss", "29.02.2026 12:00:00"),
            ("DD.MM.YYYY hh:mm:ss", "01.03.26 12:00:00"),
            ("DD.MM.YYYY hh:mm:ss", "01.03.2026 24:00:00"),
            ("DD.MM.YYYY hh:mm:ss", "01.03.2026 12:00:60"),
            ("DD.MM.YYYY hh:mm:ss", "01.03.2026 12:00:00 "),
            ("DD.MM.YYYY hh:mm:ss", "01.03.2026 12:00:00."),
            ("MM/DD/YYYY hh:mm AM", "3/1/2026 13:30 PM"),
            ("hh:mm:ss", "1:60:00"),
            ("hh:mm:ss", ""),
        ] {
            assert_eq!(parse(pattern, text), None, "{pattern} {text}");
        }
    }

    #[test]
    fn patterns_that_are_none() {
        for bad in
            ["", "DD.MM.YY hh:mm", "DD.MM hh:mm", "hh:mm:ss hh", "YYYY-MM-DD", "hh:mm AM", "MM MMM DD YYYY hh:mm"]
        {
            assert!(Pattern::new(bad).is_err(), "{bad}");
        }
    }
}
