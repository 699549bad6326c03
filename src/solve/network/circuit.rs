//! A network made ready for solving: which nodes are fed, which are unknown, and where every number belongs.

use crate::quantity::{Dimension, Range};

use super::Network;
use super::factor::{Link, Matrix, Pattern};

/// Resistances under this are taken as this, in ohm: a bolted joint is never better.
const SMALLEST_RESISTANCE: f64 = 1e-6;

/// Every number of a network as one row, in the order: edge resistances; for each source its electromotive force,
/// resistance and current limit; for each load its power and its constant current.
pub(super) type Values = Vec<f64>;

/// A network made ready for solving.
#[derive(Debug)]
pub(super) struct Circuit {
    pub pattern: Pattern,
    /// The row of each node, if its voltage is unknown (neither a reference nor dead).
    pub rows: Vec<Option<usize>>,
    /// The island each node belongs to: nodes joined by edges and sources. `None` for dead nodes.
    pub islands: Vec<Option<usize>>,
    pub edges: Vec<Link>,
    /// Batteries, then alternators.
    pub sources: Vec<Link>,
    pub loads: Vec<Link>,
    /// Whether each load has both terminals on one fed island, and apart.
    pub fed: Vec<bool>,
    pub batteries: usize,
    pub low: Values,
    pub high: Values,
    /// Places in `low` and `high` that differ.
    pub free: Vec<usize>,
}

impl Circuit {
    pub fn new(network: &Network) -> Self {
        let edge_ends: Vec<_> = network.edges.iter().map(|edge| (edge.a, edge.b)).collect();
        let source_ends = source_ends(network);
        let load_ends: Vec<_> = network.loads.iter().map(|load| (load.positive, load.negative)).collect();
        let ends = || edge_ends.iter().chain(&source_ends).chain(&load_ends).copied();
        let count = ends().map(|(a, b)| a.max(b) + 1).max().unwrap_or(1);

        let mut groups = Groups::new(count);
        edge_ends.iter().chain(&source_ends).for_each(|&(a, b)| groups.join(a, b));
        let islands = islands(network, &source_ends, &mut groups, count);
        let reference = references(network, &source_ends, &islands);
        let fed: Vec<_> =
            load_ends.iter().map(|&(p, n)| p != n && islands[p].is_some() && islands[p] == islands[n]).collect();

        let mut unknown = vec![None; count];
        let mut unknowns = 0;
        for node in (0..count).filter(|&node| islands[node].is_some_and(|island| reference[island] != Some(node))) {
            unknown[node] = Some(unknowns);
            unknowns += 1;
        }
        let fed_ends = load_ends.iter().zip(&fed).filter(|(_, fed)| **fed).map(|(ends, _)| *ends);
        let pairs = edge_ends.iter().chain(&source_ends).copied().chain(fed_ends);
        let (pattern, order) = Pattern::new(unknowns, pairs.filter_map(|(a, b)| unknown[a].zip(unknown[b])));
        let rows: Vec<_> = unknown.into_iter().map(|unknown| unknown.map(|unknown: usize| order[unknown])).collect();

        let links = |ends: &[(usize, usize)]| ends.iter().map(|&(a, b)| pattern.link(rows[a], rows[b])).collect();
        let (low, high) = values(network);
        let free = (0..low.len()).filter(|&place| low[place] < high[place]).collect();
        Self {
            edges: links(&edge_ends),
            sources: links(&source_ends),
            loads: links(&load_ends),
            batteries: network.batteries.len(),
            pattern,
            rows,
            islands,
            fed,
            low,
            high,
            free,
        }
    }

    /// Where the numbers of a source start: force, resistance, limit.
    pub fn source_place(&self, source: usize) -> usize {
        self.edges.len() + 3 * source
    }

    /// Where the numbers of a load start: power, current.
    pub fn load_place(&self, load: usize) -> usize {
        self.source_place(self.sources.len()) + 2 * load
    }

