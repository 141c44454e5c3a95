//! A value that does not move although it should.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, need};
use crate::spec::Fault;
use crate::words::plain;
use stream::{EventTime, Reason, Span};

/// Outside where the value has not gone further than `change` from where it was for the window, and the driver, where
/// there is one, has moved over at least `driver_change` meanwhile. A stretch without a value proves nothing and
/// starts the window anew.
pub(super) static STUCK: Kind = Kind {
    name: "stuck",
    summary: "crossed while the value has changed by no more than change over the window although the driver moved",
    needs: &[Key::Change, Key::Window],
    may: &[Key::Driver, Key::DriverChange],
    figure: Figure::Time,
    of_differences: true,
    test: |s| {
        let driven = s.has(Key::Driver);
        if driven && s.driver_change.is_none_or(|c| c <= 0.0) {
            let why = "is missing or nothing; give how far the driver must have moved";
            return Err(Fault { key: Key::DriverChange, why });
        }
        if !driven && s.driver_change.is_some() {
            return Err(Fault { key: Key::Driver, why: "is missing; name the column that moves, or leave both out" });
        }
        Ok(Box::new(Stuck {
            change: need(Key::Change, s.change)?,
            window: need(Key::Window, s.window)?,
            driver_change: s.driver_change,
            anchor: None,
        }))
    },
    says: |s, shown| {
        let change = shown.difference(s.change.unwrap_or_default());
        let window = s.window.unwrap_or_default().as_secs_f64();
        let driven = s.driver_change.map_or_else(String::new, |c| {
            format!(" while {} moves by {} {}", shown.other.name, plain(c), shown.other.unit)
        });
        format!("moving by more than {change} in {window} s{driven}")
    },
};

#[derive(Clone, Copy, Debug)]
struct Anchor {
    since: EventTime,
    value: f64,
    /// What the driver went through since.
    lowest: f64,
    highest: f64,
}

#[derive(Clone, Debug)]
struct Stuck {
    change: f64,
    window: Span,
    driver_change: Option<f64>,
    anchor: Option<Anchor>,
}

impl Test for Stuck {
    fn judge(&mut self, time: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let (value, driver) = match (values, self.driver_change) {
            (&[value, driver, ..], Some(_)) => (value, driver),
            (&[value, ..], None) => (value, 0.0),
            _ => return Err(Reason::InputMissing),
        };
        let moved = |a: &Anchor| (value - a.value).abs() > self.change || time < a.since;
        let anchor = match &mut self.anchor {
            Some(a) if !moved(a) => a,
            a => a.insert(Anchor { since: time, value, lowest: driver, highest: driver }),
        };
        (anchor.lowest, anchor.highest) = (anchor.lowest.min(driver), anchor.highest.max(driver));
        let still = time - anchor.since;
        let driven = self.driver_change.is_none_or(|c| anchor.highest - anchor.lowest >= c);
        let position = if still >= self.window && driven { Position::Outside } else { Position::Inside };
        Ok(Judged::new(still.as_secs_f64(), position))
    }

    fn lost(&mut self) {
        self.anchor = None;
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;
    use stream::ChannelId;

    fn settings(driver_change: Option<f64>) -> Settings {
        let other = driver_change.map(|_| (Key::Driver, ChannelId(1)));
        Settings { change: Some(0.5), window: Some(Span::from_secs(3)), driver_change, other, ..Settings::default() }
    }

    fn positions(test: &mut Box<dyn Test>, steps: &[(i64, f64, f64)]) -> Vec<bool> {
        let at = |(s, x, driver): &(i64, f64, f64)| {
            test.judge(EventTime(s * 1_000_000_000), &[*x, *driver]).unwrap().position == Position::Outside
        };
        steps.iter().map(at).collect()
    }

    #[test]
    fn still_for_the_window_is_stuck_and_a_move_frees_it() {
        let mut test = (STUCK.test)(&settings(None)).unwrap();
        let steps = [(0, 1.0, 0.0), (2, 1.5, 0.0), (3, 1.0, 0.0), (4, 1.6, 0.0), (6, 1.6, 0.0), (7, 1.6, 0.0)];
        assert_eq!(positions(&mut test, &steps), [false, false, true, false, false, true]);
        test.lost();
        assert_eq!(positions(&mut test, &[(8, 1.6, 0.0), (10, 1.6, 0.0), (11, 1.6, 0.0)]), [false, false, true]);
    }

    #[test]
    fn only_where_the_driver_moved() {
        let mut test = (STUCK.test)(&settings(Some(10.0))).unwrap();
        let steps = [(0, 1.0, 5.0), (9, 1.0, 14.0), (10, 1.0, 4.0), (11, 1.0, 5.0), (12, 2.0, 50.0), (15, 2.0, 50.0)];
        assert_eq!(positions(&mut test, &steps), [false, false, true, true, false, false]);
    }

    #[test]
    fn driver_and_its_change_belong_together() {
        let key = |s: Settings| (STUCK.test)(&s).unwrap_err().key;
        assert_eq!(key(Settings { driver_change: None, ..settings(Some(1.0)) }), Key::DriverChange);
        assert_eq!(key(Settings { other: None, ..settings(Some(1.0)) }), Key::Driver);
    }
}
