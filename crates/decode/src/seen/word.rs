//! What is kept of one word.

use super::changes::{Bytes, Change, Changes};
use super::key::Content;
use super::looks::{Looks, Steps};
use stream::{EventTime, Span};

/// Gaps that the median is taken of: the newest.
const GAPS: usize = 127;

/// One word: how often it came and what of it moved.
#[derive(Clone, Debug)]
pub struct Word {
    is_number: bool,
    count: u64,
    first: EventTime,
    last: EventTime,
    newest: Bytes,
    lengths: u64,
    changed: u64,
    flips: Vec<u32>,
    steps: Vec<Steps>,
    least_gap: Option<Span>,
    gaps: Vec<Span>,
    changes: Changes,
}

impl Word {
    pub(crate) fn new(at: EventTime, content: Content<'_>) -> Word {
        let bytes = bytes(content);
        Word {
            is_number: matches!(content, Content::Number(_)),
            count: 1,
            first: at,
            last: at,
            lengths: 0,
            changed: 0,
            flips: vec![0; bytes.len() * 8],
            steps: vec![Steps::default(); bytes.len()],
            least_gap: None,
            gaps: Vec::new(),
            changes: Changes::new(at, bytes.clone()),
            newest: bytes,
        }
    }

    pub(crate) fn take(&mut self, at: EventTime, content: Content<'_>) {
        let now = bytes(content);
        self.gap(at);
        self.count += 1;
        if now == self.newest {
            return;
        }
        self.changed += 1;
        self.lengths += u64::from(now.len() != self.newest.len());
        if now.len() > self.steps.len() {
            self.steps.resize(now.len(), Steps::default());
            self.flips.resize(now.len() * 8, 0);
        }
        // A byte that was not there before did not move.
        let moved: Bytes = now.iter().enumerate().map(|(i, b)| self.newest.get(i).map_or(0, |was| was ^ b)).collect();
        for (i, m) in moved.iter().enumerate().filter(|(_, m)| **m != 0) {
            self.steps[i].take(self.newest[i], now[i]);
            (0..8).filter(|bit| m & (1 << bit) != 0).for_each(|bit| self.flips[i * 8 + bit] += 1);
        }
        self.newest.clone_from(&now);
        self.changes.push(Change { at, bytes: now, moved });
    }

    fn gap(&mut self, at: EventTime) {
        let gap = Span((at - self.last).0.max(0));
        self.last = self.last.max(at);
        self.least_gap = Some(self.least_gap.map_or(gap, |g| g.min(gap)));
        let place = (self.count - 1) as usize % GAPS;
        match self.gaps.get_mut(place) {
            Some(g) => *g = gap,
            None => self.gaps.push(gap),
        }
    }

    /// Whether it is a number written in text, not bytes.
    pub fn is_number(&self) -> bool {
        self.is_number
    }

    /// How often it came.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// When it came first.
    pub fn first(&self) -> EventTime {
        self.first
    }

    /// When it came last.
    pub fn last(&self) -> EventTime {
        self.last
    }

    /// How often a second, from the first to the last; `None` where it came once.
    pub fn rate(&self) -> Option<f64> {
        let length = (self.last - self.first).as_secs_f64();
        (length > 0.0).then(|| (self.count - 1) as f64 / length)
    }

    /// The shortest time between two of it.
    pub fn least_gap(&self) -> Option<Span> {
        self.least_gap
    }

    /// The median of the newest 127 times between two of it.
    pub fn median_gap(&self) -> Option<Span> {
        let mut gaps = self.gaps.clone();
        gaps.sort_unstable();
        gaps.get(gaps.len() / 2).copied()
    }

    /// Its newest bytes; of a number in text see [`Word::number`].
    pub fn bytes(&self) -> &[u8] {
        &self.newest
    }

    /// Its newest number, where it is one written in text.
    pub fn number(&self) -> Option<f64> {
        self.is_number.then(|| number(&self.newest)).flatten()
    }

    /// How often its length changed.
    pub fn length_changes(&self) -> u64 {
        self.lengths
    }

    /// How often anything in it changed.
    pub fn changed(&self) -> u64 {
        self.changed
    }

    /// How often each bit changed: bit 0 of byte 0 first.
    pub fn flips(&self) -> &[u32] {
        &self.flips
    }

    /// The bits that ever changed.
    pub fn moving(&self) -> Vec<u8> {
        let byte = |f: &[u32]| f.iter().enumerate().fold(0, |all, (i, n)| all | u8::from(*n > 0) << i);
        self.flips.chunks_exact(8).map(byte).collect()
    }

    /// What each byte looks like.
    pub fn looks(&self) -> Vec<Looks> {
        if self.is_number {
            return vec![if self.changed == 0 { Looks::Constant } else { Looks::Moving }];
        }
        let bits = self.flips.chunks_exact(8);
        self.steps.iter().zip(bits).map(|(s, f)| s.looks(f, self.changed)).collect()
    }

    pub(crate) fn changes(&self) -> &[Change] {
        self.changes.all()
    }
}

/// A number in text is kept as the eight bytes of a double.
fn bytes(content: Content<'_>) -> Bytes {
    match content {
        Content::Bytes(b) => Bytes::from_slice(b),
        Content::Number(x) => Bytes::from_slice(&x.to_be_bytes()),
    }
}

pub(crate) fn number(bytes: &[u8]) -> Option<f64> {
    bytes.try_into().ok().map(f64::from_be_bytes)
}
