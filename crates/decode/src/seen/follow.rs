//! Which fields go with a channel.
//!
//! Every plausible field of every word (see `field`) is held at the moments of the channel's values, and ranked by its
//! correlation `r` with them (Pearson), at the lag at which it is best.
//!
//! Whether that is more than chance is judged by the correlation of the *changes* over ten moments: two quantities that
//! merely drift, as all temperatures do while a unit warms up, have an `r` near 1 and mean nothing. Changes one after
//! the other are not independent either: by Bartlett's approximation `n` of them are worth `n′ = n (1 − a b) / (1 + a
//! b)`, `a` and `b` being the correlation of each series with itself one step later. Of `N` fields that have nothing to
//! do with the channel, fewer than one in a hundred searches at `L` lags has any above
//!
//! `tanh(√(2 ln(2 N L / 0.01)) / √(n′ − 3))`:
//!
//! Fisher's transformation, the bound `exp(−x²/2)` for the tail of the normal distribution, and the Bonferroni bound.
//! Sources: M. S. Bartlett, J. R. Stat. Soc. 98 (1935) 536; R. A. Fisher, Biometrika 10 (1915) 507 (both from memory).
//!
//! What no threshold can tell: two quantities of which one makes the other move correlate, and neither is the other.

use super::chart::{ends, holding};
use super::field::{Field, plausible};
use super::key::WordId;
use super::{Seen, Word};
use stream::EventTime;
use units::math;

/// Findings kept.
const BEST: usize = 10;
/// Moments that are needed.
const LEAST: usize = 20;
/// Steps of the grid by which a word may be behind or ahead.
const LAGS: i64 = 20;
/// Steps of the grid over which changes are taken.
const STRIDE: usize = 10;
/// Fields of a word that are tried at every lag: those that go with the channel best without one.
const LAGGED: usize = 3;
/// And only from this correlation on.
const WORTH_A_LAG: f64 = 0.25;
/// The chance of any claim where there is nothing.
const CHANCE: f64 = 0.01;

/// A field that goes with the channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Follows {
    /// The word.
    pub word: WordId,
    /// Its bits.
    pub field: Field,
    /// Pearson's correlation, at the lag.
    pub r: f64,
    /// Spearman's: of the ranks.
    pub rank_r: f64,
    /// Pearson's correlation of their changes over ten steps of the grid.
    pub changes_r: f64,
    /// |changes_r| that chance does not reach.
    pub threshold: f64,
    /// channel = slope · field + offset, least squares, in the channel's SI unit.
    pub line: (f64, f64),
    /// Moments compared.
    pub moments: usize,
    /// Steps of the channel's grid by which the field is later than the channel where they fit best.
    pub lag: i64,
}

impl Follows {
    /// Whether chance is a poor explanation.
    pub fn stands_out(&self) -> bool {
        self.changes_r.abs() >= self.threshold
    }
}

/// What goes with a channel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Followed {
    /// Fields tried: all that had at least two values over at least twenty moments of the channel.
    pub tried: usize,
    /// The channel's values.
    pub moments: usize,
    /// Least and greatest of them, where there are any.
    pub range: Option<(f64, f64)>,
    /// The best fields, best first, at most ten; of one word none that overlap.
    pub best: Vec<Follows>,
}

/// Ranks every plausible field by its correlation with a channel's values, which are in order of time.
pub fn follow(seen: &Seen, channel: &[(EventTime, f64)]) -> Followed {
    let values: Vec<f64> = channel.iter().map(|c| c.1).collect();
    let (least, most) = ends(&values);
    let mut found = Followed { moments: values.len(), ..Followed::default() };
    found.range = (least <= most).then_some((least, most));
    if values.len() < LEAST || least >= most {
        return found;
    }
    let mut best: Vec<Follows> = Vec::new();
    for (id, word) in seen.words().filter(|(_, w)| w.changed() > 0) {
        let held = holding(word, channel.iter().map(|c| c.0));
        let mut of_word: Vec<Follows> = Vec::new();
        for field in plausible(word) {
            if let Some(f) = compare(id, field, &series(word, &field, &held), &values) {
                found.tried += 1;
                of_word.push(f);
            }
        }
        of_word.sort_by(order);
        of_word.truncate(LAGGED);
        of_word.retain(|f| f.r.abs() >= WORTH_A_LAG);
        of_word.iter_mut().for_each(|f| shift(word, f, &held, &values));
        of_word.sort_by(order);
        for f in of_word {
            if !best.iter().any(|b| b.word == f.word && b.field.overlaps(&f.field)) {
                best.push(f);
            }
        }
        best.sort_by(order);
        best.truncate(BEST);
    }
    // Each lag is one more try.
    let tries = found.tried as f64 * (2 * LAGS + 1) as f64;
    let x = math::sqrt(2.0 * math::ln(2.0 * tries.max(1.0) / CHANCE));
    best.iter_mut().for_each(|f| f.threshold = math::tanh(x / f.threshold));
    found.best = best;
    found
}

