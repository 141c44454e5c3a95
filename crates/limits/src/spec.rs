//! What a limit file says.

use crate::Kind;
use crate::condition::Condition;
use crate::settings::{Key, Settings};
use crate::words::{Named, Names, Shown};
use stream::{ChannelId, Span};
use thiserror::Error;
use uncertainty::Rule;
use units::{PressureReference, Unit};

/// One limit as described; [`Limit::new`](crate::Limit::new) checks it.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitSpec {
    /// Its name.
    pub name: String,
    /// The column it watches.
    pub column: ChannelId,
    /// Which values are outside.
    pub kind: &'static Kind,
    /// The numbers of the kind.
    pub settings: Settings,
    /// The unit it is written in: events show it and the value so.
    pub unit: &'static Unit,
    /// What a pressure is measured against: events say it where the unit does not.
    pub reference: Option<PressureReference>,
    /// How long a value must be outside without a break before the limit counts as crossed.
    pub on_delay: Span,
    /// How long it must be inside by the dead band without a break before the limit counts as met again.
    pub off_delay: Span,
    /// Instead of an on-delay: crossed once so many of the last so many judged values were outside, the newest one
    /// among them.
    pub n_of_m: Option<(u8, u8)>,
    /// Which readings it sees.
    pub basis: Basis,
    /// When it is judged at all.
    pub enable: Condition,
    /// How long the condition must have held before it is judged.
    pub hold_off: Span,
    /// Whether it stays crossed until an operator resets it.
    pub latching: bool,
    /// Its group, where the first one crossed counts.
    pub group: Option<Group>,
    /// Limits, by index, that explain it: while one of them is crossed its alarm is not announced.
    pub suppressed_by: Vec<usize>,
    /// The longest time for which its alarms may be shelved; 0: never.
    pub longest_shelving: Span,
    /// The site's word for how urgent it is; empty where it has none.
    pub priority: String,
    /// How a measured value is judged against it for a verdict; `None`: the document is silent.
    pub rule: Option<Rule>,
    /// The document it is taken from.
    pub document: String,
    /// The document's revision.
    pub revision: String,
    /// The paragraph in the document.
    pub paragraph: String,
    /// Who entered it, and when; empty where nobody is named.
    pub entered: String,
}

/// Which readings a limit sees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The column's reading in each snapshot.
    Snapshot,
    /// Every sample of the channel, at full rate.
    EverySample,
}

/// A group of limits of which the first one crossed counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// How long after the first crossing others are still put in order with it.
    pub window: Span,
}

/// The longest shelving where a limit file says nothing (a common starting value, no source).
pub const LONGEST_SHELVING: Span = Span::from_secs(30 * 60);

impl LimitSpec {
    /// A limit on snapshots without delays, always judged, from a document. All else is added to it.
    pub fn new(
        name: &str,
        column: ChannelId,
        kind: &'static Kind,
        settings: Settings,
        unit: &'static Unit,
        document: &str,
    ) -> LimitSpec {
        LimitSpec {
            name: name.to_owned(),
            column,
            kind,
            settings,
            unit,
            reference: None,
            on_delay: Span::ZERO,
            off_delay: Span::ZERO,
            n_of_m: None,
            basis: Basis::Snapshot,
            enable: Condition::Always,
            hold_off: Span::ZERO,
            latching: false,
            group: None,
            suppressed_by: Vec::new(),
            longest_shelving: LONGEST_SHELVING,
            priority: String::new(),
            rule: None,
            document: document.to_owned(),
            revision: String::new(),
            paragraph: String::new(),
            entered: String::new(),
        }
    }

