//! Ranges of results: each bounded at the two corners of the facts that its own sensitivities point to.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::quantity::{Current, Power, Range, Voltage};

use super::Parameter;
use super::circuit::Circuit;
use super::measure::{Measure, Slopes};
use super::point::{self, Point};

/// How often a corner is moved where its own sensitivities contradict it.
const MOST_ROUNDS: usize = 6;

/// How a result depends on one fact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// The fact.
    pub parameter: Parameter,
    /// Change of the result per unit of the fact, at the middle of all ranges, in base units.
    pub slope: f64,
    /// The slope times the width of the fact's range: what its not being known does to the result.
    pub influence: f64,
}

/// A network that works whatever its facts are within their ranges.
#[derive(Debug)]
pub struct Solution {
    circuit: Circuit,
    /// All facts at the middle of their ranges.
    middle: Arc<Point>,
    /// The corner that is best for delivering power.
    best: Arc<Point>,
    /// The corner that is worst for it.
    worst: Arc<Point>,
    /// Corners solved so far; `None` where the network does not work there.
    corners: Mutex<HashMap<Corner, Option<Arc<Point>>>>,
}

/// For each fact with a range, whether it is at the upper end.
type Corner = Box<[u64]>;

impl Solution {
    /// A network of which every fact is known, or that is taken at one choice of its facts.
    pub(super) fn of_one_point(mut circuit: Circuit, point: Point) -> Self {
        circuit.low.clone_from(&point.values);
        circuit.high.clone_from(&point.values);
        circuit.free.clear();
        let point = Arc::new(point);
        Self { circuit, middle: Arc::clone(&point), best: Arc::clone(&point), worst: point, corners: Mutex::default() }
    }

    /// A network with ranges, from its points at the worst corner, the middle and the best corner.
    pub(super) fn between(circuit: Circuit, worst: Point, middle: Point, best: Point) -> Self {
        let (worst, middle, best) = (Arc::new(worst), Arc::new(middle), Arc::new(best));
        let solution = Self { circuit, middle, best, worst, corners: Mutex::default() };
        for point in [&solution.worst, &solution.best] {
            let corner = solution.corner_of(&point.values);
            solution.solved().insert(corner, Some(Arc::clone(point)));
        }
        solution
    }

    /// The range of a result, in its base unit, as lower and upper end.
    ///
    /// Each end is a value that the network takes at some choice of the facts. No choice goes beyond it where the
    /// result rises or falls with each fact alone, the others at the ends chosen; this holds for the networks of
    /// vehicles and is sampled in tests, it is not proven for every mesh.
    pub fn range(&self, measure: Measure) -> (f64, f64) {
        let value = measure.value(&self.circuit, &self.middle);
        if self.circuit.free.is_empty() {
            return (value, value);
        }
        let gradient = measure.gradient(&self.circuit, &self.middle, Slopes::Leaning);
        let ends = [&self.best, &self.worst].map(|point| measure.value(&self.circuit, point));
        let known = (value.min(ends[0]).min(ends[1]), value.max(ends[0]).max(ends[1]));
        let low = self.climb(measure, &gradient, -1.0).map_or(known.0, |found| known.0.min(found));
        let high = self.climb(measure, &gradient, 1.0).map_or(known.1, |found| known.1.max(found));
        (low, high)
    }

    /// The result with every fact at the middle of its range.
    pub fn nominal(&self, measure: Measure) -> f64 {
        measure.value(&self.circuit, &self.middle)
    }

    /// The voltage from node `a` to node `b`, in volt; nought when they are not on one fed island.
    pub fn voltage(&self, a: usize, b: usize) -> Range<Voltage> {
        self.voltage_sum(&[(a, b)])
    }

    /// The sum of several voltages, bounded jointly.
    pub fn voltage_sum(&self, pairs: &[(usize, usize)]) -> Range<Voltage> {
        let (low, high) = self.range(Measure::Voltages(pairs));
        Range::new(low, high)
    }

    /// The current in an edge, from its `a` to its `b`.
    pub fn current(&self, edge: usize) -> Range<Current> {
        self.current_range(Measure::EdgeCurrent(edge))
    }

    /// The current that a battery gives.
    pub fn battery_current(&self, battery: usize) -> Range<Current> {
        self.current_range(Measure::BatteryCurrent(battery))
    }

