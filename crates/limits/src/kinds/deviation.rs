//! Too far from what is expected.

use super::band::checked;
use super::{Figure, Judged, Kind, Position, Test};
use crate::settings::Key;
use crate::spec::Fault;
use stream::{EventTime, Reason};

/// Outside where the value less the expected one is less than `low` or exceeds `high`.
pub(super) static DEVIATION: Kind = Kind {
    name: "deviation",
    summary: "crossed while column less expected is below low or above high, returned when inside by the dead band",
    needs: &[Key::Expected],
    may: &[Key::Low, Key::High, Key::DeadBand],
    figure: Figure::Deviation,
    of_differences: true,
    test: |s| {
        if s.low.is_none() && s.high.is_none() {
            return Err(Fault { key: Key::High, why: "is missing, and low too; give at least one of them" });
        }
        let (low, high) = (s.low.unwrap_or(f64::NEG_INFINITY), s.high.unwrap_or(f64::INFINITY));
        Ok(Box::new(Deviation { low, high, dead_band: checked(low, high, s.band())? }))
    },
    says: |s, shown| {
        let end = |word: &str, x: Option<f64>| x.map(|x| format!("{word} {}", shown.difference(x)));
        let ends: Vec<String> = [end("from", s.low), end("to", s.high)].into_iter().flatten().collect();
        format!("{} off {}", ends.join(" "), shown.other.name)
    },
};

#[derive(Clone, Debug)]
struct Deviation {
    low: f64,
    high: f64,
    dead_band: f64,
}

impl Test for Deviation {
    fn judge(&mut self, _: EventTime, values: &[f64]) -> Result<Judged, Reason> {
        let &[value, expected, ..] = values else { return Err(Reason::InputMissing) };
        let off = value - expected;
        let below = Position::below(off, self.low, self.dead_band);
        Ok(Judged::new(off, below.max(Position::above(off, self.high, self.dead_band))))
    }

    fn boxed(&self) -> Box<dyn Test> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Settings;

    #[test]
    fn one_end_may_be_open() {
        let settings = Settings { high: Some(2.0), dead_band: Some(0.5), ..Settings::default() };
        let mut test = (DEVIATION.test)(&settings).unwrap();
        let mut at = |value| test.judge(EventTime(0), &[value, 100.0]).unwrap();
        assert_eq!((at(102.5).figure, at(102.5).position), (2.5, Position::Outside));
        assert_eq!((at(102.0).position, at(101.5).position), (Position::Band, Position::Inside));
        assert_eq!(at(-1e9).position, Position::Inside);
        assert_eq!((DEVIATION.test)(&Settings::default()).unwrap_err().key, Key::High);
    }
}
