//! Pseudo-random numbers from a seed: the same on every machine.

use crate::distribution::Distribution;
use crate::domain::{Checks, DomainError};
use units::math;

/// xoshiro256++ of D. Blackman and S. Vigna (ACM Trans. Math. Softw. 47, 2021), its state filled by splitmix64.
#[derive(Clone, Debug)]
pub struct Generator {
    state: [u64; 4],
    spare: Option<f64>,
}

impl Generator {
    /// Any seed will do.
    pub fn new(seed: u64) -> Self {
        let mut s = seed;
        let state = std::array::from_fn(|_| {
            s = s.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let z = (s ^ (s >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            z ^ (z >> 31)
        });
        Self { state, spare: None }
    }

    #[cfg(test)]
    pub(super) fn set_state(&mut self, state: [u64; 4]) {
        self.state = state;
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        let [a, b, c, d] = self.state;
        let result = a.wrapping_add(d).rotate_left(23).wrapping_add(a);
        let (c, d) = (c ^ a, d ^ b);
        self.state = [a ^ d, b ^ c, c ^ (b << 17), d.rotate_left(45)];
        result
    }

    /// Uniform, above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1u64 << 53) as f64;
        ((self.bits() >> 11) as f64 + 0.5) * STEP
    }

    /// Standard normal, by Marsaglia's polar method.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (a, b) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = a * a + b * b;
            if square < 1.0 && square > 0.0 {
                let scale = math::sqrt(-2.0 * math::ln(square) / square);
                self.spare = Some(b * scale);
                return a * scale;
            }
        }
    }

    /// From a distribution.
    ///
    /// * Range: as at [`Distribution`]. * Outside: [`DomainError`].
    pub fn draw(&mut self, distribution: Distribution) -> Result<f64, DomainError> {
        let drawn = self.draw_checked(distribution.checked()?);
        Checks("draw").result(drawn)
    }

    /// From a distribution whose parameters are in range.
    pub(super) fn draw_checked(&mut self, distribution: Distribution) -> f64 {
        match distribution {
            Distribution::Normal { mean, u } => mean + u * self.normal(),
            Distribution::StudentT { mean, scale, dof } if dof.is_infinite() => mean + scale * self.normal(),
            Distribution::StudentT { mean, scale, dof } => {
                let chi_square_over_dof = self.gamma(dof / 2.0) * 2.0 / dof;
                mean + scale * self.normal() / math::sqrt(chi_square_over_dof)
            }
            Distribution::Rectangular { low, high } => low + (high - low) * self.uniform(),
            Distribution::InexactRectangular { low, high, d } => {
                let from = low + d * (2.0 * self.uniform() - 1.0);
                let to = (low - from) + high;
                from + (to - from) * self.uniform()
            }
            Distribution::Trapezoidal { low, high, beta } => {
                let half = (high - low) / 2.0;
                low + half * ((1.0 + beta) * self.uniform() + (1.0 - beta) * self.uniform())
            }
            Distribution::Triangular { low, high } => low + (high - low) / 2.0 * (self.uniform() + self.uniform()),
            Distribution::ArcSine { low, high } => {
                let middle = low + (high - low) / 2.0;
                middle + (high - low) / 2.0 * math::sin(2.0 * std::f64::consts::PI * self.uniform())
            }
            Distribution::Exponential { mean } => -mean * math::ln(self.uniform()),
            Distribution::Gamma { shape, scale } => scale * self.gamma(shape),
        }
    }

    /// Gamma of scale 1 by G. Marsaglia and W. W. Tsang, ACM Trans. Math. Softw. 26 (2000) 363.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * math::powf(self.uniform(), 1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / math::sqrt(9.0 * d);
        // Each pass is taken with more than 95 %; the bound only rules out an endless loop.
        for _ in 0..1000 {
            let z = self.normal();
            let v = math::powi(1.0 + c * z, 3);
            if v > 0.0 && math::ln(self.uniform()) < 0.5 * z * z + d - d * v + d * math::ln(v) {
                return d * v;
            }
        }
        d
    }
}
