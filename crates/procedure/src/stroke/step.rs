//! A valve's answer to one step of its command.

use super::check::{criterion, enough, extremes, mean, samples};
use super::{Sample, Span, StrokeError};

/// What counts as what. The document of the test has the last word; the defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criteria {
    /// A change of the command by more than this is a step; share of full travel.
    pub command_change: f64,
    /// A position that has left its rest by more than this has moved; share of full travel.
    pub motion: f64,
    /// Half width of the band around the end in which the stroke is over; share of this stroke's travel.
    pub end_band: f64,
    /// The end position is the mean over this time at the end of the record, s.
    pub settled: f64,
    /// A stay within this spread on the way is a hold; share of full travel. A slow stroke is none: after a hold the
    /// valve moves on, by three spreads in as much time again.
    pub hold_spread: f64,
    /// … if it lasts this long, s.
    pub hold_time: f64,
}

impl Default for Criteria {
    fn default() -> Self {
        Self { command_change: 0.01, motion: 0.005, end_band: 0.02, settled: 1.0, hold_spread: 0.01, hold_time: 0.5 }
    }
}

/// Which way the command goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// To a greater share.
    Opening,
    /// To a smaller share.
    Closing,
}

/// Whether the position goes the way of the command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// It does.
    AsCommanded,
    /// It goes the other way: wiring, or a position that counts 0 as open.
    Reversed,
}

/// A stay on the way, between start and end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// From the command to its beginning.
    pub after: Span,
    /// How long it lasts.
    pub duration: Span,
    /// Mean position.
    pub position: f64,
}

/// Figures of a stroke. Times count from the first sample of the new command.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Time of the first sample of the new command, s.
    pub command_time: f64,
    /// Which way the command goes.
    pub direction: Direction,
    /// Whether the position follows it.
    pub polarity: Polarity,
    /// Mean position before the command.
    pub start: f64,
    /// Mean position at the end.
    pub end: f64,
    /// Command less position at the end.
    pub position_error: f64,
    /// To the position having moved by the motion threshold for good.
    pub first_motion: Span,
    /// To the position entering the band around its end for good.
    pub stroke_time: Span,
    /// From 10 % to 90 % of the travel, each passed for the first time.
    pub ten_to_ninety: Span,
    /// Largest distance beyond the end, as a share of the travel; noise is in it.
    pub overshoot: f64,
    /// Stays on the way, in order.
    pub holds: Vec<Hold>,
}

/// What became of the command.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The valve moved.
    Moved(Stroke),
    /// It did not move by more than the threshold.
    Stuck {
        /// Time of the first sample of the new command, s.
        command_time: f64,
        /// Largest distance from the rest position.
        largest: f64,
        /// How long it was watched after the command, s.
        watched: f64,
    },
}

/// Figures of the stroke that follows the one step in a command.
///
/// ```text
/// first motion:  |x − x_start| passes the motion threshold      stroke: |x − x_end| falls below end_band·travel for
/// good 10–90 %:       (x − x_start)/travel passes 0.1, 0.9           overshoot: max (x − x_end)/travel
/// ```
/// Passages are interpolated between the samples around them.
///
/// * Units: s, shares of full travel.
/// * Range: at least two samples of the command, three of the position before it and three within the settled time;
///   travel of at least ten motion thresholds. Time before the command is rest, time at the end is settled.
/// * Outside: [`StrokeError`] with the reason.
/// * Source: step response terms of IEC 60050-351 (from memory); thresholds are common practice, no source.
///
/// ```
/// use procedure::stroke::{Criteria, Outcome, Sample, stroke};
/// // 50 Hz: commanded open at 1 s, moves from 1.2 s to 3.2 s
/// let at = |i: u32, f: fn(f64) -> f64| Sample { time: f64::from(i) / 50.0, value: f(f64::from(i) / 50.0) };
/// let command: Vec<_> = (0..300).map(|i| at(i, |t| if t >= 1.0 { 1.0 } else { 0.0 })).collect();
/// let position: Vec<_> = (0..300).map(|i| at(i, |t| ((t - 1.2) / 2.0).clamp(0.0, 1.0))).collect();
/// let Outcome::Moved(s) = stroke(&command, &position, &Criteria::default())? else { panic!() };
/// assert!((s.ten_to_ninety.seconds - 1.6).abs() < 1e-9);
/// assert!((s.stroke_time.seconds - 2.16).abs() < 1e-9);
/// # Ok::<(), procedure::stroke::StrokeError>(())
/// ```
pub fn stroke(command: &[Sample], position: &[Sample], criteria: &Criteria) -> Result<Outcome, StrokeError> {
    check_criteria(criteria)?;
    samples("command", command, 2)?;
    samples("position", position, 6)?;
    let step = find_step(command, criteria.command_change)?;
    let first = position.partition_point(|s| s.time < step.time);
    let (rest, moving) = position.split_at(first);
    let start = rest_position(rest, step.time, criteria.motion)?;
    enough("the position after the command", moving.len(), 3)?;
    let largest = moving.iter().map(|s| (s.value - start).abs()).fold(0.0, f64::max);
    if largest <= criteria.motion {
        let watched = moving.last().map_or(0.0, |s| s.time) - step.time;
        return Ok(Outcome::Stuck { command_time: step.time, largest, watched });
    }
    let end = end_position(moving, criteria)?;
    let travel = end - start;
    if travel.abs() < 10.0 * criteria.motion {
        return Err(StrokeError::TravelTooSmall { travel, largest, threshold: criteria.motion });
    }
    settled(moving, end, criteria.end_band * travel.abs(), criteria)?;
    let path = Path { samples: position, first, start, travel, step: &step };
    Ok(Outcome::Moved(figures(&path, end, criteria)))
}

