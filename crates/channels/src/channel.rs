//! A channel that has been checked.

use crate::{ChannelError, ChannelSpec};
use stream::{ChannelId, Reading};

/// A channel ready for samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    spec: ChannelSpec,
}

impl Channel {
    /// Checks a description.
    pub fn new(spec: ChannelSpec) -> Result<Channel, ChannelError> {
        Ok(Channel { spec })
    }
    /// What it was built from.
    pub fn spec(&self) -> &ChannelSpec {
        &self.spec
    }
    /// The channel whose latest reading [`reading`](Self::reading) wants as barometer.
    pub fn barometer(&self) -> Option<ChannelId> {
        None
    }
    /// One sample in SI.
    pub fn reading(&self, raw: f64, barometer: Option<Reading>) -> Reading {
        let _ = barometer;
        Reading::finite(raw)
    }
}
