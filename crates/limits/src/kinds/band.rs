//! Outside a band.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, need};
use crate::spec::Fault;
use stream::{EventTime, Reason};

/// Outside where the value is less than `low` or exceeds `high`; at both it is met.
pub(super) static BAND: Kind = Kind {
    name: "band",
    summary: "crossed while the value is below low or above high, returned when inside both by the dead band",
    needs: &[Key::Low, Key::High],
    may: &[Key::DeadBand],
    figure: Figure::Value,
    of_differences: false,
    test: |s| {
        let (low, high) = (need(Key::Low, s.low)?, need(Key::High, s.high)?);
        Ok(Box::new(Band { low, high, dead_band: checked(low, high, s.band())? }))
    },
    says: |s, shown| {
        let end = |x: Option<f64>| shown.value(x.unwrap_or_default());
        format!("from {} to {}", end(s.low), end(s.high))
    },
};

/// A dead band that leaves room between two limits.
pub(super) fn checked(low: f64, high: f64, dead_band: f64) -> Result<f64, Fault> {
    match high - low {
        width if width <= 0.0 => Err(Fault { key: Key::High, why: "is not above low; give the upper limit" }),
        width if 2.0 * dead_band >= width => {
            Err(Fault { key: Key::DeadBand, why: "leaves no room between low and high; make it smaller" })
        }
        _ => Ok(dead_band),
    }
}

#[derive(Clone, Debug)]
struct Band {
    low: f64,
    high: f64,
    dead_band: f64,
}

impl Test for Band {
    fn judge(&mut self, _: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, ..] = values else { return Err(Reason::InputMissing) };
        let below = Position::below(value, self.low, self.dead_band);
        Ok(Judged::new(value, below.max(Position::above(value, self.high, self.dead_band))))
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges() {
        let mut band = Band { low: 10.0, high: 20.0, dead_band: 1.0 };
        let mut at = |x| band.judge(EventTime(0), &[x]).unwrap().position;
        assert_eq!([9.9, 20.1].map(&mut at), [Position::Outside; 2]);
        assert_eq!([10.0, 10.9, 19.1, 20.0].map(&mut at), [Position::Band; 4]);
        assert_eq!([11.0, 15.0, 19.0].map(&mut at), [Position::Inside; 3]);
    }

    #[test]
    fn a_band_has_room() {
        assert_eq!(checked(1.0, 1.0, 0.0).map_err(|f| f.key), Err(Key::High));
        assert_eq!(checked(1.0, 2.0, 0.5).map_err(|f| f.key), Err(Key::DeadBand));
        assert_eq!(checked(1.0, 2.0, 0.4), Ok(0.4));
    }
}
