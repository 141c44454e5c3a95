//! The kinds of limit, one file each.

use crate::settings::{Key, Settings};
use crate::spec::Fault;
use crate::words::{Shown, plain};
use std::fmt::Debug;
use stream::{EventTime, Reason};
use thiserror::Error;

mod above;
mod band;
mod below;
mod count;
mod curve;
mod deviation;
mod disagreement;
mod rate;
mod stuck;

/// All kinds.
pub static KINDS: &[&Kind] = &[
    &above::ABOVE,
    &below::BELOW,
    &band::BAND,
    &rate::RATE,
    &curve::CURVE,
    &disagreement::DISAGREEMENT,
    &stuck::STUCK,
    &count::COUNT,
    &deviation::DEVIATION,
];

/// A kind of limit: what it needs, and where values lie.
#[derive(Debug)]
pub struct Kind {
    /// The word in limit files.
    pub name: &'static str,
    /// In one line.
    pub summary: &'static str,
    /// The keys it needs.
    pub needs: &'static [Key],
    /// The keys it may have beside.
    pub may: &'static [Key],
    /// What is held against the limit.
    pub figure: Figure,
    /// Whether `threshold`, `low` and `high` are differences of two values.
    pub of_differences: bool,
    /// Makes its test. The single numbers have been checked; what they are to one another has not.
    pub test: fn(&Settings) -> Result<Box<dyn Test>, Fault>,
    /// What is met where it is not crossed, in words.
    pub says: fn(&Settings, &Shown<'_>) -> String,
}

/// What a kind does with values: a function of their sequence alone.
pub trait Test: Debug + Send + Sync {
    /// Where the values lie at this time: of the column, then of the second column where the kind has one; all
    /// finite, in SI.
    ///
    /// # Errors
    /// Why these values are not judged.
    fn judge(&mut self, time: EventTime, values: &[f64]) -> Result<Judged, Reason>;

    /// A value was lost, or judging pauses.
    fn lost(&mut self) {}

    /// A copy of it.
    fn boxed(&self) -> Box<dyn Test>;
}

impl Clone for Box<dyn Test> {
    fn clone(&self) -> Self {
        self.boxed()
    }
}

/// What came of a judgement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// What was held against the limit.
    pub figure: f64,
    /// Where it lies.
    pub position: Position,
    /// The limit at this moment, where it changes with the second column.
    pub limit_here: Option<f64>,
}

impl Judged {
    fn new(figure: f64, position: Position) -> Judged {
        Judged { figure, position, limit_here: None }
    }
}

/// Where a value lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Position {
    /// Inside by at least the dead band.
    Inside,
    /// Inside, but by less than the dead band: does not cross and does not return.
    Band,
    /// Outside.
    Outside,
}

impl Position {
    /// Outside above; at the threshold it is met.
    #[inline]
    pub(crate) fn above(value: f64, threshold: f64, dead_band: f64) -> Position {
        if value > threshold {
            Position::Outside
        } else if value <= threshold - dead_band {
            Position::Inside
        } else {
            Position::Band
        }
    }

    /// Outside below; at the threshold it is met.
    #[inline]
    pub(crate) fn below(value: f64, threshold: f64, dead_band: f64) -> Position {
        if value < threshold {
            Position::Outside
        } else if value >= threshold + dead_band {
            Position::Inside
        } else {
            Position::Band
        }
    }
}

/// What a number is that is held against a limit, for texts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// The column's value.
    Value,
    /// Its change per second.
    Rate,
    /// How far it is from the second column, without sign.
    Distance,
    /// It less the second column.
    Deviation,
    /// For how long it has not changed, s.
    Time,
    /// How often something happened.
    Count,
}

impl Figure {
    /// `column = 12 degC`.
    pub fn text(self, x: f64, share: bool, shown: &Shown<'_>) -> String {
        let (column, other) = (shown.column.name, shown.other.name);
        match self {
            Figure::Value => format!("{column} = {}", shown.value(x)),
            Figure::Rate => format!("change of {column} = {}/s", shown.difference(x)),
            Figure::Distance if share => format!("{column} differs from {other} by {} %", plain(x * 100.0)),
            Figure::Distance => format!("{column} differs from {other} by {}", shown.difference(x)),
            Figure::Deviation => format!("{column} - {other} = {}", shown.difference(x)),
            Figure::Time => format!("{column} has not changed for {} s", plain(x)),
            Figure::Count => format!("{column}: {} times", plain(x)),
        }
    }
}

/// No kind has this name.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("limit kind '{name}' is not known; known kinds: {}", names().join(", "))]
pub struct UnknownKind {
    /// What was asked for.
    pub name: String,
}

/// The kind with this name.
///
/// # Errors
/// [`UnknownKind`], which lists the known ones.
pub fn find(name: &str) -> Result<&'static Kind, UnknownKind> {
    KINDS.iter().copied().find(|k| k.name == name).ok_or_else(|| UnknownKind { name: name.into() })
}

fn names() -> Vec<&'static str> {
    KINDS.iter().map(|k| k.name).collect()
}

impl PartialEq for Kind {
    /// Kinds are the same where their names are: each name stands once in [`KINDS`].
    fn eq(&self, o: &Kind) -> bool {
        self.name == o.name
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_found() {
        for (i, k) in KINDS.iter().enumerate() {
            assert!(KINDS[..i].iter().all(|o| o.name != k.name), "{} twice", k.name);
            assert!(!k.summary.is_empty());
            assert_eq!(find(k.name), Ok(*k));
            assert!(k.needs.iter().all(|key| !k.may.contains(key)), "{}", k.name);
            let columns = k.needs.iter().chain(k.may).filter(|key| key.is_column()).count();
            assert!(columns <= 1, "{} has two second columns", k.name);
        }
    }

    #[test]
    fn unknown_kind_lists_the_known() {
        let error = find("over").unwrap_err();
        let known = "above, below, band, rate, curve, disagreement, stuck, count, deviation";
        assert_eq!(error.to_string(), format!("limit kind 'over' is not known; known kinds: {known}"));
    }
}
