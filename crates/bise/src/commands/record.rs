//! `bise record`

use super::io;
use crate::args::{Format, RecordArgs};
use crate::exit::Exit;
use crate::keys::{self, Keys, Meaning, Typed};
use crate::show;
use crate::signals::{Signals, Why};
use assembly::Error;
use assembly::files::Files;
use assembly::load::{CaptureFiles, load};
use assembly::record::{RecordOptions, Recorded, SEGMENT_BYTES, Session};
use assembly::shortfalls::shortfalls;
use indicatif::ProgressBar;
use pipeline::Plan;
use plugin_api::Clock;
use recording::RealDisk;
use runtime::{BootClock, Timing};
use serde_json::json;
use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};
use stream::OperatorAction;

pub(crate) fn run(args: &RecordArgs) -> Result<Exit, Error> {
    let assembled = load(&Files::disk(), &args.run, &CaptureFiles::default())?;
    let notes = assembled.notes.clone();
    let clock: Arc<dyn Clock> = Arc::new(BootClock::start(1.0));
    let options = RecordOptions {
        clock: Arc::clone(&clock),
        disk: Arc::new(RealDisk),
        simulated: false,
        segment_bytes: SEGMENT_BYTES,
        timing: Timing::default(),
    };
    // What may fail comes before the run: once it goes on it ends in order.
    let mut signals = Signals::catch()?;
    let keys = Keys::start(clock).map_err(io("reading what is typed"))?;
    let session = Session::start(assembled, options)?;
    let plan = Arc::clone(session.plan());
    complain!("recording  {}", session.folder().display());
    if let Some(a) = session.address() {
        complain!("metrics    http://{a}/metrics");
    }
    notes.iter().for_each(|n| complain!("note       {n}"));
    complain!("{}", show::STANDING);
    complain!("A line is a note, `begin NAME` and `end` mark the test, `quit` or Ctrl-C stops.");
    if !plan.layout.limits.is_empty() {
        complain!(
            "For a limit: `ack`, `reset`, `shelve NAME 30min WHY`, `unshelve`, `out-of-service NAME WHY`, `in-service`."
        );
    }
    complain!();
    let author = author(args);
    let until = args.length.map(|d| Instant::now() + d);
    let status = status_line();
    let typed = |t: Typed| operator(&session, &author, t);
    let why = signals.wait(until, Some(&keys), typed, || {
        show_status(&session, &status);
        session.is_over()
    });
    status.finish_and_clear();
    signals.leave_at_once(session.folder());
    let recorded = session.stop();
    match args.format {
        Format::Json => {
            let mut all = show::counts_json(&plan, &recorded.counts);
            all["recording"] = json!(recorded.folder);
            all["entries"] = json!(recorded.entries);
            all["not_recorded"] = json!(recorded.not_recorded);
            all["troubles"] = json!(recorded.troubles);
            all["notes"] = json!(notes);
            all["sensors"] = recorded.sensors.iter().map(show::sensor_json).collect();
            say!("{all:#}");
        }
        Format::Text => {
            if why == Why::Signal {
                say!("stopped by a signal, in order\n");
            }
            show::counts(&plan, &recorded.counts);
            show::shortfalls(&plan, &recorded.counts);
            notes.iter().for_each(|n| say!("note: {n}"));
            show::sensors(&recorded.sensors);
            ending(&recorded);
        }
    }
    Ok(exit_of(&plan, &recorded))
}

/// Whether everything came and was recorded.
pub(crate) fn exit_of(plan: &Plan, r: &Recorded) -> Exit {
    let whole = r.troubles.is_empty() && r.not_recorded == 0 && shortfalls(plan, &r.counts).is_empty();
    if whole { Exit::Done } else { Exit::Incomplete }
}

/// The last lines of a recorded run.
pub(crate) fn ending(r: &Recorded) {
    say!("\nrecorded {} entries in {}", r.entries, r.folder.display());
    if r.not_recorded > 0 {
        say!("NOT RECORDED: {} entries. No verdict on this run is for release.", r.not_recorded);
    }
    for t in &r.troubles {
        say!("trouble: {t}");
    }
}

fn author(args: &RecordArgs) -> String {
    let user = || std::env::var("USER").ok().filter(|u| !u.is_empty());
    args.author.clone().or_else(user).unwrap_or_else(|| "operator".to_owned())
}

/// Hands over what was typed; true when that was to stop.
fn operator(session: &Session, author: &str, t: Typed) -> bool {
    let limits: Vec<&str> = session.plan().layout.limits.iter().map(|l| l.name.as_str()).collect();
    match keys::meaning(&t.line, &limits) {
        Meaning::Quit => return true,
        Meaning::Nothing => {}
        Meaning::Action(content) => {
            let done = content.limit().map_or_else(|| "noted".to_owned(), |l| format!("taken, for limit {l},"));
            let action = OperatorAction { author: author.to_owned(), pressed_at: t.at, content };
            if session.operator(action) {
                complain!("{done} at {}", t.at);
            } else {
                complain!("NOT TAKEN, too much waits already; type it again: {}", t.line);
            }
        }
    }
    false
}

fn status_line() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner();
    bar.enable_steady_tick(Duration::from_millis(250));
    bar
}

fn show_status(session: &Session, bar: &ProgressBar) {
    if bar.is_hidden() {
        return;
    }
    let c = session.counters();
    let sum = |f: fn(&plugin_api::counters::SourceCounters) -> u64| c.sources.iter().map(f).sum::<u64>();
    let links = session.plan().layout.sources.iter().zip(&c.sources);
    let down: Vec<&str> =
        links.filter(|(_, s)| s.link.load(Ordering::Relaxed) == 0).map(|(i, _)| i.name.as_str()).collect();
    let mut text = format!(
        "records {}  lost {}  faults {}  synced {}",
        sum(|s| s.records.load(Ordering::Relaxed)),
        sum(|s| s.lost.load(Ordering::Relaxed)),
        sum(|s| s.faults.iter().map(|f| f.load(Ordering::Relaxed)).sum()),
        c.recording.synced.load(Ordering::Relaxed),
    );
    if !down.is_empty() {
        text.push_str(&format!("  DOWN: {}", down.join(", ")));
    }
    if c.recording.writing.load(Ordering::Relaxed) == 0 {
        text.push_str("  NOT RECORDED");
    }
    bar.set_message(text);
}
