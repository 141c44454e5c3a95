//! Fields: contiguous bits of a word that may be one number.

use super::changes::Change;
use super::looks::Looks;
use super::word::{Word, number};
use std::fmt;

/// A field of a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    /// The number that a piece of text is.
    Number,
    /// Bits.
    Bits(Bits),
}

/// Bits within one byte or up to four neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bits {
    /// The first byte, from 0.
    pub byte: u16,
    /// Bytes: 1 to 4.
    pub bytes: u8,
    /// Of several bytes: whether the first is the low one.
    pub little: bool,
    /// The lowest bit, counted from the low byte's bit 0.
    pub low: u8,
    /// Bits.
    pub width: u8,
    /// Whether the highest bit is a sign (two's complement).
    pub signed: bool,
}

impl Bits {
    fn one(byte: usize, low: u8, high: u8) -> Bits {
        Bits { byte: byte as u16, bytes: 1, little: true, low, width: high - low + 1, signed: false }
    }

    fn several(byte: usize, bytes: u8, little: bool, low: u8, high: u8) -> Bits {
        Bits { byte: byte as u16, bytes, little, low, width: high - low + 1, signed: false }
    }

    fn raw(&self, bytes: &[u8]) -> Option<u32> {
        let at = usize::from(self.byte);
        let own = bytes.get(at..at + usize::from(self.bytes))?;
        let add = |all: u32, b: &u8| all << 8 | u32::from(*b);
        let all = if self.little { own.iter().rev().fold(0, add) } else { own.iter().fold(0, add) };
        Some((all >> self.low) & (u32::MAX >> (32 - self.width)))
    }

    /// The byte in which a bit is, counted as `low` is.
    fn byte_of(&self, bit: u8) -> usize {
        let place = if self.little || self.bytes == 1 { bit / 8 } else { self.bytes - 1 - bit / 8 };
        usize::from(self.byte) + usize::from(place)
    }

    /// Where a CAN database says it is: `start|length@order sign`, as in `SG_ NAME : 16|12@1+`.
    pub fn dbc(&self) -> String {
        let sign = if self.signed { '-' } else { '+' };
        if self.little {
            return format!("{}|{}@1{sign}", u32::from(self.byte) * 8 + u32::from(self.low), self.width);
        }
        // Of the other order the place of the highest bit is written.
        let high = self.low + self.width - 1;
        format!("{}|{}@0{sign}", self.byte_of(high) * 8 + usize::from(high % 8), self.width)
    }
}

impl Field {
    /// Its value in a word's bytes; `None` where they end before it.
    pub fn value(&self, bytes: &[u8]) -> Option<f64> {
        match self {
            Field::Number => number(bytes),
            Field::Bits(b) => {
                let raw = b.raw(bytes)?;
                let negative = b.signed && raw >> (b.width - 1) & 1 == 1;
                Some(f64::from(raw) - if negative { (1u64 << b.width) as f64 } else { 0.0 })
            }
        }
    }

    /// Whether any bit of it moved.
    pub(crate) fn moved(&self, change: &Change) -> bool {
        match self {
            Field::Number => change.moved.iter().any(|m| *m != 0),
            Field::Bits(b) => b.raw(&change.moved).is_some_and(|m| m != 0),
        }
    }

    /// Whether two fields of a word have a byte in common.
    pub(crate) fn overlaps(&self, other: &Field) -> bool {
        let (Field::Bits(a), Field::Bits(b)) = (self, other) else { return true };
        a.byte < b.byte + u16::from(b.bytes) && b.byte < a.byte + u16::from(a.bytes)
    }

    /// Bits.
    pub(crate) fn width(&self) -> u8 {
        match self {
            Field::Number => 64,
            Field::Bits(b) => b.width,
        }
    }
}

/// `bit 3 of byte 2`, `bits 16-31 (little-endian, 16 bit)`, `bytes 2-3 (big-endian), bits 0-11`.
impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Field::Bits(b) = self else { return f.write_str("number") };
        let (first, low, high) = (b.byte, b.low, b.low + b.width - 1);
        let sign = if b.signed { ", signed" } else { "" };
        match (b.bytes, b.width) {
            (1, 1) => write!(f, "bit {low} of byte {first}"),
            (1, 8) => write!(f, "byte {first} (8 bit{sign})"),
            (1, _) => write!(f, "bits {low}-{high} of byte {first}"),
            _ => {
                let order = if b.little { "little-endian" } else { "big-endian" };
                write!(f, "bytes {first}-{} ({order}, {} bit{sign})", first + u16::from(b.bytes) - 1, b.width)?;
                if low > 0 { write!(f, " from bit {low}") } else { Ok(()) }
            }
        }
    }
}

