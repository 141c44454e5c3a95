//! Edges of a channel, each with the standard uncertainty of its time.

use std::fmt;
use stream::EventTime;
use units::math;

/// More edges than these are no event to align by.
pub(super) const MOST: usize = 200;
/// Fewer values tell nothing.
const FEWEST: usize = 4;

/// A passage through the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    /// When, on the recorder's own clock.
    pub(super) time: EventTime,
    /// Standard uncertainty of that, s.
    pub(super) u: f64,
    /// Upwards.
    pub(super) up: bool,
}

impl fmt::Display for Edge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {}", if self.up { "up" } else { "down" }, self.time)
    }
}

/// Lowest and highest value.
fn span(values: &[(EventTime, f64)]) -> Option<(f64, f64)> {
    let first = values.first()?.1;
    Some(values.iter().fold((first, first), |(low, high), v| (low.min(v.1), high.max(v.1))))
}

/// The range that two channels of one quantity both cover; `None` where they have none in common worth the name.
pub(super) fn common(a: &[(EventTime, f64)], b: &[(EventTime, f64)]) -> Option<(f64, f64)> {
    let (a, b) = (span(a)?, span(b)?);
    let both = (a.0.max(b.0), a.1.min(b.1));
    let wide = (a.1 - a.0).max(b.1 - b.0);
    (both.1 - both.0 > 0.5 * wide).then_some(both)
}

/// The edges of a channel within a range, or within all that it covers.
///
/// The time is that of the passage, on a straight line between the two values at its sides. Its standard uncertainty
/// has two parts: the passage of a step may be anywhere between the two values (rectangular: distance / √12, JCGM
/// 100:2008, 4.3.7), and noise moves it on a slope (noise over slope; the noise from the differences of neighbours).
///
/// # Errors
/// Why there are none.
pub(super) fn edges(values: &[(EventTime, f64)], level: Option<(f64, f64)>) -> Result<Vec<Edge>, String> {
    let span = span(values).filter(|_| values.len() >= FEWEST);
    let Some((low, high)) = level.or(span) else {
        return Err(format!("{} values are too few", values.len()));
    };
    let swing = high - low;
    if swing <= 0.0 {
        return Err(format!("it stands at {low} all the time; there is no event in it"));
    }
    let noise = noise(values);
    if noise > swing / 8.0 {
        return Err(format!("its noise of {noise:.3} drowns its swing of {swing:.3}; choose another channel"));
    }
    let (middle, below, above) = (low + swing / 2.0, low + swing / 4.0, high - swing / 4.0);
    let mut found = Vec::new();
    // Which side it was on last, and the last value there.
    let mut side: Option<(bool, usize)> = None;
    for (i, (_, x)) in values.iter().enumerate() {
        let now = if *x <= below {
            Some(false)
        } else if *x >= above {
            Some(true)
        } else {
            None
        };
        let Some(up) = now else { continue };
        if let Some((was, from)) = side
            && was != up
        {
            found.extend(passage(values, from, i, middle, up, noise));
        }
        side = Some((up, i));
    }
    if found.is_empty() {
        return Err(format!("it never passes {middle:.6} from one side to the other; there is no event in it"));
    }
    Ok(found)
}

/// The last passage through the middle on the way from one side to the other.
fn passage(values: &[(EventTime, f64)], from: usize, to: usize, middle: f64, up: bool, noise: f64) -> Option<Edge> {
    let way = values.get(from..=to)?;
    let crosses = |w: &[(EventTime, f64)]| (w[0].1 < middle) == up && (w[1].1 >= middle) == up;
    let pair = way.windows(2).rev().find(|w| crosses(w))?;
    let [(t0, x0), (t1, x1)] = [pair[0], pair[1]];
    let step = (t1 - t0).as_secs_f64();
    let part = if x1 == x0 { 0.5 } else { ((middle - x0) / (x1 - x0)).clamp(0.0, 1.0) };
    let time = EventTime(t0.0 + (part * (t1 - t0).0 as f64) as i64);
    let (whole, rise) = ((way[way.len() - 1].0 - way[0].0).as_secs_f64(), (way[way.len() - 1].1 - way[0].1).abs());
    let by_noise = if rise > 0.0 { noise * whole / rise } else { 0.0 };
    Some(Edge { time, u: math::sqrt(step * step / 12.0 + by_noise * by_noise), up })
}

/// The standard deviation of the values' noise: from the median of the differences of neighbours, which edges hardly
/// touch. For a normal distribution the median of |difference| is 0.6745·√2 standard deviations (from memory).
fn noise(values: &[(EventTime, f64)]) -> f64 {
    let mut differences: Vec<f64> = values.windows(2).map(|w| (w[1].1 - w[0].1).abs()).collect();
    differences.sort_by(f64::total_cmp);
    differences.get(differences.len() / 2).map_or(0.0, |d| d / 0.9539)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(x: &[f64]) -> Vec<(EventTime, f64)> {
        x.iter().enumerate().map(|(i, x)| (EventTime(i as i64 * 1_000_000_000), *x)).collect()
    }

    #[test]
    fn a_step_a_ramp_and_what_is_none() {
        let step = edges(&values(&[0.0, 0.0, 0.0, 10.0, 10.0, 0.0, 0.0]), None).unwrap();
        let times: Vec<_> = step.iter().map(|e| (e.time.0, e.up)).collect();
        assert_eq!(times, [(2_500_000_000, true), (4_500_000_000, false)]);
        assert!((step[0].u - 0.288_675).abs() < 1e-5, "{}", step[0].u);
        let ramp = edges(&values(&[0.0, 0.0, 0.0, 3.0, 6.0, 9.0, 9.0, 9.0, 9.0]), None).unwrap();
        assert_eq!(ramp[0].time.0, 3_500_000_000);
        for none in [&[0.0, 10.0][..], &[5.0; 9], &[0.0, 9.0, 1.0, 8.0, 0.0, 9.0, 1.0, 9.0, 0.0]] {
            assert!(edges(&values(none), None).is_err(), "{none:?}");
        }
        assert_eq!(common(&values(&[0.0, 10.0]), &values(&[2.0, 11.0])), Some((2.0, 10.0)));
        assert_eq!(common(&values(&[0.0, 10.0]), &values(&[9.0, 21.0])), None);
    }
}
