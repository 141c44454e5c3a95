//! A change that is too fast.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, Side, need};
use std::collections::VecDeque;
use stream::{EventTime, Reason, Span};

/// Outside where the change per second over the window exceeds the limit: the newest value less the newest one that
/// is at least the window old, over the time between them. Not judged until there is one, nor where it is older than
/// two windows.
///
/// A noisy channel needs a window of several of its time constants: 2 to 10 s is common practice, no source.
pub(super) static RATE: Kind = Kind {
    name: "rate",
    summary: "crossed while the change over the window is faster than per_second",
    needs: &[Key::PerSecond, Key::Window],
    may: &[Key::Side, Key::DeadBand],
    figure: Figure::Rate,
    of_differences: true,
    test: |s| {
        Ok(Box::new(Rate {
            limit: need(Key::PerSecond, s.per_second)?,
            window: need(Key::Window, s.window)?,
            side: s.side.unwrap_or(Side::Either),
            dead_band: s.band(),
            past: VecDeque::new(),
        }))
    },
    says: |s, shown| {
        let how = match s.side.unwrap_or(Side::Either) {
            Side::Above => "rising",
            Side::Below => "falling",
            Side::Either => "changing",
        };
        let window = s.window.unwrap_or_default().as_secs_f64();
        let limit = shown.difference(s.per_second.unwrap_or_default());
        format!("not {how} faster than {limit}/s over {window} s")
    },
};

/// A window is kept in at most about so many values.
const PARTS: i64 = 512;

#[derive(Clone, Debug)]
struct Rate {
    limit: f64,
    window: Span,
    side: Side,
    dead_band: f64,
    /// Values from the one to compare with on.
    past: VecDeque<(EventTime, f64)>,
}

impl Test for Rate {
    fn judge(&mut self, time: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, ..] = values else { return Err(Reason::InputMissing) };
        if self.past.back().is_some_and(|b| time < b.0) {
            self.past.clear();
        }
        if self.past.back().is_none_or(|b| (time - b.0).0 >= self.window.0 / PARTS) {
            self.past.push_back((time, value));
        }
        while self.past.get(1).is_some_and(|p| time - p.0 >= self.window) {
            self.past.pop_front();
        }
        let &(then, was) = self.past.front().ok_or(Reason::NotYet)?;
        let age = time - then;
        if age < self.window || age.0 > self.window.0.saturating_mul(2) {
            return Err(Reason::NotYet);
        }
        let rate = (value - was) / age.as_secs_f64();
        let figure = match self.side {
            Side::Above => rate,
            Side::Below => -rate,
            Side::Either => rate.abs(),
        };
        Ok(Judged::new(rate, Position::above(figure, self.limit, self.dead_band)))
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;

    fn test(side: Option<Side>) -> Box<dyn Test> {
        let window = Some(Span::from_secs(2));
        let settings = Settings { per_second: Some(1.0), window, side, ..Settings::default() };
        (RATE.test)(&settings).unwrap()
    }

    fn at(ms: i64) -> EventTime {
        EventTime(ms * 1_000_000)
    }

    #[test]
    fn over_the_window_and_not_before_it_is_full() {
        let mut rate = test(None);
        for t in 0..20 {
            assert_eq!(rate.judge(at(t * 100), &[10.0]), Err(Reason::NotYet));
        }
        assert_eq!(rate.judge(at(2000), &[11.0]).unwrap(), Judged::new(0.5, Position::Inside));
        assert_eq!(rate.judge(at(2100), &[12.5]).unwrap(), Judged::new(1.25, Position::Outside));
        assert_eq!(rate.judge(at(2200), &[7.0]).unwrap(), Judged::new(-1.5, Position::Outside));
    }

    #[test]
    fn one_side_alone() {
        for (side, outside) in [(Side::Above, [true, false]), (Side::Below, [false, true])] {
            for (value, outside) in [12.5, 7.5].into_iter().zip(outside) {
                let mut rate = test(Some(side));
                assert!(rate.judge(at(0), &[10.0]).is_err());
                let position = rate.judge(at(2000), &[value]).unwrap().position;
                assert_eq!(position == Position::Outside, outside, "{side:?} {value}");
            }
        }
    }

    #[test]
    fn a_gap_of_two_windows_starts_anew_and_a_shorter_one_counts_with_its_length() {
        let mut rate = test(None);
        assert!(rate.judge(at(0), &[10.0]).is_err());
        assert_eq!(rate.judge(at(4000), &[16.0]).unwrap().figure, 1.5);
        assert_eq!(rate.judge(at(9000), &[90.0]), Err(Reason::NotYet));
        assert_eq!(rate.judge(at(10_900), &[90.0]), Err(Reason::NotYet));
        assert_eq!(rate.judge(at(11_000), &[90.0]).unwrap().figure, 0.0);
        assert_eq!(rate.judge(at(10_000), &[90.0]), Err(Reason::NotYet));
    }

    #[test]
    fn fast_samples_fill_no_memory() {
        let mut rate =
            Rate { limit: 1.0, window: Span::from_secs(2), side: Side::Either, dead_band: 0.0, past: VecDeque::new() };
        for t in 0..100_000 {
            let judged = rate.judge(EventTime(t * 100_000), &[t as f64 * 1e-4]);
            assert!(judged.is_err() || (judged.unwrap().figure - 1.0).abs() < 1e-9);
            assert!(rate.past.len() <= PARTS as usize + 3, "{}", rate.past.len());
        }
    }
}
