//! What was heard, for a person.

use super::{Told, name};
use crate::show;
use assembly::listen::Listening;
use comfy_table::ContentArrangement;
use decode::seen::{AfterMarks, Field, Followed, Follows, Key, Looks, Moved, Word, WordId};

/// Bytes shown of a word.
const SHOWN: usize = 16;

pub(super) fn all(told: &Told) {
    let listening = &told.listening;
    let seen = listening.seen();
    say!("{}", told.what);
    let length = seen.span().map_or(0.0, |(a, b)| (b - a).as_secs_f64());
    say!("{} words in {length:.1} s\n", seen.words().len());
    say!("{}", table(listening, usize::MAX));
    if seen.left_out() > 0 {
        say!("left out: {} messages of further words; there is room for {}", seen.left_out(), seen.words().len());
    }
    if seen.no_word() > 0 {
        say!("{} records hold no word: faults, error frames, lines without a number", seen.no_word());
    }
    for (action, found) in &told.findings.actions {
        say!();
        after(listening, action, found);
    }
    if seen.marks().is_empty() {
        say!("\nNo action was marked: nothing is said about what moved when.");
    }
    if listening.marks_refused() > 0 {
        say!("{} marks had no room", listening.marks_refused());
    }
    if let Some(f) = &told.findings.followed {
        say!();
        follows(listening, f);
    }
    told.notes.iter().for_each(|n| say!("note: {n}"));
    told.unused.told.iter().for_each(|t| say!("not read: {t}"));
    if told.unused.bad_lines > told.unused.told.len() as u64 {
        say!("not read: {} more lines", told.unused.bad_lines - told.unused.told.len() as u64);
    }
    told.unused.other.iter().for_each(|(why, n)| say!("not used: {n} {why}"));
    told.missing.iter().for_each(|m| say!("MISSING: {m}"));
}

/// The words; where there is no room for all, those of which most is unknown and moves.
pub(super) fn table(listening: &Listening, most: usize) -> String {
    let mut words: Vec<(&WordId, &Word)> = listening.seen().words().collect();
    if words.len() > most {
        words.sort_by_key(|(id, w)| (listening.is_mapped(id) == Some(true), w.changed() == 0));
        words.truncate(most);
        words.sort_by_key(|w| w.0);
    }
    let rows = words.iter().map(|(id, w)| {
        vec![
            name(listening, id),
            newest(w),
            moving(w),
            looks(w),
            match listening.is_mapped(id) {
                Some(true) => "mapped".to_owned(),
                Some(false) => "unknown".to_owned(),
                None => String::new(),
            },
            w.count().to_string(),
            w.rate().map_or_else(String::new, |r| format!("{r:.1}")),
            gaps(w),
        ]
    });
    let headers = ["word", "newest", "bits that moved", "bytes look like", "", "times", "a second", "gap ms"];
    let mut table = show::table(&headers, 5, rows);
    table.set_content_arrangement(ContentArrangement::Disabled);
    table.to_string()
}

fn gaps(w: &Word) -> String {
    let ms = |s: stream::Span| s.as_secs_f64() * 1e3;
    match (w.least_gap(), w.median_gap()) {
        (Some(least), Some(median)) => format!("{:.0} ({:.0}+)", ms(median), ms(least)),
        _ => String::new(),
    }
}

pub(super) fn hex(bytes: &[u8]) -> String {
    let mut text: Vec<String> = bytes.iter().take(SHOWN).map(|b| format!("{b:02X}")).collect();
    if bytes.len() > SHOWN {
        text.push("...".to_owned());
    }
    text.join(" ")
}

fn newest(w: &Word) -> String {
    w.number().map_or_else(|| hex(w.bytes()), |x| x.to_string())
}

fn moving(w: &Word) -> String {
    match (w.is_number(), w.changed()) {
        (_, 0) => "none".to_owned(),
        (true, n) => format!("{n} times"),
        (false, _) => hex(&w.moving()),
    }
}

/// `counter 0, checksum 7`: what is neither constant nor just moving, by byte.
fn looks(w: &Word) -> String {
    let looks = w.looks();
    let mut all: Vec<String> = Vec::new();
    for kind in [Looks::Counter, Looks::Checksum] {
        let places: Vec<String> =
            looks.iter().enumerate().filter(|(_, l)| **l == kind).map(|(i, _)| i.to_string()).collect();
        if !places.is_empty() {
            all.push(format!("{} {}", kind.word(), places.join(" ")));
        }
    }
    if w.changed() == 0 {
        all.push(Looks::Constant.word().to_owned());
    }
    if w.length_changes() > 0 {
        all.push(format!("length changed {} times", w.length_changes()));
    }
    all.join(", ")
}

fn quoted(action: &str) -> String {
    if action.is_empty() { String::new() } else { format!(" of \"{action}\"") }
}

fn after(listening: &Listening, action: &str, found: &AfterMarks) {
    let AfterMarks { marks, windows, tried, best } = found;
    let plural = if *marks == 1 { "mark" } else { "marks" };
    say!(
        "{marks} {plural}{}: {tried} fields moved at some time, {windows} other stretches to compare with",
        quoted(action)
    );
    for (i, m) in best.iter().enumerate() {
        say!("{:>3}. {}", i + 1, moved(listening, action, m, *marks));
    }
    say!("{}", verdict(found));
}

