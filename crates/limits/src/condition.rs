//! When a limit is judged at all.

use crate::kinds::Position;
use crate::settings::Side;
use stream::{ChannelId, Reading};

/// A condition on other columns of a snapshot.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Condition {
    /// Always.
    #[default]
    Always,
    /// Every one of these holds.
    All(Vec<Comparison>),
    /// At least one of these holds.
    Any(Vec<Comparison>),
}

/// A column beyond a threshold, with hysteresis.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The column.
    pub column: ChannelId,
    /// `Above` or `Below`; `Either` is taken as above.
    pub side: Side,
    /// In SI.
    pub threshold: f64,
    /// How far back the value must go before it does not hold any more, in SI, 0 or more.
    pub dead_band: f64,
    /// Whether it held last.
    held: bool,
}

impl Comparison {
    /// A comparison that does not hold yet.
    pub fn new(column: ChannelId, side: Side, threshold: f64, dead_band: f64) -> Comparison {
        Comparison { column, side, threshold, dead_band, held: false }
    }

    /// Whether it holds; `None` where the column has no number. Without a number what held last is remembered.
    fn step(&mut self, reading: Reading) -> Option<bool> {
        let value = reading.number()?;
        let position = if self.side == Side::Below { Position::below } else { Position::above };
        self.held = match position(value, self.threshold, self.dead_band) {
            Position::Outside => true,
            Position::Inside => false,
            Position::Band => self.held,
        };
        Some(self.held)
    }
}

impl Condition {
    /// Whether it holds for these columns; `None` where that cannot be known. A part that decides by itself decides,
    /// also where another one is not known.
    pub fn step(&mut self, readings: &[Reading]) -> Option<bool> {
        let (parts, decides) = match self {
            Condition::Always => return Some(true),
            Condition::All(parts) => (parts, false),
            Condition::Any(parts) => (parts, true),
        };
        let (mut decided, mut unknown) = (false, false);
        for part in parts {
            // Every part is asked: each keeps its own memory.
            match readings.get(usize::from(part.column.0)).and_then(|r| part.step(*r)) {
                Some(holds) => decided |= holds == decides,
                None => unknown = true,
            }
        }
        match (decided, unknown) {
            (true, _) => Some(decides),
            (false, true) => None,
            (false, false) => Some(!decides),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stream::Reason;

    fn reading(x: Option<f64>) -> Reading {
        x.map_or(Reading::Missing(Reason::NotYet), Reading::Good)
    }

    #[test]
    fn hysteresis() {
        let mut c = Condition::All(vec![Comparison::new(ChannelId(0), Side::Above, 10.0, 2.0)]);
        let inputs = [Some(9.0), Some(10.5), Some(9.0), None, Some(8.5), Some(8.0), Some(9.5)];
        let held = [Some(false), Some(true), Some(true), None, Some(true), Some(false), Some(false)];
        assert_eq!(inputs.map(|x| c.step(&[reading(x)])), held);
    }

    /// Every combination of two parts, each true, false or not known: Kleene's three-valued logic.
    #[test]
    fn all_and_any_of_two() {
        let part = |i| Comparison::new(ChannelId(i), Side::Below, 5.0, 0.0);
        let values = [(Some(1.0), Some(true)), (Some(9.0), Some(false)), (None, None)];
        for (x, a) in values {
            for (y, b) in values {
                let readings = [reading(x), reading(y)];
                let all = Condition::All(vec![part(0), part(1)]).step(&readings);
                let any = Condition::Any(vec![part(0), part(1)]).step(&readings);
                let and = if a == Some(false) || b == Some(false) { Some(false) } else { a.and(b) };
                let or = if a == Some(true) || b == Some(true) { Some(true) } else { a.and(b) };
                assert_eq!((all, any), (and, or), "{a:?} {b:?}");
            }
        }
        assert_eq!(Condition::Always.step(&[]), Some(true));
        assert_eq!(Condition::All(vec![part(7)]).step(&[]), None);
    }
}
