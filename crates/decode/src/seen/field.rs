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

/// Bits within one byte or two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bits {
    /// The first byte, from 0.
    pub byte: u16,
    /// Bytes: 1 or 2.
    pub bytes: u8,
    /// Of two bytes: whether the first is the low one.
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

    fn two(byte: usize, little: bool, low: u8, high: u8) -> Bits {
        Bits { byte: byte as u16, bytes: 2, little, low, width: high - low + 1, signed: false }
    }

    fn raw(&self, bytes: &[u8]) -> Option<u16> {
        let at = usize::from(self.byte);
        let all = match (bytes.get(at..at + usize::from(self.bytes))?, self.little) {
            (&[a], _) => u16::from(a),
            (&[a, b], true) => u16::from_le_bytes([a, b]),
            (&[a, b], false) => u16::from_be_bytes([a, b]),
            _ => return None,
        };
        Some((all >> self.low) & (u16::MAX >> (16 - self.width)))
    }

    /// Where a CAN database says it is: `start|length@order sign`, as in `SG_ NAME : 16|12@1+`.
    pub fn dbc(&self) -> String {
        let sign = if self.signed { '-' } else { '+' };
        let first = u32::from(self.byte) * 8;
        if self.little || self.bytes == 1 && self.width == 1 {
            return format!("{}|{}@1{sign}", first + u32::from(self.low), self.width);
        }
        // Of the other order the place of the highest bit is written.
        let high = self.low + self.width - 1;
        let start = if high >= 8 { first + u32::from(high) - 8 } else { first + 8 + u32::from(high) };
        format!("{start}|{}@0{sign}", self.width)
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
                Some(f64::from(raw) - if negative { f64::from(1u32 << b.width) } else { 0.0 })
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
                write!(f, "bytes {first}-{} ({order}, {} bit{sign})", first + 1, b.width)?;
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
/// never moved only where both sides move equally often. Then, for numbers that go in strides: what mostly moves together.
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
    let mut fields = Vec::new();
    for i in 0..left.len().saturating_sub(1) {
        let odd = |l: Looks| matches!(l, Looks::Counter | Looks::Checksum);
        if odd(looks[i]) || odd(looks[i + 1]) {
            continue;
        }
        let little = joined(word, i, &left[i], &left[i + 1], true);
        let big = joined(word, i, &left[i + 1], &left[i], false);
        let chosen = match (little, big) {
            (Some(l), Some(b)) => Some(if roughness(word, b) <= roughness(word, l) { (b, false) } else { (l, true) }),
            (l, b) => l.map(|l| (l, true)).or(b.map(|b| (b, false))),
        };
        if let Some((bits, little)) = chosen {
            let (low, high) = if little { (i, i + 1) } else { (i + 1, i) };
            left[low].pop();
            left[high].remove(0);
            fields.push(Field::Bits(bits));
        }
    }
    for (i, runs) in left.iter().enumerate() {
        fields.extend(runs.iter().map(|r| Field::Bits(Bits::one(i, r.low, r.high))));
    }
    fields
}

/// Two bytes as one number: where the carry goes from one to the other, or where both move at the same moments.
fn joined(word: &Word, i: usize, low: &[Run], high: &[Run], little: bool) -> Option<Bits> {
    let (l, h) = (low.last()?, high.first()?);
    let carries = l.high == 7 && h.low == 0 && h.at_low <= about(l.at_high);
    let bits = Bits::two(i, little, l.low, h.high + 8);
    let as_one = || {
        let (low, high) = if little { (i, i + 1) } else { (i + 1, i) };
        together(word, (low, l), (high, h)) >= 0.9 && high_is_whole(h) && low_is_whole(low, word)
    };
    (carries || low.len() == 1 && high.len() == 1 && as_one()).then_some(bits)
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
fn roughness(word: &Word, bits: Bits) -> f64 {
    let field = Field::Bits(Bits { low: 0, width: 16, ..bits });
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
                all.extend([Bits::two(i, little, 0, 15), Bits::two(i, little, 0, 11)]);
            }
        }
    }
    let signs = |b: &Bits| {
        let top = b.low + b.width - 1;
        let byte = usize::from(b.byte) + usize::from(b.bytes == 2 && (top >= 8) == b.little);
        b.width >= 8 && moving.get(byte).is_some_and(|m| m >> (top % 8) & 1 == 1)
    };
    let signed: Vec<Bits> = all.iter().filter(|b| signs(b)).map(|b| Bits { signed: true, ..*b }).collect();
    all.extend(signed);
    all.sort_unstable();
    all.dedup();
    all.into_iter().map(Field::Bits).collect()
}
