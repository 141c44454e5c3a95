//! What is known of an instrument beside its name: what a hygrometer sees, how a probe stands in the stream.

use crate::Arrangement;
use crate::plan::{full_name, neighbour};

/// What is known of one channel's probe.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Fact {
    /// Nothing.
    #[default]
    Unsaid,
    /// Humidity: a mirror or film in the duct, which sees vapour only.
    Vapour,
    /// Humidity: a heated sample line, in which all water is seen.
    TotalWater,
    /// The moving air is brought to rest.
    Total {
        /// Of the duct at the probe, m².
        area: Option<f64>,
    },
    /// The air passes: a wall tap, a bare temperature probe.
    Static {
        /// Of a temperature probe: its share of the rise on standstill, 0.5 to 1.
        recovery: Option<f64>,
        /// Of the duct at the probe, m².
        area: Option<f64>,
    },
}

/// The facts of a run's channels, as one pack sees them.
#[derive(Clone, Copy, Debug)]
pub struct Facts<'a> {
    pub(crate) names: &'a [&'a str],
    pub(crate) facts: &'a [Fact],
    pub(crate) pack: &'a str,
    pub(crate) arrangement: &'a Arrangement,
}

impl<'a> Facts<'a> {
    /// Where nothing is known.
    pub fn none(arrangement: &'a Arrangement) -> Facts<'a> {
        Facts { names: &[], facts: &[], pack: "", arrangement }
    }

    /// Of the channel for a quantity at a place, or at the place that is the same point.
    pub(crate) fn of(&self, place: &str, quantity: &str) -> Fact {
        let at = |place: &str| {
            let name = full_name(self.pack, &format!("{place}.{quantity}"));
            self.names.iter().position(|n| *n == name)
        };
        let channel = at(place).or_else(|| neighbour(self.arrangement, place).and_then(at));
        channel.and_then(|c| self.facts.get(c)).copied().unwrap_or_default()
    }

    /// Area of the duct at a place, by whichever of its probes says it.
    pub(crate) fn area(&self, place: &str) -> Option<f64> {
        ["temperature", "pressure"].into_iter().find_map(|q| match self.of(place, q) {
            Fact::Total { area } | Fact::Static { area, .. } => area,
            _ => None,
        })
    }
}
