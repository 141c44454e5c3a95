//! The statements of a database that say what is in a frame. The others are passed over.
//!
//! The forms of the statements: common practice, no source (the format's owner does not publish it freely).

use super::cursor::{Cursor, Fault};
use super::{At, DbcFault};

/// What the text says, in its order, unchecked.
#[derive(Debug, Default)]
pub(in crate::can) struct Statements {
    pub(in crate::can) messages: Vec<MessageText>,
    pub(in crate::can) value_types: Vec<ValueType>,
    pub(in crate::can) selections: Vec<Selection>,
    pub(in crate::can) words: Vec<Words>,
    pub(in crate::can) long_names: Vec<LongName>,
    /// Whether the file says of itself that its frames are J1939.
    pub(in crate::can) says_j1939: bool,
    /// What was passed over though it might have mattered.
    pub(in crate::can) passed_over: Vec<(At, String)>,
    tables: Vec<(String, Vec<(i64, String)>)>,
    /// The words of the attribute `VFrameFormat`.
    frame_formats: Vec<String>,
}

/// `BO_` and its `SG_`.
#[derive(Debug)]
pub(in crate::can) struct MessageText {
    pub(in crate::can) at: At,
    pub(in crate::can) id: u64,
    pub(in crate::can) name: String,
    pub(in crate::can) length: u64,
    pub(in crate::can) signals: Vec<SignalText>,
}

/// `SG_`.
#[derive(Debug)]
pub(in crate::can) struct SignalText {
    pub(in crate::can) at: At,
    pub(in crate::can) name: String,
    /// Marked `M`.
    pub(in crate::can) selects: bool,
    /// Marked `m` with this value.
    pub(in crate::can) selected_by: Option<u64>,
    pub(in crate::can) start: u64,
    pub(in crate::can) size: u64,
    pub(in crate::can) big_endian: bool,
    pub(in crate::can) signed: bool,
    pub(in crate::can) scale: Number,
    pub(in crate::can) offset: Number,
    pub(in crate::can) unit: String,
}

/// A number, and itself as an integer where it is one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::can) struct Number {
    pub(in crate::can) value: f64,
    pub(in crate::can) integer: Option<i64>,
}

impl Number {
    fn of(text: &str) -> Number {
        let value = text.parse().unwrap_or(f64::NAN);
        // Below 2^63 a float that is whole is an i64.
        let whole = (f64::fract(value) == 0.0 && value.abs() < 9.2e18).then_some(value as i64);
        Number { value, integer: text.parse().ok().or(whole) }
    }
}

/// `SIG_VALTYPE_`.
#[derive(Debug)]
pub(in crate::can) struct ValueType {
    pub(in crate::can) at: At,
    pub(in crate::can) id: u64,
    pub(in crate::can) signal: String,
    pub(in crate::can) kind: u64,
}

/// `SG_MUL_VAL_`.
#[derive(Debug)]
pub(in crate::can) struct Selection {
    pub(in crate::can) at: At,
    pub(in crate::can) id: u64,
    pub(in crate::can) signal: String,
    pub(in crate::can) selector: String,
    pub(in crate::can) ranges: Vec<(u64, u64)>,
}

/// `VAL_`.
#[derive(Debug)]
pub(in crate::can) struct Words {
    pub(in crate::can) at: At,
    pub(in crate::can) id: u64,
    pub(in crate::can) signal: String,
    pub(in crate::can) words: Vec<(i64, String)>,
}

/// The attribute that holds a name longer than the 32 characters that old tools take.
#[derive(Debug)]
pub(in crate::can) struct LongName {
    pub(in crate::can) id: u64,
    /// `None`: the message's own.
    pub(in crate::can) signal: Option<String>,
    pub(in crate::can) name: String,
}

const BO: &str = "`BO_ id name: bytes sender`";
const SG: &str = "`SG_ name : start|bits@order sign (scale,offset) [min|max] \"unit\" receivers`";
const VALTYPE: &str = "`SIG_VALTYPE_ id signal : 1;` (1 = 32 bits, 2 = 64)";
const MUL_VAL: &str = "`SG_MUL_VAL_ id signal selector 0-3, 5-5;`";
const VAL: &str = "`VAL_ id signal 0 \"word\" 1 \"word\" ;`";

