//! A reference function: polynomials that follow one another, type K with an exponential term more.

use crate::{horner, root};
use units::Real;

/// E(t) of one type, from its lowest temperature up.
pub(super) struct Function {
    pub(super) from_c: f64,
    /// E(from_c).
    pub(super) from_mv: f64,
    /// Where it falls first: type B.
    pub(super) turn: Option<Turn>,
    pub(super) pieces: &'static [Piece],
}

/// E falls up to here, and rises from here on.
pub(super) struct Turn {
    pub(super) at_c: f64,
    /// E there, rounded down.
    pub(super) lowest_mv: f64,
}

/// One polynomial, up to its own upper end and from that of the piece before.
pub(super) struct Piece {
    pub(super) to_c: f64,
    /// E(to_c) of this piece.
    pub(super) to_mv: f64,
    pub(super) coefficients: &'static [f64],
    pub(super) bump: Option<Bump>,
}

/// height·exp(curvature·(t − centre)²).
pub(super) struct Bump {
    pub(super) height_mv: f64,
    pub(super) curvature: f64,
    pub(super) centre_c: f64,
}

impl Piece {
    #[inline]
    fn emf<R: Real>(&self, t: R) -> R {
        let sum = horner::value(self.coefficients, t);
        match &self.bump {
            Some(b) => sum + b.height(t),
            None => sum,
        }
    }

    #[inline]
    fn slope<R: Real>(&self, t: R) -> R {
        let sum = horner::slope(self.coefficients, t);
        match &self.bump {
            Some(b) => sum + b.height(t) * (t - b.centre_c) * (2.0 * b.curvature),
            None => sum,
        }
    }
}

impl Bump {
    #[inline]
    fn height<R: Real>(&self, t: R) -> R {
        let off = t - self.centre_c;
        (off * off * self.curvature).exp() * self.height_mv
    }
}

impl Function {
    pub(super) fn to_c(&self) -> f64 {
        self.pieces.last().map_or(self.from_c, |p| p.to_c)
    }

    pub(super) fn to_mv(&self) -> f64 {
        self.pieces.last().map_or(self.from_mv, |p| p.to_mv)
    }

    pub(super) fn lowest_mv(&self) -> f64 {
        self.turn.as_ref().map_or(self.from_mv, |t| t.lowest_mv)
    }

    /// E(t) of the piece t lies in; at a joint the lower one.
    #[inline]
    pub(super) fn emf<R: Real>(&self, t: R) -> R {
        self.piece_at(t.value()).emf(t)
    }

    /// dE/dt.
    #[inline]
    pub(super) fn slope<R: Real>(&self, t: R) -> R {
        self.piece_at(t.value()).slope(t)
    }

    /// The t on the rising part with E(t) = emf, for an emf that lies there.
    pub(super) fn temperature<R: Real>(&self, emf: R) -> R {
        let target = emf.value();
        let from = self.turn.as_ref().map_or(self.from_c, |t| t.at_c);
        let i = self.first(|p| target <= p.to_mv);
        let piece = &self.pieces[i];
        let low = if i == 0 { from } else { self.pieces[i - 1].to_c };
        let t = root::rising(|t| (piece.emf(t) - target, piece.slope(t)), low, piece.to_c);
        R::at_root(t, -(emf - piece.emf(t)), piece.slope(t))
    }

    fn piece_at(&self, t: f64) -> &Piece {
        &self.pieces[self.first(|p| t <= p.to_c)]
    }

    /// The first piece that reaches far enough, or the last.
    fn first(&self, reaches: impl Fn(&Piece) -> bool) -> usize {
        self.pieces.iter().position(reaches).unwrap_or(self.pieces.len() - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::super::Thermocouple;

    #[test]
    fn the_stored_emf_at_the_ends_is_the_function_s_own() {
        for tc in Thermocouple::ALL {
            let f = tc.function();
            assert_eq!(f.emf(f.from_c), f.from_mv, "{tc:?}");
            for p in f.pieces {
                assert_eq!(p.emf(p.to_c), p.to_mv, "{tc:?} at {}", p.to_c);
            }
        }
    }

    /// The published pieces do not meet exactly: the difference at each joint, mV.
    #[test]
    fn the_joints_are_as_wide_as_the_documentation_says() {
        for tc in Thermocouple::ALL {
            for pair in tc.function().pieces.windows(2) {
                let (gap, slope) = (pair[1].emf(pair[0].to_c) - pair[0].to_mv, pair[1].slope(pair[0].to_c));
                assert!(gap.abs() < 7.5e-8 && (gap / slope).abs() < 1.3e-6, "{tc:?}: {gap} mV, {} K", gap / slope);
                assert!(gap > -2.2e-9 && gap / slope > -4e-7, "{tc:?}: falls by {gap} mV, {} K", gap / slope);
            }
        }
    }

    #[test]
    fn type_b_turns_where_it_says() {
        let f = Thermocouple::B.function();
        let turn = f.turn.as_ref().unwrap();
        assert!(f.slope(turn.at_c - 1e-4) < 0.0 && f.slope(turn.at_c + 1e-4) > 0.0);
        let off = f.emf(turn.at_c) - turn.lowest_mv;
        assert!(off > 0.0 && off < 1e-14, "{off}");
    }
}
