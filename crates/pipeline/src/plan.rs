//! What a run consists of, ready to run. Made by `assembly` from configuration; checked there.

use channels::Channel;
use decode::Decoder;
use limits::Limit;
use pack::{PackOrder, PackPlan};
use std::sync::Arc;
use stream::{ChannelId, Layout, Span};

/// Everything the core needs to know.
pub struct Plan {
    /// Names and units of every id; columns are `channels` first, then `derived`.
    pub layout: Arc<Layout>,
    /// How long after a grid time its snapshot closes.
    pub lateness: Span,
    /// One per source.
    pub sources: Vec<SourcePlan>,
    /// One per channel, in column order.
    pub channels: Vec<ChannelPlan>,
    /// The derived quantities, in column order after the channels.
    pub pack: Arc<PackPlan>,
    /// The order along the air's way that the channels are held against; indices are channel indices.
    pub orders: Vec<PackOrder>,
    /// Limits in their first state, in layout order; their columns are column indices.
    pub limits: Vec<Limit>,
}

/// One source.
pub struct SourcePlan {
    /// Makes readings of its records.
    pub decoder: Decoder,
    /// For each reading of the decoder, the channels that take it.
    pub targets: Vec<Vec<ChannelId>>,
}

/// One channel.
pub struct ChannelPlan {
    /// Makes an SI value of a reading.
    pub channel: Channel,
    /// The device on the source's line it comes from, where there are several.
    pub device: Option<u16>,
}

impl Plan {
    /// For each channel the cause its error has in common with others, counted from 0: its correlation group.
    pub(crate) fn causes(&self) -> Vec<Option<u16>> {
        let groups: Vec<Option<&str>> = self.channels.iter().map(|c| c.channel.correlation()).collect();
        let mut names: Vec<&str> = groups.iter().copied().flatten().collect();
        names.sort_unstable();
        names.dedup();
        groups.into_iter().map(|g| names.binary_search(&g?).ok().map(|i| i as u16)).collect()
    }
}
