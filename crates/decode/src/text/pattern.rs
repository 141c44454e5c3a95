//! Lines by a pattern: literal text, and fields between it.
//!
//! ```text
//! ST,{weight}kg            {name}     a field, up to the next literal text or the end of the line
//! {t:6}{p:8}               {name:6}   a field of exactly 6 characters, for columns without separators
//! {}:{level} m             {}, {:3}   text that is not read
//! T {a} {b}                a blank    one blank or more, tabs too
//! {{                       a brace
//! ```
//! Blanks around a field are not part of it. A line must fit from its first character to its last.

use super::{Misfit, TextFormatError};

/// What a pattern is made of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    /// Text that must stand there; a blank in it stands for one blank or more.
    Literal(String),
    /// A field by its place in the list of names, or none where it is not read; its width where that is told.
    Field(Option<usize>, Option<usize>),
}

/// A compiled pattern.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pattern {
    pieces: Vec<Piece>,
}

impl Pattern {
    /// Compiles a pattern; the names of its fields, in their order.
    pub(super) fn new(text: &str, comma: bool) -> Result<(Pattern, Vec<String>), TextFormatError> {
        let wrong = |what| TextFormatError::Pattern { pattern: text.to_owned(), what };
        let (mut pieces, mut names, mut literal) = (Vec::new(), Vec::<String>::new(), String::new());
        let mut rest = text;
        while let Some(c) = rest.chars().next() {
            if let Some(after) = rest.strip_prefix("{{").or_else(|| rest.strip_prefix("}}")) {
                literal.push(c);
                rest = after;
            } else if c == '{' {
                let (inside, after) = rest[1..].split_once('}').ok_or_else(|| wrong("a { is not closed by }"))?;
                if !literal.is_empty() {
                    pieces.push(Piece::Literal(std::mem::take(&mut literal)));
                }
                pieces.push(field(inside, &mut names).map_err(wrong)?);
                rest = after;
            } else if c == '}' || matches!(c, '\r' | '\n') {
                return Err(wrong("it holds a } without its {, or an end of line; }} stands for a brace"));
            } else {
                literal.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
        if !literal.is_empty() {
            pieces.push(Piece::Literal(literal));
        }
        let open = |p: &Piece| matches!(p, Piece::Field(_, None));
        if pieces.windows(2).any(|w| open(&w[0]) && matches!(w[1], Piece::Field(..))) {
            return Err(wrong(
                "two fields stand side by side: write text between them, or how wide the first is: {a:6}",
            ));
        }
        let numeric = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-') || c == if comma { ',' } else { '.' };
        let swallowed = |w: &[Piece]| match w {
            [Piece::Field(Some(_), None), Piece::Literal(text)] => text.starts_with(numeric),
            _ => false,
        };
        if pieces.windows(2).any(swallowed) {
            return Err(wrong(
                "text that numbers are written with stands right behind a field, which may end too early",
            ));
        }
        match names.is_empty() {
            true => Err(wrong("it names no field: {name}")),
            false => Ok((Pattern { pieces }, names)),
        }
    }

    /// Text that every line begins with, up to a blank.
    pub(super) fn begins_with(&self) -> Option<&str> {
        match self.pieces.first() {
            Some(Piece::Literal(text)) => text.split(' ').next(),
            _ => None,
        }
    }

    /// Finds the fields of a line: hands over each one's place in the list of names, where it begins, and its text.
    pub(super) fn cut<'a>(
        &self,
        line: &'a [u8],
        mut each: impl FnMut(usize, usize, &'a [u8]) -> Result<(), Misfit>,
    ) -> Result<(), (usize, Misfit)> {
        let mut at = 0;
        for (i, piece) in self.pieces.iter().enumerate() {
            match piece {
                Piece::Literal(text) => at = literal(line, at, text).ok_or((at, Misfit::Literal))?,
                Piece::Field(name, width) => {
                    let end = match (width, self.pieces.get(i + 1)) {
                        (Some(width), _) => at + width,
                        (None, Some(Piece::Literal(text))) => {
                            let from = at + blanks(&line[at..]);
                            (from..=line.len())
                                .find(|e| literal(line, *e, text).is_some())
                                .ok_or((at, Misfit::Literal))?
                        }
                        (None, _) => line.len(),
                    };
                    let text = line.get(at..end).ok_or((line.len(), Misfit::Short))?;
                    if let Some(name) = name {
                        let begin = at + blanks(text);
                        each(*name, begin, text.trim_ascii()).map_err(|what| (begin, what))?;
                    }
                    at = end;
                }
            }
        }
        at += blanks(&line[at..]);
        if at < line.len() { Err((at, Misfit::Rest)) } else { Ok(()) }
    }
}

/// Between braces: `name`, `name:6`, nothing, `:6`.
fn field(inside: &str, names: &mut Vec<String>) -> Result<Piece, &'static str> {
    let (name, width) = match inside.split_once(':') {
        None => (inside, None),
        Some((name, width)) => {
            let width = width.parse().ok().filter(|w| (1..=65_535).contains(w));
            (name, Some(width.ok_or("behind the : of a field stands how many characters it is wide: {a:6}")?))
        }
    };
    if name.is_empty() {
        return Ok(Piece::Field(None, width));
    }
    if names.iter().any(|n| n == name) {
        return Err("it names a field twice");
    }
    names.push(name.to_owned());
    Ok(Piece::Field(Some(names.len() - 1), width))
}

/// Where literal text that begins at `at` ends in the line.
fn literal(line: &[u8], mut at: usize, text: &str) -> Option<usize> {
    let mut rest = text.as_bytes();
    while let [byte, after @ ..] = rest {
        if *byte == b' ' {
            let count = blanks(line.get(at..)?);
            if count == 0 {
                return None;
            }
            at += count;
            rest = rest.trim_ascii_start();
        } else {
            if line.get(at) != Some(byte) {
                return None;
            }
            at += 1;
            rest = after;
        }
    }
    Some(at)
}

fn blanks(text: &[u8]) -> usize {
    text.iter().take_while(|b| matches!(b, b' ' | b'\t')).count()
}
