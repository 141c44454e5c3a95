//! Listening while the sources speak.

use super::{Told, options, text};
use crate::args::{Format, ListenArgs};
use crate::commands::io;
use crate::keys::{Keys, Typed};
use crate::show;
use crate::signals::Signals;
use assembly::Error;
use assembly::listen::{Listening, Live, LiveEnd, marked};
use assembly::load::Assembled;
use assembly::merge::Unused;
use assembly::shortfalls::shortfalls;
use comfy_table::Table;
use pipeline::Counts;
use plugin_api::Clock;
use runtime::{BootClock, Timing};
use std::cell::RefCell;
use std::io::IsTerminal;
use std::sync::Arc;
use std::time::{Duration, Instant};
use stream::{OperatorAction, OperatorContent, SourceId};

/// Words shown while listening.
const ROWS: usize = 16;
/// How often the words are shown on a terminal, and elsewhere.
const ON_TERMINAL: Duration = Duration::from_secs(1);
const ELSEWHERE: Duration = Duration::from_secs(10);

pub(super) fn listen(args: &ListenArgs, assembled: Assembled) -> Result<Told, Error> {
    let notes = assembled.notes.clone();
    let clock: Arc<dyn Clock> = Arc::new(BootClock::start(1.0));
    let mut signals = Signals::catch()?;
    let keys = Keys::start(Arc::clone(&clock)).map_err(io("reading what is typed"))?;
    let live = Live::start(assembled, args.with.as_deref(), clock, Timing::default())?;
    complain!("NOTHING IS RECORDED. What cannot be done again: `bise record`, and listen to the recording.");
    complain!("{}", show::STANDING);
    complain!("Enter at the moment of an action marks it, words before Enter name it; do it some times, with rest");
    complain!("between, and mark every time. `quit` or Ctrl-C stops.\n");
    let until = args.length.map(|d| Instant::now() + d);
    let live = RefCell::new(live);
    let view = RefCell::new(View::new(args.format));
    let typed = |t: Typed| {
        view.borrow_mut().typed();
        mark(&live.borrow(), &t)
    };
    signals.wait(until, Some(&keys), typed, || {
        let mut live = live.borrow_mut();
        view.borrow_mut().show(live.hear(), args);
        live.is_over()
    });
    view.borrow_mut().clear();
    let LiveEnd { listening, outcome } = live.into_inner().stop();
    let findings = listening.findings(options(args));
    // Limits are no matter of listening.
    let mut missing: Vec<String> = shortfalls(listening.plan(), &outcome.counts);
    missing.retain(|m| !m.starts_with("limit "));
    missing.extend(no_word(&listening, &outcome.counts));
    missing.extend(outcome.troubles);
    let what = format!("{}, live; nothing was recorded", args.paths[0].display());
    Ok(Told { what, listening, findings, notes, unused: Unused::default(), missing })
}

/// Sources that said something and no word was in it.
fn no_word(listening: &Listening, counts: &Counts) -> Vec<String> {
    let mut all = Vec::new();
    for ((i, info), c) in (0..).zip(&listening.plan().layout.sources).zip(&counts.sources) {
        if c.records > 0 && !listening.seen().words().any(|(id, _)| id.source == SourceId(i)) {
            let faults: Vec<String> = c.faults().map(|(k, n)| format!("{} {n}", k.word())).collect();
            let name = &info.name;
            all.push(format!("{name} sent {} records and no word in them; faults: {}", c.records, faults.join(", ")));
        }
    }
    all
}

/// Every line is a mark but `quit`; true for that.
fn mark(live: &Live, t: &Typed) -> bool {
    let line = t.line.trim();
    if line == "quit" {
        return true;
    }
    let what = marked(line).unwrap_or(line);
    let content = OperatorContent::Note(format!("mark {what}"));
    let action = OperatorAction { author: "operator".to_owned(), pressed_at: t.at, content };
    if !live.operator(action) {
        complain!("NOT MARKED, too much waits already; do it again");
    }
    false
}

/// What is shown while listening, on standard error.
struct View {
    on_terminal: bool,
    quiet: bool,
    next: Instant,
    /// Lines on the terminal that the next look replaces.
    lines: usize,
}

impl View {
    fn new(format: Format) -> View {
        let on_terminal = std::io::stderr().is_terminal();
        // A script reads what comes at the end.
        let quiet = !on_terminal && format == Format::Json;
        let next = Instant::now() + if on_terminal { ON_TERMINAL } else { ELSEWHERE };
        View { on_terminal, quiet, next, lines: 0 }
    }

    /// Enter moved the cursor down.
    fn typed(&mut self) {
        self.lines += usize::from(self.lines > 0);
    }

    fn clear(&mut self) {
        if self.on_terminal && self.lines > 0 {
            complain!("\x1b[{}A\x1b[J", self.lines + 1);
        }
        self.lines = 0;
    }

    fn show(&mut self, listening: &Listening, args: &ListenArgs) {
        if self.quiet || Instant::now() < self.next {
            return;
        }
        self.next = Instant::now() + if self.on_terminal { ON_TERMINAL } else { ELSEWHERE };
        self.clear();
        let mut shown = text::table(listening, ROWS);
        let n = listening.seen().words().len();
        if n > ROWS {
            shown.push_str(&format!("\nand {} more words; all of them at the end", n - ROWS));
        }
        for (action, found) in listening.actions(options(args)) {
            let times = if found.marks == 1 { "once" } else { "times" };
            let first = found.best.first().map(|m| text::moved(listening, &action, m, found.marks));
            let first = first.unwrap_or_else(|| "nothing moved then".to_owned());
            match found.marks {
                1 => shown.push_str(&format!("\nmarked {times}: {first}")),
                n => shown.push_str(&format!("\nmarked {n} {times}: {first}")),
            }
        }
        if self.on_terminal {
            shown = cut(&shown);
        }
        complain!("{shown}");
        self.lines = shown.lines().count();
    }
}

/// No line wider than the terminal: the next look would not find the first of them.
fn cut(text: &str) -> String {
    let width = Table::new().width().filter(|w| *w >= 20).map_or(80, usize::from);
    text.lines().map(|l| l.chars().take(width - 1).collect::<String>()).collect::<Vec<_>>().join("\n")
}
