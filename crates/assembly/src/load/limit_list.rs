//! Limit files -> limits.

mod known;
mod numbers;
mod together;

use super::Text;
use crate::config;
use crate::config::limits::{LimitTable, LimitsFile};
use crate::files::{Files, beside};
use crate::problem::Problems;
pub(crate) use known::Known;
use limits::settings::Key;
use limits::spec::{LONGEST_SHELVING, Together};
use limits::{Basis, Group, Kind, Limit, LimitError, LimitSpec};
use std::ops::Range;
use std::path::Path;
use stream::{ChannelId, Span};
use toml::Spanned;

/// Columns whose own problems have been told.
pub(crate) struct Told {
    /// Channels of the maps, those with problems included.
    pub(crate) names: Vec<String>,
    /// A map or the pack could not be read: any column may have stood there.
    pub(crate) everything: bool,
}

/// A limit of a file, with its place.
struct Written {
    text: Text,
    table: Spanned<LimitTable>,
    /// `None` where it has problems, which have been told.
    spec: Option<LimitSpec>,
}

pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    run: &Text,
    paths: &[Spanned<String>],
    known: &Known<'_>,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) -> Vec<Limit> {
    let mut all: Vec<Written> = Vec::new();
    let mut groups: Vec<Group> = Vec::new();
    let open = |p: &Spanned<String>, bad: &mut Problems| {
        let text = Text::open(files, &beside(run_path, p.get_ref()));
        text.map_err(|e| bad.0.push(run.problem(p, e.message, e.help))).ok()
    };
    let texts: Vec<Text> = match files.other_limits() {
        Some(others) => others.iter().map(|(name, text)| Text { name: name.clone(), text: text.clone() }).collect(),
        None => paths.iter().filter_map(|p| open(p, bad)).collect(),
    };
    for text in texts {
        if let Some(file) = bad.take(config::read::<LimitsFile>(&text.name, &text.text).map_err(Problems::from)) {
            one_file(known, &text, file, &mut groups, &mut all, notes, bad);
        }
    }
    together::resolve(&mut all, bad);
    all.into_iter().filter_map(|w| w.limit(bad)).collect()
}

/// The limits of one file alone.
pub(crate) fn of_file(
    files: &Files,
    path: &Path,
    known: &Known<'_>,
    notes: &mut Vec<String>,
) -> Result<Vec<Limit>, Problems> {
    let text = Text::open(files, path)?;
    let file = config::read::<LimitsFile>(&text.name, &text.text)?;
    let mut bad = Problems::default();
    let mut all = Vec::new();
    one_file(known, &text, file, &mut Vec::new(), &mut all, notes, &mut bad);
    together::resolve(&mut all, &mut bad);
    let limits = all.into_iter().filter_map(|w| w.limit(&mut bad)).collect();
    bad.none()?;
    Ok(limits)
}

/// Takes the limits of a file.
fn one_file(
    known: &Known<'_>,
    text: &Text,
    file: LimitsFile,
    groups: &mut Vec<Group>,
    all: &mut Vec<Written>,
    notes: &mut Vec<String>,
    bad: &mut Problems,
) {
    let first = groups.len();
    for g in &file.group {
        let name = g.name.get_ref();
        if name.trim().is_empty() || groups.iter().any(|o| o.name == *name) {
            let message = format!("two groups are called {name:?}, or a group has no name");
            bad.0.push(text.problem(&g.name, message, "give each a name of its own"));
        }
        groups.push(Group { name: name.clone(), window: text.duration(Some(&g.window), Span::ZERO, bad) });
    }
    let mut nobody = 0;
    for table in file.limit {
        let t = table.get_ref();
        if all.iter().any(|o| o.table.get_ref().name.get_ref() == t.name.get_ref()) {
            let message = format!("two limits are called {:?}", t.name.get_ref());
            bad.0.push(text.problem(&t.name, message, "give one of them another name"));
        }
        let by = t.entered_by.as_ref().or(file.entered_by.as_ref());
        let on = t.entered_on.as_ref().or(file.entered_on.as_ref());
        nobody += usize::from(by.is_none_or(|b| b.trim().is_empty()));
        let entered = entered(text, by, on, bad);
        let spec = known.limit(text, &table, &groups[first..], bad).map(|s| LimitSpec { entered, ..s });
        all.push(Written { text: text.clone(), table, spec });
    }
    if nobody > 0 {
        notes.push(format!(
            "{}: nobody is named who entered {nobody} of its limits; write entered_by and entered_on at its head",
            text.name
        ));
    }
}

/// `A. Person, 2026-03-01`.
fn entered(text: &Text, by: Option<&String>, on: Option<&Spanned<String>>, bad: &mut Problems) -> String {
    if let Some(on) = on
        && on.get_ref().parse::<jiff::civil::Date>().is_err()
    {
        let message = format!("{:?} is not a date", on.get_ref());
        bad.0.push(text.problem(on, message, "write year, month and day: 2026-03-01"));
    }
    let parts = [by.map(|b| b.trim()), on.map(|o| o.get_ref().trim())];
    parts.into_iter().flatten().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", ")
}

