//! What candump shows on a terminal: ` (seconds.fraction)  interface  ID   [length]  11 22 33`.
//!
//! | what | form |
//! |---|---|
//! | classic | `123   [2]  11 22`; a length of one digit |
//! | FD | `123  [12]  00 01 …`; a length of two digits, `[08]` too |
//! | remote | `123   [2]  remote request` |
//! | error | `20000004   [8]  00 04 …   ERRORFRAME` |
//! | direction and FD flags (`-x`) | `TX B E` or `RX - -` before the identifier |
//! | text (`-a`) | the bytes in quotation marks at the end: passed over |
//!
//! A line that begins with a tabulator explains the error frame above it (`-e`) and is none. Refused, because bytes
//! would be misread: binary digits (`-i`), swapped bytes (`-S`), colours (`-c`).
//! Source: can-utils, candump.c and lib.c (from memory), held against `log2long` in the tests.

use super::{CanLine, FORM, HEX, LineError, fd_length, flagged, time};
use crate::can::CanFrame;

/// Reads one line, without or with its terminator. `None` for a blank line, a comment, the explanation of an error.
///
/// # Errors
/// Anything else that is no such line, with its column.
pub fn parse_terminal_line(line: &[u8]) -> Result<Option<CanLine<'_>>, LineError> {
    let line = line.trim_ascii_end();
    if matches!(line.first(), None | Some(b'\t' | b'#')) {
        return Ok(None);
    }
    if let Some(at) = line.iter().position(|b| *b == 0x1B) {
        return Err(LineError::new(at + 1, "colours in the text: record without -c, or better with -L"));
    }
    if line.starts_with(b"DROPCOUNT:") {
        return Err(LineError::new(1, "candump says here that it lost frames: what follows is not all"));
    }
    let mut words = Words { line, at: 0 };
    let begin = words.peek();
    if line.get(begin) != Some(&b'(') {
        let what = "no time stamp: nothing says when the frame came; record with candump -L (or -ta)";
        return Err(LineError::new(begin + 1, what));
    }
    let (time_ns, dated, end) = time(&line[begin..]).map_err(|e| LineError::new(begin + e.column, e.what))?;
    words.at = begin + end;
    let (at, interface) = words.next().ok_or_else(|| LineError::new(line.len() + 1, FORM))?;
    if interface.len() > 15 {
        return Err(LineError::new(at + 1, "the interface's name is longer than 15 characters"));
    }
    let mut can = CanLine { time_ns, dated, interface, id: 0, flags: 0, len: 0, data: [0; 64] };
    let missing = |what: &str| LineError::new(line.len() + 1, what.to_owned());
    let mut next = words.next().ok_or_else(|| missing("the identifier is missing"))?;
    if matches!(next.1, b"TX" | b"RX") {
        for (letter, flag) in [(b"B", CanFrame::RATE_SWITCH), (b"E", CanFrame::ERROR_STATE)] {
            let (at, word) = words.next().ok_or_else(|| missing("the frame's flags are missing"))?;
            match word {
                b"-" => {}
                w if w == letter => can.flags |= flag,
                _ => return Err(LineError::new(at + 1, "expected the flags `B` or `-`, then `E` or `-`")),
            }
        }
        next = words.next().ok_or_else(|| missing("the identifier is missing"))?;
    }
    can.id = identifier(next)?;
    let length = words.next().ok_or_else(|| missing("the length in brackets is missing"))?;
    let fd = length_of(length, &mut can)?;
    rest(&mut words, fd, &mut can)?;
    Ok(Some(can))
}

/// The words of a line, apart by blanks.
struct Words<'a> {
    line: &'a [u8],
    at: usize,
}

impl Words<'_> {
    fn peek(&self) -> usize {
        self.at + self.line[self.at..].iter().take_while(|b| **b == b' ').count()
    }
}

impl<'a> Iterator for Words<'a> {
    type Item = (usize, &'a [u8]);

    fn next(&mut self) -> Option<(usize, &'a [u8])> {
        let at = self.peek();
        let length = self.line[at..].iter().take_while(|b| **b != b' ').count();
        self.at = at + length;
        (length > 0).then(|| (at, &self.line[at..at + length]))
    }
}

fn identifier((at, word): (usize, &[u8])) -> Result<u32, LineError> {
    let mut id = 0u32;
    for (i, b) in word.iter().enumerate() {
        match HEX[usize::from(*b)] {
            d @ 0..=15 if i < 8 => id = id << 4 | u32::from(d),
            _ => return Err(LineError::new(at + i + 1, "the identifier must be 3 or 8 hexadecimal digits")),
        }
    }
    flagged(id, word.len(), at)
}

/// The length in brackets; whether the frame is an FD frame: two digits say so.
fn length_of((at, word): (usize, &[u8]), can: &mut CanLine<'_>) -> Result<bool, LineError> {
    let refused = || LineError::new(at + 1, "the length must stand in brackets: `[0]` to `[8]`, FD `[00]` to `[64]`");
    match word {
        [b'[', d @ b'0'..=b'8', b']'] => can.len = d - b'0',
        [b'[', a @ b'0'..=b'6', b @ b'0'..=b'9', b']'] => {
            can.len = (a - b'0') * 10 + (b - b'0');
            fd_length(can.len, at + 2)?;
            can.flags |= CanFrame::FD;
            return Ok(true);
        }
        _ => return Err(refused()),
    }
    can.flags = 0;
    Ok(false)
}

/// Data bytes, and what may stand behind them.
fn rest(words: &mut Words<'_>, fd: bool, can: &mut CanLine<'_>) -> Result<(), LineError> {
    let begin = words.peek();
    if words.line[begin..].starts_with(b"remote request") && !fd {
        can.id |= CanFrame::REMOTE;
        return Ok(());
    }
    for i in 0..usize::from(can.len) {
        let at = words.peek();
        let byte = match words.next() {
            Some((_, &[a, b])) => (HEX[usize::from(a)], HEX[usize::from(b)]),
            Some((_, [b'0' | b'1', ..])) => {
                return Err(LineError::new(at + 1, "more than two digits a byte: record without -i and -S"));
            }
            _ => (0xFF, 0xFF),
        };
        if (byte.0 | byte.1) > 15 {
            let what = format!("data byte {} of {} is missing or is not two hexadecimal digits", i + 1, can.len);
            return Err(LineError::new(at + 1, what));
        }
        can.data[i] = byte.0 << 4 | byte.1;
    }
    let at = words.peek();
    match &words.line[at..] {
        [] | [b'\'', ..] => Ok(()),
        t if t.starts_with(b"ERRORFRAME") && can.id & CanFrame::ERROR != 0 => Ok(()),
        _ => Err(LineError::new(at + 1, "unexpected text behind the data bytes")),
    }
}
