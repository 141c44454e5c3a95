//! The numbers of a limit, by the keys of a limit file. Which of them a kind uses, the kind says.

use crate::spec::Fault;
use stream::{ChannelId, Span};

/// A key of a limit file that belongs to some kinds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// The limit itself.
    Threshold,
    /// The lower one of two.
    Low,
    /// The upper one of two.
    High,
    /// A limit as a share of the values.
    Share,
    /// A limit on a change per second.
    PerSecond,
    /// How far inside a value must be to count as back.
    DeadBand,
    /// A length of time.
    Window,
    /// A number of times.
    Count,
    /// Which side is outside.
    Side,
    /// Points of a curve.
    Points,
    /// A change that counts as one.
    Change,
    /// A change of the second column that counts as one.
    DriverChange,
    /// The second column: what a curve lies over.
    Over,
    /// The second column: what should be the same.
    With,
    /// The second column: what is expected.
    Expected,
    /// The second column: what makes the first one move.
    Driver,
}

impl Key {
    /// All keys.
    pub const ALL: [Key; 16] = [
        Key::Threshold,
        Key::Low,
        Key::High,
        Key::Share,
        Key::PerSecond,
        Key::DeadBand,
        Key::Window,
        Key::Count,
        Key::Side,
        Key::Points,
        Key::Change,
        Key::DriverChange,
        Key::Over,
        Key::With,
        Key::Expected,
        Key::Driver,
    ];

    /// The word in limit files.
    pub fn word(self) -> &'static str {
        match self {
            Key::Threshold => "threshold",
            Key::Low => "low",
            Key::High => "high",
            Key::Share => "share",
            Key::PerSecond => "per_second",
            Key::DeadBand => "dead_band",
            Key::Window => "window",
            Key::Count => "count",
            Key::Side => "side",
            Key::Points => "points",
            Key::Change => "change",
            Key::DriverChange => "driver_change",
            Key::Over => "over",
            Key::With => "with",
            Key::Expected => "expected",
            Key::Driver => "driver",
        }
    }

    /// Whether it names the second column.
    pub fn is_column(self) -> bool {
        matches!(self, Key::Over | Key::With | Key::Expected | Key::Driver)
    }
}

/// Which side is outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Above; for a change: rising.
    Above,
    /// Below; for a change: falling.
    Below,
    /// Both.
    Either,
}

impl Side {
    /// The sides with their words in limit files.
    pub const WORDS: [(Side, &'static str); 3] =
        [(Side::Above, "above"), (Side::Below, "below"), (Side::Either, "either")];

    /// The word in limit files.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize].1
    }
}

/// What the keys say; all numbers in SI, in the quantity of the column they belong to.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs, reason = "each field is the key of its name")]
pub struct Settings {
    pub threshold: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub share: Option<f64>,
    pub per_second: Option<f64>,
    pub dead_band: Option<f64>,
    pub window: Option<Span>,
    pub count: Option<u32>,
    pub side: Option<Side>,
    pub points: Option<Vec<(f64, f64)>>,
    pub change: Option<f64>,
    pub driver_change: Option<f64>,
    /// The second column, and the key that names it.
    pub other: Option<(Key, ChannelId)>,
}

impl Settings {
    /// A threshold with a dead band: all that the plainest kinds need.
    pub fn threshold(threshold: f64, dead_band: f64) -> Settings {
        Settings { threshold: Some(threshold), dead_band: Some(dead_band), ..Settings::default() }
    }

    /// Whether a key is there.
    pub fn has(&self, key: Key) -> bool {
        match key {
            Key::Threshold => self.threshold.is_some(),
            Key::Low => self.low.is_some(),
            Key::High => self.high.is_some(),
            Key::Share => self.share.is_some(),
            Key::PerSecond => self.per_second.is_some(),
            Key::DeadBand => self.dead_band.is_some(),
            Key::Window => self.window.is_some(),
            Key::Count => self.count.is_some(),
            Key::Side => self.side.is_some(),
            Key::Points => self.points.is_some(),
            Key::Change => self.change.is_some(),
            Key::DriverChange => self.driver_change.is_some(),
            Key::Over | Key::With | Key::Expected | Key::Driver => self.other.is_some_and(|(k, _)| k == key),
        }
    }

    /// The dead band, 0 where none is written.
    pub fn band(&self) -> f64 {
        self.dead_band.unwrap_or(0.0)
    }

    /// Every single number is finite, and 0 or more where it must be.
    pub(crate) fn check(&self) -> Result<(), Fault> {
        let any = [(Key::Threshold, self.threshold), (Key::Low, self.low), (Key::High, self.high)];
        let from_zero = [
            (Key::Share, self.share),
            (Key::PerSecond, self.per_second),
            (Key::DeadBand, self.dead_band),
            (Key::Change, self.change),
            (Key::DriverChange, self.driver_change),
        ];
        for (key, x) in any.into_iter().chain(from_zero) {
            if x.is_some_and(|x| !x.is_finite()) {
                return Err(Fault { key, why: "is not a finite number; give one" });
            }
        }
        for (key, x) in from_zero {
            if x.is_some_and(|x| x < 0.0) {
                return Err(Fault { key, why: "is below zero; give 0 or more" });
            }
        }
        if self.window.is_some_and(|w| w <= Span::ZERO) {
            return Err(Fault { key: Key::Window, why: "is no time at all; give the time it looks back over" });
        }
        Ok(())
    }
}

/// The value of a key that the kind needs, or that it is missing.
pub(crate) fn need<T>(key: Key, value: Option<T>) -> Result<T, Fault> {
    value.ok_or(Fault { key, why: "is missing; add it" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_told_apart() {
        for (i, k) in Key::ALL.into_iter().enumerate() {
            assert!(Key::ALL[..i].iter().all(|o| o.word() != k.word()), "{}", k.word());
            assert!(!Settings::default().has(k));
        }
        assert!(Side::WORDS.iter().all(|(s, w)| s.word() == *w));
    }
}