/// Statements that end with `;` and say nothing that decoding needs.
const PASSED_OVER: &[&str] = &[
    "CM_",
    "BA_DEF_REL_",
    "BA_REL_",
    "BA_DEF_DEF_REL_",
    "BA_DEF_SGTYPE_",
    "BA_SGTYPE_",
    "EV_",
    "ENVVAR_DATA_",
    "EV_DATA_",
    "SGTYPE_",
    "SGTYPE_VAL_",
    "SIG_TYPE_REF_",
    "SIGTYPE_VALTYPE_",
    "SIG_GROUP_",
    "BO_TX_BU_",
    "CAT_DEF_",
    "CAT_",
    "FILTER",
];
/// The others.
const READ: &[&str] = &[
    "VERSION",
    "NS_",
    "BS_",
    "BU_",
    "BO_",
    "SG_",
    "SIG_VALTYPE_",
    "SG_MUL_VAL_",
    "VAL_",
    "VAL_TABLE_",
    "BA_",
    "BA_DEF_",
    "BA_DEF_DEF_",
];

fn is_keyword(word: &str) -> bool {
    READ.contains(&word) || PASSED_OVER.contains(&word)
}

impl Statements {
    /// Reads a text.
    pub(in crate::can) fn read(text: &str) -> Result<Statements, Fault> {
        let mut all = Statements::default();
        let mut c = Cursor::new(text);
        while c.peek().is_some() {
            let at = c.at();
            let word = c.word();
            match word {
                "VERSION" => {
                    c.quoted("`VERSION \"text\"`")?;
                }
                "NS_" => new_symbols(&mut c),
                "BS_" => c.skip_line(),
                "BU_" => nodes(&mut c),
                "BO_" => {
                    let message = message(&mut c, at)?;
                    all.messages.push(message);
                }
                "SIG_VALTYPE_" => {
                    let v = value_type(&mut c, at)?;
                    all.value_types.push(v);
                    c.skip_statement(at)?;
                }
                "SG_MUL_VAL_" => {
                    let s = selection(&mut c, at)?;
                    all.selections.push(s);
                    c.skip_statement(at)?;
                }
                "VAL_" | "VAL_TABLE_" | "BA_" | "BA_DEF_" | "BA_DEF_DEF_" => {
                    // None of these changes a number: what cannot be read is told and passed over.
                    if let Err((place, fault)) = all.about(word, &mut c, at) {
                        all.passed_over.push((place, fault.to_string()));
                    }
                    c.skip_statement(at)?;
                }
                w if PASSED_OVER.contains(&w) => c.skip_statement(at)?,
                "SG_" => {
                    let fault = "a signal that belongs to no message; put it below its BO_";
                    return Err((at, DbcFault::Syntax(fault.to_owned())));
                }
                w if w.len() > 1 && w.ends_with('_') && w.bytes().all(|b| b == b'_' || b.is_ascii_uppercase()) => {
                    all.passed_over.push((at, format!("statement {w} is not known")));
                    c.skip_statement(at)?;
                }
                _ if c.take(';') => {}
                _ => {
                    let fault = "no DBC statement begins like this; correct it or take it out";
                    return Err((at, DbcFault::Syntax(fault.to_owned())));
                }
            }
        }
        Ok(all)
    }