/// Where the command steps.
struct Step {
    time: f64,
    /// The sample interval before it.
    interval: f64,
    from: f64,
    to: f64,
}

/// A position on its way.
struct Path<'a> {
    samples: &'a [Sample],
    /// First sample at or after the command.
    first: usize,
    start: f64,
    travel: f64,
    step: &'a Step,
}

impl Path<'_> {
    /// Share of the travel done at a sample.
    fn share(&self, k: usize) -> f64 {
        (self.samples[k].value - self.start) / self.travel
    }

    /// The sample interval that ends at k.
    fn interval(&self, k: usize) -> f64 {
        self.samples[k].time - self.samples[k - 1].time
    }

    /// When a share is passed between the samples k − 1 and k.
    fn passage(&self, level: f64, k: usize) -> f64 {
        let (a, b) = (self.share(k - 1), self.share(k));
        let part = if a == b { 1.0 } else { (level - a) / (b - a) };
        self.samples[k - 1].time + part.clamp(0.0, 1.0) * self.interval(k)
    }

    /// The first sample at or above a share.
    fn reaches(&self, level: f64) -> usize {
        (self.first..self.samples.len()).find(|&k| self.share(k) >= level).unwrap_or(self.samples.len() - 1)
    }

    fn since_command(&self, time: f64, k: usize) -> Span {
        Span { seconds: time - self.step.time, resolution: self.step.interval + self.interval(k) }
    }
}

fn figures(path: &Path<'_>, end: f64, criteria: &Criteria) -> Stroke {
    let (last, band) = (path.samples.len() - 1, criteria.end_band);
    let (ten, ninety) = (path.reaches(0.1), path.reaches(0.9));
    let threshold = criteria.motion / path.travel.abs();
    let moved = (path.first..=ten).rev().find(|&k| path.share(k - 1) <= threshold).unwrap_or(path.first);
    let done = (path.first..=last).rev().find(|&k| (path.share(k - 1) - 1.0).abs() > band).unwrap_or(path.first);
    let edge = if path.share(done - 1) < 1.0 { 1.0 - band } else { 1.0 + band };
    let beyond = (path.first..=last).map(|k| path.share(k) - 1.0).fold(0.0, f64::max);
    let opening = path.step.to > path.step.from;
    Stroke {
        command_time: path.step.time,
        direction: if opening { Direction::Opening } else { Direction::Closing },
        polarity: if opening == (path.travel > 0.0) { Polarity::AsCommanded } else { Polarity::Reversed },
        start: path.start,
        end,
        position_error: path.step.to - end,
        first_motion: path.since_command(path.passage(threshold, moved), moved),
        stroke_time: path.since_command(path.passage(edge, done), done),
        ten_to_ninety: Span {
            seconds: path.passage(0.9, ninety) - path.passage(0.1, ten),
            resolution: path.interval(ten) + path.interval(ninety),
        },
        overshoot: beyond,
        holds: holds(path, moved, done, criteria),
    }
}