/// Bits of one byte that may be one number: from `low` to `high`, with how often these two moved.
#[derive(Clone, Copy)]
struct Run {
    low: u8,
    high: u8,
    at_low: u32,
    at_high: u32,
}

/// So many, with what chance may add (two standard deviations of a count) and a little more.
fn about(flips: u32) -> u32 {
    flips.saturating_add(flips / 8 + 2 * flips.isqrt() + 1)
}

/// From the lowest bit up, as long as a bit moves no more often than the one below it, as in a number; over bits that
/// never moved only where both sides move equally often. Then, for numbers that go in strides: what mostly moves
/// together.
fn runs(word: &Word, byte: usize, flips: &[u32]) -> Vec<Run> {
    let mut all: Vec<Run> = Vec::new();
    for (bit, n) in (0u8..).zip(flips).filter(|(_, n)| **n > 0) {
        match all.last_mut() {
            Some(r) if *n <= about(r.at_high) && (bit == r.high + 1 || r.at_high <= about(*n)) => {
                (r.high, r.at_high) = (bit, *n);
            }
            _ => all.push(Run { low: bit, high: bit, at_low: *n, at_high: *n }),
        }
    }
    let mut joined: Vec<Run> = Vec::new();
    for r in all {
        match joined.last_mut() {
            Some(last) if last.high + 1 == r.low && together(word, (byte, last), (byte, &r)) >= 0.5 => {
                (last.high, last.at_high) = (r.high, r.at_high);
            }
            _ => joined.push(r),
        }
    }
    joined
}

/// All runs of a byte as one.
fn span(runs: &[Run]) -> Option<Run> {
    let (first, last) = (runs.first()?, runs.last()?);
    Some(Run { high: last.high, at_high: last.at_high, ..*first })
}

/// Of the changes in which one of two runs moved, the share in which both did.
fn together(word: &Word, a: (usize, &Run), b: (usize, &Run)) -> f64 {
    let moves = |c: &Change, (byte, r): (usize, &Run)| {
        let mask = (u8::MAX >> (7 - (r.high - r.low))) << r.low;
        c.moved.get(byte).is_some_and(|m| m & mask != 0)
    };
    let (mut both, mut any) = (0u32, 0u32);
    for c in word.changes() {
        let (a, b) = (moves(c, a), moves(c, b));
        both += u32::from(a && b);
        any += u32::from(a || b);
    }
    if any == 0 { 0.0 } else { f64::from(both) / f64::from(any) }
}

/// A guess which bits of a word are one number: every bit that ever moved is in exactly one field.
pub(crate) fn guess(word: &Word) -> Vec<Field> {
    if word.is_number() {
        return if word.changed() > 0 { vec![Field::Number] } else { Vec::new() };
    }
    let looks = word.looks();
    let mut left: Vec<Vec<Run>> = word.flips().chunks_exact(8).enumerate().map(|(i, f)| runs(word, i, f)).collect();
    // Two bytes of which something moves at the same moments are one each.
    for i in 0..left.len().saturating_sub(1) {
        let (Some(a), Some(b)) = (span(&left[i]), span(&left[i + 1])) else { continue };
        if together(word, (i, &a), (i + 1, &b)) >= 0.9 {
            (left[i], left[i + 1]) = (vec![a], vec![b]);
        }
    }
    let mut fields = Vec::new();
    for i in 0..left.len().saturating_sub(1) {
        let odd = |l: Looks| matches!(l, Looks::Counter | Looks::Checksum);
        if odd(looks[i]) || odd(looks[i + 1]) || in_several(&fields, i) {
            continue;
        }
        let little = joins(word, (i, &left[i]), (i + 1, &left[i + 1]));
        let big = joins(word, (i + 1, &left[i + 1]), (i, &left[i]));
        let is_little = match (little, big) {
            (true, true) => roughness(word, i, true) < roughness(word, i, false),
            (false, false) => continue,
            (little, _) => little,
        };
        let mut bytes = 2;
        while bytes < 4 && left.get(i + bytes).is_some() && !odd(looks[i + bytes]) {
            let (end, next) = ((i + bytes - 1, &left[i + bytes - 1]), (i + bytes, &left[i + bytes]));
            let whole = end.1.len() == 1 && (end.1[0].low, end.1[0].high) == (0, 7);
            if !whole || !(if is_little { carries(end.1, next.1) } else { carries(next.1, end.1) }) {
                break;
            }
            bytes += 1;
        }
        fields.extend(take_out(&mut left, i, bytes, is_little).map(Field::Bits));
    }
    for (i, runs) in left.iter().enumerate() {
        let whole = runs.len() == 1 && runs[0].high - runs[0].low >= 3 && !in_several(&fields, i);
        let one = |r: &Run| if whole { Bits::one(i, 0, 7) } else { Bits::one(i, r.low, r.high) };
        fields.extend(runs.iter().map(|r| Field::Bits(one(r))));
    }
    fields
}