    /// Value tables and attributes.
    fn about(&mut self, keyword: &str, c: &mut Cursor<'_>, at: At) -> Result<(), Fault> {
        match keyword {
            "VAL_TABLE_" => {
                let name = c.name(VAL)?.to_owned();
                let words = words(c)?;
                self.tables.push((name, words));
            }
            "VAL_" if c.peek().is_some_and(|n| n.is_ascii_digit()) => {
                let (id, signal) = (c.whole(VAL)?, c.name(VAL)?.to_owned());
                let named = match c.peek() {
                    Some(n) if n.is_alphabetic() || n == '_' => {
                        let table = c.word();
                        let found = self.tables.iter().find(|t| t.0 == table).map(|t| t.1.clone());
                        let unknown = || (at, DbcFault::Syntax(format!("there is no VAL_TABLE_ called `{table}`")));
                        Some(found.ok_or_else(unknown)?)
                    }
                    _ => None,
                };
                let words = match named {
                    Some(words) => words,
                    None => words(c)?,
                };
                self.words.push(Words { at, id, signal, words });
            }
            // Of an environment variable.
            "VAL_" => {}
            "BA_" => self.attribute(c)?,
            "BA_DEF_" => {
                if c.word() == "BO_" && c.quoted("")? == "VFrameFormat" && c.word() == "ENUM" {
                    while c.peek() == Some('"') {
                        self.frame_formats.push(c.quoted("")?);
                        c.take(',');
                    }
                }
            }
            _ => {
                let (name, is_text) = (c.quoted("")?, c.peek() == Some('"'));
                let j1939 = matches!(name.as_str(), "ProtocolType" | "VFrameFormat") && is_text;
                self.says_j1939 |= j1939 && matches!(c.quoted("")?.as_str(), "J1939" | "J1939PG");
            }
        }
        Ok(())
    }

    fn attribute(&mut self, c: &mut Cursor<'_>) -> Result<(), Fault> {
        const FORM: &str = "`BA_ \"name\" BO_ id value;`";
        let name = c.quoted(FORM)?;
        match name.as_str() {
            "ProtocolType" => self.says_j1939 = c.quoted(FORM)?.eq_ignore_ascii_case("J1939"),
            "VFrameFormat" if c.word() == "BO_" => {
                c.whole(FORM)?;
                let format = if c.peek() == Some('"') {
                    c.quoted(FORM)?
                } else {
                    let n = usize::try_from(c.whole(FORM)?).unwrap_or(usize::MAX);
                    self.frame_formats.get(n).cloned().unwrap_or_default()
                };
                self.says_j1939 |= format == "J1939PG";
            }
            "SystemMessageLongSymbol" if c.word() == "BO_" => {
                let (id, name) = (c.whole(FORM)?, c.quoted(FORM)?);
                self.long_names.push(LongName { id, signal: None, name });
            }
            "SystemSignalLongSymbol" if c.word() == "SG_" => {
                let (id, signal) = (c.whole(FORM)?, Some(c.name(FORM)?.to_owned()));
                let name = c.quoted(FORM)?;
                self.long_names.push(LongName { id, signal, name });
            }
            _ => {}
        }
        Ok(())
    }
}

/// Lines of nothing but keywords below `NS_ :`.
fn new_symbols(c: &mut Cursor<'_>) {
    c.take(':');
    loop {
        let next = c.peek_word();
        let symbol = |w: &str| (w.ends_with('_') || w == "FILTER") && !matches!(w, "BS_" | "BU_" | "BO_");
        if next.is_empty() || !c.line().split_whitespace().all(symbol) {
            return;
        }
        c.skip_line();
    }
}

/// Names of nodes up to the next statement.
fn nodes(c: &mut Cursor<'_>) {
    c.take(':');
    while !c.peek_word().is_empty() && !is_keyword(c.peek_word()) {
        c.word();
        while c.take(',') || c.take('-') || c.take('.') {}
    }
    c.take(';');
}

fn message(c: &mut Cursor<'_>, at: At) -> Result<MessageText, Fault> {
    let (id, name) = (c.whole(BO)?, c.name(BO)?.to_owned());
    c.need(':', BO)?;
    let length = c.whole(BO)?;
    // The sender may be missing.
    if !is_keyword(c.peek_word()) {
        c.word();
    }
    let mut signals = Vec::new();
    while c.peek_word() == "SG_" {
        let at = c.at();
        c.word();
        signals.push(signal(c, at)?);
    }
    Ok(MessageText { at, id, name, length, signals })
}

