//! A slow sweep of a valve there and back: where it stands for a command, and what it does not follow.

use super::check::{criterion, enough, extremes, mean, samples};
use super::{Polarity, Sample, StrokeError};

/// What counts as what; common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SweepCriteria {
    /// Motion of the position that ends a dead band; share of full travel.
    pub motion: f64,
    /// A change of the command back by more than this is a reversal; share of full travel.
    pub reversal: f64,
    /// Fastest mean rate of the command, 1/s.
    pub rate: f64,
    /// Each way must cover at least this share of travel.
    pub coverage: f64,
}

impl Default for SweepCriteria {
    fn default() -> Self {
        Self { motion: 0.005, reversal: 0.01, rate: 0.01, coverage: 0.5 }
    }
}

/// Position at one command, on both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtLevel {
    /// Command.
    pub command: f64,
    /// Command less mean position while the command rises; none where it did not come there.
    pub error_rising: Option<f64>,
    /// The same while it falls.
    pub error_falling: Option<f64>,
}

/// Figures of a sweep.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// Whether the position rises with the command.
    pub polarity: Polarity,
    /// Slope of the straight line through all samples: position over command.
    pub gain: f64,
    /// Position of that line at command 0.
    pub offset: f64,
    /// Largest distance of the rising from the falling branch at equal command; share of full travel.
    pub hysteresis: f64,
    /// Command at which it is.
    pub hysteresis_at: f64,
    /// Largest change of the command after a reversal until the position has moved by the motion threshold, which is in
    /// it; none where no reversal was followed by motion.
    pub dead_band: Option<f64>,
    /// Largest distance of a branch's mean from the straight line.
    pub linearity: f64,
    /// At 0, 0.25, 0.5, 0.75 and 1.
    pub errors: [AtLevel; 5],
    /// Smallest and largest position.
    pub range: (f64, f64),
    /// Mean rate of the command from its first to its last change, stays at the turns included, 1/s. A lag of τ seconds
    /// adds 2·rate·τ to the hysteresis.
    pub rate: f64,
    /// Width of the steps of command over which positions are averaged: commands above are known to half of it.
    pub resolution: f64,
}

/// Steps of command over the whole travel in which positions are averaged.
const STEPS: usize = 100;

/// Figures of a slow sweep there and back.
///
/// ```text
/// line:        x = gain·c + offset by least squares, d = x − line
/// hysteresis:  max |mean d rising − mean d falling| over steps of 1 % of the command that both ways have
/// dead band:   max |c − c_reversal| at |x − x_reversal| = motion
/// ```
/// The command at a sample of the position is interpolated.
///
/// * Units: s, shares of full travel.
/// * Range: both ways at least `coverage` of travel, mean rate of the command up to `rate`.
/// * Outside: [`StrokeError`] with the reason.
/// * Source: terms of IEC 61298-2 (from memory); thresholds are common practice, no source.
pub fn sweep(command: &[Sample], position: &[Sample], criteria: &SweepCriteria) -> Result<Sweep, StrokeError> {
    check_criteria(criteria)?;
    samples("command", command, 2)?;
    samples("position", position, 10)?;
    let rate = mean_rate(command);
    if rate > criteria.rate {
        return Err(StrokeError::TooFast { rate, limit: criteria.rate });
    }
    let pairs = pairs(command, position);
    enough("the position while there is a command", pairs.len(), 10)?;
    let turns = turns(&pairs, criteria.reversal);
    let [rising, falling] = [true, false].map(|way| branch(&pairs, &turns, way));
    covered("rising", &rising, criteria.coverage)?;
    covered("falling", &falling, criteria.coverage)?;
    let (gain, offset) = line(&pairs);
    let (low, high) = extremes(pairs.iter().map(|p| p.command));
    let moved = gain.abs() * (high - low);
    if moved < criteria.motion {
        return Err(StrokeError::Stuck { moved, threshold: criteria.motion });
    }
    let steps = [&rising, &falling].map(|branch| averages(branch, gain, offset));
    let (hysteresis, hysteresis_at) = hysteresis(&steps);
    let linearity = steps.iter().flatten().flatten().map(|d| d.abs()).fold(0.0, f64::max);
    let error = |way: usize, c: f64| steps[way][step_of(c)].map(|d| c - (gain * c + offset + d));
    Ok(Sweep {
        polarity: if gain > 0.0 { Polarity::AsCommanded } else { Polarity::Reversed },
        gain,
        offset,
        hysteresis,
        hysteresis_at,
        dead_band: dead_band(&pairs, &turns, criteria.motion),
        linearity,
        errors: [0.0, 0.25, 0.5, 0.75, 1.0].map(|c| AtLevel {
            command: c,
            error_rising: error(0, c),
            error_falling: error(1, c),
        }),
        range: extremes(pairs.iter().map(|p| p.position)),
        rate,
        resolution: 1.0 / STEPS as f64,
    })
}

/// Command and position at one time.
#[derive(Clone, Copy)]
struct Pair {
    command: f64,
    position: f64,
}

/// Way of the command over the time from its first to its last change.
fn mean_rate(command: &[Sample]) -> f64 {
    let (mut way, mut first, mut last) = (0.0, None, 0.0);
    for w in command.windows(2).filter(|w| w[0].value != w[1].value) {
        way += (w[1].value - w[0].value).abs();
        first = first.or(Some(w[0].time));
        last = w[1].time;
    }
    first.map_or(0.0, |first| way / (last - first))
}

