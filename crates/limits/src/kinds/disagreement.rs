//! Two columns that should say the same and do not.

use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::Key;
use crate::spec::Fault;
use crate::words::plain;
use stream::{EventTime, Reason};

/// Outside where two columns differ by more than `threshold`, or by more than `share` of their mean magnitude.
pub(super) static DISAGREEMENT: Kind = Kind {
    name: "disagreement",
    summary: "crossed while two columns differ by more than threshold, or by more than a share of their mean magnitude",
    needs: &[Key::With],
    may: &[Key::Threshold, Key::Share, Key::DeadBand],
    figure: Figure::Distance,
    of_differences: true,
    test: |s| match (s.threshold, s.share) {
        (Some(t), None) if t <= 0.0 => Err(Fault { key: Key::Threshold, why: "is not above 0; give a distance" }),
        (Some(limit), None) => Ok(Box::new(Disagreement { limit, share: false, dead_band: s.band() })),
        (None, Some(limit)) if s.dead_band.is_none() => {
            Ok(Box::new(Disagreement { limit, share: true, dead_band: 0.0 }))
        }
        (None, Some(_)) => Err(Fault { key: Key::DeadBand, why: "is for threshold, not for share; leave it out" }),
        (Some(_), Some(_)) => Err(Fault { key: Key::Share, why: "and threshold are both given; leave one out" }),
        (None, None) => Err(Fault { key: Key::Threshold, why: "is missing, and share too; give one of them" }),
    },
    says: |s, shown| match s.share {
        Some(share) => format!("within {} % of {}", plain(share * 100.0), shown.other.name),
        None => format!("within {} of {}", shown.difference(s.threshold.unwrap_or_default()), shown.other.name),
    },
};

#[derive(Clone, Debug)]
struct Disagreement {
    limit: f64,
    share: bool,
    dead_band: f64,
}

impl Test for Disagreement {
    fn judge(&mut self, _: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[a, b, ..] = values else { return Err(Reason::InputMissing) };
        let distance = (a - b).abs();
        let mean = a.abs() / 2.0 + b.abs() / 2.0;
        // Two zeros agree.
        let figure = if self.share && mean > 0.0 { distance / mean } else { distance };
        Ok(Judged::new(figure, Position::above(figure, self.limit, self.dead_band)))
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;

    fn at(settings: Settings, a: f64, b: f64) -> (f64, Position) {
        let judged = (DISAGREEMENT.test)(&settings).unwrap().judge(EventTime(0), &[a, b]).unwrap();
        (judged.figure, judged.position)
    }

    #[test]
    fn by_distance_and_by_share() {
        let distance = Settings::threshold(2.0, 0.5);
        assert_eq!(at(distance.clone(), 10.0, 12.5), (2.5, Position::Outside));
        assert_eq!(at(distance.clone(), 12.0, 10.0), (2.0, Position::Band));
        assert_eq!(at(distance, 11.5, 10.0), (1.5, Position::Inside));
        let share = || Settings { share: Some(0.1), ..Settings::default() };
        assert_eq!(at(share(), 90.0, 110.0), (0.2, Position::Outside));
        assert_eq!(at(share(), -95.0, -105.0), (0.1, Position::Inside));
        assert_eq!(at(share(), 0.0, 0.0), (0.0, Position::Inside));
        assert_eq!(at(share(), -1.0, 1.0), (2.0, Position::Outside));
    }

    #[test]
    fn one_of_both_and_not_both() {
        let fault = |s: Settings| (DISAGREEMENT.test)(&s).unwrap_err().key;
        assert_eq!(fault(Settings::default()), Key::Threshold);
        assert_eq!(fault(Settings { share: Some(0.1), ..Settings::threshold(1.0, 0.0) }), Key::Share);
        assert_eq!(fault(Settings { share: Some(0.1), dead_band: Some(1.0), ..Settings::default() }), Key::DeadBand);
        assert_eq!(fault(Settings::threshold(0.0, 0.0)), Key::Threshold);
    }
}
