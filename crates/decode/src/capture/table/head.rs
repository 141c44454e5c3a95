//! The head of a table: where it begins, names, units, separator, kind of time.

mod columns;
mod error;
mod when;

pub use error::{HeadError, HeadFault};

use super::options::{Decimal, LongColumns, TableOptions, UnitsAt};
use super::{Body, TableFormat, cells::Cells, without_terminator};
use crate::capture::LineError;
use crate::reading::ReadingInfo;
use columns::Column;

/// How a table is written, found from its first lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Head {
    /// How its rows are read.
    pub format: TableFormat,
    /// The line that names the columns, from 1.
    pub header_line: usize,
    /// The line that states the units.
    pub units_line: Option<usize>,
    /// Where each reading's unit stands, by reading: line and column from 1; `None` where there is none.
    pub unit_places: Vec<Option<(usize, usize)>>,
    /// Lines before the header that belong to no table.
    pub preamble: usize,
    /// Lines that the head takes: the next one is the first row.
    pub lines: usize,
}

/// Rows that are tried where the first one does not fit.
const ROWS: usize = 10;

/// A line of the file.
#[derive(Clone, Copy)]
struct Line<'a> {
    number: usize,
    /// Bytes before `text` that are no cell.
    before: usize,
    text: &'a [u8],
}

impl Line<'_> {
    fn error(&self, at: usize, fault: HeadFault) -> HeadError {
        HeadError { line: self.number, column: self.before + at + 1, fault }
    }

    fn is_blank(&self) -> bool {
        self.text.trim_ascii().is_empty()
    }
}

impl Head {
    /// Lines of a file that suffice to find its head.
    pub const LINES: usize = 400;

    /// Finds out how a table is written from its first lines ([`Head::LINES`] suffice) and what the user says. The
    /// header line is the first with which the lines beneath it make sense: units, and a row that begins with a time
    /// and has as many cells; what stands before it is the preamble. A byte order mark is passed over.
    ///
    /// # Errors
    /// See [`HeadFault`].
    pub fn find(lines: &[&[u8]], options: &TableOptions) -> Result<Head, HeadError> {
        let all: Vec<Line<'_>> = lines.iter().enumerate().map(|(i, l)| line(i, l)).collect();
        if let Some(l) = all.first().filter(|l| l.text.starts_with(b"\xFF\xFE") || l.text.starts_with(b"\xFE\xFF")) {
            return Err(l.error(0, HeadFault::Utf16));
        }
        let used = |l: &&Line<'_>| !l.is_blank() && !is_comment(l.text, options);
        let Some(first) = all.iter().find(used) else {
            return Err(Line { number: 1, before: 0, text: b"" }.error(0, HeadFault::Empty));
        };
        if let Some(n) = options.header_line {
            let missing = || HeadError { line: n, column: 1, fault: HeadFault::NoSuchLine(n) };
            let i = n.checked_sub(1).filter(|i| *i < all.len()).ok_or_else(missing)?;
            return at(&all, i, options);
        }
        if let Some(begin) = &options.header_begins {
            let found = all.iter().position(|l| begins(l.text, begin, options));
            let i = found.ok_or_else(|| first.error(0, HeadFault::NoLineBegins(begin.clone())))?;
            return at(&all, i, options);
        }
        // Nothing is declared: the first line that makes sense with what stands beneath it; a damaged first row is
        // passed over only where there is no such line. If there is none at all, the reason is told for the line with
        // the most cells, which people would take for the header.
        let candidates = || all.iter().enumerate().filter(|(_, l)| used(l)).map(|(i, _)| i);
        for rows in [1, ROWS] {
            let fits = |i| at(&all, i, options).and_then(|head| some_row(&all, head, rows, options)).ok();
            if let Some(head) = candidates().find_map(fits) {
                return Ok(head);
            }
        }
        let cells = |i: usize| separator(all[i].text, options).map_or(1, |s| Cells::new(all[i].text, s).count());
        let best = candidates().reduce(|a, b| if cells(b) > cells(a) { b } else { a });
        at(&all, best.unwrap_or(0), options).and_then(|head| some_row(&all, head, 1, options))
    }
}