fn signal(c: &mut Cursor<'_>, at: At) -> Result<SignalText, Fault> {
    let name = c.name(SG)?.to_owned();
    let (mut selects, mut selected_by) = (false, None);
    if c.peek() != Some(':') {
        (selects, selected_by) = multiplexing(c)?;
    }
    c.need(':', SG)?;
    let start = c.whole(SG)?;
    c.need('|', SG)?;
    let size = c.whole(SG)?;
    c.need('@', SG)?;
    let big_endian = match (c.take('0'), c.take('1')) {
        (true, false) => true,
        (false, true) => false,
        _ => return Err(c.unexpected(SG)),
    };
    let signed = match (c.take('-'), c.take('+')) {
        (true, false) => true,
        (false, true) => false,
        _ => return Err(c.unexpected(SG)),
    };
    c.need('(', SG)?;
    let scale = Number::of(c.number(SG)?);
    c.need(',', SG)?;
    let offset = Number::of(c.number(SG)?);
    c.need(')', SG)?;
    // What its editor takes for plausible: many write 0|0, so it is not used.
    c.need('[', SG)?;
    c.number(SG).ok();
    c.need('|', SG)?;
    c.number(SG).ok();
    c.need(']', SG)?;
    let unit = c.quoted(SG)?;
    while !c.peek_word().is_empty() && !is_keyword(c.peek_word()) {
        c.word();
        c.take(',');
    }
    Ok(SignalText { at, name, selects, selected_by, start, size, big_endian, signed, scale, offset, unit })
}

/// `M`, `m0`, `m0M`.
fn multiplexing(c: &mut Cursor<'_>) -> Result<(bool, Option<u64>), Fault> {
    let at = c.at();
    let word = c.word();
    if word == "M" {
        return Ok((true, None));
    }
    let digits = word.strip_prefix('m').map(|d| d.strip_suffix('M').unwrap_or(d));
    match digits.map(str::parse::<u64>) {
        Some(Ok(value)) => Ok((word.ends_with('M'), Some(value))),
        _ if word == "m" => {
            let fault = "the signal is marked `m` without a multiplexor value; add it";
            Err((at, DbcFault::Syntax(fault.to_owned())))
        }
        _ => {
            let fault = format!("`{word}` is none of M, m and a number, m and a number and M; the form is {SG}");
            Err((at, DbcFault::Syntax(fault)))
        }
    }
}

fn value_type(c: &mut Cursor<'_>, at: At) -> Result<ValueType, Fault> {
    let (id, signal) = (c.whole(VALTYPE)?, c.name(VALTYPE)?.to_owned());
    c.take(':');
    let kind = c.whole(VALTYPE)?;
    Ok(ValueType { at, id, signal, kind })
}

fn selection(c: &mut Cursor<'_>, at: At) -> Result<Selection, Fault> {
    let id = c.whole(MUL_VAL)?;
    let (signal, selector) = (c.name(MUL_VAL)?.to_owned(), c.name(MUL_VAL)?.to_owned());
    let mut ranges = Vec::new();
    loop {
        let place = c.at();
        let low = c.whole(MUL_VAL)?;
        c.need('-', MUL_VAL)?;
        let high = c.whole(MUL_VAL)?;
        if high < low {
            let fault = format!("the range {low}-{high} ends before it begins; turn it round");
            return Err((place, DbcFault::Syntax(fault)));
        }
        ranges.push((low, high));
        c.take(',');
        if !c.peek().is_some_and(|n| n.is_ascii_digit()) {
            return Ok(Selection { at, id, signal, selector, ranges });
        }
    }
}

/// Values and their words up to the end of the statement.
fn words(c: &mut Cursor<'_>) -> Result<Vec<(i64, String)>, Fault> {
    let mut words = Vec::new();
    while !matches!(c.peek(), None | Some(';')) {
        let at = c.at();
        let number = c.number(VAL)?;
        let Some(value) = Number::of(number).integer else {
            return Err((at, DbcFault::Syntax(format!("`{number}` is no whole number; the form is {VAL}"))));
        };
        words.push((value, c.quoted(VAL)?));
    }
    Ok(words)
}
