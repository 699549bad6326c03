//! Vehicles from chance: small supply networks in which a few facts have a range.

use crate::quantity::{Dimension, Range};
use crate::solve::network::{Alternator, Battery, Edge, Load, Network};

/// Numbers from a seed, the same ones every time (splitmix64: Steele, Lea, Flood 2014, from memory).
pub struct Chance {
    state: u64,
    /// How many facts may still have a range.
    ranges: usize,
}

impl Chance {
    pub fn new(seed: u64, ranges: usize) -> Self {
        Self { state: seed, ranges }
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.state ^ (self.state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        #[allow(clippy::cast_precision_loss, reason = "31 bits are kept")]
        let part = ((mixed ^ (mixed >> 31)) >> 33) as f64 / (1u64 << 31) as f64;
        low + (high - low) * part
    }

    fn happens(&mut self, part: f64) -> bool {
        self.between(0.0, 1.0) < part
    }

    /// A fact: every third one has a range, as long as there are ranges left.
    fn fact<D: Dimension>(&mut self, low: f64, high: f64, least: f64, most: f64) -> Range<D> {
        let middle = self.between(low, high);
        if self.ranges == 0 || !self.happens(0.3) {
            return Range::point(middle);
        }
        self.ranges -= 1;
        let half = self.between(least, most);
        Range::new(middle - half, middle + half)
    }

    /// A fact that may be a tenth to six tenths off.
    fn wide<D: Dimension>(&mut self, low: f64, high: f64) -> Range<D> {
        let middle = self.between(low, high);
        self.fact(middle, middle, 0.1 * middle, 0.6 * middle)
    }

    fn edge(&mut self, a: usize, b: usize) -> Edge {
        Edge { a, b, resistance: self.wide(0.0002, 0.005) }
    }

    fn battery(&mut self, positive: usize, negative: usize) -> Battery {
        let resistance = self.wide(0.003, 0.009);
        Battery { positive, negative, emf: self.fact(12.2, 13.0, 0.05, 0.4), resistance }
    }

    fn alternator(&mut self) -> Alternator {
        let (available, resistance) = (self.wide(10.0, 120.0), self.wide(0.001, 0.005));
        Alternator { positive: 1, negative: 8, available, resistance, voltage: self.fact(13.2, 14.6, 0.05, 0.4) }
    }

    fn load(&mut self, positive: usize, negative: usize) -> Load {
        Load { positive, negative, power: self.wide(20.0, 900.0), current: self.wide(0.2, 2.0) }
    }

    /// Battery at 1 and 0, alternator on the engine at 8, a feed to the block at 2, amplifiers at 3 and 4 with their
    /// grounds at 6 and 7, the body at 5; often second feeds and returns, a strap, and a second battery.
    pub fn vehicle(&mut self) -> Network {
        let mut ends = vec![(1, 2), (2, 3), (2, 4), (5, 0), (6, 5), (7, 5), (8, 0)];
        ends.extend([(1, 3), (3, 4), (6, 0), (6, 7), (5, 0), (8, 5), (1, 2)].iter().filter(|_| self.happens(0.3)));
        let second = [(2, 5), (3, 6), (2, 6), (2, 0)].into_iter().find(|_| self.happens(0.35));
        let batteries = std::iter::once((1, 0)).chain(second).map(|(plus, minus)| self.battery(plus, minus)).collect();
        let alternators = if self.happens(0.8) { vec![self.alternator()] } else { Vec::new() };
        let mut loads = vec![self.load(3, 6), self.load(4, 7)];
        if self.happens(0.4) {
            loads.push(self.load(1, 0));
        }
        let edges = ends.into_iter().map(|(a, b)| self.edge(a, b)).collect();
        Network { edges, batteries, alternators, loads }
    }
}
