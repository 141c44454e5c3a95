//! What belongs to which grid time: a sample, or a change of a link, belongs to the first grid time not before it.

use crate::held::{Held, News};
use std::collections::VecDeque;
use stream::{ChannelId, EventTime, Span};

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

/// The open grid times, each with what waits for it.
#[derive(Debug)]
pub(crate) struct Grid {
    step: Span,
    /// The next grid time to close; `None` before the first entry.
    next: Option<EventTime>,
    waiting: VecDeque<Vec<(ChannelId, News)>>,
    spare: Vec<Vec<(ChannelId, News)>>,
}

/// Open snapshots at most: a stamp so many grid steps ahead is no delay but wrong. A plan's lateness must stay well
/// below.
pub const MOST_OPEN: i64 = 10_000;

impl Grid {
    pub(crate) fn new(step: Span) -> Grid {
        Grid { step: Span(step.0.max(1)), next: None, waiting: VecDeque::new(), spare: Vec::new() }
    }

    /// The next grid time to close, set by the first entry to the first grid time not before it. `None` at the end of
    /// the time line, where every later grid time would be the same moment.
    pub(crate) fn next(&mut self, first: EventTime) -> Option<EventTime> {
        let next = *self.next.get_or_insert_with(|| ceil(first, self.step));
        (next.0 < i64::MAX).then_some(next)
    }

    /// Leaves out the grid times before `t`; what waits for them is applied to `held`.
    pub(crate) fn skip_to(&mut self, t: EventTime, held: &mut [Held]) {
        let target = ceil(t, self.step);
        while let Some(g) = self.next {
            if g >= target {
                return;
            }
            if self.waiting.is_empty() {
                self.next = Some(target);
                return;
            }
            self.close(held);
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
        if n > MOST_OPEN { Slot::Future } else { Slot::Open(n as usize) }
    }

    /// What waits for the `slot`th open grid time, in log order.
    pub(crate) fn waiting(&mut self, slot: usize) -> &mut Vec<(ChannelId, News)> {
        while self.waiting.len() <= slot {
            self.waiting.push_back(self.spare.pop().unwrap_or_default());
        }
        &mut self.waiting[slot]
    }

    /// Closes the next grid time: what waits for it is applied to `held`.
    pub(crate) fn close(&mut self, held: &mut [Held]) {
        if let Some(g) = self.next {
            self.next = Some(g + self.step);
        }
        let Some(mut due) = self.waiting.pop_front() else { return };
        for (channel, news) in due.drain(..) {
            held[usize::from(channel.0)].take(news);
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
    use stream::Reading;

    fn at(t: i64, x: f64) -> News {
        News::Sample(EventTime(t), Reading::Good(x))
    }

    fn says(held: &Held, t: i64) -> Reading {
        held.at(EventTime(t), Span(1000))
    }

    #[test]
    fn a_sample_belongs_to_the_first_grid_time_not_before_it() {
        let mut g = Grid::new(Span(100));
        assert_eq!(g.next(EventTime(101)), Some(EventTime(200)));
        assert_eq!(g.slot(EventTime(100)), Slot::Late);
        assert_eq!(g.slot(EventTime(101)), Slot::Open(0));
        assert_eq!(g.slot(EventTime(200)), Slot::Open(0));
        assert_eq!(g.slot(EventTime(201)), Slot::Open(1));
        assert_eq!(g.slot(EventTime(300)), Slot::Open(1));
        assert_eq!(g.slot(EventTime(i64::MAX)), Slot::Future);
        assert_eq!(g.slot(EventTime(i64::MIN)), Slot::Late);
    }

    #[test]
    fn what_waits_is_applied_when_its_grid_time_closes() {
        let mut g = Grid::new(Span(100));
        g.next(EventTime(100));
        g.waiting(1).push((ChannelId(0), at(150, 2.0)));
        g.waiting(0).push((ChannelId(0), at(50, 1.0)));
        let mut held = [Held::default()];
        g.close(&mut held);
        assert_eq!(says(&held[0], 100), Reading::Good(1.0));
        g.close(&mut held);
        assert_eq!(says(&held[0], 200), Reading::Good(2.0));
    }

    #[test]
    fn skipping_loses_no_sample() {
        let mut g = Grid::new(Span(100));
        g.next(EventTime(100));
        g.waiting(1).push((ChannelId(0), at(150, 7.0)));
        let mut held = [Held::default()];
        g.skip_to(EventTime(100_000), &mut held);
        assert_eq!(says(&held[0], 200), Reading::Good(7.0));
        assert_eq!(g.next(EventTime(0)), Some(EventTime(100_000)));
    }

    #[test]
    fn the_end_of_the_time_line_is_no_grid_time() {
        let mut g = Grid::new(Span(100));
        assert_eq!(g.next(EventTime(i64::MAX - 150)), Some(EventTime(i64::MAX - 107)));
        let mut held = [Held::default()];
        g.close(&mut held);
        assert_eq!(g.next(EventTime(0)), Some(EventTime(i64::MAX - 7)));
        g.close(&mut held);
        assert_eq!(g.next(EventTime(0)), None);
    }
}
