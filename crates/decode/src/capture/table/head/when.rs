//! What the time column holds, from the file and from what the user says; where these contradict each other: refused.

use super::super::TimeColumn;
use super::super::options::{TableOptions, TimeFormat, unit_ns};
use super::columns::Column;
use super::{HeadFault, Line, begins};
use crate::capture::time::{local_ns, rfc3339_ns};

/// Why, and at which line and column.
type Refused = ((usize, usize), HeadFault);
/// The same; without a place where no line is at fault.
type StartRefused = (Option<(usize, usize)>, HeadFault);

pub(super) fn time_column(
    columns: &[Column],
    (at, day): (usize, Option<usize>),
    options: &TableOptions,
    preamble: &[Line<'_>],
) -> Result<TimeColumn, Refused> {
    let column = &columns[at];
    let place = column.unit_at.unwrap_or(column.at);
    let wrong = |fault| (place, fault);
    let start_ns = start(options, preamble).map_err(|(at, fault)| (at.unwrap_or(place), fault))?;
    let stated = unit_ns(&column.unit);
    let format = match (&options.time_format, stated) {
        (Some(TimeFormat::Number(ns)), Some(unit)) if *ns != unit => {
            return Err(wrong(HeadFault::TimeContradiction(column.unit.clone())));
        }
        (Some(TimeFormat::Rfc3339 | TimeFormat::Pattern(_)), Some(_)) => {
            return Err(wrong(HeadFault::TimeContradiction(column.unit.clone())));
        }
        (Some(format), _) => format.clone(),
        (None, Some(ns)) if day.is_none() => TimeFormat::Number(ns),
        (None, Some(_)) => return Err(wrong(HeadFault::TwoColumns)),
        (None, None) => match (options.zone_ns, &options.start_line) {
            (Some(ahead_ns), None) => return Ok(TimeColumn::Local { ahead_ns }),
            _ => dates(column, day).map_err(wrong)?,
        },
    };
    let zone_used = options.start_line.is_some() || matches!(&format, TimeFormat::Pattern(p) if p.has_date());
    if options.zone_ns.is_some() && !zone_used {
        return Err(wrong(HeadFault::ZoneForNothing));
    }
    match format {
        TimeFormat::Number(unit_ns) => Ok(TimeColumn::Number { unit_ns, start_ns: start_ns.unwrap_or(0) }),
        _ if start_ns.is_some() && zone_used && options.start_line.is_none() => Err(wrong(HeadFault::StartForNothing)),
        TimeFormat::Rfc3339 if start_ns.is_some() => Err(wrong(HeadFault::StartForNothing)),
        TimeFormat::Rfc3339 => Ok(TimeColumn::Rfc3339),
        TimeFormat::Pattern(pattern) if pattern.has_date() => match options.zone_ns {
            Some(zone) => Ok(TimeColumn::Pattern { pattern, zero_ns: -zone }),
            None => Err(wrong(HeadFault::NoZone)),
        },
        TimeFormat::Pattern(pattern) => match start_ns {
            Some(zero_ns) => Ok(TimeColumn::Pattern { pattern, zero_ns }),
            None => Err(wrong(HeadFault::NoStart)),
        },
    }
}

/// Nothing is declared, and the file states no unit of time: dates with a zone in them.
fn dates(column: &Column, day: Option<usize>) -> Result<TimeFormat, HeadFault> {
    match column.unit.as_str() {
        _ if day.is_some() => Err(HeadFault::TwoColumns),
        "" | "UTC" | "RFC 3339" | "RFC3339" => Ok(TimeFormat::Rfc3339),
        other => Err(HeadFault::TimeUnit(other.to_owned())),
    }
}

/// The declared start, or the one that a line of the preamble states.
fn start(options: &TableOptions, preamble: &[Line<'_>]) -> Result<Option<i64>, StartRefused> {
    let Some(key) = &options.start_line else { return Ok(options.start_ns) };
    let Some(line) = preamble.iter().find(|l| begins(l.text, key, options)) else {
        return Err((None, HeadFault::NoStartLine(key.clone())));
    };
    let skipped = line.text.iter().position(|b| !b.is_ascii_whitespace()).unwrap_or(0);
    let after = skipped + options.encoding.bytes(key).map_or(0, |b| b.len());
    let rest = &line.text[after..];
    let is_mark = |b: &u8| b":;=,\t\" ".contains(b);
    let begin = rest.iter().position(|b| !is_mark(b)).unwrap_or(rest.len());
    let end = rest.iter().rposition(|b| !is_mark(b)).map_or(begin, |e| e + 1);
    let text = &rest[begin..end];
    let local = match &options.start_format {
        Some(pattern) if pattern.has_date() => pattern.parse(text),
        Some(_) => None,
        None => local_ns(text),
    };
    let place = Some((line.number, line.before + after + begin + 1));
    let found = String::from_utf8_lossy(text).into_owned();
    match (rfc3339_ns(text), local, options.zone_ns) {
        (Some(ns), ..) => Ok(Some(ns)),
        (None, Some(ns), Some(zone)) => Ok(Some(ns - zone)),
        (None, Some(_), None) => Err((place, HeadFault::NoZone)),
        (None, None, _) => Err((place, HeadFault::NoStartThere(found))),
    }
}