/// Stays between first motion and the end's band: as long as the position spreads no further.
fn holds(path: &Path<'_>, moved: usize, done: usize, criteria: &Criteria) -> Vec<Hold> {
    let mut found = Vec::new();
    let mut from = moved;
    while from < done {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let stay = path.samples[from..done].iter().take_while(|s| {
            (low, high) = (low.min(s.value), high.max(s.value));
            high - low <= criteria.hold_spread
        });
        let to = from + stay.count();
        let (a, b) = (path.samples[from].time, path.samples[to - 1].time);
        if b - a < criteria.hold_time || !goes_on(path, to, b - a, 3.0 * criteria.hold_spread) {
            from += 1;
            continue;
        }
        let resolution = path.interval(from) + path.interval(to);
        found.push(Hold {
            after: path.since_command(a, from),
            duration: Span { seconds: b - a, resolution },
            position: mean(path.samples[from..to].iter().map(|s| s.value)),
        });
        from = to;
    }
    found
}

/// True if within this time from the sample before k the position moves by this much: a creep towards the end and a
/// slow stroke hold nowhere.
fn goes_on(path: &Path<'_>, k: usize, seconds: f64, distance: f64) -> bool {
    let from = path.samples[k - 1];
    let next = path.samples[k..].iter().take_while(|s| s.time <= from.time + seconds);
    next.map(|s| (s.value - from.value) * path.travel.signum()).fold(0.0, f64::max) >= distance
}

fn find_step(command: &[Sample], change: f64) -> Result<Step, StrokeError> {
    let from = command[0].value;
    let Some(k) = command.iter().position(|s| (s.value - from).abs() > change) else {
        return Err(StrokeError::NoStep { value: from, change });
    };
    let to = command[k].value;
    if let Some(s) = command[k..].iter().find(|s| (s.value - to).abs() > change) {
        return Err(StrokeError::SecondStep { time: s.time });
    }
    Ok(Step { time: command[k].time, interval: command[k].time - command[k - 1].time, from, to })
}

fn rest_position(rest: &[Sample], time: f64, threshold: f64) -> Result<f64, StrokeError> {
    enough("the position before the command", rest.len(), 3)?;
    let (low, high) = extremes(rest.iter().map(|s| s.value));
    let spread = high - low;
    if spread > 2.0 * threshold {
        return Err(StrokeError::NotAtRest { time, spread, threshold });
    }
    Ok(mean(rest.iter().map(|s| s.value)))
}

/// The samples of the settled time at the end of the record.
fn tail<'a>(moving: &'a [Sample], criteria: &Criteria) -> &'a [Sample] {
    let last = moving.last().map_or(0.0, |s| s.time);
    &moving[moving.partition_point(|s| s.time < last - criteria.settled)..]
}

fn end_position(moving: &[Sample], criteria: &Criteria) -> Result<f64, StrokeError> {
    let tail = tail(moving, criteria);
    enough("the position within the settled time", tail.len(), 3)?;
    Ok(mean(tail.iter().map(|s| s.value)))
}

fn settled(moving: &[Sample], end: f64, band: f64, criteria: &Criteria) -> Result<(), StrokeError> {
    let spread = tail(moving, criteria).iter().map(|s| (s.value - end).abs()).fold(0.0, f64::max);
    if spread <= band { Ok(()) } else { Err(StrokeError::NotSettled { seconds: criteria.settled, spread, band }) }
}

fn check_criteria(c: &Criteria) -> Result<(), StrokeError> {
    let share = |x: f64| x > 0.0 && x <= 0.2;
    const SHARE: &str = "above 0 up to 0.2";
    criterion("command_change", c.command_change, SHARE, share)?;
    criterion("motion", c.motion, SHARE, share)?;
    criterion("end_band", c.end_band, SHARE, share)?;
    criterion("hold_spread", c.hold_spread, SHARE, share)?;
    let seconds = |x: f64| x > 0.0 && x <= 3600.0;
    criterion("settled", c.settled, "above 0 up to 3600 s", seconds)?;
    criterion("hold_time", c.hold_time, "above 0 up to 3600 s", seconds)
}
