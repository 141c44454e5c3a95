//! The state of a limit as readings come in.

use crate::kinds::Position;
use crate::{LimitError, LimitSpec};
use stream::{EventTime, LimitState, Reading, Reason};

/// A limit and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    spec: LimitSpec,
    /// Crossed and not returned.
    crossed: bool,
    /// Since when the value speaks for a change (outside while not crossed, inside while crossed) without a break.
    since: Option<EventTime>,
    /// What the last reading was good for.
    judged: Judged,
}

/// What the last reading was good for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Judged {
    /// Nothing with a number came since the start.
    NotYet,
    /// It had a number.
    Yes,
    /// It had none, after one that had.
    Lost,
}

/// What a step changed, where it changed something that is worth an event.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// The limit counts as crossed: outside for the on-delay.
    Crossed {
        /// The value at this step, SI.
        value: f64,
        /// Since when it has been outside.
        since: EventTime,
    },
    /// The limit is met again: inside by the dead band for the off-delay.
    Returned {
        /// The value at this step, SI.
        value: f64,
        /// Since when it has been inside by the dead band.
        since: EventTime,
    },
    /// The value was lost: the limit is not judged any more.
    NotJudged {
        /// Why there is no number.
        reason: Reason,
        /// Whether the limit was crossed and so stays crossed.
        crossed: bool,
    },
    /// The value is there again and changes nothing else.
    JudgedAgain {
        /// The value at this step, SI.
        value: f64,
        /// Whether the limit is crossed, as it was before the value was lost.
        crossed: bool,
    },
}

impl Limit {
    /// A limit that has seen nothing yet: not judged.
    ///
    /// # Errors
    /// [`LimitError`] where a number is not finite or below zero, or name or document is missing.
    pub fn new(spec: LimitSpec) -> Result<Limit, LimitError> {
        let limit = || spec.name.clone();
        if spec.name.trim().is_empty() {
            return Err(LimitError::NoName);
        }
        for (field, value) in [("threshold", spec.threshold), ("dead band", spec.dead_band)] {
            if !value.is_finite() {
                return Err(LimitError::NotFinite { limit: limit(), field, value });
            }
        }
        let at_least_zero = [
            ("dead band", spec.dead_band),
            ("on-delay in s", spec.on_delay.as_secs_f64()),
            ("off-delay in s", spec.off_delay.as_secs_f64()),
        ];
        for (field, value) in at_least_zero {
            if value < 0.0 {
                return Err(LimitError::Negative { limit: limit(), field, value });
            }
        }
        if spec.document.trim().is_empty() {
            return Err(LimitError::NoDocument { limit: limit() });
        }
        Ok(Limit { spec, crossed: false, since: None, judged: Judged::NotYet })
    }

    /// What it was built from.
    pub fn spec(&self) -> &LimitSpec {
        &self.spec
    }

    /// Where it stands.
    pub fn state(&self) -> LimitState {
        match (self.judged, self.crossed, self.since) {
            (Judged::Yes, false, None) => LimitState::Inside,
            (Judged::Yes, false, Some(_)) => LimitState::Pending,
            (Judged::Yes, true, None) => LimitState::Outside,
            (Judged::Yes, true, Some(_)) => LimitState::Returning,
            (_, false, _) => LimitState::NotJudged,
            (_, true, _) => LimitState::OutsideNotJudged,
        }
    }

    /// One reading. A change is declared at the first step at which the value has spoken for it without a break for
    /// the delay; the first such reading starts the clock, and a delay of 0 is served at once. A value in the dead
    /// band breaks both clocks. An uncertain value is judged; a reading without a number breaks both clocks and
    /// changes nothing else.
    pub fn step(&mut self, time: EventTime, reading: Reading) -> Option<Change> {
        let Some(value) = reading.number() else {
            return self.lose(reading.reason());
        };
        let before = std::mem::replace(&mut self.judged, Judged::Yes);
        let position = (self.spec.kind.position)(value, self.spec.threshold, self.spec.dead_band);
        let (change_at, delay) = if self.crossed {
            (Position::Inside, self.spec.off_delay)
        } else {
            (Position::Outside, self.spec.on_delay)
        };
        if position == change_at {
            let since = *self.since.get_or_insert(time);
            if time - since >= delay {
                return Some(self.change(value, since));
            }
        } else {
            self.since = None;
        }
        (before == Judged::Lost).then_some(Change::JudgedAgain { value, crossed: self.crossed })
    }

    fn change(&mut self, value: f64, since: EventTime) -> Change {
        self.crossed = !self.crossed;
        self.since = None;
        if self.crossed { Change::Crossed { value, since } } else { Change::Returned { value, since } }
    }

    fn lose(&mut self, reason: Reason) -> Option<Change> {
        self.since = None;
        if self.judged != Judged::Yes {
            return None;
        }
        self.judged = Judged::Lost;
        Some(Change::NotJudged { reason, crossed: self.crossed })
    }
}
