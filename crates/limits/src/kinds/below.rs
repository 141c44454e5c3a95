//! Outside below a threshold.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::{Key, need};
use stream::{EventTime, Reason};

/// Outside where the value is less than the threshold; at the threshold it is met.
pub(super) static BELOW: Kind = Kind {
    name: "below",
    summary: "crossed while the value is below the threshold, returned at threshold plus dead band",
    needs: &[Key::Threshold],
    may: &[Key::DeadBand],
    figure: Figure::Value,
    of_differences: false,
    test: |s| Ok(Box::new(Below { threshold: need(Key::Threshold, s.threshold)?, dead_band: s.band() })),
    says: |s, shown| format!("not below {}", shown.value(s.threshold.unwrap_or_default())),
};

#[derive(Clone, Debug)]
struct Below {
    threshold: f64,
    dead_band: f64,
}

impl Test for Below {
    fn judge(&mut self, _: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, ..] = values else { return Err(Reason::InputMissing) };
        Ok(Judged::new(value, Position::below(value, self.threshold, self.dead_band)))
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
        let at = |x| Position::below(x, 100.0, 5.0);
        assert_eq!(at(100.0_f64.next_down()), Position::Outside);
        assert_eq!(at(100.0), Position::Band);
        assert_eq!(at(105.0_f64.next_down()), Position::Band);
        assert_eq!(at(105.0), Position::Inside);
        assert_eq!(Position::below(100.0, 100.0, 0.0), Position::Inside);
        let mut test = Below { threshold: 100.0, dead_band: 5.0 };
        let judged = test.judge(EventTime(0), &[105.0]).unwrap();
        assert_eq!((judged.figure, judged.position), (105.0, Position::Inside));
    }
}
