//! What the core counts on the way. Part of the result: the same log gives the same counts.

use stream::{FaultKind, GapCause, LimitState, LinkState, Span};

/// The counts of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// One per source.
    pub sources: Vec<SourceCounts>,
    /// One per channel: samples with a number.
    pub numbers: Vec<u64>,
    /// Entries taken.
    pub entries: u64,
    /// Snapshots closed.
    pub snapshots: u64,
    /// Events made.
    pub events: u64,
    /// Stretches that concern every source: cause, how often, how long in all. By cause, in the order of its numbers.
    pub stretches: Vec<(GapCause, u64, Span)>,
    /// One per limit.
    pub limits: Vec<LimitCounts>,
}

/// What became of one limit. A limit that was not crossed says nothing where it was not judged either.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LimitCounts {
    /// How often it was crossed.
    pub crossed: u64,
    /// How often that was announced: not while its alarm was shelved, suppressed by design or out of service.
    pub announced: u64,
    /// Snapshots in which it had a value to judge.
    pub judged: u64,
    /// Snapshots in which it had none.
    pub not_judged: u64,
    /// Snapshots in which it was not enabled.
    pub not_enabled: u64,
    /// Its state in the last snapshot.
    pub last: LimitState,
}

impl Default for LimitCounts {
    fn default() -> LimitCounts {
        LimitCounts { crossed: 0, announced: 0, judged: 0, not_judged: 0, not_enabled: 0, last: LimitState::NotJudged }
    }
}

/// The counts of one source.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SourceCounts {
    /// Records that came, faults included.
    pub records: u64,
    /// Bytes in them.
    pub bytes: u64,
    /// Samples made of them.
    pub samples: u64,
    /// Records known to be lost.
    pub lost: u64,
    /// Records that came after their snapshot had closed.
    pub late: u64,
    /// Records that nothing in the map or database speaks of.
    pub unmapped: u64,
    /// Records that did not decode.
    pub undecodable: u64,
    /// What was last said of the link (not of a device on it); `None` where nothing was.
    pub link: Option<LinkState>,
    /// Times the link (not a device on it) went down.
    pub link_losses: u64,
    /// Faults by kind: index `kind as usize - 1`.
    pub faults: [u64; FaultKind::ALL.len()],
}

impl Counts {
    /// Counts a stretch that concerns every source.
    pub(crate) fn stretch(&mut self, cause: GapCause, length: Span) {
        let at = self.stretches.partition_point(|s| (s.0 as u8) < cause as u8);
        match self.stretches.get_mut(at) {
            Some((c, n, total)) if *c == cause => {
                *n += 1;
                *total = Span(total.0.saturating_add(length.0));
            }
            _ => self.stretches.insert(at, (cause, 1, length)),
        }
    }
}

impl SourceCounts {
    /// Faults with their words, where there were any.
    pub fn faults(&self) -> impl Iterator<Item = (FaultKind, u64)> + '_ {
        FaultKind::ALL.into_iter().zip(self.faults).filter(|(_, n)| *n > 0)
    }
}
