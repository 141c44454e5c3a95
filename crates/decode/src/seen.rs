//! What is on a line, whether anything is known of it or not: every word with how often it comes and which bits move,
//! which of its fields moved at a marked action ([`after_marks`]), and which go with a channel ([`follow`]).
//!
//! A *word* is what has a place of its own: a CAN identifier, a register of a device, a piece of a line of text, a
//! frame of a device (by its selector, where that is known), a cell of a table's row.
//!
//! Memory is bounded: at most [`SeenOptions::most_words`] words; of each word the moments at which it changed, at
//! first 50 ms apart at least, and twice as far each time that 2048 are full. Which bits moved is never lost by that.

mod changes;
mod chart;
mod field;
mod follow;
mod key;
mod looks;
mod marks;
mod word;

pub use field::{Bits, Field};
pub use follow::{Followed, Follows, follow};
pub use key::{Key, WordId};
pub use looks::Looks;
pub use marks::{AfterMarks, MarkOptions, Moved, after_marks};
pub use word::Word;

use crate::can::frame::CanFrame;
use std::collections::BTreeMap;
use stream::{EventTime, RawRecord, RecordKind, SourceId};

/// Marks kept at most.
const MOST_MARKS: usize = 1000;

/// What is kept.
#[derive(Clone, Debug)]
pub struct SeenOptions {
    /// Words at most; what else comes is counted.
    pub most_words: usize,
    /// The byte, from 0, that tells the frames of a device apart, by source and device.
    pub selectors: BTreeMap<(SourceId, u16), u16>,
}

impl Default for SeenOptions {
    fn default() -> SeenOptions {
        SeenOptions { most_words: 2048, selectors: BTreeMap::new() }
    }
}

/// A moment at which somebody did something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// When.
    pub at: EventTime,
    /// What, in the operator's words; marks of the same words are the same action. May be empty.
    pub what: String,
}

/// Everything seen so far.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    options: SeenOptions,
    words: BTreeMap<WordId, Word>,
    marks: Vec<Mark>,
    span: Option<(EventTime, EventTime)>,
    left_out: u64,
    no_word: u64,
}

impl Seen {
    /// Nothing seen yet.
    pub fn new(options: SeenOptions) -> Seen {
        Seen { options, ..Seen::default() }
    }

    /// Takes one record.
    pub fn take(&mut self, record: &RawRecord) {
        let at = record.event_time;
        let (first, last) = self.span.unwrap_or((at, at));
        self.span = Some((first.min(at), last.max(at)));
        let Seen { options, words, left_out, no_word, .. } = self;
        let mut any = false;
        key::parts(record, &options.selectors, &mut |key, content| {
            any = true;
            let id = WordId { source: record.source, key };
            if let Some(word) = words.get_mut(&id) {
                word.take(at, content);
            } else if words.len() < options.most_words {
                words.insert(id, Word::new(at, content));
            } else {
                *left_out += 1;
            }
        });
        *no_word += u64::from(!any);
    }

    /// Remembers that something was done; false where a thousand marks are there already.
    pub fn mark(&mut self, at: EventTime, what: &str) -> bool {
        if self.marks.len() >= MOST_MARKS {
            return false;
        }
        self.marks.push(Mark { at, what: what.trim().to_owned() });
        true
    }

    /// The words, by source and place.
    pub fn words(&self) -> impl ExactSizeIterator<Item = (&WordId, &Word)> {
        self.words.iter()
    }

    /// One of them.
    pub fn word(&self, id: &WordId) -> Option<&Word> {
        self.words.get(id)
    }

    /// The marks, in the order they were made.
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// The actions that were marked, each once, in order of the first mark.
    pub fn actions(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for m in &self.marks {
            if !all.contains(&m.what.as_str()) {
                all.push(&m.what);
            }
        }
        all
    }

    /// The first and the last moment at which anything came.
    pub fn span(&self) -> Option<(EventTime, EventTime)> {
        self.span
    }

    /// How often a word came that there was no room for.
    pub fn left_out(&self) -> u64 {
        self.left_out
    }

    /// Records in which there is no word: faults, error frames, lines without a number.
    pub fn no_word(&self) -> u64 {
        self.no_word
    }
}

/// The word of a CAN frame's record, without going through it.
pub fn can_word(record: &RawRecord) -> Option<WordId> {
    if record.kind != RecordKind::CanFrame {
        return None;
    }
    let frame = CanFrame::parse(&record.payload).ok()?;
    Some(WordId { source: record.source, key: key::can(&frame)? })
}

#[cfg(test)]
mod tests;
