//! The state of a limit as readings come in.

use crate::kinds::{Judged, Position, Test};
use crate::{Condition, LimitError, LimitSpec};
use stream::{EventTime, LimitState, Reading, Reason};

/// A limit and where it stands.
#[derive(Clone, Debug)]
pub struct Limit {
    spec: LimitSpec,
    test: Box<dyn Test>,
    enable: Enable,
    /// Crossed and not returned.
    crossed: bool,
    /// Crossed, returned since, and waiting for an operator's reset.
    latched: bool,
    /// Since when the value speaks for a change (outside while not crossed, inside while crossed) without a break.
    since: Option<EventTime>,
    /// Which of the last judged values were outside, the newest in the lowest bit; where n of m counts.
    hits: u64,
    /// What the last reading was good for.
    basis: Ground,
    /// When the newest value was taken that was not outside.
    met_at: EventTime,
    onset: Onset,
}

/// When the value went outside: after the last one that was not, by the first one that was. Times of samples, not of
/// the snapshots they are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Onset {
    /// After this; the beginning of time where no value was seen before.
    pub after: EventTime,
    /// At this moment or before.
    pub by: EventTime,
}

/// What the last reading was good for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ground {
    /// Nothing could be judged since the start.
    NotYet,
    /// It was judged.
    Judged,
    /// It had no number, after one that was judged.
    NoData,
    /// The kind has no answer for it (outside a table), after one that was judged.
    NoAnswer,
    /// The condition does not hold, or not for long enough.
    NotEnabled,
}

#[derive(Clone, Debug)]
struct Enable {
    condition: Condition,
    /// Whether it holds; `None`: not known.
    held: Option<bool>,
    /// Whether it held when that was last known.
    known: bool,
    /// Since when, stretches in which it was not known included.
    since: EventTime,
}

/// What a step changed, where it changed something that is worth an event.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// The limit counts as crossed: outside for the on-delay.
    Crossed {
        /// What is held against the limit, at this step, SI.
        value: f64,
        /// Since when it has been outside.
        since: EventTime,
        /// When it went outside.
        onset: Onset,
        /// The limit at this moment, where it changes with the second column.
        limit_here: Option<f64>,
    },
    /// The limit is met again: inside by the dead band for the off-delay.
    Returned {
        /// What is held against the limit, at this step, SI.
        value: f64,
        /// Since when it has been inside by the dead band.
        since: EventTime,
        /// Whether it stays crossed until it is reset.
        latched: bool,
    },
    /// The limit is not judged any more and was crossed: it is not enabled now.
    NotEnabled {
        /// Whether it stays crossed until it is reset.
        latched: bool,
    },
    /// The limit is over: an operator has reset it.
    Reset,
    /// The value was lost: the limit is not judged any more.
    NotJudged {
        /// Why there is no number, or no answer for it.
        reason: Reason,
        /// Whether the limit was crossed and so stays crossed.
        crossed: bool,
    },
    /// The value is there again and changes nothing else.
    JudgedAgain {
        /// What is held against the limit, at this step, SI.
        value: f64,
        /// Whether the limit is crossed, as it was before the value was lost.
        crossed: bool,
    },
}

impl Limit {
    /// A limit that has seen nothing yet: not judged.
    ///
    /// # Errors
    /// [`LimitError`] where a number is not finite or below zero, keys of the kind are missing or too many, or name or
    /// document is missing.
    pub fn new(spec: LimitSpec) -> Result<Limit, LimitError> {
        spec.check()?;
        let test = (spec.kind.test)(&spec.settings).map_err(|f| spec.fault(f))?;
        let held = (spec.enable == Condition::Always).then_some(true);
        Ok(Limit {
            test,
            enable: Enable { condition: spec.enable.clone(), held, known: false, since: EventTime(i64::MIN) },
            spec,
            crossed: false,
            latched: false,
            since: None,
            hits: 0,
            basis: Ground::NotYet,
            met_at: EventTime(i64::MIN),
            onset: Onset { after: EventTime(i64::MIN), by: EventTime(i64::MIN) },
        })
    }

    /// What it was built from.
    pub fn spec(&self) -> &LimitSpec {
        &self.spec
    }

    /// Where it stands.
    pub fn state(&self) -> LimitState {
        match (self.basis, self.crossed, self.since) {
            (Ground::NotEnabled | Ground::Judged, true, _) if self.latched => LimitState::Latched,
            (Ground::NotEnabled, ..) => LimitState::NotEnabled,
            (Ground::Judged, false, None) => LimitState::Inside,
            (Ground::Judged, false, Some(_)) => LimitState::Pending,
            (Ground::Judged, true, None) => LimitState::Outside,
            (Ground::Judged, true, Some(_)) => LimitState::Returning,
            (_, false, _) => LimitState::NotJudged,
            (_, true, _) => LimitState::OutsideNotJudged,
        }
    }

    /// Whether it has lost the value it judged.
    pub fn has_no_data(&self) -> bool {
        self.basis == Ground::NoData
    }

    /// Whether it was crossed, has returned, and waits for a reset.
    pub fn is_latched(&self) -> bool {
        self.latched
    }

