//! Which components a pack has, and how the ram air flows.

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

words!(Architecture { Simple = "simple", TwoWheel = "two-wheel", ThreeWheel = "three-wheel", FourWheel = "four-wheel" });
words!(WaterSeparation { None = "none", LowPressure = "low-pressure", HighPressure = "high-pressure" });
words!(RamSide { SecondaryFirst = "secondary-first", Parallel = "parallel" });
