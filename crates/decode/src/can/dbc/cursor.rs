//! Walks over a database's text and knows the line.

use super::{At, DbcFault};

pub(super) type Fault = (At, DbcFault);

/// A place in the text, and what can be taken from there on.
pub(super) struct Cursor<'a> {
    text: &'a str,
    /// Byte.
    pos: usize,
    line: usize,
    /// Byte that the line begins at.
    line_start: usize,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(text: &'a str) -> Cursor<'a> {
        Cursor { text, pos: 0, line: 1, line_start: 0 }
    }

    /// Where it stands, past blanks and comments.
    pub(super) fn at(&mut self) -> At {
        self.skip_blank();
        let column = self.text.get(self.line_start..self.pos).map_or(0, |t| t.chars().count()) + 1;
        At { line: self.line, column }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.pos..).unwrap_or("")
    }

    fn step(&mut self) -> Option<char> {
        let c = self.rest().chars().next()?;
        self.pos += c.len_utf8();
        if c == '\n' {
            self.line += 1;
            self.line_start = self.pos;
        }
        Some(c)
    }

    /// Past white space, `// ...`, `/* ... */` and the end mark that old editors write.
    fn skip_blank(&mut self) {
        loop {
            let rest = self.rest();
            if rest.starts_with("//") {
                while self.rest().chars().next().is_some_and(|c| c != '\n') {
                    self.step();
                }
            } else if rest.starts_with("/*") {
                let end = rest.find("*/").map_or(rest.len(), |n| n + 2);
                let end = self.pos + end;
                while self.pos < end && self.step().is_some() {}
            } else if rest.starts_with(|c: char| c.is_whitespace() || c == '\u{1a}') {
                self.step();
            } else {
                return;
            }
        }
    }

    /// The next character that is not blank.
    pub(super) fn peek(&mut self) -> Option<char> {
        self.skip_blank();
        self.rest().chars().next()
    }

    /// Takes this character if it is the next.
    pub(super) fn take(&mut self, c: char) -> bool {
        let there = self.peek() == Some(c);
        if there {
            self.step();
        }
        there
    }

    /// Takes this character.
    pub(super) fn need(&mut self, c: char, form: &str) -> Result<(), Fault> {
        if self.take(c) { Ok(()) } else { Err(self.unexpected(form)) }
    }

    fn while_in(&mut self, holds: impl Fn(char) -> bool) -> &'a str {
        self.skip_blank();
        let rest = self.rest();
        let end = rest.find(|c| !holds(c)).unwrap_or(rest.len());
        self.pos += end;
        rest.get(..end).unwrap_or("")
    }

    /// Letters, digits and `_`; empty where something else stands.
    pub(super) fn word(&mut self) -> &'a str {
        self.while_in(is_word)
    }

    /// The next word, which stays where it is.
    pub(super) fn peek_word(&mut self) -> &'a str {
        let pos = self.pos;
        let (line, line_start) = (self.line, self.line_start);
        let word = self.word();
        (self.pos, self.line, self.line_start) = (pos, line, line_start);
        word
    }

    /// A name: everything up to a blank or a character of the statements.
    pub(super) fn name(&mut self, form: &str) -> Result<&'a str, Fault> {
        let name = self.while_in(|c| !c.is_whitespace() && !":;,\"|@()[]".contains(c));
        if name.is_empty() { Err(self.unexpected(form)) } else { Ok(name) }
    }

    /// An unsigned whole number.
    pub(super) fn whole(&mut self, form: &str) -> Result<u64, Fault> {
        let at = self.at();
        let digits = self.while_in(|c| c.is_ascii_digit());
        let glued = self.rest().starts_with(is_word);
        if digits.is_empty() || glued {
            self.pos -= digits.len();
            return Err(self.unexpected(form));
        }
        digits.parse().map_err(|_| (at, DbcFault::Syntax(format!("{digits} is too large a number; correct it"))))
    }

    /// A number as it is written.
    pub(super) fn number(&mut self, form: &str) -> Result<&'a str, Fault> {
        let at = self.at();
        let number = self.while_in(|c| c.is_ascii_alphanumeric() || "+-.#".contains(c));
        if number.is_empty() {
            return Err(self.unexpected(form));
        }
        match number.parse::<f64>() {
            Ok(_) => Ok(number),
            Err(_) => Err((at, DbcFault::Syntax(format!("`{number}` is no number; the form is {form}")))),
        }
    }

    /// A text in quotation marks; `\"` stands for one in it.
    pub(super) fn quoted(&mut self, form: &str) -> Result<String, Fault> {
        let at = self.at();
        self.need('"', form)?;
        let mut text = String::new();
        while let Some(c) = self.step() {
            match c {
                '"' => return Ok(text),
                '\\' if self.rest().starts_with('"') => text.extend(self.step()),
                _ => text.push(c),
            }
        }
        let fault = "the text that begins here has no closing quotation mark; add it";
        Err((at, DbcFault::Syntax(fault.to_owned())))
    }

    /// Past the `;` that ends the statement.
    pub(super) fn skip_statement(&mut self, begun: At) -> Result<(), Fault> {
        loop {
            match self.peek() {
                None => return Ok(()),
                Some(';') => {
                    self.step();
                    return Ok(());
                }
                Some('"') => {
                    self.quoted("")?;
                }
                Some(_) if self.is_message() => {
                    let fault = "the statement that begins here is not ended by `;` before the next message; add it";
                    return Err((begun, DbcFault::Syntax(fault.to_owned())));
                }
                Some(c) if is_word(c) => {
                    self.word();
                }
                Some(_) => {
                    self.step();
                }
            }
        }
    }

    /// Whether a message begins here: `BO_ 1 NAME:` at the begin of a line.
    fn is_message(&self) -> bool {
        let before = self.text.get(self.line_start..self.pos).unwrap_or("");
        if !before.trim().is_empty() || !self.rest().starts_with("BO_") {
            return false;
        }
        let mut ahead = Cursor::new(self.rest());
        ahead.word();
        ahead.whole("").is_ok() && ahead.name("").is_ok() && ahead.take(':')
    }

    /// Past the rest of the line.
    pub(super) fn skip_line(&mut self) {
        while self.step().is_some_and(|c| c != '\n') {}
    }

    /// The rest of the line.
    pub(super) fn line(&self) -> &'a str {
        self.rest().lines().next().unwrap_or("")
    }

    /// What stands here instead of what the form says.
    pub(super) fn unexpected(&mut self, form: &str) -> Fault {
        let at = self.at();
        let found: String = self.rest().split_whitespace().next().unwrap_or("").chars().take(40).collect();
        let fault = if found.is_empty() {
            format!("the file ends before its statement does; the form is {form}")
        } else {
            format!("the statement cannot be read from `{found}` on; the form is {form}")
        };
        (at, DbcFault::Syntax(fault))
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}
