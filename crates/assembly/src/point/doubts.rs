//! Readings that cannot be what they say: beyond what a pack has, or against the order along the air's way.

use super::readings::Readings;
use pack::Arrangement;
use stream::{Reading, Reason};
use units::Quantity;

/// What a pack's air can have, SI: beyond it a unit or a reference is wrong (common practice, no source).
fn window(quantity: Quantity) -> Option<(f64, f64)> {
    match quantity {
        Quantity::Temperature => Some((203.15, 573.15)),
        Quantity::Pressure => Some((15e3, 800e3)),
        Quantity::HumidityRatio => Some((0.0, 0.04)),
        _ => None,
    }
}

/// Marks them uncertain, with the reason in words. The numbers stay.
pub(super) fn mark(arrangement: &Arrangement, readings: &mut Readings) {
    let orders = pack::orders(arrangement, &readings.channels);
    let (channels, quantities) = (&readings.channels, &readings.quantities);
    for point in &mut readings.points {
        let mut found: Vec<(usize, Reason, String)> = Vec::new();
        for (i, reading) in point.readings.iter().enumerate() {
            if let (Some(x), Some((low, high))) = (reading.number(), window(quantities[i]))
                && (x < low || x > high)
            {
                let si = quantities[i].si_symbol();
                let words =
                    format!("{} of {x:.6} {si} is outside {low} to {high} {si}: is its unit right?", channels[i]);
                found.push((i, Reason::Range, words));
            }
        }
        for order in orders.iter().filter(|o| o.running.is(&point.readings)) {
            for pair in &order.pairs {
                let (high, low) = (&point.readings[pair.higher], &point.readings[pair.lower]);
                let (Some(higher), Some(lower)) = (high.number(), low.number()) else { continue };
                if higher < lower - pair.margin {
                    let (a, b) = (&channels[pair.higher], &channels[pair.lower]);
                    let words = format!("{a} cannot be below {b}: swapped, or a wrong unit or reference");
                    found.push((pair.higher, Reason::Order, words.clone()));
                    found.push((pair.lower, Reason::Order, words));
                }
            }
        }
        for (channel, reason, words) in found {
            if let Some(x) = point.readings[channel].number() {
                point.readings[channel] = Reading::Uncertain(x, reason);
                point.doubts[channel] = words;
            }
        }
    }
}
