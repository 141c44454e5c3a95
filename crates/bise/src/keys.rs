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

pub(crate) fn meaning(line: &str) -> Meaning {
    let line = line.trim();
    match line.split_once(char::is_whitespace).unwrap_or((line, "")) {
        ("", _) => Meaning::Nothing,
        ("begin", name) => Meaning::Action(OperatorContent::TestBegin(name.trim().to_owned())),
        ("end", "") => Meaning::Action(OperatorContent::TestEnd),
        ("quit", "") => Meaning::Quit,
        _ => Meaning::Action(OperatorContent::Note(line.to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_four_words_mean_more_than_a_note() {
        assert_eq!(meaning(" begin  point 1 "), Meaning::Action(OperatorContent::TestBegin("point 1".to_owned())));
        assert_eq!(meaning("end"), Meaning::Action(OperatorContent::TestEnd));
        assert_eq!(meaning("quit"), Meaning::Quit);
        assert_eq!(meaning(""), Meaning::Nothing);
        for note in ["end of ramp", "quit smoking", "beginning"] {
            assert_eq!(meaning(note), Meaning::Action(OperatorContent::Note(note.to_owned())));
        }
    }
}
