//! Numbers drawn by lot: the same for the same seed on every machine.

/// Draws numbers by `SplitMix64` (Steele, Lea and Flood, Fast Splittable Pseudorandom Number Generators, 2014, figure 17).
#[derive(Debug, Clone)]
pub struct Lot(u64);

impl Lot {
    /// All that is drawn follows from the seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below a bound; the bound is far below 2^32, so that no number is noticeably likelier than another.
    fn below(&mut self, bound: usize) -> usize {
        usize::try_from(self.draw() % u64::try_from(bound.max(1)).unwrap_or(1)).unwrap_or(0)
    }

    /// Puts things in an order by lot (Fisher and Yates).
    pub fn shuffle<T>(&mut self, things: &mut [T]) {
        for last in (1..things.len()).rev() {
            things.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers for seed 0 as its authors' reference code gives them (from memory).
    #[test]
    fn it_draws_what_the_published_algorithm_draws() {
        let mut lot = Lot::new(0);
        assert_eq!([lot.draw(), lot.draw()], [0xe220_a839_7b1d_cdaf, 0x6e78_9e6a_a1b9_65f4]);
    }

    #[test]
    fn an_order_keeps_everything() {
        let mut things: Vec<usize> = (0..50).collect();
        Lot::new(3).shuffle(&mut things);
        assert_ne!(things, (0..50).collect::<Vec<_>>());
        things.sort_unstable();
        assert_eq!(things, (0..50).collect::<Vec<_>>());
    }
}
