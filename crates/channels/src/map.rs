//! What can only be checked with all channels at hand.

use crate::convert::{Convert, Pair};
use crate::{Channel, ChannelError};
use units::Quantity;

/// Checks the channels of a run against one another: names that stand twice; barometers and other halves of pairs that
/// are not there, measure something else, or need another channel themselves. `channels[i]` is the channel with id i;
/// everything found is returned, in the order of the channels.
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
    found.extend(channels.iter().filter_map(|channel| other(channels, channel)));
    found
}

fn other(channels: &[Channel], channel: &Channel) -> Option<ChannelError> {
    let id = channel.other()?;
    let name = channel.spec().name.clone();
    if let Convert::Pair(pair) = &channel.spec().conversion {
        return partner(channels, name, pair);
    }
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

/// The other half of a pair: there, of the right quantity, and made of its own number alone.
fn partner(channels: &[Channel], channel: String, pair: &Pair) -> Option<ChannelError> {
    let second = pair.conversion.second();
    let Some(with) = channels.get(usize::from(pair.with.0)) else {
        return Some(ChannelError::PartnerMissing { channel, column: pair.with.0, channels: channels.len() });
    };
    let (partner, quantity) = (with.spec().name.clone(), with.spec().quantity);
    if with.other().is_some() || with.is_gauge() {
        Some(ChannelError::PartnerOfPartner { channel, partner })
    } else if quantity != pair.second_unit.quantity {
        let needs = pair.second_unit.quantity;
        Some(ChannelError::PartnerQuantity { channel, partner, quantity, second, needs })
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