    /// Looks whether it is to be judged; `readings` are all columns of a snapshot. Belongs before the step of the same
    /// time. A limit without a condition always is. Where the condition stops holding a crossed limit is over, since
    /// what it warns of cannot be; where it cannot be known nothing is over.
    pub fn enable(&mut self, time: EventTime, readings: &[Reading]) -> Option<Change> {
        if self.enable.condition == Condition::Always {
            return None;
        }
        self.enable.held = self.enable.condition.step(readings);
        // Where it is not known nothing changes: bad data hides no alarm.
        let holds = self.enable.held?;
        let held = std::mem::replace(&mut self.enable.known, holds);
        if holds {
            if !held {
                self.enable.since = time;
            }
            return None;
        }
        self.pause();
        if !self.crossed || self.latched {
            return None;
        }
        (self.crossed, self.latched) = (self.spec.latching, self.spec.latching);
        Some(Change::NotEnabled { latched: self.latched })
    }

    fn pause(&mut self) {
        self.basis = Ground::NotEnabled;
        (self.since, self.hits) = (None, 0);
        self.test.lost();
    }

    /// One reading of each of its columns; `taken` is when the oldest of them was sampled. A change is declared at the
    /// first step at which the value has spoken for it without a break for the delay; the first such reading starts
    /// the clock, and a delay of 0 is served at once. A value in the dead band breaks both clocks. An uncertain value
    /// is judged; a reading without a number breaks both clocks and changes nothing else.
    pub fn step(&mut self, time: EventTime, taken: EventTime, readings: &[Reading]) -> Option<Change> {
        match self.enable.held {
            Some(true) if time - self.enable.since >= self.spec.hold_off => {}
            None => return self.lose(Ground::NoData, Reason::InputMissing),
            Some(_) => {
                self.pause();
                return None;
            }
        }
        let mut values = [0.0; 2];
        for (i, (value, reading)) in values.iter_mut().zip(readings).enumerate() {
            match reading.number() {
                Some(x) => *value = x,
                None if i == 0 => return self.lose(Ground::NoData, reading.reason()),
                None => return self.lose(Ground::NoData, Reason::InputMissing),
            }
        }
        let values = values.get(..readings.len()).unwrap_or(&values);
        match self.test.judge(time, values) {
            Ok(judged) => self.judged(time, taken, judged),
            Err(reason) => self.lose(Ground::NoAnswer, reason),
        }
    }

    fn judged(&mut self, time: EventTime, taken: EventTime, judged: Judged) -> Option<Change> {
        let before = std::mem::replace(&mut self.basis, Ground::Judged);
        let Judged { figure: value, position, .. } = judged;
        let rising = !self.crossed || self.latched;
        let (change_at, delay) =
            if rising { (Position::Outside, self.spec.on_delay) } else { (Position::Inside, self.spec.off_delay) };
        if position == change_at {
            if rising && self.since.is_none() {
                self.onset = Onset { after: self.met_at, by: taken };
            }
            self.since.get_or_insert(time);
        }
        if position != Position::Outside {
            self.met_at = taken;
        }
        let served = match self.spec.n_of_m.filter(|_| rising) {
            Some(of) => self.hit(of, position == Position::Outside),
            None if position == change_at => self.since.is_some_and(|s| time - s >= delay),
            None => {
                self.since = None;
                false
            }
        };
        if served {
            return Some(self.change(time, judged));
        }
        let lost = matches!(before, Ground::NoData | Ground::NoAnswer);
        lost.then_some(Change::JudgedAgain { value, crossed: self.crossed })
    }

    /// Counts a judged value; whether enough of the last ones were outside, this one among them.
    fn hit(&mut self, (n, m): (u8, u8), outside: bool) -> bool {
        let kept = u64::MAX >> (64 - u32::from(m).clamp(1, 64));
        self.hits = ((self.hits << 1) | u64::from(outside)) & kept;
        if self.hits == 0 {
            self.since = None;
        }
        outside && self.hits.count_ones() >= u32::from(n)
    }

    fn change(&mut self, time: EventTime, Judged { figure: value, limit_here, .. }: Judged) -> Change {
        let since = self.since.take().unwrap_or(time);
        self.hits = 0;
        if !self.crossed || self.latched {
            (self.crossed, self.latched) = (true, false);
            return Change::Crossed { value, since, onset: self.onset, limit_here };
        }
        (self.crossed, self.latched) = (self.spec.latching, self.spec.latching);
        Change::Returned { value, since, latched: self.latched }
    }

    fn lose(&mut self, ground: Ground, reason: Reason) -> Option<Change> {
        self.since = None;
        if ground == Ground::NoData {
            self.test.lost();
        }
        let before = self.basis;
        self.basis = match before {
            Ground::NotYet | Ground::NotEnabled => Ground::NotYet,
            _ => ground,
        };
        let told = before == Ground::Judged || (before != self.basis && before != Ground::NotEnabled);
        told.then_some(Change::NotJudged { reason, crossed: self.crossed })
    }

    /// An operator lets go of it: over, where it is latched; unchanged otherwise.
    pub fn reset(&mut self) -> Option<Change> {
        self.latched.then(|| {
            (self.crossed, self.latched, self.since, self.hits) = (false, false, None, 0);
            Change::Reset
        })
    }
}
