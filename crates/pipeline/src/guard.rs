//! What is judged of a channel's sample beside its number: how it changes, and marks that hold for the whole run.

use crate::plan::Plan;
use channels::Watch;
use decode::Raw;
use stream::{ChannelId, EventTime, Origin, Reading, Reason};

/// The judge of one channel.
#[derive(Debug, Default)]
pub(crate) struct Guard {
    watch: Option<Watch>,
    mark: Option<Reason>,
}

impl Guard {
    /// One for each channel of a run that started at `start`.
    ///
    /// * the run demands a calibration that does not hold at its start: uncertain (not-calibrated)
    /// * from a simulated source, in a run that has real ones too: uncertain (simulated). A run that is simulated as
    ///   a whole says so in its manifest and tables instead: there no value can pass for a measured one, and limits
    ///   and verdicts are to be tried out
    pub(crate) fn all(plan: &Plan, start: EventTime) -> Vec<Guard> {
        let mixed = plan.layout.is_mixed();
        let simulated = |i: usize| match plan.layout.columns.get(i).map(|c| c.origin) {
            Some(Origin::Channel(s)) => plan.layout.sources.get(usize::from(s.0)).is_some_and(|s| s.simulated),
            _ => false,
        };
        let guard = |(i, c): (usize, &crate::ChannelPlan)| Guard {
            watch: Watch::new(&c.channel),
            mark: if mixed && simulated(i) {
                Some(Reason::Simulated)
            } else if c.channel.spec().calibration.holds_at(start) {
                None
            } else {
                Some(Reason::NotCalibrated)
            },
        };
        plan.channels.iter().enumerate().map(guard).collect()
    }

    /// Whether there is nothing to judge.
    #[inline]
    pub(crate) fn is_idle(&self) -> bool {
        self.watch.is_none() && self.mark.is_none()
    }

    /// Its channel's link went down: what comes then is no change of what was.
    pub(crate) fn forget(&mut self) {
        if let Some(w) = &mut self.watch {
            w.forget();
        }
    }

    /// A sample that belongs to an open snapshot.
    pub(crate) fn judge(&mut self, t: EventTime, raw: Raw, reading: Reading) -> Reading {
        let number = match raw {
            Raw::Number(x) => Some(x),
            Raw::Nothing(_) => None,
        };
        let reading = match &mut self.watch {
            Some(w) => w.judge(t, number, reading),
            None => reading,
        };
        match (reading, self.mark) {
            (Reading::Good(x), Some(reason)) => Reading::Uncertain(x, reason),
            _ => reading,
        }
    }
}

/// A sample whose snapshot has closed, or that is stamped in the future: it is kept and not evaluated.
#[cold]
pub(crate) fn late(samples: &mut [stream::Sample]) {
    for s in samples {
        if let Reading::Good(x) = s.reading {
            s.reading = Reading::Uncertain(x, Reason::Late);
        }
    }
}

/// The channels that another one wants beside its own number: of these alone the newest reading is kept.
pub(crate) fn wanted(plan: &Plan) -> Vec<bool> {
    let mut wanted = vec![false; plan.channels.len()];
    for ChannelId(c) in plan.channels.iter().filter_map(|c| c.channel.other()) {
        if let Some(is) = wanted.get_mut(usize::from(c)) {
            *is = true;
        }
    }
    wanted
}
