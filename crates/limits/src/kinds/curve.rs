//! A limit that lies over another quantity.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, Side, need};
use crate::spec::Fault;
use stream::{EventTime, Reason};

/// Outside where the value is beyond the curve at the second column's value: linear between the points, not judged
/// outside of them.
pub(super) static CURVE: Kind = Kind {
    name: "curve",
    summary: "crossed while the value is above (side below: below) points over another column, linear between; not \
              judged outside of them",
    needs: &[Key::Over, Key::Points],
    may: &[Key::Side, Key::DeadBand],
    figure: Figure::Value,
    of_differences: false,
    test: |s| {
        let points = need(Key::Points, s.points.clone())?;
        if points.len() < 2 {
            return Err(Fault { key: Key::Points, why: "are fewer than two; give two or more" });
        }
        if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
            return Err(Fault { key: Key::Points, why: "are not all finite numbers; give finite ones" });
        }
        if points.windows(2).any(|w| w[1].0 <= w[0].0) {
            return Err(Fault { key: Key::Points, why: "do not rise in what they lie over; sort them, each once" });
        }
        let above = match s.side {
            None | Some(Side::Above) => true,
            Some(Side::Below) => false,
            Some(Side::Either) => {
                return Err(Fault { key: Key::Side, why: "is one of above and below for a curve; write two limits" });
            }
        };
        Ok(Box::new(Curve { points, above, dead_band: s.band() }))
    },
    says: |s, shown| {
        let side = s.side.unwrap_or(Side::Above).word();
        format!("not {side} the curve over {}", shown.other.name)
    },
};

#[derive(Clone, Debug)]
struct Curve {
    points: Vec<(f64, f64)>,
    above: bool,
    dead_band: f64,
}

impl Curve {
    fn at(&self, x: f64) -> Option<f64> {
        let after = self.points.partition_point(|p| p.0 < x);
        let (right, left) = (self.points.get(after)?, after.checked_sub(1).and_then(|i| self.points.get(i)));
        match left {
            _ if right.0 == x => Some(right.1),
            None => None,
            Some(left) => Some(left.1 + (right.1 - left.1) * ((x - left.0) / (right.0 - left.0))),
        }
    }
}

impl Test for Curve {
    fn judge(&mut self, _: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, over, ..] = values else { return Err(Reason::InputMissing) };
        let here = self.at(over).filter(|h| h.is_finite()).ok_or(Reason::OutsideTable)?;
        let position = if self.above { Position::above } else { Position::below };
        Ok(Judged { limit_here: Some(here), ..Judged::new(value, position(value, here, self.dead_band)) })
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;

    fn settings(points: &[(f64, f64)]) -> Settings {
        Settings { points: Some(points.to_vec()), ..Settings::threshold(0.0, 0.0) }
    }

    #[test]
    fn linear_between_and_nothing_outside() {
        let curve = Curve { points: vec![(0.0, 10.0), (10.0, 20.0), (20.0, 0.0)], above: true, dead_band: 0.0 };
        for (x, y) in [(0.0, 10.0), (5.0, 15.0), (10.0, 20.0), (15.0, 10.0), (20.0, 0.0)] {
            assert_eq!(curve.at(x), Some(y), "{x}");
        }
        assert_eq!([-0.1, 20.1, f64::NAN].map(|x| curve.at(x)), [None; 3]);
    }

    #[test]
    fn both_sides() {
        let mut above = (CURVE.test)(&settings(&[(0.0, 10.0), (10.0, 20.0)])).unwrap();
        let judged = above.judge(EventTime(0), &[16.0, 5.0]).unwrap();
        assert_eq!((judged.position, judged.limit_here), (Position::Outside, Some(15.0)));
        assert_eq!(above.judge(EventTime(0), &[16.0, 11.0]), Err(Reason::OutsideTable));
        let below = Settings { side: Some(Side::Below), ..settings(&[(0.0, 10.0), (10.0, 20.0)]) };
        let mut below = (CURVE.test)(&below).unwrap();
        assert_eq!(below.judge(EventTime(0), &[16.0, 5.0]).unwrap().position, Position::Inside);
    }

    #[test]
    fn curves_that_are_none() {
        let key = |s: Settings| (CURVE.test)(&s).unwrap_err().key;
        for points in [vec![], vec![(1.0, 1.0)], vec![(1.0, 1.0), (1.0, 2.0)], vec![(0.0, f64::NAN), (1.0, 1.0)]] {
            assert_eq!(key(settings(&points)), Key::Points, "{points:?}");
        }
        let either = Settings { side: Some(Side::Either), ..settings(&[(0.0, 1.0), (1.0, 1.0)]) };
        assert_eq!(key(either), Key::Side);
    }
}
