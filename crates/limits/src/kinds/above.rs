//! Outside above a threshold.

use super::{Kind, Position};

/// Outside where the value exceeds the threshold; at the threshold it is met.
pub(super) static ABOVE: Kind = Kind {
    name: "above",
    summary: "crossed while the value is above the threshold, returned at threshold minus dead band",
    position: |value, threshold, dead_band| {
        if value > threshold {
            Position::Outside
        } else if value <= threshold - dead_band {
            Position::Inside
        } else {
            Position::Band
        }
    },
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges() {
        let at = |x| (ABOVE.position)(x, 100.0, 5.0);
        assert_eq!(at(100.0_f64.next_up()), Position::Outside);
        assert_eq!(at(100.0), Position::Band);
        assert_eq!(at(95.0_f64.next_up()), Position::Band);
        assert_eq!(at(95.0), Position::Inside);
        assert_eq!((ABOVE.position)(100.0, 100.0, 0.0), Position::Inside);
    }
}
