//! The text of candump: the form of its logs (`candump -L`, `-l`), `(seconds.fraction) interface ID#DATA`, and in
//! [`terminal`] the one that it shows on a terminal.
//!
//! | frame | form |
//! |---|---|
//! | classic | `123#1122`, `12345678#1122`; three hexadecimal digits are 11 bits, eight are 29 |
//! | remote | `123#R` or `123#R8` |
//! | FD | `123##3` + data: one digit of flags, 1 = bit rate switch, 2 = error state indicator (4 = FD, implied) |
//! | error | an eight-digit id with the flag 0x20000000 |
//!
//! A final ` R` or ` T` (direction) is accepted and dropped. Blank lines and those that begin with `#` are none.
//! Source: can-utils, lib.h and candump's manual page (from memory).

mod terminal;

pub use terminal::parse_terminal_line;

use super::LineError;
use super::time::local_ns;
use crate::can::CanFrame;

/// In which of candump's two forms a line is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// `(seconds.fraction) interface ID#DATA`.
    Log,
    /// ` (seconds.fraction)  interface  ID   [length]  DATA`.
    Terminal,
}

impl Form {
    /// The form of a line, by its `#` or its `[`; `None` for what is neither.
    pub fn of(line: &[u8]) -> Option<Form> {
        let line = line.trim_ascii();
        if line.first() == Some(&b'#') {
            return None;
        }
        let hash = line.iter().position(|b| *b == b'#').unwrap_or(line.len());
        let bracket = line.iter().position(|b| *b == b'[').unwrap_or(line.len());
        match hash.cmp(&bracket) {
            std::cmp::Ordering::Less => Some(Form::Log),
            std::cmp::Ordering::Greater => Some(Form::Terminal),
            std::cmp::Ordering::Equal => None,
        }
    }
}

/// One frame of a log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CanLine<'a> {
    /// Time stamp, ns since 1970 UTC (or since whatever the log counts from).
    pub time_ns: i64,
    /// Whether the stamp was a date (`candump -t A`): local time, taken here as if it were UTC.
    pub dated: bool,
    /// Interface name as it stands there.
    pub interface: &'a [u8],
    /// Identifier with flags, as in [`CanFrame::id`].
    pub id: u32,
    /// As in [`CanFrame::flags`].
    pub flags: u8,
    /// As in [`CanFrame::len`].
    pub len: u8,
    data: [u8; 64],
}

impl CanLine<'_> {
    /// The data bytes; none in a remote frame.
    pub fn data(&self) -> &[u8] {
        let length = if self.id & CanFrame::REMOTE != 0 { 0 } else { usize::from(self.len).min(64) };
        &self.data[..length]
    }

    /// The frame, with the number that the caller gave its interface.
    pub fn frame(&self, interface: u8) -> CanFrame<'_> {
        CanFrame { id: self.id, flags: self.flags, len: self.len, interface, data: self.data() }
    }
}

/// Value of a hexadecimal digit; 0xFF for any other byte.
static HEX: [u8; 256] = {
    let mut table = [0xFF; 256];
    let mut n = 0;
    while n < 10 {
        table[b'0' as usize + n] = n as u8;
        n += 1;
    }
    while n < 16 {
        table[b'A' as usize + n - 10] = n as u8;
        table[b'a' as usize + n - 10] = n as u8;
        n += 1;
    }
    table
};

const FORM: &str = "expected `(seconds.fraction) interface ID#DATA`";

/// Reads one line, without or with its terminator. `None` for a blank line or one that begins with `#`.
///
/// # Errors
/// Anything else that is no such line, with its column. Nothing is guessed.
#[inline(always)]
pub fn parse_line(line: &[u8]) -> Result<Option<CanLine<'_>>, LineError> {
    let line = line.trim_ascii_end();
    let Some((&first, _)) = line.split_first() else { return Ok(None) };
    if first == b'#' {
        return Ok(None);
    }
    if first != b'(' {
        return Err(LineError::new(1, FORM));
    }
    let (time_ns, dated, at) = time(line)?;
    let at = blank(line, at)?;
    let length = line[at..].iter().take_while(|b| **b != b' ').count();
    let interface = &line[at..at + length];
    if length == 0 || length > 15 {
        return Err(LineError::new(at + 1, "the interface's name is missing, or longer than 15 characters"));
    }
    let at = blank(line, at + length)?;
    let mut can = CanLine { time_ns, dated, interface, id: 0, flags: 0, len: 0, data: [0; 64] };
    frame(line, at, &mut can)?;
    Ok(Some(can))
}

