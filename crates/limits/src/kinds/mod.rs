//! The kinds of limit, one file each.

use thiserror::Error;

mod above;
mod below;

/// All kinds.
pub static KINDS: &[&Kind] = &[&above::ABOVE, &below::BELOW];

/// A kind of limit: where a value lies against threshold and dead band.
#[derive(Debug)]
pub struct Kind {
    /// The word in limit files.
    pub name: &'static str,
    /// In one line.
    pub summary: &'static str,
    /// Value, threshold, dead band (≥ 0) → where the value lies. All finite, in SI.
    pub position: fn(value: f64, threshold: f64, dead_band: f64) -> Position,
}

/// Where a value lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// Inside by at least the dead band.
    Inside,
    /// Inside, but by less than the dead band: does not cross and does not return.
    Band,
    /// Outside.
    Outside,
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
        }
    }

    #[test]
    fn unknown_kind_lists_the_known() {
        let error = find("over").unwrap_err();
        insta::assert_snapshot!(error, @"limit kind 'over' is not known; known kinds: above, below");
    }
}
