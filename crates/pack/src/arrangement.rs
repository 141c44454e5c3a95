//! Which components a pack has, and how the ram air flows.

use crate::place::is_pack_prefix;
use thiserror::Error;

/// The packs of an installation, all of one kind. Plain data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrangement {
    /// Its name, for provenance.
    pub name: String,
    /// The prefix of each pack in channel names, without the dot: `left`, `right`, `pack1`. Empty: one pack whose
    /// channels have no prefix.
    pub packs: Vec<String>,
    /// The machine.
    pub architecture: Architecture,
    /// How free water is taken out.
    pub separation: WaterSeparation,
    /// How the ram air flows through the two exchangers.
    pub ram: RamSide,
}

/// An arrangement that cannot be used, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ArrangementError {
    /// A prefix that channel names cannot have.
    #[error("pack '{prefix}' in arrangement '{arrangement}': a pack is called left, right, or pack and a number")]
    Prefix {
        /// The arrangement.
        arrangement: String,
        /// The prefix.
        prefix: String,
    },
    /// Two packs of one name.
    #[error("pack '{prefix}' stands in arrangement '{arrangement}' twice; give each pack its own prefix")]
    PrefixTwice {
        /// The arrangement.
        arrangement: String,
        /// The prefix.
        prefix: String,
    },
}

impl Arrangement {
    /// Checks the packs' prefixes.
    ///
    /// # Errors
    /// [`ArrangementError`]: the first prefix that no channel name can have, or that stands twice.
    pub fn check(&self) -> Result<(), ArrangementError> {
        for (i, prefix) in self.packs.iter().enumerate() {
            let (arrangement, prefix) = (self.name.clone(), prefix.clone());
            if !is_pack_prefix(&prefix) {
                return Err(ArrangementError::Prefix { arrangement, prefix });
            }
            if self.packs[..i].contains(&prefix) {
                return Err(ArrangementError::PrefixTwice { arrangement, prefix });
            }
        }
        Ok(())
    }
}

/// The air cycle machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Architecture {
    /// A turbine that drives the ram fan; no compressor.
    Simple,
    /// Bootstrap: a turbine drives a compressor; the ram fan is separate.
    TwoWheel,
    /// Bootstrap with the ram fan on the shaft.
    ThreeWheel,
    /// Two turbines, compressor and fan on one shaft; a condenser between the turbines.
    FourWheel,
}

/// How free water is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaterSeparation {
    /// Not at all.
    None,
    /// After the turbine.
    LowPressure,
    /// Before the turbine, with reheater and condenser.
    HighPressure,
}

/// How the ram air flows through the two exchangers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RamSide {
    /// Through the secondary first, then through the primary: the usual case.
    SecondaryFirst,
    /// Through both side by side: each has the ram inlet as its cold inlet.
    Parallel,
}

/// The words of an enum in files, in the order of their listing.
macro_rules! words {
    ($name:ident { $($variant:ident = $word:literal),* $(,)? }) => {
        impl $name {
            /// All of them with the word for each in files.
            pub const WORDS: &[($name, &'static str)] = &[$(($name::$variant, $word)),*];

            /// The word in files.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),* }
            }

            /// From the word in files.
            pub fn from_word(word: &str) -> Option<$name> {
                Self::WORDS.iter().find(|(_, w)| *w == word).map(|(x, _)| *x)
            }
        }
    };
}

words!(Architecture {
    Simple = "simple",
    TwoWheel = "two-wheel",
    ThreeWheel = "three-wheel",
    FourWheel = "four-wheel",
});
words!(WaterSeparation { None = "none", LowPressure = "low-pressure", HighPressure = "high-pressure" });
words!(RamSide { SecondaryFirst = "secondary-first", Parallel = "parallel" });

#[cfg(test)]
mod tests {
    use super::*;

    fn arrangement(packs: &[&str]) -> Arrangement {
        Arrangement {
            name: "own example".into(),
            packs: packs.iter().map(ToString::to_string).collect(),
            architecture: Architecture::ThreeWheel,
            separation: WaterSeparation::HighPressure,
            ram: RamSide::SecondaryFirst,
        }
    }

    #[test]
    fn prefixes_are_checked() {
        assert_eq!(arrangement(&[]).check(), Ok(()));
        assert_eq!(arrangement(&["left", "right"]).check(), Ok(()));
        assert_eq!(arrangement(&["pack1", "pack2", "pack3"]).check(), Ok(()));
        let message = |packs: &[&str]| arrangement(packs).check().unwrap_err().to_string();
        let (unknown, twice) = (message(&["left", "centre"]), message(&["left", "left"]));
        insta::assert_snapshot!(unknown + "\n" + &twice, @r"
    pack 'centre' in arrangement 'own example': a pack is called left, right, or pack and a number
    pack 'left' stands in arrangement 'own example' twice; give each pack its own prefix
    ");
    }

    #[test]
    fn words_round_trip() {
        for (x, word) in Architecture::WORDS {
            assert_eq!((x.word(), Architecture::from_word(word)), (*word, Some(*x)));
        }
        assert_eq!(WaterSeparation::from_word("high-pressure"), Some(WaterSeparation::HighPressure));
        assert_eq!(RamSide::from_word("parallel"), Some(RamSide::Parallel));
        assert_eq!(RamSide::from_word("series"), None);
    }
}