/// Takes the runs of a number of several bytes out of what is left. Bits at its ends that never moved and stand beside
/// nothing else are taken in: the number is whole then.
fn take_out(left: &mut [Vec<Run>], first: usize, bytes: usize, little: bool) -> Option<Bits> {
    let last = first + bytes - 1;
    let (lowest, highest) = if little { (first, last) } else { (last, first) };
    let low = left[lowest].pop()?;
    let high = if left[highest].is_empty() { return None } else { left[highest].remove(0) };
    (first + 1..last).for_each(|i| left[i].clear());
    let upper = 8 * (bytes as u8 - 1);
    let low = if left[lowest].is_empty() { 0 } else { low.low };
    let high = if left[highest].is_empty() { 7 } else { high.high };
    Some(Bits::several(first, bytes as u8, little, low, upper + high))
}

/// Whether a byte is part of a number of several.
fn in_several(fields: &[Field], byte: usize) -> bool {
    let one = Field::Bits(Bits::one(byte, 0, 7));
    fields.iter().any(|f| f.overlaps(&one) && matches!(f, Field::Bits(b) if b.bytes > 1))
}

/// Whether a number may go on from the highest bit of one byte to the lowest of another.
fn carries(low: &[Run], high: &[Run]) -> bool {
    let (Some(l), Some(h)) = (low.last(), high.first()) else { return false };
    l.high == 7 && h.low == 0 && h.at_low <= about(l.at_high)
}

/// Two bytes as one number: where the carry goes from one to the other, or where both move at the same moments.
fn joins(word: &Word, low: (usize, &[Run]), high: (usize, &[Run])) -> bool {
    let as_one = || match (low.1, high.1) {
        ([l], [h]) => together(word, (low.0, l), (high.0, h)) >= 0.9 && high_is_whole(h) && low_is_whole(low.0, word),
        _ => false,
    };
    carries(low.1, high.1) || as_one()
}

/// One flag beside a number that moves with it is not its upper byte.
fn high_is_whole(high: &Run) -> bool {
    high.low < 4
}

/// A byte of which a single bit moves is no lower half of a number.
fn low_is_whole(byte: usize, word: &Word) -> bool {
    word.flips()[byte * 8..byte * 8 + 8].iter().filter(|n| **n > 0).count() > 1
}

/// How far a field goes in all, by its range: the right order of two bytes is the smoother one.
fn roughness(word: &Word, byte: usize, little: bool) -> f64 {
    let field = Field::Bits(Bits::several(byte, 2, little, 0, 15));
    let values: Vec<f64> = word.changes().iter().filter_map(|c| field.value(&c.bytes)).collect();
    let way: f64 = values.windows(2).map(|w| (w[1] - w[0]).abs()).sum();
    let (least, most) = super::chart::ends(&values);
    if most > least { way / (most - least) } else { f64::INFINITY }
}

/// Every field that a number may plausibly be in: the guesses, every byte, every two neighbours in both orders, whole
/// and without their highest four bits, with a sign where the highest bit moves; those only that ever moved.
pub(crate) fn plausible(word: &Word) -> Vec<Field> {
    if word.is_number() {
        return guess(word);
    }
    let moving = word.moving();
    let mut all: Vec<Bits> =
        guess(word).iter().filter_map(|f| if let Field::Bits(b) = f { Some(*b) } else { None }).collect();
    for (i, here) in moving.iter().enumerate() {
        if *here != 0 {
            all.push(Bits::one(i, 0, 7));
        }
        for little in [true, false] {
            // Both have to move: else it is the one byte, scaled.
            if moving.get(i + 1).is_some_and(|next| *next != 0 && *here != 0) {
                all.extend([Bits::several(i, 2, little, 0, 15), Bits::several(i, 2, little, 0, 11)]);
            }
        }
    }
    let signs = |b: &Bits| {
        let top = b.low + b.width - 1;
        b.width >= 8 && moving.get(b.byte_of(top)).is_some_and(|m| m >> (top % 8) & 1 == 1)
    };
    let signed: Vec<Bits> = all.iter().filter(|b| signs(b)).map(|b| Bits { signed: true, ..*b }).collect();
    all.extend(signed);
    all.sort_unstable();
    all.dedup();
    all.into_iter().map(Field::Bits).collect()
}
