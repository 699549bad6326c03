//! Networks so plain that a scan proves whether they have an operating point.

use testlamp::quantity::Range;
use testlamp::solve::network::{Alternator, Battery, Edge, Load, Network};

/// A network that is a star: sources, a common feed and return, branches. Its operating points can be scanned by hand.
pub struct Star {
    /// Sources ahead of the common resistance: electromotive force, resistance, limit.
    pub front: Vec<(f64, f64, f64)>,
    /// Common feed and return together, in ohm.
    pub common: f64,
    /// Sources at the block.
    pub back: Vec<(f64, f64, f64)>,
    /// Branches: feed and return of each together, in ohm, and power in watt.
    pub branches: Vec<(f64, f64)>,
}

/// Stars that ask for more than they can be given.
pub fn overloaded() -> Vec<Star> {
    let battery = |emf, ohm| (emf, ohm, f64::INFINITY);
    vec![
        Star { front: vec![battery(12.6, 0.004)], common: 0.006_52, back: vec![], branches: vec![(0.0, 4000.0)] },
        Star { front: vec![battery(12.2, 0.012)], common: 0.020, back: vec![], branches: vec![(0.001, 1300.0)] },
        Star {
            front: vec![battery(12.6, 0.005)],
            common: 0.004,
            back: vec![],
            branches: vec![(0.004, 2100.0), (0.006, 1700.0), (0.010, 1300.0)],
        },
        // The common part could carry it; the thin branch cannot.
        Star {
            front: vec![battery(12.7, 0.003)],
            common: 0.002,
            back: vec![],
            branches: vec![(0.045, 900.0), (0.003, 200.0)],
        },
        Star {
            front: vec![battery(12.6, 0.006), (14.3, 0.003, 70.0)],
            common: 0.006,
            back: vec![],
            branches: vec![(0.004, 2500.0), (0.004, 2500.0)],
        },
        Star {
            front: vec![battery(12.5, 0.006)],
            common: 0.008,
            back: vec![battery(12.8, 0.005)],
            branches: vec![(0.003, 6000.0), (0.005, 2600.0)],
        },
        Star {
            front: vec![battery(12.5, 0.006), (14.0, 0.004, 40.0)],
            common: 0.010,
            back: vec![battery(12.7, 0.009)],
            branches: vec![(0.003, 3000.0), (0.004, 3000.0), (0.008, 1500.0)],
        },
        // An alternator without a battery: a little over what it has.
        Star { front: vec![(14.0, 0.004, 60.0)], common: 0.006, back: vec![], branches: vec![(0.0, 810.0)] },
    ]
}

impl Star {
    /// As a network; the loads scaled.
    pub fn network(&self, share: f64) -> Network {
        let (front, hub) = (1, 2);
        let point = |value| Range::point(value);
        let mut network = Network::default();
        network.edges.push(Edge { a: front, b: hub, resistance: Range::point(self.common) });
        for (node, sources) in [(front, &self.front), (hub, &self.back)] {
            for &(emf, ohm, limit) in sources {
                let (positive, negative, voltage, resistance) = (node, 0, Range::point(emf), Range::point(ohm));
                if limit.is_finite() {
                    let available = Range::point(limit);
                    network.alternators.push(Alternator { positive, negative, voltage, resistance, available });
                } else {
                    network.batteries.push(Battery { positive, negative, emf: voltage, resistance });
                }
            }
        }
        for (place, &(ohm, watt)) in self.branches.iter().enumerate() {
            let positive = if ohm == 0.0 { hub } else { 3 + place };
            if ohm > 0.0 {
                network.edges.push(Edge { a: hub, b: positive, resistance: Range::point(ohm) });
            }
            network.loads.push(Load { positive, negative: 0, power: point(watt * share), current: Range::point(0.0) });
        }
        network
    }

    /// The voltage at the block within which an operating point lies, if there is any: by scanning, nothing solved.
    ///
    /// Over a cell of the scan both what the branches draw at least and what the sources give at most fall as the
    /// block voltage rises, so a cell where the least drawn at its upper end exceeds the most given at its lower
    /// end holds no operating point: a proof, not a sample.
    pub fn scan(&self, share: f64) -> Option<(f64, f64)> {
        const CELLS: u32 = 100_000;
        let top = 15.0;
        let at = |cell: u32| top * f64::from(cell) / f64::from(CELLS);
        (1..CELLS)
            .rev()
            .map(|cell| (at(cell), at(cell + 1)))
            .find(|&(low, high)| self.least_drawn(high, share).is_some_and(|drawn| drawn <= self.most_given(low)))
    }

    /// The smaller of the two currents that each branch can draw at a block voltage; none where it can draw neither.
    fn least_drawn(&self, block: f64, share: f64) -> Option<f64> {
        let branch = |&(ohm, watt): &(f64, f64)| {
            let (power, square) = (watt * share, block * block - 4.0 * ohm * watt * share);
            (square >= 0.0).then(|| 2.0 * power / (block + square.sqrt()))
        };
        self.branches.iter().map(branch).sum()
    }

    /// What the sources give into the block at its voltage.
    fn most_given(&self, block: f64) -> f64 {
        let give = |sources: &[(f64, f64, f64)], volt: f64| -> f64 {
            sources.iter().map(|&(emf, ohm, limit)| ((emf - volt) / ohm).clamp(0.0, limit)).sum()
        };
        // The terminal voltage ahead of the common resistance, by halving: what is given falls as it rises.
        let (mut low, mut high) = (block, block + 20.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if give(&self.front, middle) > (middle - block) / self.common { low = middle } else { high = middle }
        }
        (high - block) / self.common + give(&self.back, block)
    }
}
