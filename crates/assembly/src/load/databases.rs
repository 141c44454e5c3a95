//! The databases of a CAN bus, and the raw values that a channel map declares to be no number.

use super::instruments::REASONS;
use super::{LoadedSource, Text};
use crate::config::databases::{DatabaseEntry, SendersEntry, SignalNothing};
use crate::files::{Files, beside};
use crate::nearest;
use crate::problem::{Problem, Problems, rest_of_line};
use decode::can::j1939::Senders;
use decode::can::{CanDatabase, Code, DatabaseText};
use std::path::Path;
use toml::Spanned;

/// Reads all databases of a bus; `at` is the name of its source in the run file.
pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    run: &Text,
    at: &Spanned<String>,
    entries: &[Spanned<DatabaseEntry>],
    notes: &mut Vec<String>,
    bad: &mut Problems,
) -> Option<CanDatabase> {
    if entries.is_empty() {
        let message = format!("source {:?} has no CAN database", at.get_ref());
        bad.0.push(run.problem(at, message, "write databases = [\"bus.dbc\"]"));
        return None;
    }
    let mut texts: Vec<Text> = Vec::new();
    for e in entries {
        match Text::open(files, &beside(run_path, e.get_ref().0.file.get_ref())) {
            Ok(text) if texts.iter().any(|t| t.name == text.name) => {
                let message = format!("database {} is named twice", text.name);
                bad.0.push(run.problem(e, message, "name each database once"));
            }
            Ok(text) => texts.push(text),
            Err(p) => bad.0.push(run.problem(e, p.message, p.help)),
        }
    }
    if texts.len() < entries.len() {
        return None;
    }
    let all: Vec<DatabaseText<'_>> = entries
        .iter()
        .zip(&texts)
        .map(|(e, text)| DatabaseText {
            file: &text.name,
            text: &text.text,
            j1939: e.get_ref().0.j1939,
            senders: match &e.get_ref().0.senders {
                None => Senders::AsWritten,
                Some(SendersEntry::Any) => Senders::Any,
                Some(SendersEntry::These(list)) => Senders::These(list.clone()),
            },
        })
        .collect();
    match CanDatabase::load_all(&all) {
        Ok(database) => {
            notes.extend(database.notes().iter().map(ToString::to_string));
            Some(database)
        }
        Err(e) => {
            let text = texts.iter().find(|t| t.name == e.file)?;
            let span = rest_of_line(&text.text, e.line, e.column);
            bad.0.push(Problem::at(&text.name, &text.text, Some(span), e.fault.to_string(), ""));
            None
        }
    }
}

/// What a run that asks for a filter does not keep.
pub(crate) fn filter_note(source: &str, options: &plugin_api::Options) -> Option<String> {
    #[derive(serde::Deserialize)]
    struct Filter {
        keep_only: Option<Vec<String>>,
    }
    let list = options.read::<Filter>().ok()?.keep_only?;
    let all = list.join(", ");
    Some(format!(
        "source {source:?} keeps only frames of {all} (keep_only): the others are not recorded, for no later map"
    ))
}

/// A channel's `nothing`: where it stands and which reading it is about.
pub(crate) struct Declared {
    pub(crate) text: Text,
    pub(crate) at: Spanned<Vec<SignalNothing>>,
    pub(crate) source: usize,
    pub(crate) reading: usize,
}

/// Declares the raw values of a map that are no number.
pub(crate) fn declare(all: &[Declared], sources: &mut [LoadedSource], bad: &mut Problems) {
    for (i, d) in all.iter().enumerate() {
        let (Some(source), before) = (sources.get_mut(d.source), bad.0.len()) else { continue };
        let name = source.name.clone();
        let Some(database) = source.decoder.as_mut().and_then(|d| d.can_database_mut()) else {
            let message = format!("source {name:?} has no CAN database: `nothing` is for its signals");
            let help = "for a serial device write it into the instrument file";
            bad.0.push(d.text.problem(&d.at, message, help));
            continue;
        };
        if all[..i].iter().any(|o| (o.source, o.reading) == (d.source, d.reading)) {
            let message = "another channel of the same signal has declared what is no value in it already";
            bad.0.push(d.text.problem(&d.at, message, "declare it once, it holds for the signal"));
            continue;
        }
        let reading = d.reading as u16;
        let codes: Vec<Code> = d.at.get_ref().iter().filter_map(|n| code(d, n, database.words(reading), bad)).collect();
        if bad.0.len() > before {
            continue;
        }
        if let Err(e) = database.declare(reading, codes) {
            bad.0.push(d.text.problem(&d.at, e.to_string(), ""));
        }
    }
}

fn code(d: &Declared, n: &SignalNothing, words: &[(i64, String)], bad: &mut Problems) -> Option<Code> {
    let reason = super::word(&d.text, &n.reason, REASONS, "reason", bad);
    let (low, high) = match (n.raw, n.to, &n.word) {
        (Some(raw), to, None) if to.is_none_or(|to| to >= raw) => (raw, to.unwrap_or(raw)),
        (None, None, Some(word)) => match words.iter().find(|w| w.1 == *word) {
            Some((raw, _)) => (*raw, *raw),
            None => {
                let known = nearest::list(word, words.iter().map(|w| w.1.as_str()));
                let message = format!("the signal's value table has no word {word:?}");
                let help =
                    if words.is_empty() { "it has none: write raw = ...".into() } else { format!("it has: {known}") };
                bad.0.push(d.text.problem(&n.reason, message, help));
                return None;
            }
        },
        _ => {
            let message = "an entry of `nothing` has `raw`, `raw` and `to`, or `word`";
            bad.0.push(d.text.problem(&n.reason, message, "write { raw = 255, reason = \"not-available\" }"));
            return None;
        }
    };
    Some(Code { low: i128::from(low), high: i128::from(high), reason: reason? })
}