/// The time stamp of a line, where it has one: also of a line that is no frame.
pub fn stamp(line: &[u8]) -> Option<i64> {
    let line = line.trim_ascii_start();
    line.starts_with(b"(").then(|| time(line).ok()).flatten().map(|t| t.0)
}

fn blank(line: &[u8], at: usize) -> Result<usize, LineError> {
    if line.get(at) != Some(&b' ') {
        return Err(LineError::new(at + 1, "a blank is missing here; ".to_owned() + FORM));
    }
    Ok(at + 1)
}

/// The time stamp in parentheses and whether it is a date; gives the place after it.
#[inline(always)]
fn time(line: &[u8]) -> Result<(i64, bool, usize), LineError> {
    // Ten digits, a point, six digits: what candump writes from 2001 on.
    if let Some(&[_, a, b, c0, c1, c2, c3, c4, c5, c6, c7, b'.', d, e, f, g, h, i, b')']) = line.first_chunk::<19>()
        && let Some(high) = eight_digits([b'0', b'0', b'0', b'0', b'0', b'0', a, b])
        && let Some(low) = eight_digits([c0, c1, c2, c3, c4, c5, c6, c7])
        && let Some(micros) = eight_digits([b'0', b'0', d, e, f, g, h, i])
        && high < 92
    {
        let seconds = i64::from(high) * 100_000_000 + i64::from(low);
        return Ok((seconds * 1_000_000_000 + i64::from(micros) * 1000, false, 19));
    }
    any_time(line)
}

