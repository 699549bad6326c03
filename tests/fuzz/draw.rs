//! Numbers from a seed.

/// Numbers that are drawn one after the other.
pub struct Draw(u64);

impl Draw {
    /// The same seed draws the same numbers.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number below another.
    pub fn below(&mut self, end: usize) -> usize {
        // xorshift64
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from((self.0 >> 16) % end.max(1) as u64).unwrap_or(0)
    }
}
