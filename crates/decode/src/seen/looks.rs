//! What a byte looks like from how it changes.

/// Changes below which nothing is said.
const FEW: u32 = 16;

/// What a byte looks like. A guess from its changes, no more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Looks {
    /// Never changed.
    Constant,
    /// Each change of it, or of the half of it that changes, is one up, at the end back to the start.
    Counter,
    /// Changes with everything, each bit every second time.
    Checksum,
    /// None of these.
    Moving,
}

impl Looks {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Looks::Constant => "constant",
            Looks::Counter => "counter",
            Looks::Checksum => "checksum",
            Looks::Moving => "moving",
        }
    }
}

/// The changes of one byte, counted.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Steps {
    changes: u32,
    /// Changes that were one up: of the byte, its lower and its upper half; and changes of the halves.
    ups: [u32; 3],
    halves: [u32; 2],
}

impl Steps {
    pub(crate) fn take(&mut self, was: u8, is: u8) {
        self.changes += 1;
        self.ups[0] += u32::from(is == was.wrapping_add(1));
        for (half, shift) in [0, 4].into_iter().enumerate() {
            let (was, is) = (was >> shift & 15, is >> shift & 15);
            self.halves[half] += u32::from(was != is);
            self.ups[half + 1] += u32::from(was != is && is == (was + 1) & 15);
        }
    }

    /// `flips` of its bits; `changed`: how often the word changed.
    pub(crate) fn looks(&self, flips: &[u32], changed: u64) -> Looks {
        if self.changes == 0 {
            return Looks::Constant;
        }
        let nearly = |n: u32, of: u32| of >= FEW && u64::from(n) * 50 >= u64::from(of) * 49;
        let one_half = |i: usize| nearly(self.ups[i + 1], self.halves[i]);
        if nearly(self.ups[0], self.changes) || one_half(0) || one_half(1) {
            return Looks::Counter;
        }
        let changed = u32::try_from(changed).unwrap_or(u32::MAX);
        // Of independent bytes one in 256 is the same as before.
        let always = self.changes >= FEW * 2 && u64::from(self.changes) * 100 >= u64::from(changed) * 95;
        let half = |f: &u32| (0.3..0.7).contains(&(f64::from(*f) / f64::from(self.changes)));
        if always && flips.iter().all(half) { Looks::Checksum } else { Looks::Moving }
    }
}