impl Known<'_> {
    fn limit(&self, text: &Text, at: &Spanned<LimitTable>, groups: &[Group], bad: &mut Problems) -> Option<LimitSpec> {
        const BASES: &[(Basis, &str)] = &[(Basis::Snapshot, "snapshot"), (Basis::EverySample, "sample")];
        let before = bad.0.len();
        let t = at.get_ref();
        let column = self.column(text, &t.column, bad);
        let kinds: Vec<(&'static Kind, &str)> = limits::kinds::KINDS.iter().map(|k| (*k, k.name)).collect();
        let kind = super::word(text, &t.kind, &kinds, "limit kind", bad);
        let numbers = match kind {
            Some(k) => Some(self.numbers(text, at, k, column, bad)),
            // Which numbers belong to it is not known; how they are written can be told.
            None => {
                let all = [&t.threshold, &t.low, &t.high, &t.per_second, &t.dead_band, &t.change];
                all.into_iter().flatten().for_each(|n| _ = self.value(text, n, None, false, bad));
                None
            }
        };
        let basis = match &t.basis {
            Some(b) => super::word(text, b, BASES, "basis", bad),
            None => Some(Basis::Snapshot),
        };
        if basis == Some(Basis::EverySample) && column.is_some_and(|c| c >= self.channels.len()) {
            let message = format!("{} is computed on snapshots only", t.column.get_ref());
            bad.0.push(text.problem(&t.column, message, "write basis = \"snapshot\""));
        }
        let enable = self.condition(text, t, bad);
        let rule = self.rule(text, t, column, bad);
        let duration =
            |t: &Option<Spanned<String>>, default, bad: &mut Problems| text.duration(t.as_ref(), default, bad);
        let on_delay = duration(&t.on_delay, Span::ZERO, bad);
        let off_delay = duration(&t.off_delay, Span::ZERO, bad);
        let hold_off = duration(&t.hold_off, Span::ZERO, bad);
        let longest_shelving = duration(&t.longest_shelving, LONGEST_SHELVING, bad);
        let n_of_m = hits(text, t, bad);
        let group = t.group.as_ref().and_then(|g| group(text, g, groups, bad));
        // A second column whose own problem has been told elsewhere is no fault of this limit.
        let lacks_second = numbers::second(t).is_some_and(|(_, n)| self.columns.iter().all(|c| c.name != *n.get_ref()));
        if bad.0.len() > before || lacks_second {
            return None;
        }
        let numbers = numbers?;
        let name = t.name.get_ref();
        Some(LimitSpec {
            reference: numbers.reference,
            on_delay,
            off_delay,
            n_of_m,
            basis: basis?,
            enable,
            hold_off,
            latching: t.latching,
            group,
            longest_shelving,
            priority: t.priority.trim().to_owned(),
            rule,
            revision: t.revision.clone(),
            paragraph: t.paragraph.clone(),
            ..LimitSpec::new(name, ChannelId(column? as u16), kind?, numbers.settings, numbers.unit?, &t.document)
        })
    }
}

fn hits(text: &Text, t: &LimitTable, bad: &mut Problems) -> Option<(u8, u8)> {
    let at = t.n_of_m.as_ref()?;
    match at.get_ref()[..] {
        [n, m] => Some((n, m)),
        _ => {
            bad.0.push(text.problem(at, Together::Hits.to_string(), ""));
            None
        }
    }
}

fn group(text: &Text, at: &Spanned<String>, groups: &[Group], bad: &mut Problems) -> Option<Group> {
    let found = groups.iter().find(|g| g.name == *at.get_ref());
    if found.is_none() {
        let known: Vec<&str> = groups.iter().map(|g| g.name.as_str()).collect();
        let help = match known[..] {
            [] => "write it at the file's head: [[group]] with name and window".to_owned(),
            _ => format!("there are: {}", known.join(", ")),
        };
        bad.0.push(text.problem(at, format!("this file has no group {:?}", at.get_ref()), help));
    }
    found.cloned()
}

impl Written {
    fn limit(self, bad: &mut Problems) -> Option<Limit> {
        Limit::new(self.spec?)
            .map_err(|e| {
                let t = self.table.get_ref();
                let key = match &e {
                    LimitError::Key { key, .. } => span_of(t, *key).or_else(|| Some(t.kind.span())),
                    LimitError::Together { what: Together::Hits | Together::HitsAndDelay, .. } => span(&t.n_of_m),
                    LimitError::Together { what: Together::HoldOff, .. } => span(&t.hold_off),
                    LimitError::Together { what: Together::Basis, .. } => span(&t.basis),
                    LimitError::Name { .. } => Some(t.name.span()),
                    _ => None,
                };
                let at = Spanned::new(key.unwrap_or_else(|| self.table.span()), ());
                bad.0.push(self.text.problem(&at, e.to_string(), ""));
            })
            .ok()
    }
}

fn span<T>(at: &Option<Spanned<T>>) -> Option<Range<usize>> {
    at.as_ref().map(Spanned::span)
}

/// Where a key of the kind stands.
fn span_of(t: &LimitTable, key: Key) -> Option<Range<usize>> {
    match key {
        Key::Threshold => span(&t.threshold),
        Key::Low => span(&t.low),
        Key::High => span(&t.high),
        Key::Share => span(&t.share),
        Key::PerSecond => span(&t.per_second),
        Key::DeadBand => span(&t.dead_band),
        Key::Window => span(&t.window),
        Key::Count => span(&t.count),
        Key::Side => span(&t.side),
        Key::Points => span(&t.points),
        Key::Change => span(&t.change),
        Key::DriverChange => span(&t.driver_change),
        Key::Over => span(&t.over),
        Key::With => span(&t.with),
        Key::Expected => span(&t.expected),
        Key::Driver => span(&t.driver),
    }
}
