//! Something that happens too often.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, Side, need};
use crate::spec::Fault;
use std::collections::VecDeque;
use stream::{EventTime, Reason, Span};

/// Outside where the value crossed the threshold more than `count` times within the window. A crossing is the step
/// from inside by the dead band to outside; `side = "either"` counts the steps back too, as for a switch. What is
/// outside from the first value on has not crossed.
pub(super) static COUNT: Kind = Kind {
    name: "count",
    summary: "crossed while the value went above (side below: below; either: above or back) the threshold more than \
              count times within the window",
    needs: &[Key::Threshold, Key::Count, Key::Window],
    may: &[Key::Side, Key::DeadBand],
    figure: Figure::Count,
    of_differences: false,
    test: |s| {
        let count = need(Key::Count, s.count)?;
        if !(1..=MOST).contains(&count) {
            return Err(Fault { key: Key::Count, why: "is not from 1 to 10000; give how many are still met" });
        }
        Ok(Box::new(Count {
            threshold: need(Key::Threshold, s.threshold)?,
            dead_band: s.band(),
            side: s.side.unwrap_or(Side::Above),
            most: count as usize,
            window: need(Key::Window, s.window)?,
            beyond: None,
            crossings: VecDeque::new(),
        }))
    },
    says: |s, shown| {
        let how = match s.side.unwrap_or(Side::Above) {
            Side::Either => "across",
            side => side.word(),
        };
        let (count, window) = (s.count.unwrap_or_default(), s.window.unwrap_or_default().as_secs_f64());
        format!("at most {count} times {how} {} in {window} s", shown.value(s.threshold.unwrap_or_default()))
    },
};

const MOST: u32 = 10_000;

#[derive(Clone, Debug)]
struct Count {
    threshold: f64,
    dead_band: f64,
    side: Side,
    most: usize,
    window: Span,
    /// Whether the value is beyond the threshold; `None` before the first one that says so.
    beyond: Option<bool>,
    /// The newest crossings, one more than are met.
    crossings: VecDeque<EventTime>,
}

impl Test for Count {
    fn judge(&mut self, time: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, ..] = values else { return Err(Reason::InputMissing) };
        let position = if self.side == Side::Below { Position::below } else { Position::above };
        let now = match position(value, self.threshold, self.dead_band) {
            Position::Outside => Some(true),
            Position::Inside => Some(false),
            Position::Band => self.beyond,
        };
        let before = std::mem::replace(&mut self.beyond, now);
        let changed = before.is_some() && before != now;
        if changed && (now == Some(true) || self.side == Side::Either) {
            self.crossings.push_back(time);
            if self.crossings.len() > self.most + 1 {
                self.crossings.pop_front();
            }
        }
        while self.crossings.front().is_some_and(|t| time - *t >= self.window) {
            self.crossings.pop_front();
        }
        let count = self.crossings.len();
        let position = if count > self.most { Position::Outside } else { Position::Inside };
        Ok(Judged::new(count as f64, position))
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;

    fn counts(side: Option<Side>, values: &[f64]) -> Vec<f64> {
        let window = Some(Span::from_secs(5));
        let settings = Settings { count: Some(2), window, side, ..Settings::threshold(10.0, 2.0) };
        let mut test = (COUNT.test)(&settings).unwrap();
        let mut out = Vec::new();
        for (i, value) in values.iter().enumerate() {
            let judged = test.judge(EventTime(i as i64 * 1_000_000_000), &[*value]).unwrap();
            assert_eq!(judged.position == Position::Outside, judged.figure > 2.0);
            out.push(judged.figure);
        }
        out
    }

    #[test]
    fn crossings_are_counted_with_the_dead_band_and_forgotten_after_the_window() {
        // 9 is in the dead band: the step from 9 to 11 after 11 is none.
        let values = [11.0, 8.0, 11.0, 9.0, 11.0, 8.0, 11.0, 8.0, 8.0, 8.0, 8.0, 8.0];
        assert_eq!(counts(None, &values), [0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 2.0, 1.0, 1.0, 1.0, 1.0, 0.0]);
        let values = [0.0, 20.0, 0.0, 20.0, 0.0, 20.0, 0.0, 20.0];
        assert_eq!(counts(None, &values), [0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 2.0, 3.0]);
    }

    #[test]
    fn a_switch_counts_both_ways_and_below_the_other_way() {
        assert_eq!(counts(Some(Side::Either), &[0.0, 20.0, 0.0, 20.0]), [0.0, 1.0, 2.0, 3.0]);
        assert_eq!(counts(Some(Side::Below), &[20.0, 0.0, 11.0, 13.0, 9.0]), [0.0, 1.0, 1.0, 1.0, 2.0]);
    }

    #[test]
    fn no_count_is_none() {
        let settings = |count| Settings { count: Some(count), ..Settings::threshold(1.0, 0.0) };
        assert_eq!((COUNT.test)(&settings(0)).unwrap_err().key, Key::Count);
        assert_eq!((COUNT.test)(&settings(10_001)).unwrap_err().key, Key::Count);
    }
}
