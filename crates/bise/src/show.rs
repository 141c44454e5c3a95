//! Output for a person: tables, problems, progress; and the same as JSON.

use assembly::{Error, shortfalls};
use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};
use indicatif::{ProgressBar, ProgressStyle};
use pipeline::{Counts, LimitCounts, Plan};
use recording::manifest::SensorState;
use serde_json::{Value, json};
use std::io::IsTerminal;
use stream::{LimitState, LinkState};

/// Whether to use colour on this stream.
pub(crate) fn colour(stream: &impl IsTerminal) -> bool {
    stream.is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

/// An error: configuration problems with the lines of the file and a caret, others in a sentence.
pub(crate) fn error(e: &Error) {
    match e {
        Error::Config(problems) => complain!("{}", problems.fancy(colour(&std::io::stderr())).trim_end()),
        e => complain!("error: {e}"),
    }
}

/// A table with these headers; columns from `right` on are numbers.
pub(crate) fn table(headers: &[&str], right: usize, rows: impl IntoIterator<Item = Vec<String>>) -> Table {
    let mut t = Table::new();
    // As wide as the terminal; a pipe gets every row on one line.
    t.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    t.set_header(headers.iter().map(Cell::new));
    for row in rows {
        t.add_row(row);
    }
    for (i, c) in t.column_iter_mut().enumerate() {
        c.set_padding((0, 2));
        if i >= right {
            c.set_cell_alignment(CellAlignment::Right);
        }
    }
    t
}

/// What a run or replay counted, source by source and limit by limit.
pub(crate) fn counts(plan: &Plan, counts: &Counts) {
    let rows = plan.layout.sources.iter().zip(&counts.sources).map(|(s, c)| {
        let faults: Vec<String> = c.faults().map(|(k, n)| format!("{} {n}", k.word())).collect();
        let mark = if s.simulated { " (simulated)" } else { "" };
        vec![
            format!("{}{mark}", s.name),
            c.records.to_string(),
            c.samples.to_string(),
            c.lost.to_string(),
            c.late.to_string(),
            c.unmapped.to_string(),
            c.undecodable.to_string(),
            c.link_losses.to_string(),
            if faults.is_empty() { "none".to_owned() } else { faults.join(", ") },
        ]
    });
    let headers = ["source", "records", "samples", "lost", "late", "unmapped", "undecodable", "link lost", "faults"];
    let mut t = table(&headers, 1, rows);
    if let Some(last) = t.column_mut(8) {
        last.set_cell_alignment(CellAlignment::Left);
    }
    say!("{t}");
    if plan.layout.limits.is_empty() {
        return say!("\nno limits in this run");
    }
    let rows = plan.layout.limits.iter().zip(&counts.limits).map(|(l, c)| {
        let column = &plan.layout.columns[usize::from(l.column.0)].name;
        vec![l.name.clone(), column.clone(), limit_outcome(c), l.source.clone()]
    });
    say!("\n{}", table(&["limit", "on", "", "from"], 9, rows));
}

/// What became of a limit. "Not crossed" is never said of one that was not judged.
fn limit_outcome(c: &LimitCounts) -> String {
    let times = match (c.crossed, c.judged) {
        (0, 0) if c.not_enabled > 0 => return "NOT JUDGED: not enabled".to_owned(),
        (0, 0) => return "NOT JUDGED: no value".to_owned(),
        (0, _) => "not crossed".to_owned(),
        (1, _) => "crossed once".to_owned(),
        (n, _) => format!("crossed {n} times"),
    };
    let mut text = times;
    if c.announced < c.crossed {
        text.push_str(&format!(", announced {} times", c.announced));
    }
    if c.last.is_outside() {
        text.push_str(if c.last == LimitState::Latched { ", latched at the end" } else { ", crossed at the end" });
    }
    let all = c.judged + c.not_judged + c.not_enabled;
    for (n, why) in [(c.not_enabled, "not enabled"), (c.not_judged, "no value")] {
        if n > 0 {
            text.push_str(&format!("; {why} in {n} of {all} snapshots"));
        }
    }
    text
}

/// A sensor and its calibration in one line.
pub(crate) fn sensor(s: &SensorState) -> String {
    let kind = if s.kind.is_empty() { String::new() } else { format!(" ({})", s.kind) };
    let day = |d: &Option<String>| d.clone().unwrap_or_else(|| "?".to_owned());
    let days = format!("calibrated {}, due {}", day(&s.calibrated), day(&s.due));
    let certificate = if s.certificate.is_empty() { String::new() } else { format!(", {}", s.certificate) };
    format!("{}{kind}: {}, {days}{certificate}", s.serial, s.state)
}

/// The same as JSON.
pub(crate) fn sensor_json(s: &SensorState) -> Value {
    json!({
        "serial": s.serial, "kind": s.kind, "state": s.state, "calibrated": s.calibrated, "due": s.due,
        "certificate": s.certificate, "channels": s.channels,
    })
}

/// How the sensors stood: the good ones by count, every other one by name.
pub(crate) fn sensors(all: &[SensorState]) {
    let good = |s: &&SensorState| s.state == "valid";
    if !all.is_empty() {
        say!("\nsensors with a valid calibration: {} of {}", all.iter().filter(good).count(), all.len());
    }
    for s in all.iter().filter(|s| !good(s)) {
        say!("sensor {}; for {}", sensor(s), s.channels.join(", "));
    }
}

/// What did not come, one line each; whether anything did not.
pub(crate) fn shortfalls(plan: &Plan, counts: &Counts) -> bool {
    let all = shortfalls::shortfalls(plan, counts);
    if !all.is_empty() {
        say!();
    }
    all.iter().for_each(|s| say!("MISSING: {s}"));
    !all.is_empty()
}

/// The same as JSON.
pub(crate) fn counts_json(plan: &Plan, counts: &Counts) -> Value {
    let sources: Vec<Value> = plan
        .layout
        .sources
        .iter()
        .zip(&counts.sources)
        .map(|(s, c)| {
            let faults: serde_json::Map<String, Value> =
                c.faults().map(|(k, n)| (k.word().to_owned(), json!(n))).collect();
            json!({
                "source": s.name, "simulated": s.simulated, "records": c.records, "samples": c.samples,
                "lost": c.lost, "late": c.late,
                "unmapped": c.unmapped, "undecodable": c.undecodable, "link": c.link.map(LinkState::word),
                "link_losses": c.link_losses, "faults": faults,
            })
        })
        .collect();
    let limits: Vec<Value> = plan
        .layout
        .limits
        .iter()
        .zip(&counts.limits)
        .map(|(l, c)| {
            json!({
                "limit": l.name, "crossed": c.crossed, "announced": c.announced, "judged": c.judged,
                "not_judged": c.not_judged, "not_enabled": c.not_enabled, "last": c.last.word(), "from": l.source,
            })
        })
        .collect();
    json!({
        "sources": sources, "limits": limits, "snapshots": counts.snapshots, "events": counts.events,
        "missing": shortfalls::shortfalls(plan, counts),
    })
}

/// A progress bar on standard error, or nothing where that is no terminal.
pub(crate) fn progress(what: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(1000).with_message(what.to_owned());
    let style = ProgressStyle::with_template("{msg} {wide_bar} {percent:>3} %  {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}

/// Bytes for a person.
pub(crate) fn bytes(n: u64) -> String {
    indicatif::BinaryBytes(n).to_string()
}

/// The standing sentence.
pub(crate) const STANDING: &str =
    "This program records and evaluates. It does not protect people or equipment and does not decide airworthiness.";