fn line<'a>(i: usize, text: &'a [u8]) -> Line<'a> {
    let text = without_terminator(text);
    let before = if i == 0 && text.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
    Line { number: i + 1, before, text: &text[before..] }
}

fn begins(text: &[u8], begin: &str, options: &TableOptions) -> bool {
    options.encoding.bytes(begin).is_some_and(|b| text.trim_ascii_start().starts_with(&b))
}

/// Whether the user calls such lines comments.
pub(super) fn is_comment(text: &[u8], options: &TableOptions) -> bool {
    options.comment.as_ref().is_some_and(|c| begins(text, c, options))
}

/// The first line from `i` on that is neither blank nor a comment.
fn next_used<'a>(all: &[Line<'a>], i: usize, options: &TableOptions) -> Option<(usize, Line<'a>)> {
    all.iter().copied().enumerate().skip(i).find(|(_, l)| !l.is_blank() && !is_comment(l.text, options))
}

/// The head, if line `i` names the columns.
fn at(all: &[Line<'_>], i: usize, options: &TableOptions) -> Result<Head, HeadError> {
    let header = all[i];
    if header.is_blank() {
        return Err(header.error(0, HeadFault::Empty));
    }
    let separator = separator(header.text, options).ok_or_else(|| header.error(0, HeadFault::OneColumn))?;
    let mut columns = columns::named(&header, separator, options)?;
    let mut rows_from = i + 1;
    let units_line = match columns::units_in_headers(&mut columns, options) {
        true => None,
        false if options.units == UnitsAt::Nowhere || options.long.is_some() => None,
        false => {
            let end = Line { number: all.len() + 1, before: 0, text: b"" };
            let (at, row) = next_used(all, i + 1, options).ok_or_else(|| end.error(0, HeadFault::NoUnits))?;
            columns::units_row(&row, separator, &mut columns, options)?;
            rows_from = at + 1;
            Some(row.number)
        }
    };
    let time_at = time_columns(&header, &columns, options)?;
    let time = when::time_column(&columns, time_at, options, &all[..i]).map_err(|(at, fault)| HeadError {
        line: at.0,
        column: at.1,
        fault,
    })?;
    let (body, readings, unit_places) = body(&header, &columns, time_at, options)?;
    let words = words(&header, options)?;
    let preamble = all[..i].len();
    let format = TableFormat {
        separator,
        decimal: options.decimal,
        thousands: options.thousands,
        columns: columns.len(),
        time_at,
        time,
        body,
        readings,
        words,
        empty_is_silence: options.empty_is_silence,
        short_rows: options.short_rows,
        encoding: options.encoding,
    };
    Ok(Head { format, header_line: header.number, units_line, unit_places, preamble, lines: rows_from })
}

/// Holds the head against the first rows, where there are any: one of so many must fit.
fn some_row(all: &[Line<'_>], head: Head, most: usize, options: &TableOptions) -> Result<Head, HeadError> {
    let mut rows = all.iter().skip(head.lines).filter(|l| !l.is_blank() && !is_comment(l.text, options)).take(most);
    let Some(first) = rows.next() else { return Ok(head) };
    if options.footer_begins.as_ref().is_some_and(|f| begins(first.text, f, options)) {
        return Ok(head);
    }
    let wrong = match row(first, &head, options) {
        Ok(()) => return Ok(head),
        Err(e) => e,
    };
    if rows.any(|r| row(r, &head, options).is_ok()) { Ok(head) } else { Err(wrong) }
}

fn row(row: &Line<'_>, head: &Head, options: &TableOptions) -> Result<(), HeadError> {
    let wrong = |e: LineError| row.error(e.column - 1, HeadFault::FirstRow(e.what));
    head.format.row_time(row.text).map_err(wrong)?;
    // `21,5` in every cell is no table of words.
    if options.decimal == Decimal::Point {
        let mut comma = None;
        head.format.strange_cells(row.text, &mut |column, text| {
            let mut parts = text.split(|b| *b == b',');
            let digits = |p: Option<&[u8]>| p.is_some_and(|p| !p.is_empty() && p.iter().all(u8::is_ascii_digit));
            let whole = parts.next().map(|p| p.strip_prefix(b"-").unwrap_or(p));
            if digits(whole) && digits(parts.next()) && comma.is_none() {
                comma = Some((column, String::from_utf8_lossy(text).into_owned()));
            }
        });
        if let Some((column, text)) = comma {
            return Err(row.error(column - 1, HeadFault::Comma(text)));
        }
    }
    Ok(())
}

/// The declared separator, or comma, semicolon or tabulator: whichever there is most of outside quotation marks, a
/// semicolon or tabulator before a comma where there are as many. `None` where there is none.
fn separator(line: &[u8], options: &TableOptions) -> Option<u8> {
    let candidates: &[u8] = match &options.separator {
        Some(s) => std::slice::from_ref(s),
        None if options.decimal == Decimal::Comma => b"\t;",
        None => b"\t;,",
    };
    let count = |s: u8| {
        let mut quoted = false;
        line.iter()
            .filter(|b| {
                (**b == b'"' && {
                    quoted = !quoted;
                    false
                }) || (**b == s && !quoted)
            })
            .count()
    };
    let best = candidates.iter().map(|s| (count(*s), *s)).reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    (best.0 > 0).then_some(best.1)
}

/// The column of the time, and that of the time of day.
fn time_columns(
    header: &Line<'_>,
    columns: &[Column],
    options: &TableOptions,
) -> Result<(usize, Option<usize>), HeadError> {
    let find = |name: &String| find(header, columns, name);
    match options.time.as_slice() {
        [] => Ok((0, None)),
        [one] => Ok((find(one)?, None)),
        [date, day, ..] => Ok((find(date)?, Some(find(day)?))),
    }
}

fn find(header: &Line<'_>, columns: &[Column], name: &String) -> Result<usize, HeadError> {
    columns.iter().position(|c| c.name == *name).ok_or_else(|| {
        let known: Vec<&str> = columns.iter().map(|c| c.name.as_str()).collect();
        header.error(0, HeadFault::NoColumn { name: name.clone(), known: known.join(", ") })
    })
}

type Found = (Body, Vec<ReadingInfo>, Vec<Option<(usize, usize)>>);

/// What the other columns hold.
fn body(
    header: &Line<'_>,
    columns: &[Column],
    time_at: (usize, Option<usize>),
    options: &TableOptions,
) -> Result<Found, HeadError> {
    if let Some(long) = &options.long {
        return long_body(header, columns, long, options).map(|b| (b, Vec::new(), Vec::new()));
    }
    let is_time = |i: usize| i == time_at.0 || Some(i) == time_at.1;
    let (mut targets, mut readings, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for (i, c) in columns.iter().enumerate() {
        if is_time(i) {
            targets.push(None);
            continue;
        }
        targets.push(u16::try_from(readings.len()).ok());
        readings.push(ReadingInfo { name: c.name.clone(), unit: Some(c.unit.clone()).filter(|u| !u.is_empty()) });
        places.push(c.unit_at.filter(|_| !c.unit.is_empty()));
    }
    let plain = time_at == (0, None) && options.decimal == Decimal::Point && options.thousands.is_none();
    Ok((if plain { Body::Plain } else { Body::Wide(targets) }, readings, places))
}

fn long_body(
    header: &Line<'_>,
    columns: &[Column],
    long: &LongColumns,
    options: &TableOptions,
) -> Result<Body, HeadError> {
    let at = |name: &String| find(header, columns, name);
    let quality = match &long.quality {
        None => None,
        Some(q) => {
            let good = long.good.iter().filter_map(|g| options.encoding.bytes(g)).collect();
            Some((at(q)?, good))
        }
    };
    let unit = long.unit.as_ref().map(at).transpose()?;
    Ok(Body::Long { channel: at(&long.channel)?, value: at(&long.value)?, unit, quality })
}

/// The declared words as they stand in the file, sorted.
fn words(header: &Line<'_>, options: &TableOptions) -> Result<Vec<(Vec<u8>, stream::Reason)>, HeadError> {
    let stored = |(word, reason): (&String, &stream::Reason)| match options.encoding.bytes(word) {
        Some(bytes) => Ok((bytes, *reason)),
        None => Err(header.error(0, HeadFault::Word(word.clone()))),
    };
    let mut words = options.words.iter().map(stored).collect::<Result<Vec<_>, _>>()?;
    words.sort();
    Ok(words)
}