    /// Document, revision and paragraph in one line.
    pub fn source(&self) -> String {
        [&self.document, &self.revision, &self.paragraph]
            .into_iter()
            .filter(|s| !s.trim().is_empty())
            .map(String::as_str)
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// The second column it needs.
    pub fn other(&self) -> Option<ChannelId> {
        self.settings.other.map(|(_, c)| c)
    }

    /// How its numbers are shown.
    pub fn shown<'a>(&self, names: Names<'a>) -> Shown<'a> {
        let other = self.other().map_or_else(Named::default, names);
        Shown { unit: self.unit, reference: self.reference, column: names(self.column), other }
    }

    /// What is met where it is not crossed, in words: `not above 190 degC`.
    pub fn says(&self, names: Names<'_>) -> String {
        (self.kind.says)(&self.settings, &self.shown(names))
    }

    /// Everything that can be said without the kind's test.
    pub(crate) fn check(&self) -> Result<(), LimitError> {
        let limit = || self.name.clone();
        if self.name.trim().is_empty() {
            return Err(LimitError::NoName);
        }
        if self.name.chars().any(char::is_control) {
            return Err(LimitError::Name { limit: limit() });
        }
        if self.document.trim().is_empty() {
            return Err(LimitError::NoDocument { limit: limit() });
        }
        let spans = [
            ("on-delay in s", self.on_delay),
            ("off-delay in s", self.off_delay),
            ("hold-off in s", self.hold_off),
            ("longest shelving in s", self.longest_shelving),
        ];
        for (field, span) in spans {
            if span < Span::ZERO {
                return Err(LimitError::Negative { limit: limit(), field, value: span.as_secs_f64() });
            }
        }
        for key in Key::ALL {
            let fault = match (self.settings.has(key), self.kind.needs.contains(&key), self.kind.may.contains(&key)) {
                (false, true, _) => "is missing; add it",
                (true, false, false) => "is no key of this kind of limit; leave it out",
                _ => continue,
            };
            return Err(self.fault(Fault { key, why: fault }));
        }
        self.settings.check().map_err(|f| self.fault(f))?;
        self.check_together()
    }

    fn check_together(&self) -> Result<(), LimitError> {
        let wrong = |what| Err(LimitError::Together { limit: self.name.clone(), what });
        if let Some((n, m)) = self.n_of_m {
            if n == 0 || n > m || m > 64 {
                return wrong(Together::Hits);
            }
            if self.on_delay > Span::ZERO {
                return wrong(Together::HitsAndDelay);
            }
        }
        if self.hold_off > Span::ZERO && self.enable == Condition::Always {
            return wrong(Together::HoldOff);
        }
        if self.basis == Basis::EverySample && self.other().is_some() {
            return wrong(Together::Basis);
        }
        if self.group.as_ref().is_some_and(|g| g.window < Span::ZERO) {
            return wrong(Together::Window);
        }
        Ok(())
    }

    pub(crate) fn fault(&self, Fault { key, why }: Fault) -> LimitError {
        LimitError::Key { limit: self.name.clone(), kind: self.kind.name, key, why }
    }
}

/// What is wrong with the value of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The key.
    pub key: Key,
    /// What is wrong and what to do; follows the key's name in a sentence.
    pub why: &'static str,
}

/// Settings that do not go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Together {
    /// n of m that cannot be counted.
    #[error("n_of_m is not two whole numbers with 1 <= n <= m <= 64; write [3, 5] for 3 of the last 5")]
    Hits,
    /// Both ways of waiting.
    #[error("n_of_m and on_delay are both given; leave one of them out")]
    HitsAndDelay,
    /// Waiting for nothing.
    #[error("hold_off waits after enable, and there is no enable; add it or leave hold_off out")]
    HoldOff,
    /// Samples of two columns come at different times.
    #[error("a limit with two columns is judged on snapshots; write basis = \"snapshot\"")]
    Basis,
    /// A group's window below zero.
    #[error("the window of its group is below zero; give 0s or more")]
    Window,
}

/// A limit that cannot be used, and what to do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LimitError {
    /// No name.
    #[error("a limit has no name; name it, events and tables refer to it")]
    NoName,
    /// A name that cannot stand in one line.
    #[error("limit {limit:?}: its name holds a line break or another control character; write it without")]
    Name {
        /// The limit.
        limit: String,
    },
    /// A time below zero.
    #[error("limit '{limit}': {field} is {value}; give 0 or more")]
    Negative {
        /// The limit.
        limit: String,
        /// The field.
        field: &'static str,
        /// Its value.
        value: f64,
    },
    /// A key that is missing, too many, or wrong.
    #[error("limit '{limit}' ({kind}): {} {why}", key.word())]
    Key {
        /// The limit.
        limit: String,
        /// Its kind.
        kind: &'static str,
        /// The key.
        key: Key,
        /// What is wrong and what to do.
        why: &'static str,
    },
    /// Settings that do not go together.
    #[error("limit '{limit}': {what}")]
    Together {
        /// The limit.
        limit: String,
        /// Which.
        what: Together,
    },
    /// Nobody knows where the limit comes from.
    #[error(
        "limit '{limit}' names no document; enter document, revision and paragraph it is taken from, a verdict is \
         worth what its limit is worth"
    )]
    NoDocument {
        /// The limit.
        limit: String,
    },
}
