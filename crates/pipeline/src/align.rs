//! Which sample belongs to which grid time. A sample belongs to the first grid time not before it.

use std::collections::VecDeque;
use stream::{ChannelId, EventTime, Reading, Span};

/// The newest sample of a channel at the last closed grid time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Latest {
    pub(crate) time: EventTime,
    pub(crate) reading: Reading,
}

/// Where a moment lies on the grid that is still open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slot {
    /// Its snapshot has closed.
    Late,
    /// In the `n`th open snapshot.
    Open(usize),
    /// Further ahead than any record can be: a stamp that is wrong.
    Future,
}

/// The open grid times, each with the samples that wait for it.
#[derive(Debug)]
pub(crate) struct Grid {
    step: Span,
    /// The next grid time to close; `None` before the first entry.
    next: Option<EventTime>,
    waiting: VecDeque<Vec<(ChannelId, Latest)>>,
    spare: Vec<Vec<(ChannelId, Latest)>>,
}

/// Open snapshots at most: 10 000 grid steps ahead is no delay but a wrong stamp.
const FURTHEST: i64 = 10_000;

impl Grid {
    pub(crate) fn new(step: Span) -> Grid {
        Grid { step: Span(step.0.max(1)), next: None, waiting: VecDeque::new(), spare: Vec::new() }
    }

    /// The next grid time to close, set by the first entry to the first grid time not before it.
    pub(crate) fn next(&mut self, first: EventTime) -> EventTime {
        *self.next.get_or_insert_with(|| ceil(first, self.step))
    }

    /// Leaves out the grid times before `t`; what waits for them is applied to `latest`.
    pub(crate) fn skip_to(&mut self, t: EventTime, latest: &mut [Option<Latest>]) {
        let target = ceil(t, self.step);
        while let Some(g) = self.next {
            if g >= target {
                return;
            }
            if self.waiting.is_empty() {
                self.next = Some(target);
                return;
            }
            self.close(latest);
        }
    }

    pub(crate) fn slot(&self, t: EventTime) -> Slot {
        let Some(next) = self.next else { return Slot::Future };
        if t <= next - self.step {
            return Slot::Late;
        }
        let ahead = (t - next).0;
        if ahead <= 0 {
            return Slot::Open(0);
        }
        let n = (ahead - 1) / self.step.0 + 1;
        if n > FURTHEST { Slot::Future } else { Slot::Open(n as usize) }
    }

    pub(crate) fn put(&mut self, slot: usize, channel: ChannelId, latest: Latest) {
        while self.waiting.len() <= slot {
            self.waiting.push_back(self.spare.pop().unwrap_or_default());
        }
        self.waiting[slot].push((channel, latest));
    }

    /// Closes the next grid time: its samples become the latest ones. Newest event time wins; of equal ones the
    /// later in the log.
    pub(crate) fn close(&mut self, latest: &mut [Option<Latest>]) {
        if let Some(g) = self.next {
            self.next = Some(g + self.step);
        }
        let Some(mut due) = self.waiting.pop_front() else { return };
        for (channel, new) in due.drain(..) {
            let old = &mut latest[usize::from(channel.0)];
            if old.is_none_or(|o| new.time >= o.time) {
                *old = Some(new);
            }
        }
        self.spare.push(due);
    }
}

/// The first grid time not before `t`.
fn ceil(t: EventTime, step: Span) -> EventTime {
    let past = t.0.rem_euclid(step.0);
    if past == 0 { t } else { t + Span(step.0 - past) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(t: i64, x: f64) -> Latest {
        Latest { time: EventTime(t), reading: Reading::Good(x) }
    }

    #[test]
    fn a_sample_belongs_to_the_first_grid_time_not_before_it() {
        let mut g = Grid::new(Span(100));
        assert_eq!(g.next(EventTime(101)), EventTime(200));
        assert_eq!(g.slot(EventTime(100)), Slot::Late);
        assert_eq!(g.slot(EventTime(101)), Slot::Open(0));
        assert_eq!(g.slot(EventTime(200)), Slot::Open(0));
        assert_eq!(g.slot(EventTime(201)), Slot::Open(1));
        assert_eq!(g.slot(EventTime(300)), Slot::Open(1));
        assert_eq!(g.slot(EventTime(i64::MAX)), Slot::Future);
        assert_eq!(g.slot(EventTime(i64::MIN)), Slot::Late);
    }

    #[test]
    fn newest_wins_and_of_equals_the_later_in_the_log() {
        let mut g = Grid::new(Span(100));
        g.next(EventTime(0));
        let mut latest = [None];
        for (t, x) in [(-5, 1.0), (-1, 2.0), (-3, 3.0), (-1, 4.0)] {
            g.put(0, ChannelId(0), at(t, x));
        }
        g.close(&mut latest);
        assert_eq!(latest[0], Some(at(-1, 4.0)));
    }

    #[test]
    fn skipping_loses_no_sample() {
        let mut g = Grid::new(Span(100));
        g.next(EventTime(100));
        g.put(1, ChannelId(0), at(150, 7.0));
        let mut latest = [None];
        g.skip_to(EventTime(100_000), &mut latest);
        assert_eq!(latest[0], Some(at(150, 7.0)));
        assert_eq!(g.next(EventTime(0)), EventTime(100_000));
    }
}
