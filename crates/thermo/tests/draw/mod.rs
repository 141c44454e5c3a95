//! A source of test inputs.

/// Numbers that look random and are the same on every machine: xorshift64*.
pub(crate) struct Draw(pub(crate) u64);

impl Draw {
    /// Within 0…1.
    pub(crate) fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }
}
