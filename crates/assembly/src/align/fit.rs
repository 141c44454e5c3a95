//! Which edges belong to each other, and the clock that follows from them.

use super::edges::Edge;
use stream::EventTime;
use units::math;

/// The worst clock that is looked for: 500 ppm is 43 s a day, beyond any quartz (common practice, no source).
const WORST_DRIFT: f64 = 500e-6;
/// Times of a pair may differ by so many standard uncertainties beside the drift.
const WITHIN: f64 = 3.0;

/// The clock of the other recorder.
pub(super) struct Fitted {
    /// Added to its times, s, at `since`.
    pub(super) offset: f64,
    /// Standard uncertainty of that, s.
    pub(super) u_offset: f64,
    /// What is added per time since `since`, with its standard uncertainty; `None` for one pair.
    pub(super) drift: Option<(f64, f64)>,
    /// Where the offset holds, on the other clock.
    pub(super) since: EventTime,
    /// How many pairs it is from.
    pub(super) pairs: usize,
}

/// A pair: the time on the other clock, what must be added to it, s, and the standard uncertainty of that.
#[derive(Clone, Copy)]
struct Pair {
    time: EventTime,
    added: f64,
    u: f64,
}

/// Fits the edges of the other recorder to those of the reference.
///
/// # Errors
/// Why no offset is the best one.
pub(super) fn fit(reference: &[Edge], other: &[Edge]) -> Result<Fitted, String> {
    let mut best: Vec<(f64, Vec<Pair>)> = Vec::new();
    for r in reference {
        for o in other.iter().filter(|o| o.up == r.up) {
            let pairs = matched(reference, other, r, o);
            let offset = (r.time - o.time).as_secs_f64();
            match best.first().map_or(0, |b| b.1.len()) {
                n if pairs.len() > n => best = vec![(offset, pairs)],
                n if pairs.len() == n => best.push((offset, pairs)),
                _ => {}
            }
        }
    }
    let Some((offset, pairs)) = best.first().cloned() else {
        return Err("none goes the same way".to_owned());
    };
    // The same offset, found from each of its pairs, is one answer.
    let worst = pairs.iter().fold(0.0, |u: f64, p| u.max(p.u));
    let length = other.last().zip(other.first()).map_or(0.0, |(b, a)| (b.time - a.time).as_secs_f64());
    let apart = 2.0 * WITHIN * worst + WORST_DRIFT * length;
    if let Some((second, _)) = best.iter().find(|b| (b.0 - offset).abs() > apart) {
        let n = pairs.len();
        return Err(format!("offsets of {offset:.3} s and {second:.3} s fit equally well ({n} edges each)"));
    }
    let fewer = reference.len().min(other.len());
    if pairs.len() * 2 < fewer + 1 {
        return Err(format!("at best {} of {fewer} edges fit one offset", pairs.len()));
    }
    Ok(line(&pairs))
}

/// The pairs if `r` and `o` are one event: for each edge of the other clock the nearest one of the reference, no edge
/// twice.
fn matched(reference: &[Edge], other: &[Edge], r: &Edge, o: &Edge) -> Vec<Pair> {
    let mut pairs: Vec<Pair> = Vec::new();
    let mut next = 0;
    for e in other {
        let since = (e.time - o.time).as_secs_f64();
        let apart = |k: &Edge| (k.time - r.time).as_secs_f64() - since;
        let rest = reference.iter().enumerate().skip(next).filter(|(_, k)| k.up == e.up);
        let nearest = rest.min_by(|a, b| apart(a.1).abs().total_cmp(&apart(b.1).abs()));
        let Some((i, k)) = nearest else { continue };
        let u = math::sqrt(k.u * k.u + e.u * e.u);
        let known = math::sqrt(r.u * r.u + o.u * o.u);
        if apart(k).abs() <= WITHIN * (u + known) + WORST_DRIFT * since.abs() {
            pairs.push(Pair { time: e.time, added: (k.time - e.time).as_secs_f64(), u });
            next = i + 1;
        }
    }
    pairs
}

/// Weighted least squares, the offset taken at the weighted mean of the times, where it and the drift are independent:
/// weights 1/u², u(offset) = 1/√Σw, u(drift) = 1/√Σw·(t − t̄)². With three pairs or more both are raised where the
/// deviations are larger than their uncertainties (√(χ²/(n − 2)) above 1). Source: any text on weighted regression.
fn line(pairs: &[Pair]) -> Fitted {
    let first = pairs.first().map_or(EventTime(0), |p| p.time);
    let t = |p: &Pair| (p.time - first).as_secs_f64();
    let weight = |p: &Pair| 1.0 / (p.u * p.u).max(1e-18);
    let all: f64 = pairs.iter().map(weight).sum();
    let mean = pairs.iter().map(|p| weight(p) * t(p)).sum::<f64>() / all;
    let since = EventTime(first.0 + (mean * 1e3).round() as i64 * 1_000_000);
    let offset = pairs.iter().map(|p| weight(p) * p.added).sum::<f64>() / all;
    let spread: f64 = pairs.iter().map(|p| weight(p) * (t(p) - mean) * (t(p) - mean)).sum();
    let u_offset = 1.0 / math::sqrt(all);
    let n = pairs.len();
    if n < 2 || spread <= 0.0 {
        return Fitted { offset, u_offset, drift: None, since, pairs: n };
    }
    let slope = pairs.iter().map(|p| weight(p) * (t(p) - mean) * (p.added - offset)).sum::<f64>() / spread;
    let left = |p: &Pair| p.added - offset - slope * (t(p) - mean);
    let chi2: f64 = pairs.iter().map(|p| weight(p) * left(p) * left(p)).sum();
    let raise = if n > 2 { math::sqrt(chi2 / (n as f64 - 2.0)).max(1.0) } else { 1.0 };
    let drift = Some((slope, raise / math::sqrt(spread)));
    Fitted { offset, u_offset: u_offset * raise, drift, since, pairs: n }
}
