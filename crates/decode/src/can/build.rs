//! Checks what databases say, message by message, and compiles it. What is wrong with a message or a signal takes that
//! message or signal out, never its neighbours.

mod compile;
mod multiplexing;
mod signals;

use super::database::{CanDatabase, Note, Outcome};
use super::dbc::{At, DatabaseText, DbcError, DbcFault, MessageText, Statements};
use super::frame::CanFrame;
use super::j1939::{self, Senders};
use super::signal::{Code, Place, Value};
use std::collections::BTreeMap;

/// The pseudo-message that holds signals of no message: its identifier and its name (common practice, no source).
const NO_MESSAGE: (u64, &str) = (0xC000_0000, "VECTOR__INDEPENDENT_SIG_MSG");

/// A database of which every message can be compiled.
pub(super) struct FilePart {
    file: String,
    messages: Vec<Draft>,
    notes: Vec<Note>,
    senders: Senders,
}

/// A message that passed its checks.
#[derive(Clone, Debug)]
struct Draft {
    at: At,
    id: u32,
    name: String,
    length: u8,
    signals: Vec<Checked>,
}

/// A signal that passed its checks.
#[derive(Clone, Debug)]
struct Checked {
    at: At,
    /// As other statements call it.
    short_name: String,
    name: String,
    place: Place,
    signed: bool,
    value: Value,
    unit: String,
    /// Its multiplexor (short name), and the values under which it is there.
    under: Option<(String, Vec<(u64, u64)>)>,
    codes: Vec<Code>,
    words: Vec<(i64, String)>,
    doubt: Option<String>,
}

impl Draft {
    /// Whether another database says the same.
    fn is_same(&self, other: &Draft) -> bool {
        let same = |a: &Checked, b: &Checked| {
            let name = a.name == b.name && a.unit == b.unit && a.under == b.under;
            name && a.place == b.place && a.signed == b.signed && a.value == b.value && a.codes == b.codes
        };
        let signals = self.signals.len() == other.signals.len();
        let all = || self.signals.iter().all(|a| other.signals.iter().any(|b| same(a, b)));
        self.id == other.id && self.name == other.name && self.length == other.length && signals && all()
    }
}

