//! Listening live: the same entries as a recorded run, marks in between, and nothing written.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod kit;

use assembly::listen::Live;
use decode::seen::MarkOptions;
use kit::{Step, assembled, quick, wait_for};
use plugin_api::Clock;
use runtime::BootClock;
use std::sync::Arc;
use stream::{OperatorAction, OperatorContent};

#[test]
fn live_words_and_marks_are_heard_and_nothing_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let a = assembled(dir.path(), &[("heard", vec![vec![Step::Up, Step::Stream(1000)]])]);
    let recordings = a.recordings.clone();
    let clock: Arc<dyn Clock> = Arc::new(BootClock::start(1.0));
    let mut live = Live::start(a, Some("heard"), Arc::clone(&clock), quick()).unwrap();
    wait_for("five hundred lines", || live.hear().seen().words().any(|(_, w)| w.count() >= 500));
    let note = |text: &str| {
        let content = OperatorContent::Note(text.to_owned());
        OperatorAction { author: "mk".to_owned(), pressed_at: clock.now(), content }
    };
    assert!(live.operator(note("mark move the door")) && live.operator(note("a note is no mark")));
    wait_for("the mark", || live.hear().seen().marks().len() == 1);
    let end = live.stop();
    assert_eq!(end.outcome.troubles, Vec::<String>::new());
    let seen = end.listening.seen();
    assert_eq!((seen.words().len(), seen.marks()[0].what.as_str()), (1, "move the door"));
    // Every line that the run took was heard.
    let heard: u64 = seen.words().map(|(_, w)| w.count()).sum();
    assert_eq!(heard + seen.no_word(), end.outcome.counts.sources[0].records);
    let findings = end.listening.findings(MarkOptions::default());
    assert_eq!((findings.actions.len(), findings.actions[0].1.marks), (1, 1));
    assert!(findings.followed.unwrap().moments > 0);
    assert!(!recordings.exists() || std::fs::read_dir(&recordings).unwrap().next().is_none());
}