/// One sentence on what a field did.
pub(super) fn moved(listening: &Listening, action: &str, m: &Moved, marks: usize) -> String {
    let delay = m.delay.as_secs_f64();
    let when =
        if delay >= 0.0 { format!("within {:.1} s after", (delay * 10.0).ceil() / 10.0) } else { "at".to_owned() };
    let which = match (m.marks, marks) {
        (1, 1) => format!("the mark{}", quoted(action)),
        (n, all) if n == all => format!("each of {all} marks{}", quoted(action)),
        (n, all) => format!("{n} of {all} marks{}", quoted(action)),
    };
    let elsewhere = match (m.quiet_elsewhere, m.elsewhere) {
        (true, _) => "at no other time".to_owned(),
        (false, 0) if m.travel.1 == 0.0 => "at some other time outside the stretches compared".to_owned(),
        (false, 0) => format!("elsewhere by {} at most, there by {} at least", number(m.travel.1), number(m.travel.0)),
        (false, 1) => "as far in one other stretch".to_owned(),
        (false, n) => format!("as far in {n} other stretches"),
    };
    let steps: Vec<String> = m.steps.iter().take(3).map(|(a, b)| format!("{} -> {}", number(*a), number(*b))).collect();
    let more = if m.steps.len() > 3 { ", ..." } else { "" };
    let word = name(listening, &m.word);
    format!(
        "{word} {} moved {when} {which} and {elsewhere}: {}{more}{}",
        m.field,
        steps.join(", "),
        database(&m.word, &m.field)
    )
}

/// What to say of them all.
pub(super) fn verdict(found: &AfterMarks) -> String {
    let Some(first) = found.best.first() else { return "Nothing moved at the marks.".to_owned() };
    if first.stands_out() {
        let n = found.best.iter().filter(|m| m.stands_out()).count();
        let which = if n == 1 { "The first is".to_owned() } else { format!("The first {n} are") };
        let expected = found.best[n - 1].expected;
        return format!(
            "{which} hardly chance: so good a fit is expected {} times among {} fields.",
            small(expected),
            found.tried
        );
    }
    format!(
        "Not settled: among {} fields about {} fit as well as the first by chance alone. Mark it some more times, \
         with rest between.",
        found.tried,
        small(first.expected)
    )
}

fn follows(listening: &Listening, f: &Followed) {
    let (with, unit) = listening.with().unwrap_or(("the channel", ""));
    let Some((least, most)) = f.range else { return say!("{with} had no value: nothing can be compared with it") };
    if least >= most || f.tried == 0 {
        let why = if least >= most { "did not move" } else { "has too few values, or nothing else moved" };
        return say!("{with} {why} ({} values): nothing can be said about what goes with it", f.moments);
    }
    let unit = if unit == "1" { String::new() } else { format!(" {unit}") };
    let range = format!("{} to {}{unit}", number(least), number(most));
    say!("with {with} ({} values, {range}): {} fields tried, each at 41 lags", f.moments, f.tried);
    for (i, one) in f.best.iter().enumerate() {
        say!("{:>3}. {}", i + 1, follow(listening, one, with, most - least));
    }
    let n = f.best.iter().filter(|b| b.stands_out()).count();
    match (f.best.is_empty(), n) {
        (true, _) => say!("Nothing goes with it."),
        (false, 0) => say!("None is beyond what chance gives among so many fields."),
        (false, n) => say!(
            "{n} of them are beyond what chance gives among so many fields (1 in 100 searches). What makes {with} \
             move, or is moved by it, goes with it too."
        ),
    }
}

fn follow(listening: &Listening, f: &Follows, with: &str, range: f64) -> String {
    let lag = match f.lag {
        0 => String::new(),
        n => {
            let s = listening.step().as_secs_f64() * n.unsigned_abs() as f64;
            format!(", {s:.1} s {}", if n > 0 { "later" } else { "earlier" })
        }
    };
    // What rounding leaves is no offset.
    let offset = if f.line.1.abs() < 1e-9 * range { 0.0 } else { f.line.1 };
    let sign = if offset < 0.0 { '-' } else { '+' };
    let line = format!("{with} = {} x {sign} {}", number(f.line.0), number(offset.abs()));
    let beyond = if f.stands_out() { "" } else { "; may be chance" };
    format!(
        "{} {}: r {:.4}, of ranks {:.3}, of changes {:.3} (chance up to {:.3}){lag}{beyond}; {line}{}",
        name(listening, &f.word),
        f.field,
        f.r,
        f.rank_r,
        f.changes_r,
        f.threshold,
        database(&f.word, &f.field)
    )
}

/// Where a CAN database would say it is.
fn database(word: &WordId, field: &Field) -> String {
    match (&word.key, field) {
        (Key::Can { .. }, Field::Bits(b)) => format!(" [DBC {}]", b.dbc()),
        _ => String::new(),
    }
}

/// Six digits at most.
fn number(x: f64) -> String {
    if x == x.round() && x.abs() < 1e6 {
        return format!("{x:.0}");
    }
    let text = format!("{x:.5e}");
    match text.parse::<f64>() {
        Ok(short) if (1e-4..1e9).contains(&short.abs()) => short.to_string(),
        _ => text,
    }
}

fn small(x: f64) -> String {
    if x >= 0.095 { format!("{x:.1}") } else { format!("{x:.1e}") }
}