/// What the later statements of a file say, by identifier and signal.
struct Later<'a> {
    statements: &'a Statements,
    j1939: bool,
    selections: BTreeMap<(u64, &'a str), Vec<usize>>,
    value_types: BTreeMap<(u64, &'a str), u64>,
    words: BTreeMap<(u64, &'a str), &'a [(i64, String)]>,
    long_names: BTreeMap<(u64, Option<&'a str>), &'a str>,
    /// Messages by identifier and by name, to find those that are there twice.
    ids: BTreeMap<u64, Vec<&'a MessageText>>,
    names: BTreeMap<&'a str, Vec<&'a MessageText>>,
}

impl<'a> Later<'a> {
    fn new(s: &'a Statements, j1939: bool) -> Later<'a> {
        let mut selections: BTreeMap<(u64, &str), Vec<usize>> = BTreeMap::new();
        for (i, x) in s.selections.iter().enumerate() {
            selections.entry((x.id, x.signal.as_str())).or_default().push(i);
        }
        let mut later = Later {
            statements: s,
            j1939,
            selections,
            value_types: s.value_types.iter().map(|v| ((v.id, v.signal.as_str()), v.kind)).collect(),
            words: s.words.iter().map(|w| ((w.id, w.signal.as_str()), w.words.as_slice())).collect(),
            long_names: s.long_names.iter().map(|n| ((n.id, n.signal.as_deref()), n.name.as_str())).collect(),
            ids: BTreeMap::new(),
            names: BTreeMap::new(),
        };
        for m in &s.messages {
            later.ids.entry(m.id).or_default().push(m);
            let name = later.name(m.id, None, &m.name);
            later.names.entry(name).or_default().push(m);
        }
        later
    }

    /// The long name of a message or signal, where there is one.
    fn name<'s>(&self, id: u64, signal: Option<&str>, short: &'s str) -> &'s str
    where
        'a: 's,
    {
        self.long_names.get(&(id, signal)).copied().filter(|n| !n.is_empty()).unwrap_or(short)
    }
}

/// Where a file's notes go.
struct Notes<'a> {
    file: &'a str,
    all: Vec<Note>,
}

impl Notes<'_> {
    fn add(&mut self, at: At, message: &str, signal: Option<&str>, what: impl ToString, outcome: Outcome) {
        let (file, message, signal) = (self.file.to_owned(), message.to_owned(), signal.map(str::to_owned));
        self.all.push(Note { file, line: at.line, message, signal, what: what.to_string(), outcome });
    }
}

/// Checks one database.
pub(super) fn database_file(d: &DatabaseText<'_>, s: &Statements) -> Result<FilePart, (At, DbcFault)> {
    let later = Later::new(s, d.j1939.unwrap_or(s.says_j1939));
    let mut notes = Notes { file: d.file, all: Vec::new() };
    if d.j1939.is_none() && s.says_j1939 {
        let what = "the database says of itself that it is J1939: codes for not available and error are no numbers";
        notes.add(At { line: 1, column: 1 }, "", None, what, Outcome::Told);
    }
    for (at, what) in &s.passed_over {
        notes.add(*at, "", None, what, Outcome::LeftOut);
    }
    dangling(s, &mut notes);
    let messages = s.messages.iter().filter_map(|m| message(&later, m, &mut notes)).collect();
    if s.messages.is_empty() {
        return Err((At { line: 1, column: 1 }, DbcFault::Empty));
    }
    Ok(FilePart { file: d.file.to_owned(), messages, notes: notes.all, senders: d.senders.clone() })
}

/// All databases of a bus as one.
pub(super) fn bus(mut parts: Vec<FilePart>) -> Result<CanDatabase, DbcError> {
    let mut all: Vec<(usize, Draft)> = Vec::new();
    for (index, part) in parts.iter_mut().enumerate() {
        for m in std::mem::take(&mut part.messages) {
            match all.iter().find(|(_, o)| o.id == m.id || o.name == m.name) {
                Some((_, other)) if other.is_same(&m) => {}
                Some((of, other)) => {
                    let id = CanFrame::data(m.id, 0, &[]).number();
                    let what = if other.id == m.id { format!("id {id:#x}") } else { "its name".to_owned() };
                    let other = format!("{}:{}", parts[*of].file, other.at.line);
                    let fault = DbcFault::Conflict { message: m.name, what, other };
                    return Err(super::dbc::error(&parts[index].file, m.at, fault));
                }
                None => all.push((index, m)),
            }
        }
    }
    compile::database(&parts, &all)
}

/// Statements about signals that are not there.
fn dangling(s: &Statements, notes: &mut Notes<'_>) {
    let there: std::collections::BTreeSet<(u64, &str)> =
        s.messages.iter().flat_map(|m| m.signals.iter().map(|g| (m.id, g.name.as_str()))).collect();
    let types = s.value_types.iter().map(|v| (v.at, "SIG_VALTYPE_", v.id, &v.signal));
    let selections = s.selections.iter().map(|v| (v.at, "SG_MUL_VAL_", v.id, &v.signal));
    let words = s.words.iter().map(|v| (v.at, "VAL_", v.id, &v.signal));
    for (at, statement, id, signal) in types.chain(selections).chain(words) {
        if !there.contains(&(id, signal.as_str())) {
            let fault = DbcFault::Dangling { statement, signal: signal.clone(), id };
            notes.add(at, "", Some(signal), fault, Outcome::LeftOut);
        }
    }
}

/// Checks a message; `None` where it is left out.
fn message(later: &Later<'_>, m: &MessageText, notes: &mut Notes<'_>) -> Option<Draft> {
    let name = later.name(m.id, None, &m.name).to_owned();
    if m.id == NO_MESSAGE.0 || m.name == NO_MESSAGE.1 {
        let what = format!("`{name}` is no message but a collection of signals without one");
        notes.add(m.at, &name, None, what, Outcome::LeftOut);
        return None;
    }
    let id = match head(later, m, &name) {
        Ok(id) => id,
        Err(fault) => {
            notes.add(m.at, &name, None, fault, Outcome::LeftOut);
            return None;
        }
    };
    let mut signals = Vec::with_capacity(m.signals.len());
    for s in &m.signals {
        match signals::check(later, m, &name, s) {
            Ok(checked) => signals.push(checked),
            Err(fault) => {
                notes.add(s.at, &name, Some(later.name(m.id, Some(&s.name), &s.name)), fault, Outcome::LeftOut)
            }
        }
    }
    if later.j1939 && id & CanFrame::EXTENDED != 0 {
        for s in signals.iter_mut().filter(|s| !s.signed && !s.value.is_float()) {
            s.codes = j1939::codes(s.place.size);
        }
        if m.length > 8 {
            let what = format!(
                "message `{name}`: {} bytes; as a J1939 message it is sent in several frames, which are not put \
                 together",
                m.length
            );
            notes.add(m.at, &name, None, what, Outcome::Told);
        }
    }
    multiplexing::resolve(later, m, &name, &mut signals, notes);
    signals::mark_overlaps(&name, &mut signals, notes);
    Some(Draft { at: m.at, id, name, length: m.length as u8, signals })
}

/// Checks name, identifier and length of a message; gives the identifier with its flag.
fn head(later: &Later<'_>, m: &MessageText, name: &str) -> Result<u32, DbcFault> {
    let message = || name.to_owned();
    let extended = u64::from(CanFrame::EXTENDED);
    let fits = m.id < 2048 || (m.id & extended != 0 && m.id <= extended + u64::from(CanFrame::ID_MASK));
    let Some(id) = u32::try_from(m.id).ok().filter(|_| fits) else {
        return Err(DbcFault::Id { message: message(), id: m.id });
    };
    let other = |all: Option<&Vec<&'_ MessageText>>| {
        let other = all.into_iter().flatten().find(|o| !std::ptr::eq(**o, m));
        other.map(|o| (o.name.clone(), o.at.line))
    };
    if let Some((other, other_line)) = other(later.ids.get(&m.id)) {
        return Err(DbcFault::DuplicateId { message: message(), id: m.id, other, other_line });
    }
    if let Some((_, other_line)) = other(later.names.get(name)) {
        return Err(DbcFault::DuplicateMessage { message: message(), other_line });
    }
    if m.length > 64 {
        return Err(DbcFault::MessageLength { message: message(), length: m.length });
    }
    Ok(id)
}
