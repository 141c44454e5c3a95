//! Which fields moved when something was done, and not otherwise.
//!
//! Each mark has a window, from a little before it (the key is pressed a little late) to [`MarkOptions::within`] after.
//! The rest of the time is cut into windows of the same length, but for one length behind each mark's window, where the
//! action may still go on. A field's *travel* in a window is its greatest minus its least value there. A field that has
//! nothing to do with the action has its great travels anywhere. So for a threshold of travel that `j` of the `K`
//! marks' windows and `h` of the `M` others reach, the chance that `K` windows drawn at random from all `K + M` hold
//! `j` or more of those `j + h` is the hypergeometric tail
//!
//! `p = Σ_{i ≥ j} C(j+h, i) C(K+M−j−h, K−i) / C(K+M, K)`.
//!
//! Every mark's travel is tried as the threshold, the least `p` is taken and multiplied by the number of different ones
//! and by the number of fields that moved at all: [`Moved::expected`], an upper bound for how many fields would be
//! found so well by chance. What it assumes: that windows are exchangeable (a slow drift is not), and that marks were
//! not made after looking at the field. Source: Fisher's exact test and the Bonferroni bound as textbooks give them
//! (from memory); windows and threshold are our own.

use super::Seen;
use super::chart::Chart;
use super::field::{Field, guess};
use super::key::WordId;
use stream::{EventTime, Span};
use units::math;

/// Findings kept.
const BEST: usize = 10;
/// Windows beside the marks at most: the first ones.
const MOST_WINDOWS: usize = 100_000;

/// Where a mark's effect is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MarkOptions {
    /// So long before the mark the action may have begun.
    pub before: Span,
    /// So long after the mark its effect has begun to show.
    pub within: Span,
}

impl Default for MarkOptions {
    fn default() -> MarkOptions {
        MarkOptions { before: Span::from_millis(300), within: Span::from_millis(1500) }
    }
}

/// A field that moved at the marks.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// The word.
    pub word: WordId,
    /// The bits, as guessed.
    pub field: Field,
    /// Its value before and after each mark at which it moved.
    pub steps: Vec<(f64, f64)>,
    /// Marks at which it moved as far as the threshold.
    pub marks: usize,
    /// Other windows in which it did.
    pub elsewhere: usize,
    /// The least travel at those marks, and the greatest in the other windows.
    pub travel: (f64, f64),
    /// The longest time from one of those marks to its first move; negative where it was before each of them.
    pub delay: Span,
    /// Whether it moved anywhere but in the windows of marks and right behind them.
    pub quiet_elsewhere: bool,
    /// An upper bound for how many fields would do as well by chance.
    pub expected: f64,
}

impl Moved {
    /// Whether chance is a poor explanation: fewer than one in twenty such searches finds as much in nothing.
    pub fn stands_out(&self) -> bool {
        self.expected <= 0.05
    }
}

/// What moved at the marks of one action.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AfterMarks {
    /// The marks of that action.
    pub marks: usize,
    /// Windows beside them.
    pub windows: usize,
    /// Fields that moved at all: so many were tried.
    pub tried: usize,
    /// The best ones, best first, at most ten, one a word.
    pub best: Vec<Moved>,
}

/// The windows of an action's marks, and those beside.
struct Windows {
    marks: Vec<(EventTime, EventTime, EventTime)>,
    rest: Vec<(EventTime, EventTime)>,
    length: Span,
}

/// Ranks the fields of every word by how well their moves fit the marks of `action`. Without a mark nothing is claimed.
pub fn after_marks(seen: &Seen, action: &str, options: MarkOptions) -> AfterMarks {
    let Some(windows) = windows(seen, action, options) else { return AfterMarks::default() };
    let mut tried = 0;
    let mut best: Vec<Moved> = Vec::new();
    for (id, word) in seen.words() {
        let mut of_word: Option<Moved> = None;
        for field in guess(word) {
            let chart = Chart::new(word, &field);
            if !chart.has_moved() {
                continue;
            }
            tried += 1;
            if let Some(m) = moved(id, field, &chart, &windows)
                && of_word.as_ref().is_none_or(|o| is_better(&m, o))
            {
                of_word = Some(m);
            }
        }
        best.extend(of_word);
    }
    best.sort_by(|a, b| if is_better(a, b) { std::cmp::Ordering::Less } else { order(a, b) });
    best.truncate(BEST);
    best.iter_mut().for_each(|m| m.expected *= tried as f64);
    AfterMarks { marks: windows.marks.len(), windows: windows.rest.len(), tried, best }
}