    /// The numbers best or worst for delivering power.
    pub fn extreme(&self, best: bool) -> Values {
        let first_load = self.load_place(0);
        let resistance = |place| place < self.edges.len() || place < first_load && (place - self.edges.len()) % 3 == 1;
        let choose = |place| {
            let less_is_better = resistance(place) || place >= first_load;
            if less_is_better == best { self.low[place] } else { self.high[place] }
        };
        (0..self.low.len()).map(choose).collect()
    }

    /// The middle of every range.
    pub fn middle(&self) -> Values {
        self.low.iter().zip(&self.high).map(|(low, high)| f64::midpoint(*low, *high)).collect()
    }

    /// The part of the matrix that no device changes.
    pub fn edge_matrix(&self, values: &[f64]) -> Matrix {
        let mut matrix = Matrix::zero(&self.pattern);
        for (link, resistance) in self.edges.iter().zip(values) {
            matrix.stamp(*link, 1.0 / resistance);
        }
        matrix
    }
}

fn source_ends(network: &Network) -> Vec<(usize, usize)> {
    let batteries = network.batteries.iter().map(|battery| (battery.positive, battery.negative));
    let alternators = network.alternators.iter().map(|alternator| (alternator.positive, alternator.negative));
    batteries.chain(alternators).collect()
}

/// Whether a source can give current at all: an alternator with none available feeds nothing.
fn can_feed(network: &Network, source: usize) -> bool {
    let alternator = source.checked_sub(network.batteries.len());
    alternator.is_none_or(|alternator| network.alternators[alternator].available.high() > 0.0)
}

/// Numbers the groups of nodes that a source feeds; island 0 is the first source's.
fn islands(network: &Network, source_ends: &[(usize, usize)], groups: &mut Groups, count: usize) -> Vec<Option<usize>> {
    let mut number = vec![None; count];
    let mut next = 0;
    for (source, &(_, negative)) in source_ends.iter().enumerate() {
        let root = groups.root(negative);
        if number[root].is_none() && can_feed(network, source) {
            number[root] = Some(next);
            next += 1;
        }
    }
    (0..count).map(|node| number[groups.root(node)]).collect()
}

/// The reference of each island: node 0 in its own, elsewhere the negative of the first source.
fn references(network: &Network, source_ends: &[(usize, usize)], islands: &[Option<usize>]) -> Vec<Option<usize>> {
    let mut reference = vec![None; source_ends.len()];
    if let Some(island) = islands[0] {
        reference[island] = Some(0);
    }
    for (source, &(_, negative)) in source_ends.iter().enumerate().filter(|(source, _)| can_feed(network, *source)) {
        debug_assert!(islands[negative].is_some(), "source {source} feeds its own island");
        if let Some(island) = islands[negative] {
            reference[island].get_or_insert(negative);
        }
    }
    reference
}

fn values(network: &Network) -> (Values, Values) {
    let (mut low, mut high) = (Vec::new(), Vec::new());
    let mut push = |(from, to): (f64, f64)| {
        low.push(from);
        high.push(to);
    };
    for edge in &network.edges {
        push(at_least(edge.resistance, SMALLEST_RESISTANCE));
    }
    for battery in &network.batteries {
        push((battery.emf.low(), battery.emf.high()));
        push(at_least(battery.resistance, SMALLEST_RESISTANCE));
        push((f64::INFINITY, f64::INFINITY));
    }
    for alternator in &network.alternators {
        push((alternator.voltage.low(), alternator.voltage.high()));
        push(at_least(alternator.resistance, SMALLEST_RESISTANCE));
        push(at_least(alternator.available, 0.0));
    }
    for load in &network.loads {
        push(at_least(load.power, 0.0));
        push(at_least(load.current, 0.0));
    }
    (low, high)
}

fn at_least<D: Dimension>(range: Range<D>, floor: f64) -> (f64, f64) {
    (range.low().max(floor), range.high().max(floor))
}

/// Nodes that are joined, by pointing each at another of its group.
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&mut self, node: usize) -> usize {
        let mut at = node;
        while self.0[at] != at {
            self.0[at] = self.0[self.0[at]];
            at = self.0[at];
        }
        at
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.root(one), self.root(other));
        self.0[one.max(other)] = one.min(other);
    }
}
