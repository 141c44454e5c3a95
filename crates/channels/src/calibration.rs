//! What a run demands of a channel's calibration.

use stream::EventTime;

/// Whether a channel counts as calibrated is judged once, at the run's start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Calibration {
    /// The run does not demand it, or there is nothing to calibrate.
    #[default]
    NotAsked,
    /// Demanded, and valid from one moment to another (excluded).
    Valid {
        /// When the newest calibration of the chain was made.
        from: EventTime,
        /// When the first of the chain is due.
        until: EventTime,
    },
    /// Demanded, and not known.
    Unknown,
}

impl Calibration {
    /// Whether the channel's values are good as far as calibration goes, in a run that starts at `t`.
    pub fn holds_at(self, t: EventTime) -> bool {
        match self {
            Calibration::NotAsked => true,
            Calibration::Valid { from, until } => from <= t && t < until,
            Calibration::Unknown => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_calibration_holds_from_its_date_until_it_is_due() {
        let valid = Calibration::Valid { from: EventTime(10), until: EventTime(20) };
        let holds = [9, 10, 19, 20].map(|t| valid.holds_at(EventTime(t)));
        assert_eq!(holds, [false, true, true, false]);
        assert!(Calibration::NotAsked.holds_at(EventTime(0)));
        assert!(!Calibration::Unknown.holds_at(EventTime(0)));
    }
}
