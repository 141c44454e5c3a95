//! When a word changed, thinned where that is often.

use smallvec::SmallVec;
use stream::{EventTime, Span};

/// The bytes of a word.
pub(crate) type Bytes = SmallVec<[u8; 8]>;

/// Changes kept of a word.
const KEPT: usize = 2048;
/// How far apart they are at first.
const FINEST: Span = Span::from_millis(50);

/// What a word became, and which of its bits moved on the way there.
#[derive(Clone, Debug)]
pub(crate) struct Change {
    /// When the first of the changes that this stands for was.
    pub(crate) at: EventTime,
    pub(crate) bytes: Bytes,
    /// Bits that moved, those that came back included.
    pub(crate) moved: Bytes,
}

/// The changes of a word. The first is what it was at the beginning.
#[derive(Clone, Debug)]
pub(crate) struct Changes {
    all: Vec<Change>,
    step: Span,
}

impl Changes {
    pub(crate) fn new(at: EventTime, bytes: Bytes) -> Changes {
        let moved = bytes.iter().map(|_| 0).collect();
        Changes { all: vec![Change { at, bytes, moved }], step: FINEST }
    }

    pub(crate) fn all(&self) -> &[Change] {
        &self.all
    }

    pub(crate) fn push(&mut self, change: Change) {
        if self.all.len() >= KEPT {
            self.thin();
        }
        let step = self.step;
        let has_first = self.all.len() > 1;
        match self.all.last_mut() {
            Some(last) if has_first && slot(last.at, step) >= slot(change.at, step) => merge(last, change),
            _ => self.all.push(change),
        }
    }

    /// Twice the step, until half of the room is there again.
    fn thin(&mut self) {
        while self.all.len() > KEPT / 2 && self.step.0 < i64::MAX / 4 {
            self.step = Span(self.step.0 * 2);
            let step = self.step;
            let mut thinned: Vec<Change> = Vec::with_capacity(KEPT);
            for (i, c) in self.all.drain(..).enumerate() {
                match thinned.last_mut() {
                    Some(last) if i > 1 && slot(last.at, step) == slot(c.at, step) => merge(last, c),
                    _ => thinned.push(c),
                }
            }
            self.all = thinned;
        }
    }
}

fn slot(at: EventTime, step: Span) -> i64 {
    at.0.div_euclid(step.0)
}

fn merge(into: &mut Change, later: Change) {
    into.bytes = later.bytes;
    into.moved.resize(into.moved.len().max(later.moved.len()), 0);
    into.moved.iter_mut().zip(&later.moved).for_each(|(a, b)| *a |= b);
}
