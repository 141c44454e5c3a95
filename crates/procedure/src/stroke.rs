//! Valve strokes: figures of a step and of a slow sweep.
//!
//! * [`step`](mod@step): first motion, stroke time, 10–90 %, overshoot, position error, holds on the way, stuck
//! * [`sweep`](mod@sweep): hysteresis, dead band, position error and linearity
//!
//! Command and position are two channels with times of their own, at full rate: averaged samples have no strokes. Times
//! in s from any zero, positions and commands as shares: 0 closed, 1 open.

mod check;
pub mod step;
pub mod sweep;

pub use step::{Criteria, Direction, Hold, Outcome, Polarity, Stroke, stroke};
pub use sweep::{AtLevel, Sweep, SweepCriteria, sweep};

use thiserror::Error;

/// One sample of a command or a position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// s, from any zero that both channels share.
    pub time: f64,
    /// Share of full travel: 0 closed, 1 open.
    pub value: f64,
}

/// A time between two happenings, with what it may be wrong by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// s.
    pub seconds: f64,
    /// s: the sample intervals in which its ends lie, added. The sampling allows no more.
    pub resolution: f64,
}

/// Why no figure can be given.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StrokeError {
    /// A criterion that makes no sense.
    #[error("criterion {name} is {value}, must be {valid}")]
    Criterion {
        /// Its name.
        name: &'static str,
        /// What it was.
        value: f64,
        /// What is valid.
        valid: &'static str,
    },
    /// A sample that is no number, or a share far outside 0…1.
    #[error(
        "{channel}, sample {index}: time {time} s, value {value}: both must be finite, the value within -0.5…1.5 \
         (a percentage taken for a share? leave bad samples out)"
    )]
    Value {
        /// `command` or `position`.
        channel: &'static str,
        /// Its place, from 0.
        index: usize,
        /// Its time.
        time: f64,
        /// Its value.
        value: f64,
    },
    /// Times that do not rise.
    #[error("{channel}, sample {index}: time {time} s does not come after the sample before it; sort, drop doubles")]
    Time {
        /// `command` or `position`.
        channel: &'static str,
        /// Its place, from 0.
        index: usize,
        /// Its time.
        time: f64,
    },
    /// Too few samples for what is asked.
    #[error("{found} samples of {what}, at least {needed} are needed: record longer, or faster")]
    TooFew {
        /// Of what.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
    /// No step in the command.
    #[error("the command stays within {change} of {value}: there is no step to judge")]
    NoStep {
        /// Where it stays.
        value: f64,
        /// How much would be a step.
        change: f64,
    },
    /// A second step.
    #[error(
        "the command changes again at {time} s: one stroke is one step, cut the record before it (a ramp is a sweep)"
    )]
    SecondStep {
        /// When.
        time: f64,
    },
    /// The valve moves, or its reading is unquiet, before the command.
    #[error(
        "before the command at {time} s the position spreads over {spread}, more than twice the motion threshold \
         {threshold}: not at rest, or too noisy for this threshold"
    )]
    NotAtRest {
        /// Time of the command.
        time: f64,
        /// Largest less smallest position.
        spread: f64,
        /// The threshold.
        threshold: f64,
    },
    /// The end of the record is no rest.
    #[error(
        "within the last {seconds} s the position spreads from its mean by {spread}, more than the band {band} \
         around the end: not settled, hunting, or too noisy; record longer"
    )]
    NotSettled {
        /// The stretch looked at.
        seconds: f64,
        /// Largest distance from the mean.
        spread: f64,
        /// The band.
        band: f64,
    },
    /// Travel too small for its tenth to be told from rest.
    #[error(
        "the valve ends {travel} from where it began after moving by {largest}: less than ten motion thresholds of \
         {threshold}; make a larger step"
    )]
    TravelTooSmall {
        /// End less start.
        travel: f64,
        /// Largest distance from the start on the way.
        largest: f64,
        /// The threshold.
        threshold: f64,
    },
    /// A sweep faster than allowed: lag would look like hysteresis.
    #[error("the command moves at {rate} per second on average, more than {limit}: lag would be taken for hysteresis")]
    TooFast {
        /// Mean rate.
        rate: f64,
        /// The limit.
        limit: f64,
    },
    /// A sweep that does not go both ways.
    #[error(
        "the command covers {covered} of travel on its {way} way, at least {needed} is needed: sweep there and back"
    )]
    NoWayBack {
        /// `rising` or `falling`.
        way: &'static str,
        /// What it covers.
        covered: f64,
        /// What is needed.
        needed: f64,
    },
    /// A position that does not follow at all.
    #[error(
        "over the sweep the position follows the command by {moved}, less than {threshold}: stuck or not connected"
    )]
    Stuck {
        /// Slope of position over command times the range of the command.
        moved: f64,
        /// The threshold.
        threshold: f64,
    },
}
