//! Which limit of a group was crossed first.
//!
//! A group is quiet until a limit of it is crossed; it is quiet again when none is. In between, each further crossing
//! within the window is put in order with the first one by when the values went outside, which is known only to lie
//! between two samples: where both stretches overlap the two are tied.

use crate::limit::Onset;
use std::cmp::Ordering;
use stream::{EventTime, Span};

/// A group as it stands.
#[derive(Clone, Debug, Default)]
pub struct FirstOut {
    /// The first one: member and when it went outside; and when that was declared.
    first: Option<(usize, Onset, EventTime)>,
}

/// What a crossing is in its group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The first one.
    First,
    /// It cannot be told which of both was first.
    Tied {
        /// The other one.
        with: usize,
    },
    /// Declared later, and outside earlier: it is the first one now.
    Before {
        /// The one that was first so far.
        other: usize,
        /// At least so much earlier.
        by: Span,
    },
    /// After the first one.
    After {
        /// The first one.
        first: usize,
        /// At least so much later.
        by: Span,
    },
}

impl FirstOut {
    /// A member was crossed, declared at this time; `None` where it comes after the window.
    pub fn crossed(&mut self, member: usize, onset: Onset, time: EventTime, window: Span) -> Option<Place> {
        let Some((first, its, declared)) = self.first else {
            self.first = Some((member, onset, time));
            return Some(Place::First);
        };
        if time - declared > window {
            return None;
        }
        Some(match order(its, onset) {
            Ordering::Equal => Place::Tied { with: first },
            Ordering::Less => Place::After { first, by: onset.after - its.by },
            Ordering::Greater => {
                self.first = Some((member, onset, declared));
                Place::Before { other: first, by: its.after - onset.by }
            }
        })
    }

    /// No member is crossed any more.
    pub fn quiet(&mut self) {
        self.first = None;
    }

    /// The first one, while the group is not quiet.
    pub fn first(&self) -> Option<usize> {
        self.first.map(|f| f.0)
    }
}

/// Which of two went outside first; equal where the stretches overlap.
fn order(a: Onset, b: Onset) -> Ordering {
    if a.by <= b.after {
        Ordering::Less
    } else if b.by <= a.after {
        Ordering::Greater
    } else {
        Ordering::Equal
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn onset(after: i64, by: i64) -> Onset {
        Onset { after: EventTime(after), by: EventTime(by) }
    }

    #[test]
    fn first_then_after_then_tied_then_before() {
        let mut group = FirstOut::default();
        let mut at = |member, onset, time| group.crossed(member, onset, EventTime(time), Span(50));
        assert_eq!(at(0, onset(10, 20), 30), Some(Place::First));
        assert_eq!(at(1, onset(25, 35), 35), Some(Place::After { first: 0, by: Span(5) }));
        assert_eq!(at(2, onset(20, 30), 36), Some(Place::After { first: 0, by: Span(0) }));
        assert_eq!(at(3, onset(15, 25), 37), Some(Place::Tied { with: 0 }));
        assert_eq!(at(4, onset(1, 4), 40), Some(Place::Before { other: 0, by: Span(6) }));
        assert_eq!(at(5, onset(2, 3), 80), Some(Place::Tied { with: 4 }));
        assert_eq!(at(6, onset(0, 1), 81), None);
        assert_eq!(group.first(), Some(4));
        group.quiet();
        assert_eq!(group.crossed(6, onset(90, 91), EventTime(99), Span(50)), Some(Place::First));
    }
}
