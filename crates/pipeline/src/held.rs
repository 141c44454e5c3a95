//! What is known of a channel up to a moment: its newest sample, and whether its link is there.

use stream::{EventTime, Reading, Reason, Span};

/// Something that changes what is known of a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum News {
    /// A sample.
    Sample(EventTime, Reading),
    /// Its link, or its device on the link, came up (`false`) or went down (`true`).
    Link(EventTime, bool),
    /// Something of its device came and was of no use.
    Spoiled(EventTime, Reason),
}

/// What is known. Newest event time wins; of equal ones the later in the log.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Held {
    sample: Option<(EventTime, Reading)>,
    link: Option<(EventTime, bool)>,
    /// The newest moment at which the link went down: a value from until then is none any more, and does not come
    /// back with the link.
    lost: Option<EventTime>,
    /// The newest thing of its device that was of no use, and why: the reason where nothing better came since.
    spoiled: Option<(EventTime, Reason)>,
}

impl Held {
    pub(crate) fn take(&mut self, news: News) {
        match news {
            News::Sample(t, reading) => newest(&mut self.sample, (t, reading), |s| s.0),
            News::Spoiled(t, reason) => newest(&mut self.spoiled, (t, reason), |s| s.0),
            News::Link(t, down) => {
                newest(&mut self.link, (t, down), |l| l.0);
                if down {
                    newest(&mut self.lost, t, |l| *l);
                }
            }
        }
    }

    /// When the newest sample was taken.
    pub(crate) fn taken(&self) -> Option<EventTime> {
        self.sample.map(|s| s.0)
    }

    /// What the channel says at `t`: no number where nothing came yet or since its link went down, and none where
    /// what came is older than `stale_after`. Where something came since and was of no use, that is the reason.
    pub(crate) fn at(&self, t: EventTime, stale_after: Span) -> Reading {
        let lost = self.lost.filter(|l| *l <= t);
        let sample = self.sample.filter(|s| lost.is_none_or(|l| s.0 > l));
        let old = match sample {
            Some((time, reading)) if t - time <= stale_after => return reading,
            Some(_) => Reading::Stale,
            None if self.link.is_some_and(|(since, down)| down && since <= t) => {
                return Reading::Missing(Reason::SourceDown);
            }
            None => Reading::Missing(Reason::NotYet),
        };
        let since = sample.map(|s| s.0).max(lost);
        match self.spoiled.filter(|s| s.0 <= t && t - s.0 <= stale_after && since.is_none_or(|since| s.0 > since)) {
            Some((_, reason)) => Reading::Bad(reason),
            None => old,
        }
    }
}

fn newest<T>(old: &mut Option<T>, new: T, time: impl Fn(&T) -> EventTime) {
    if old.as_ref().is_none_or(|o| time(&new) >= time(o)) {
        *old = Some(new);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STALE: Span = Span(10);
    const DOWN: Reading = Reading::Missing(Reason::SourceDown);
    const NOT_YET: Reading = Reading::Missing(Reason::NotYet);

    fn held(news: &[News]) -> Held {
        let mut held = Held::default();
        news.iter().for_each(|n| held.take(*n));
        held
    }

    fn sample(t: i64, x: f64) -> News {
        News::Sample(EventTime(t), Reading::Good(x))
    }

    fn link(t: i64, down: bool) -> News {
        News::Link(EventTime(t), down)
    }

    #[test]
    fn newest_wins_and_of_equals_the_later_in_the_log() {
        let h = held(&[sample(-5, 1.0), sample(-1, 2.0), sample(-3, 3.0), sample(-1, 4.0)]);
        assert_eq!(h.at(EventTime(0), STALE), Reading::Good(4.0));
    }

    #[test]
    fn stale_is_older_than_allowed_and_not_as_old() {
        let h = held(&[sample(0, 1.0)]);
        assert_eq!(h.at(EventTime(10), STALE), Reading::Good(1.0));
        assert_eq!(h.at(EventTime(11), STALE), Reading::Stale);
        assert_eq!(Held::default().at(EventTime(0), STALE), NOT_YET);
    }

    #[test]
    fn a_value_from_before_an_outage_does_not_come_back() {
        let down = [sample(0, 1.0), link(2, true)];
        assert_eq!(held(&down).at(EventTime(1), STALE), Reading::Good(1.0));
        assert_eq!(held(&down).at(EventTime(2), STALE), DOWN);
        let at_once = [sample(2, 1.0), link(2, true)];
        assert_eq!(held(&at_once).at(EventTime(2), STALE), DOWN);
        let up = [sample(0, 1.0), link(2, true), link(4, false)];
        assert_eq!(held(&up).at(EventTime(4), STALE), NOT_YET);
        let again = [sample(0, 1.0), link(2, true), link(4, false), sample(5, 2.0)];
        assert_eq!(held(&again).at(EventTime(6), STALE), Reading::Good(2.0));
    }

    #[test]
    fn where_what_came_since_was_of_no_use_that_is_the_reason() {
        let spoiled = |t| News::Spoiled(EventTime(t), Reason::Crc);
        let h = held(&[sample(0, 1.0), spoiled(5), spoiled(15)]);
        assert_eq!(h.at(EventTime(10), STALE), Reading::Good(1.0));
        assert_eq!(h.at(EventTime(16), STALE), Reading::Bad(Reason::Crc));
        assert_eq!(h.at(EventTime(26), STALE), Reading::Stale);
        assert_eq!(held(&[spoiled(5)]).at(EventTime(6), STALE), Reading::Bad(Reason::Crc));
        assert_eq!(held(&[spoiled(5), link(6, true)]).at(EventTime(7), STALE), DOWN);
        assert_eq!(held(&[spoiled(5), link(6, true), link(7, false)]).at(EventTime(8), STALE), NOT_YET);
    }

    #[test]
    fn a_value_after_the_link_went_down_counts_and_ages() {
        let h = held(&[link(2, true), sample(3, 1.0)]);
        assert_eq!(h.at(EventTime(4), STALE), Reading::Good(1.0));
        assert_eq!(h.at(EventTime(14), STALE), Reading::Stale);
    }
}