/// Nearest to ±1 first; of equal ones the wider field.
fn order(a: &Follows, b: &Follows) -> std::cmp::Ordering {
    // Equal to what six digits can tell: then the field that is the whole number.
    let r = |f: &Follows| (f.r.abs() * 1e6) as u32;
    r(b).cmp(&r(a)).then(b.field.width().cmp(&a.field.width())).then(a.word.cmp(&b.word))
}

fn compare(id: &WordId, field: Field, series: &[Option<f64>], channel: &[f64]) -> Option<Follows> {
    let (x, y) = pairs(series, channel, 0);
    let (least, most) = ends(&x);
    if x.len() < LEAST || least >= most {
        return None;
    }
    let r = pearson(&x, &y)?;
    Some(Follows {
        word: id.clone(),
        field,
        r,
        rank_r: 0.0,
        changes_r: 0.0,
        threshold: 0.0,
        line: line(&x, &y),
        moments: x.len(),
        lag: 0,
    })
}

/// The same at the lag where field and channel fit best. The threshold is √(n′ − 3) until the number of fields is
/// known.
fn shift(word: &Word, f: &mut Follows, held: &[Option<usize>], channel: &[f64]) {
    let series = series(word, &f.field, held);
    let at = |lag: i64| {
        let (x, y) = pairs(&series, channel, lag);
        Some((pearson(&x, &y)?, lag)).filter(|_| x.len() >= LEAST)
    };
    // Of lags that fit alike the shortest.
    let best = (-LAGS..=LAGS).filter_map(at);
    let Some((r, lag)) = best.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()).then(b.1.abs().cmp(&a.1.abs()))) else {
        return;
    };
    let (x, y) = pairs(&series, channel, lag);
    (f.r, f.lag, f.line, f.moments) = (r, lag, line(&x, &y), x.len());
    f.rank_r = pearson(&ranks(&x), &ranks(&y)).unwrap_or(0.0);
    let (dx, dy) = (changes(&x), changes(&y));
    f.changes_r = pearson(&dx, &dy).unwrap_or(0.0);
    let own =
        |v: &[f64]| v.split_first().and_then(|(_, later)| pearson(later, &v[..later.len()])).unwrap_or(1.0).max(0.0);
    let both = (own(&dx) * own(&dy)).min(1.0);
    let worth = (dx.len() as f64 * (1.0 - both) / (1.0 + both)).max(3.0);
    f.threshold = math::sqrt(worth - 3.0);
}

/// What became of each value ten steps later.
fn changes(x: &[f64]) -> Vec<f64> {
    x.iter().zip(x.iter().skip(STRIDE)).map(|(a, b)| b - a).collect()
}

/// A field's value at each moment.
fn series(word: &Word, field: &Field, held: &[Option<usize>]) -> Vec<Option<f64>> {
    let of_change: Vec<Option<f64>> = word.changes().iter().map(|c| field.value(&c.bytes)).collect();
    held.iter().map(|h| of_change[(*h)?]).collect()
}

/// Field and channel where both have a value, the field taken `lag` steps later.
fn pairs(series: &[Option<f64>], channel: &[f64], lag: i64) -> (Vec<f64>, Vec<f64>) {
    let skip = |ahead: i64| usize::try_from(ahead).unwrap_or(0);
    let both = series.iter().skip(skip(lag)).zip(channel.iter().skip(skip(-lag)));
    both.filter_map(|(x, y)| x.map(|x| (x, *y))).unzip()
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

/// Σ(x−x̄)(y−ȳ), Σ(x−x̄)², Σ(y−ȳ)².
fn sums(x: &[f64], y: &[f64]) -> (f64, f64, f64) {
    let (mx, my) = (mean(x), mean(y));
    x.iter().zip(y).fold((0.0, 0.0, 0.0), |(xy, xx, yy), (x, y)| {
        let (dx, dy) = (x - mx, y - my);
        (xy + dx * dy, xx + dx * dx, yy + dy * dy)
    })
}

/// `None` where one of them is constant.
fn pearson(x: &[f64], y: &[f64]) -> Option<f64> {
    let (xy, xx, yy) = sums(x, y);
    (xx > 0.0 && yy > 0.0).then(|| (xy / math::sqrt(xx) / math::sqrt(yy)).clamp(-1.0, 1.0))
}

fn line(x: &[f64], y: &[f64]) -> (f64, f64) {
    let (xy, xx, _) = sums(x, y);
    let slope = if xx > 0.0 { xy / xx } else { 0.0 };
    (slope, mean(y) - slope * mean(x))
}

/// Ranks; equal values share the middle one.
fn ranks(x: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..x.len()).collect();
    order.sort_by(|a, b| x[*a].total_cmp(&x[*b]));
    let mut ranks = vec![0.0; x.len()];
    for same in order.chunk_by(|a, b| x[*a] == x[*b]) {
        let first = order.partition_point(|i| x[*i].total_cmp(&x[same[0]]).is_lt());
        let middle = first as f64 + (same.len() - 1) as f64 / 2.0;
        same.iter().for_each(|i| ranks[*i] = middle);
    }
    ranks
}
