//! What can only be checked with all channels at hand.

use crate::{Channel, ChannelError};
use units::Quantity;

/// Checks the channels of a run against one another: names that stand twice, and barometers that are not there,
/// measure something else or are gauge pressures themselves. `channels[i]` is the channel with id i; everything
/// found is returned, in the order of the channels.
pub fn check_map(channels: &[Channel]) -> Vec<ChannelError> {
    let mut found = Vec::new();
    let mut names: Vec<&str> = channels.iter().map(|c| c.spec().name.as_str()).collect();
    names.sort_unstable();
    for twice in names.windows(2).filter(|w| w[0] == w[1]) {
        let error = ChannelError::NameTwice { channel: twice[0].to_string() };
        if !found.contains(&error) {
            found.push(error);
        }
    }
    found.extend(channels.iter().filter_map(|channel| barometer(channels, channel)));
    found
}

fn barometer(channels: &[Channel], channel: &Channel) -> Option<ChannelError> {
    let id = channel.barometer()?;
    let name = channel.spec().name.clone();
    let Some(barometer) = channels.get(usize::from(id.0)) else {
        return Some(ChannelError::BarometerMissing { channel: name, column: id.0, channels: channels.len() });
    };
    let (quantity, of) = (barometer.spec().quantity, barometer.spec().name.clone());
    if quantity != Quantity::Pressure {
        Some(ChannelError::BarometerQuantity { channel: name, barometer: of, quantity })
    } else if barometer.is_gauge() {
        Some(ChannelError::BarometerGauge { channel: name, barometer: of })
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