/// The number that eight ASCII digits are, all at once: digits to pairs, pairs to fours, fours to eight.
#[inline(always)]
fn eight_digits(text: [u8; 8]) -> Option<u32> {
    let digits = u64::from_le_bytes(text) ^ 0x3030_3030_3030_3030;
    if (digits.wrapping_add(0x7676_7676_7676_7676) | digits) & 0x8080_8080_8080_8080 != 0 {
        return None;
    }
    let pairs = (digits.wrapping_mul((10 << 8) + 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul((100 << 16) + 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    Some((fours.wrapping_mul((10_000 << 32) + 1) >> 32) as u32)
}

fn any_time(line: &[u8]) -> Result<(i64, bool, usize), LineError> {
    if line.get(5) == Some(&b'-')
        && let Some(end) = line.iter().position(|b| *b == b')')
        && let Some(ns) = local_ns(&line[1..end])
    {
        return Ok((ns, true, end + 1));
    }
    let (seconds, dot) = digits(line, 1);
    let (fraction, end) = digits(line, dot + 1);
    let places = end.saturating_sub(dot + 1);
    if !(2..=11).contains(&dot) || line.get(dot) != Some(&b'.') || !(1..=9).contains(&places) {
        return Err(LineError::new(2, "the time stamp must be whole seconds, a point and 1 to 9 further digits"));
    }
    if line.get(end) != Some(&b')') {
        return Err(LineError::new(end + 1, "`)` is missing after the time stamp"));
    }
    const SCALE: [i64; 10] = [0, 100_000_000, 10_000_000, 1_000_000, 100_000, 10_000, 1_000, 100, 10, 1];
    // At most ten digits of seconds: no overflow before the multiplication.
    match (seconds as i64).checked_mul(1_000_000_000).and_then(|s| s.checked_add(fraction as i64 * SCALE[places])) {
        Some(ns) => Ok((ns, false, end + 1)),
        None => Err(LineError::new(2, "the time stamp lies after the year 2262")),
    }
}

#[inline(always)]
fn digits(line: &[u8], from: usize) -> (u64, usize) {
    let (mut at, mut n) = (from, 0u64);
    while let Some(d) = line.get(at).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
        n = n.wrapping_mul(10).wrapping_add(u64::from(d));
        at += 1;
    }
    (n, at)
}

#[inline(always)]
fn frame(line: &[u8], at: usize, can: &mut CanLine<'_>) -> Result<(), LineError> {
    let (id, hash) = identifier(line, at)?;
    can.id = id;
    let end = match line.get(hash + 1) {
        Some(b'#') => fd(line, hash + 2, can)?,
        Some(b'R') => remote(line, hash + 2, can)?,
        _ => classic(line, hash + 1, can)?,
    };
    match &line[end..] {
        [] | b" R" | b" T" => Ok(()),
        _ => Err(LineError::new(
            end + 1,
            "unexpected text; data is pairs of hexadecimal digits, then at most ` R` or ` T`",
        )),
    }
}

/// The identifier with its flags; gives the place of the `#` after it.
#[inline(always)]
fn identifier(line: &[u8], at: usize) -> Result<(u32, usize), LineError> {
    let (mut id, mut end) = (0u32, at);
    while let Some(d) = line.get(end).map(|b| HEX[usize::from(*b)]).filter(|d| *d < 16) {
        id = id << 4 | u32::from(d);
        end += 1;
    }
    if line.get(end) != Some(&b'#') {
        return Err(LineError::new(end + 1, "`#` is missing after the identifier"));
    }
    flagged(id, end - at, at).map(|id| (id, end))
}

/// An identifier of so many hexadecimal digits with its flags.
#[inline(always)]
fn flagged(id: u32, digits: usize, at: usize) -> Result<u32, LineError> {
    match digits {
        3 if id < 0x800 => Ok(id),
        8 if id <= CanFrame::ID_MASK => Ok(id | CanFrame::EXTENDED),
        8 if id & !CanFrame::ID_MASK == CanFrame::ERROR => Ok(id),
        3 | 8 => Err(LineError::new(at + 1, "the identifier is larger than 7FF (3 digits) or 1FFFFFFF (8 digits)")),
        n => Err(LineError::new(at + 1, format!("the identifier has {n} hexadecimal digits; it must have 3 or 8"))),
    }
}

#[inline(always)]
fn data(line: &[u8], at: usize, most: usize, can: &mut CanLine<'_>) -> Result<usize, LineError> {
    let (mut length, mut at) = (0usize, at);
    while let Some(&[a, b]) = line.get(at..).and_then(|l| l.first_chunk::<2>()) {
        let (high, low) = (HEX[usize::from(a)], HEX[usize::from(b)]);
        if (high | low) > 15 {
            break;
        }
        if length == most {
            return Err(LineError::new(at + 1, format!("more than {most} data bytes")));
        }
        can.data[length] = high << 4 | low;
        length += 1;
        at += 2;
    }
    can.len = length as u8;
    if line.get(at).is_some_and(|b| HEX[usize::from(*b)] < 16) {
        return Err(LineError::new(at + 1, "half a byte: data is pairs of hexadecimal digits"));
    }
    Ok(at)
}

#[inline(always)]
fn classic(line: &[u8], at: usize, can: &mut CanLine<'_>) -> Result<usize, LineError> {
    let end = data(line, at, 8, can)?;
    // `_9` to `_F` after eight bytes: a length code above 8 as it was on the bus; it still means 8 bytes.
    match line.get(end..) {
        Some([b'_', b'9' | b'A'..=b'F' | b'a'..=b'f', ..]) if can.len == 8 => Ok(end + 2),
        _ => Ok(end),
    }
}

#[cold]
fn remote(line: &[u8], at: usize, can: &mut CanLine<'_>) -> Result<usize, LineError> {
    can.id |= CanFrame::REMOTE;
    match line.get(at) {
        Some(b @ b'0'..=b'8') => can.len = b - b'0',
        None | Some(b' ') => return Ok(at),
        Some(_) => return Err(LineError::new(at + 1, "a remote frame asks for 0 to 8 bytes")),
    }
    Ok(at + 1)
}

fn fd(line: &[u8], at: usize, can: &mut CanLine<'_>) -> Result<usize, LineError> {
    let flags = line.get(at).map_or(0xFF, |b| HEX[usize::from(*b)]);
    if flags > 7 {
        return Err(LineError::new(at + 1, "the flags of an FD frame are one digit from 0 to 7"));
    }
    can.flags = CanFrame::FD | (flags & 3) << 1;
    let end = data(line, at + 1, 64, can)?;
    fd_length(can.len, at + 2)?;
    Ok(end)
}

fn fd_length(length: u8, column: usize) -> Result<(), LineError> {
    if matches!(length, 0..=8 | 12 | 16 | 20 | 24 | 32 | 48 | 64) {
        return Ok(());
    }
    let what = format!("{length} data bytes; an FD frame has 0 to 8, 12, 16, 20, 24, 32, 48 or 64");
    Err(LineError::new(column, what))
}
