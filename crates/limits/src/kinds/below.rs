//! Outside below a threshold.

use super::{Kind, Position};

/// Outside where the value is less than the threshold; at the threshold it is met.
pub(super) static BELOW: Kind = Kind {
    name: "below",
    summary: "crossed while the value is below the threshold, returned at threshold plus dead band",
    position: |value, threshold, dead_band| {
        if value < threshold {
            Position::Outside
        } else if value >= threshold + dead_band {
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
        let at = |x| (BELOW.position)(x, 100.0, 5.0);
        assert_eq!(at(100.0_f64.next_down()), Position::Outside);
        assert_eq!(at(100.0), Position::Band);
        assert_eq!(at(105.0_f64.next_down()), Position::Band);
        assert_eq!(at(105.0), Position::Inside);
        assert_eq!((BELOW.position)(100.0, 100.0, 0.0), Position::Inside);
    }
}
