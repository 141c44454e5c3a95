//! What the operator types while a run goes on.

use plugin_api::Clock;
use std::io::BufRead;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use stream::{EventTime, OperatorContent};

/// One line, stamped when Enter was pressed.
pub(crate) struct Typed {
    pub(crate) at: EventTime,
    pub(crate) line: String,
}

/// A thread that reads standard input line by line.
pub(crate) struct Keys(Receiver<Typed>);

impl Keys {
    /// Starts reading. Ends by itself at the end of the input. Bytes that are not UTF-8 are kept as replacement
    /// characters: a note in another encoding is better than no note.
    pub(crate) fn start(clock: Arc<dyn Clock>) -> std::io::Result<Keys> {
        let (to, from) = channel();
        std::thread::Builder::new().name("keys".to_owned()).spawn(move || {
            for line in std::io::stdin().lock().split(b'\n') {
                let line = match line {
                    Ok(bytes) => String::from_utf8_lossy(&bytes).trim_end().to_owned(),
                    Err(e) => return complain!("nothing more is read from the keyboard: {e}"),
                };
                if to.send(Typed { at: clock.now(), line }).is_err() {
                    return;
                }
            }
        })?;
        Ok(Keys(from))
    }

    /// The next line, if one was typed.
    pub(crate) fn next(&self) -> Option<Typed> {
        self.0.try_recv().ok()
    }
}

/// What a line means.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Meaning {
    /// It goes into the recording.
    Action(OperatorContent),
    /// Stop.
    Quit,
    /// An empty line.
    Nothing,
}

/// What a line means in a run with these limits. A word about a limit counts only where the name of one follows: every
/// other line is a note.
pub(crate) fn meaning(line: &str, limits: &[&str]) -> Meaning {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let note = || Meaning::Action(OperatorContent::Note(line.to_owned()));
    match (word, rest) {
        ("", _) => Meaning::Nothing,
        ("begin", name) => Meaning::Action(OperatorContent::TestBegin(name.trim().to_owned())),
        ("end", "") => Meaning::Action(OperatorContent::TestEnd),
        ("quit", "") => Meaning::Quit,
        _ => about_a_limit(word, rest.trim(), limits).map_or_else(note, Meaning::Action),
    }
}

/// `ack NAME`, `reset NAME`, `shelve NAME 30min WHY`, `unshelve NAME`, `out-of-service NAME WHY`, `in-service NAME`.
fn about_a_limit(word: &str, rest: &str, limits: &[&str]) -> Option<OperatorContent> {
    let follows = |name: &&&str| {
        rest.strip_prefix(**name).is_some_and(|more| more.is_empty() || more.starts_with(char::is_whitespace))
    };
    // A name may begin with another one.
    let limit = (*limits.iter().filter(follows).max_by_key(|n| n.len())?).to_owned();
    let more = rest.strip_prefix(limit.as_str())?.trim();
    Some(match (word, more) {
        ("ack", "") => OperatorContent::Acknowledge(limit),
        ("reset", "") => OperatorContent::Reset(limit),
        ("unshelve", "") => OperatorContent::Unshelve(limit),
        ("in-service", "") => OperatorContent::InService(limit),
        ("out-of-service", reason) => OperatorContent::OutOfService { limit, reason: reason.to_owned() },
        ("shelve", more) => {
            let (length, reason) = more.split_once(char::is_whitespace).unwrap_or((more, ""));
            let length = assembly::config::text::duration(length).ok()?;
            OperatorContent::Shelve { limit, length, reason: reason.trim().to_owned() }
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(line: &str) -> Meaning {
        Meaning::Action(OperatorContent::Note(line.to_owned()))
    }

    #[test]
    fn only_the_four_words_mean_more_than_a_note() {
        let meaning = |line| meaning(line, &[]);
        assert_eq!(meaning(" begin  point 1 "), Meaning::Action(OperatorContent::TestBegin("point 1".to_owned())));
        assert_eq!(meaning("end"), Meaning::Action(OperatorContent::TestEnd));
        assert_eq!(meaning("quit"), Meaning::Quit);
        assert_eq!(meaning(""), Meaning::Nothing);
        for line in ["end of ramp", "quit smoking", "beginning", "ack hot", "reset"] {
            assert_eq!(meaning(line), note(line));
        }
    }

    #[test]
    fn and_what_is_about_a_limit_of_the_run() {
        let limits = ["hot", "hot side", "cold"];
        let (hot, side) = (|| "hot".to_owned(), || "hot side".to_owned());
        let half_an_hour = stream::Span::from_secs(1800);
        for (line, content) in [
            ("ack hot", OperatorContent::Acknowledge(hot())),
            (" reset  hot side ", OperatorContent::Reset(side())),
            ("unshelve hot", OperatorContent::Unshelve(hot())),
            ("in-service hot", OperatorContent::InService(hot())),
            (
                "out-of-service hot probe out",
                OperatorContent::OutOfService { limit: hot(), reason: "probe out".into() },
            ),
            (
                "shelve hot side 30min probe out",
                OperatorContent::Shelve { limit: side(), length: half_an_hour, reason: "probe out".into() },
            ),
            ("shelve hot 30min", OperatorContent::Shelve { limit: hot(), length: half_an_hour, reason: String::new() }),
        ] {
            assert_eq!(meaning(line, &limits), Meaning::Action(content), "{line}");
        }
        for line in ["ack hotter", "reset hot by hand", "shelve hot soon", "ack", "hot"] {
            assert_eq!(meaning(line, &limits), note(line));
        }
    }
}