fn pairs(command: &[Sample], position: &[Sample]) -> Vec<Pair> {
    let mut after = 0;
    let mut pairs = Vec::with_capacity(position.len());
    for p in position {
        while after < command.len() && command[after].time < p.time {
            after += 1;
        }
        let Some(b) = command.get(after) else { break };
        if b.time == p.time {
            pairs.push(Pair { command: b.value, position: p.value });
        } else if let Some(a) = after.checked_sub(1).map(|k| command[k]) {
            let part = (p.time - a.time) / (b.time - a.time);
            pairs.push(Pair { command: a.value + part * (b.value - a.value), position: p.value });
        }
    }
    pairs
}

/// A stretch on which the command goes one way, from a turn to the next.
struct Turn {
    from: usize,
    to: usize,
    rising: bool,
}

/// Stretches between the command's reversals; a change back within the threshold is none.
fn turns(pairs: &[Pair], reversal: f64) -> Vec<Turn> {
    let mut found: Vec<Turn> = Vec::new();
    let (mut from, mut far) = (0, 0);
    let mut way: Option<bool> = None;
    for (k, pair) in pairs.iter().enumerate() {
        // The last sample of a stay at the turn: the position has come to rest there.
        let ahead = |a: f64, b: f64, rising: bool| if rising { a >= b } else { a <= b };
        match way {
            None => {
                if (pair.command - pairs[from].command).abs() > reversal {
                    (way, far) = (Some(pair.command > pairs[from].command), k);
                }
            }
            Some(rising) if ahead(pair.command, pairs[far].command, rising) => far = k,
            Some(rising) if (pair.command - pairs[far].command).abs() > reversal => {
                found.push(Turn { from, to: far, rising });
                (from, far, way) = (far, k, Some(!rising));
            }
            Some(_) => {}
        }
    }
    if let Some(rising) = way {
        found.push(Turn { from, to: pairs.len() - 1, rising });
    }
    found
}

/// The samples of one way, all stretches together.
fn branch(pairs: &[Pair], turns: &[Turn], rising: bool) -> Vec<Pair> {
    turns.iter().filter(|t| t.rising == rising).flat_map(|t| pairs[t.from..=t.to].iter().copied()).collect()
}

fn covered(way: &'static str, branch: &[Pair], needed: f64) -> Result<(), StrokeError> {
    let (low, high) = extremes(branch.iter().map(|p| p.command));
    let covered = (high - low).max(0.0);
    if covered >= needed { Ok(()) } else { Err(StrokeError::NoWayBack { way, covered, needed }) }
}

/// Least squares; the command is known to cover some range.
fn line(pairs: &[Pair]) -> (f64, f64) {
    let (c, x) = (mean(pairs.iter().map(|p| p.command)), mean(pairs.iter().map(|p| p.position)));
    let (both, own) = pairs.iter().fold((0.0, 0.0), |(both, own), p| {
        let d = p.command - c;
        (both + d * (p.position - x), own + d * d)
    });
    (both / own, x - both / own * c)
}

fn step_of(command: f64) -> usize {
    (command * STEPS as f64).round().clamp(0.0, STEPS as f64) as usize
}

/// Mean distance from the line, for each step of command; none where the branch has no sample.
fn averages(branch: &[Pair], gain: f64, offset: f64) -> Vec<Option<f64>> {
    let mut sums = vec![(0.0, 0u32); STEPS + 1];
    let half_step = 0.5 / STEPS as f64;
    for p in branch.iter().filter(|p| (-half_step..=1.0 + half_step).contains(&p.command)) {
        let (sum, count) = &mut sums[step_of(p.command)];
        *sum += p.position - gain * p.command - offset;
        *count += 1;
    }
    sums.into_iter().map(|(sum, count)| (count > 0).then(|| sum / f64::from(count))).collect()
}

fn hysteresis([rising, falling]: &[Vec<Option<f64>>; 2]) -> (f64, f64) {
    let apart = rising.iter().zip(falling).enumerate().filter_map(|(k, (a, b))| Some(((*a)? - (*b)?, k)));
    let (most, at) = apart.map(|(d, k)| (d.abs(), k)).fold((0.0, 0), |a, b| if b.0 > a.0 { b } else { a });
    (most, at as f64 / STEPS as f64)
}

/// The position's place at a turn is where it stands when the command turns.
fn dead_band(pairs: &[Pair], turns: &[Turn], motion: f64) -> Option<f64> {
    let bands = turns.iter().skip(1).filter_map(|turn| {
        let at = pairs[turn.from];
        let moved = |p: &Pair| (p.position - at.position).abs();
        let k = (turn.from + 1..=turn.to).find(|&k| moved(&pairs[k]) > motion)?;
        let (a, b) = (moved(&pairs[k - 1]), moved(&pairs[k]));
        let part = (motion - a) / (b - a);
        Some((pairs[k - 1].command + part * (pairs[k].command - pairs[k - 1].command) - at.command).abs())
    });
    bands.reduce(f64::max)
}

fn check_criteria(c: &SweepCriteria) -> Result<(), StrokeError> {
    const SHARE: &str = "above 0 up to 0.2";
    criterion("motion", c.motion, SHARE, |x| x > 0.0 && x <= 0.2)?;
    criterion("reversal", c.reversal, SHARE, |x| x > 0.0 && x <= 0.2)?;
    criterion("rate", c.rate, "above 0 up to 10 per second", |x| x > 0.0 && x <= 10.0)?;
    criterion("coverage", c.coverage, "above 0 up to 1", |x| x > 0.0 && x <= 1.0)
}