fn is_better(a: &Moved, b: &Moved) -> bool {
    order(a, b) == std::cmp::Ordering::Less
}

/// Less chance first; then what moved further at the marks than elsewhere; then what was quiet otherwise; then the
/// wider field; then by place.
fn order(a: &Moved, b: &Moved) -> std::cmp::Ordering {
    let contrast = |m: &Moved| if m.travel.1 > 0.0 { m.travel.0 / m.travel.1 } else { f64::INFINITY };
    (a.expected.total_cmp(&b.expected))
        .then(contrast(b).total_cmp(&contrast(a)))
        .then(b.quiet_elsewhere.cmp(&a.quiet_elsewhere))
        .then(b.field.width().cmp(&a.field.width()))
        .then(a.word.cmp(&b.word))
}

fn windows(seen: &Seen, action: &str, options: MarkOptions) -> Option<Windows> {
    let (first, last) = seen.span()?;
    let length = options.before.0.checked_add(options.within.0).filter(|n| *n > 0).map(Span)?;
    let of = |at: EventTime| (at - options.before, at, at + options.within);
    let all = seen.marks();
    let marks: Vec<_> = all.iter().filter(|m| m.what == action).map(|m| of(m.at)).collect();
    // The windows of other actions are no time of rest either: they are left out on both sides.
    let mut busy: Vec<_> = all.iter().map(|m| of(m.at)).map(|w| (w.0, w.2 + length)).collect();
    busy.sort_unstable();
    let mut rest = Vec::new();
    let mut from = first;
    for (begin, end) in busy.into_iter().chain([(last, last)]) {
        while from + length <= begin && rest.len() < MOST_WINDOWS {
            rest.push((from, from + length));
            from = from + length;
        }
        from = from.max(end);
    }
    (!marks.is_empty()).then_some(Windows { marks, rest, length })
}

fn moved(id: &WordId, field: Field, chart: &Chart<'_>, windows: &Windows) -> Option<Moved> {
    // Where the word has no value yet nothing is known of it: such a window counts on neither side.
    let at_marks: Vec<_> = windows.marks.iter().filter_map(|w| Some((w.1, chart.way(w.0, w.2)?))).collect();
    let rest: Vec<f64> = windows.rest.iter().filter_map(|w| Some(chart.way(w.0, w.1)?.travel)).collect();
    let (marks, others) = (at_marks.len(), rest.len());
    let ways: Vec<_> = at_marks.into_iter().filter(|(_, w)| w.travel > 0.0).collect();
    let mut travels: Vec<f64> = ways.iter().map(|w| w.1.travel).collect();
    travels.sort_by(f64::total_cmp);
    travels.dedup();
    let thresholds = travels.len();
    let chances = ways.iter().map(|(_, w)| {
        let j = ways.iter().filter(|o| o.1.travel >= w.travel).count();
        let h = rest.iter().filter(|t| **t >= w.travel).count();
        (tail(j, h, marks, others), j, h, w.travel)
    });
    let (p, j, h, threshold) = chances.min_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))?;
    let counted: Vec<_> = ways.iter().filter(|(_, w)| w.travel >= threshold).collect();
    let delays = counted.iter().filter_map(|(at, w)| w.began.map(|b| b - *at));
    let greatest = rest.iter().fold(0.0, |a: f64, b| a.max(*b));
    Some(Moved {
        word: id.clone(),
        field,
        steps: counted.iter().map(|(_, w)| (w.before, w.after)).collect(),
        marks: j,
        elsewhere: h,
        travel: (threshold, greatest),
        delay: delays.max().unwrap_or(Span::ZERO),
        quiet_elsewhere: chart
            .moves()
            .all(|at| windows.marks.iter().any(|w| (w.0..=w.2 + windows.length).contains(&at))),
        expected: (p * thresholds as f64).min(1.0),
    })
}

/// See the head of this file.
fn tail(j: usize, h: usize, marks: usize, others: usize) -> f64 {
    let (moved, all) = (j + h, marks + others);
    let most = moved.min(marks);
    let of = |i: usize| choose(moved, i) + choose(all - moved, marks - i) - choose(all, marks);
    // Where so many of them do not move there is no way to draw fewer.
    let fits = |i: &usize| marks - i <= all - moved;
    (j..=most).filter(fits).map(|i| math::exp(of(i))).sum::<f64>().min(1.0)
}

/// ln C(n, k).
fn choose(n: usize, k: usize) -> f64 {
    let gamma = |n: usize| math::ln_gamma(n as f64 + 1.0);
    gamma(n) - gamma(k) - gamma(n - k)
}