    /// The current that an alternator gives.
    pub fn alternator_current(&self, alternator: usize) -> Range<Current> {
        self.current_range(Measure::AlternatorCurrent(alternator))
    }

    /// The current that a load draws; nought where it is not fed.
    pub fn load_current(&self, load: usize) -> Range<Current> {
        self.current_range(Measure::LoadCurrent(load))
    }

    /// The power lost in edges together.
    pub fn loss(&self, edges: &[usize]) -> Range<Power> {
        let (low, high) = self.range(Measure::Loss(edges));
        Range::new(low, high)
    }

    /// Whether a node is connected to any source.
    pub fn is_live(&self, node: usize) -> bool {
        self.circuit.islands.get(node).is_some_and(Option::is_some)
    }

    /// The loads that no source reaches on both terminals, or that have no voltage across them.
    pub fn unfed(&self) -> Vec<usize> {
        (0..self.circuit.fed.len()).filter(|&load| !self.circuit.fed[load]).collect()
    }

    /// What the facts not known exactly do to a result, the one that matters most first.
    pub fn sensitivities(&self, measure: Measure) -> Vec<Sensitivity> {
        let gradient = measure.gradient(&self.circuit, &self.middle, Slopes::Actual);
        let of = |&place: &usize| Sensitivity {
            parameter: self.circuit.parameter(place),
            slope: gradient[place],
            influence: gradient[place] * (self.circuit.high[place] - self.circuit.low[place]),
        };
        let mut found: Vec<_> = self.circuit.free.iter().map(of).collect();
        found.sort_by(|one, other| other.influence.abs().total_cmp(&one.influence.abs()));
        found
    }

    fn solved(&self) -> MutexGuard<'_, HashMap<Corner, Option<Arc<Point>>>> {
        self.corners.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn current_range(&self, measure: Measure) -> Range<Current> {
        let (low, high) = self.range(measure);
        Range::new(low, high)
    }

    /// The largest value (way 1) or the smallest (way -1) found by going from corner to corner.
    fn climb(&self, measure: Measure, gradient: &[f64], way: f64) -> Option<f64> {
        let mut corner = self.pointed(gradient, way);
        let mut reached = None::<f64>;
        for _ in 0..MOST_ROUNDS {
            let Some(point) = self.at(&corner) else { break };
            let value = measure.value(&self.circuit, &point);
            if reached.is_some_and(|reached| value * way <= reached * way) {
                break;
            }
            reached = Some(value);
            let next = self.pointed(&measure.gradient(&self.circuit, &point, Slopes::Leaning), way);
            if next == corner {
                break;
            }
            corner = next;
        }
        reached
    }

    /// The corner that a gradient points to. Facts that do not matter go to the end that is worst for delivering
    /// power, so that results share their corners.
    fn pointed(&self, gradient: &[f64], way: f64) -> Corner {
        self.corner(|place| match gradient[place] * way {
            slope if slope > 0.0 => true,
            slope if slope < 0.0 => false,
            _ => self.worst.values[place] == self.circuit.high[place],
        })
    }

    fn corner_of(&self, values: &[f64]) -> Corner {
        self.corner(|place| values[place] == self.circuit.high[place])
    }

    fn corner(&self, at_high: impl Fn(usize) -> bool) -> Corner {
        let mut corner = vec![0; self.circuit.free.len().div_ceil(64)].into_boxed_slice();
        for (bit, &place) in self.circuit.free.iter().enumerate() {
            corner[bit / 64] |= u64::from(at_high(place)) << (bit % 64);
        }
        corner
    }

    /// The operating point at a corner, solved once.
    fn at(&self, corner: &Corner) -> Option<Arc<Point>> {
        if let Some(known) = self.solved().get(corner) {
            return known.clone();
        }
        let mut values = self.circuit.low.clone();
        for (bit, &place) in self.circuit.free.iter().enumerate() {
            if corner[bit / 64] >> (bit % 64) & 1 == 1 {
                values[place] = self.circuit.high[place];
            }
        }
        let point = point::solve(&self.circuit, &values, 1.0, None).map(Arc::new);
        self.solved().insert(corner.clone(), point.clone());
        point
    }
}
