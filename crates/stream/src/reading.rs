//! A number with its quality, or the reason why there is none.

/// How far a value can be trusted. The numbers are on disk: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Quality {
    /// Use it.
    Good = 0,
    /// A number with a doubt; the reason says which.
    Uncertain = 1,
    /// The instrument spoke and what it said is of no use.
    Bad = 2,
    /// The last value is older than the channel allows.
    Stale = 3,
    /// Nothing came yet, the link is down, or an input is not there.
    Missing = 4,
}

impl Quality {
    /// The quality with this number on disk.
    pub fn from_id(id: u8) -> Option<Quality> {
        [Self::Good, Self::Uncertain, Self::Bad, Self::Stale, Self::Missing].into_iter().find(|q| *q as u8 == id)
    }

    /// The word on screens, in tables and metrics.
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Uncertain => "uncertain",
            Self::Bad => "bad",
            Self::Stale => "stale",
            Self::Missing => "missing",
        }
    }
}

/// Why a value is not good. The numbers are on disk: frozen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Reason {
    /// No reason needed.
    None = 0,
    /// A broken wire: loop current under its fault level, resistance or sum of windings beyond what is possible.
    Open = 1,
    /// A short circuit: loop current above its fault level, resistance or sum of windings the other way.
    Short = 2,
    /// The raw value sits at an end of its range: saturated, or a thermocouple's burn-out.
    Rail = 3,
    /// Outside the channel's range.
    Range = 4,
    /// Changed faster than the channel can.
    Rate = 5,
    /// Older than the channel allows.
    Stale = 6,
    /// Has not changed for too long.
    Frozen = 7,
    /// A checksum failed.
    Crc = 8,
    /// Parity failed.
    Parity = 9,
    /// The instrument says: not available.
    NotAvailable = 10,
    /// The instrument says: error.
    ErrorCode = 11,
    /// The link to the instrument is down.
    SourceDown = 12,
    /// Not evaluated: came after its snapshot had closed, or is stamped in the future. Of a device whose answers all
    /// come too late: that.
    Late = 13,
    /// Calibration missing or overdue.
    NotCalibrated = 14,
    /// From a simulator, in a run that has real sources too.
    Simulated = 15,
    /// Nothing came yet.
    NotYet = 16,
    /// Text that is not a number, or a number that is not finite.
    NotANumber = 17,
    /// An input of this quantity is not there.
    InputMissing = 18,
    /// The formula is not valid at these inputs (division by nothing, outside its range).
    NotValid = 19,
    /// A gauge pressure without a good barometer reading.
    NoBarometer = 20,
    /// Outside the table of its conversion.
    OutsideTable = 21,
    /// An input is uncertain.
    InputUncertain = 22,
    /// Not the order along the air path that physics allows.
    Order = 23,
}

impl Reason {
    /// All reasons with the word for each, in the order of their numbers.
    pub const WORDS: [(Reason, &'static str); 24] = [
        (Reason::None, ""),
        (Reason::Open, "open"),
        (Reason::Short, "short"),
        (Reason::Rail, "rail"),
        (Reason::Range, "range"),
        (Reason::Rate, "rate"),
        (Reason::Stale, "stale"),
        (Reason::Frozen, "frozen"),
        (Reason::Crc, "crc"),
        (Reason::Parity, "parity"),
        (Reason::NotAvailable, "not-available"),
        (Reason::ErrorCode, "error-code"),
        (Reason::SourceDown, "source-down"),
        (Reason::Late, "late"),
        (Reason::NotCalibrated, "not-calibrated"),
        (Reason::Simulated, "simulated"),
        (Reason::NotYet, "not-yet"),
        (Reason::NotANumber, "not-a-number"),
        (Reason::InputMissing, "input-missing"),
        (Reason::NotValid, "not-valid"),
        (Reason::NoBarometer, "no-barometer"),
        (Reason::OutsideTable, "outside-table"),
        (Reason::InputUncertain, "input-uncertain"),
        (Reason::Order, "order"),
    ];

    /// The reason with this number on disk.
    pub fn from_id(id: u8) -> Option<Reason> {
        Self::WORDS.get(usize::from(id)).map(|w| w.0)
    }

    /// The word on screens, in tables and metrics; empty for none.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize].1
    }
}

/// What a channel says at a moment. A value that is bad, stale or missing has no number at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// A finite number to use.
    Good(f64),
    /// A finite number with a doubt.
    Uncertain(f64, Reason),
    /// No number: what came is of no use.
    Bad(Reason),
    /// No number: what came is too old.
    Stale,
    /// No number: nothing came.
    Missing(Reason),
}

impl Reading {
    /// A good reading, or bad (not-a-number) where the number is not finite: no NaN enters a result.
    #[inline]
    pub fn finite(x: f64) -> Reading {
        if x.is_finite() { Reading::Good(x) } else { Reading::Bad(Reason::NotANumber) }
    }

    /// The number, where there is one to use.
    #[inline]
    pub fn number(self) -> Option<f64> {
        match self {
            Reading::Good(x) | Reading::Uncertain(x, _) => Some(x),
            _ => None,
        }
    }

    /// Its quality.
    #[inline]
    pub fn quality(self) -> Quality {
        match self {
            Reading::Good(_) => Quality::Good,
            Reading::Uncertain(..) => Quality::Uncertain,
            Reading::Bad(_) => Quality::Bad,
            Reading::Stale => Quality::Stale,
            Reading::Missing(_) => Quality::Missing,
        }
    }

    /// Why it is not good.
    #[inline]
    pub fn reason(self) -> Reason {
        match self {
            Reading::Good(_) => Reason::None,
            Reading::Stale => Reason::Stale,
            Reading::Uncertain(_, r) | Reading::Bad(r) | Reading::Missing(r) => r,
        }
    }

    /// Put together again from the three columns of a table; `None` where they contradict one another.
    pub fn from_parts(number: Option<f64>, quality: Quality, reason: Reason) -> Option<Reading> {
        match (quality, number) {
            (Quality::Good, Some(x)) => Some(Reading::Good(x)),
            (Quality::Uncertain, Some(x)) => Some(Reading::Uncertain(x, reason)),
            (Quality::Bad, None) => Some(Reading::Bad(reason)),
            (Quality::Stale, None) => Some(Reading::Stale),
            (Quality::Missing, None) => Some(Reading::Missing(reason)),
            _ => None,
        }
    }

    /// The same to the last bit: what `compare` means by equal.
    pub fn same_bits(self, o: Reading) -> bool {
        self.quality() == o.quality()
            && self.reason() == o.reason()
            && self.number().map(f64::to_bits) == o.number().map(f64::to_bits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reason_ids_are_their_places() {
        for (i, (r, word)) in Reason::WORDS.into_iter().enumerate() {
            assert_eq!(r as usize, i, "{word}");
        }
    }

    #[test]
    fn no_nan_becomes_a_number() {
        assert_eq!(Reading::finite(f64::NAN).number(), None);
        assert_eq!(Reading::finite(f64::INFINITY), Reading::Bad(Reason::NotANumber));
    }
}
