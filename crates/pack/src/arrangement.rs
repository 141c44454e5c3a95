//! Which components a pack has, and how the ram air flows.

use crate::place::is_pack_prefix;
use thermo::exchanger;
use thiserror::Error;
use units::Real;

/// The packs of an installation, all of one kind. Plain data.
#[derive(Clone, Debug, PartialEq)]
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
    /// Figures that formulas take from the pack file.
    pub parameters: Parameters,
}

/// Figures of an installation that no instrument gives; `None` where the pack file leaves them out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parameters {
    /// How the two fluids flow through the primary exchanger.
    pub primary: Option<ExchangerFlow>,
    /// Through the secondary exchanger.
    pub secondary: Option<ExchangerFlow>,
    /// Through the reheater.
    pub reheater: Option<ExchangerFlow>,
    /// Through the condenser.
    pub condenser: Option<ExchangerFlow>,
    /// Cabin temperature that cooling capacities refer to, K.
    pub cabin_temperature: Option<f64>,
    /// Cabin humidity ratio that cooling capacities refer to, kg/kg.
    pub cabin_humidity_ratio: Option<f64>,
    /// Occupants that fresh air is counted for.
    pub occupants: Option<f64>,
    /// Humidity ratio of the supply, kg/kg, where the site declares it: a bench's dried air.
    pub supply_humidity_ratio: Option<f64>,
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
    /// That of a run without a pack file.
    pub(crate) fn nothing() -> Arrangement {
        Arrangement {
            name: String::new(),
            packs: Vec::new(),
            architecture: Architecture::Simple,
            separation: WaterSeparation::None,
            ram: RamSide::SecondaryFirst,
            parameters: Parameters::default(),
        }
    }

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

/// How the two fluids flow through an exchanger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExchangerFlow {
    /// In opposite directions.
    Counter,
    /// In the same direction.
    Parallel,
    /// At right angles, both unmixed: a plate-fin core.
    Cross,
    /// At right angles, the hot fluid mixed.
    CrossHotMixed,
    /// At right angles, the cold fluid mixed.
    CrossColdMixed,
    /// Two cross-flow passes, connected in counter-flow, both fluids mixed between.
    TwoPassCrossCounter,
    /// Three of them.
    ThreePassCrossCounter,
}

impl ExchangerFlow {
    /// The relation for these capacity flows, W/K: of a mixed fluid it matters whether it is the greater.
    pub fn relation<R: Real>(self, hot: R, cold: R) -> exchanger::Arrangement {
        use exchanger::Arrangement::{CounterFlow, CrossCounterFlow, CrossFlow, ParallelFlow};
        use exchanger::Mixing;
        let passes = |passes| CrossCounterFlow { passes, mixing: Mixing::BothUnmixed };
        match self {
            ExchangerFlow::Counter => CounterFlow,
            ExchangerFlow::Parallel => ParallelFlow,
            ExchangerFlow::Cross => CrossFlow(Mixing::BothUnmixed),
            ExchangerFlow::CrossHotMixed => CrossFlow(Mixing::hot_mixed(hot, cold)),
            ExchangerFlow::CrossColdMixed => CrossFlow(Mixing::cold_mixed(hot, cold)),
            ExchangerFlow::TwoPassCrossCounter => passes(2),
            ExchangerFlow::ThreePassCrossCounter => passes(3),
        }
    }
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
words!(ExchangerFlow {
    Counter = "counter-flow",
    Parallel = "parallel-flow",
    Cross = "cross-flow",
    CrossHotMixed = "cross-flow-hot-mixed",
    CrossColdMixed = "cross-flow-cold-mixed",
    TwoPassCrossCounter = "two-pass-cross-counter-flow",
    ThreePassCrossCounter = "three-pass-cross-counter-flow",
});
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
            parameters: Parameters::default(),
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
