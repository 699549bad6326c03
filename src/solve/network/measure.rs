//! Results of a network, and how each depends on every fact.

use super::circuit::Circuit;
use super::point::{Mode, Point, SourceAt};

/// A result to be read from a network or to be bounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure<'a> {
    /// The sum of the voltages from the first to the second node of each pair, in volt: one pair for a voltage,
    /// several for a drop along a way, bounded jointly. A pair across two islands, or on a dead node, counts nought.
    Voltages(&'a [(usize, usize)]),
    /// The current in an edge from `a` to `b`, in ampere.
    EdgeCurrent(usize),
    /// The current that a battery gives, in ampere.
    BatteryCurrent(usize),
    /// The current that an alternator gives, in ampere.
    AlternatorCurrent(usize),
    /// The current that some loads draw together, in ampere, bounded jointly; one that is not fed draws nought.
    LoadCurrents(&'a [usize]),
}

impl Measure<'_> {
    /// The value at a point.
    pub(super) fn value(&self, circuit: &Circuit, point: &Point) -> f64 {
        match *self {
            Self::Voltages(pairs) => pairs.iter().map(|&pair| voltage(circuit, point, pair)).sum(),
            Self::EdgeCurrent(edge) => circuit.edges[edge].across(&point.voltages) / point.values[edge],
            Self::BatteryCurrent(battery) => source(circuit, point, battery).current(),
            Self::AlternatorCurrent(alternator) => source(circuit, point, circuit.batteries + alternator).current(),
            Self::LoadCurrents(loads) => fed(circuit, loads).map(|load| load_current(circuit, point, load)).sum(),
        }
    }

    /// The slope of the value over every number of the network, in the order of the values. A source that is idle or at
    /// its limit is taken as if it gave current within its range: the way a fact pulls once it matters.
    pub(super) fn gradient(&self, circuit: &Circuit, point: &Point) -> Vec<f64> {
        let (mut gradient, mut adjoint) = self.pulls(circuit, point);
        self.lean(circuit, point, &mut adjoint);
        add_network(circuit, point, &adjoint, &mut gradient);
        gradient
    }

    /// The same slopes as they would be if one source changed over: an idle or limited one giving within its range, a
    /// giving one no longer. `None` where no other source would hold the network.
    pub(super) fn gradient_changed_over(&self, circuit: &Circuit, point: &Point, index: usize) -> Option<Vec<f64>> {
        let (mut gradient, mut adjoint) = self.pulls(circuit, point);
        self.lean(circuit, point, &mut adjoint);
        change_over(circuit, point, index, &mut adjoint)?;
        add_network(circuit, point, &adjoint, &mut gradient);
        Some(gradient)
    }

    /// The slopes as the sources stand: what one that is idle or at its limit would do within its range counts nothing.
    pub(super) fn gradient_as_it_stands(&self, circuit: &Circuit, point: &Point) -> Vec<f64> {
        let (mut gradient, adjoint) = self.pulls(circuit, point);
        add_network(circuit, point, &adjoint, &mut gradient);
        for index in 0..circuit.sources.len() {
            let [force, resistance, limit] = &mut gradient[circuit.source_place(index)..][..3] else { continue };
            match source(circuit, point, index).mode {
                Mode::Giving => *limit = 0.0,
                Mode::Limited => (*force, *resistance) = (0.0, 0.0),
                Mode::Idle | Mode::Cautious => (*force, *resistance, *limit) = (0.0, 0.0, 0.0),
            }
        }
        gradient
    }

    /// The slopes over the numbers at fixed voltages, and how a current into each row moves the value.
    fn pulls(&self, circuit: &Circuit, point: &Point) -> (Vec<f64>, Vec<f64>) {
        let mut gradient = vec![0.0; point.values.len()];
        let mut adjoint = vec![0.0; circuit.pattern.count()];
        self.direct(circuit, point, &mut gradient, &mut adjoint);
        // The slopes of the network are symmetric, so the factor of the last step serves the adjoint as it is.
        point.slopes.solve(&circuit.pattern, &mut adjoint);
        (gradient, adjoint)
    }

    /// The source whose current is the result.
    fn own_source(&self, circuit: &Circuit) -> Option<usize> {
        match *self {
            Self::BatteryCurrent(battery) => Some(battery),
            Self::AlternatorCurrent(alternator) => Some(circuit.batteries + alternator),
            _ => None,
        }
    }

    /// A source that is idle or at its limit is not among the slopes of the network. Its own current leans as if it
    /// were: the network with one conductance more (the formula of Sherman and Morrison).
    fn lean(&self, circuit: &Circuit, point: &Point, adjoint: &mut [f64]) {
        let Some(index) = self.own_source(circuit) else { return };
        if source(circuit, point, index).mode != Mode::Giving {
            let scale = 1.0 / (1.0 - circuit.sources[index].across(adjoint));
            for value in adjoint {
                *value *= scale;
            }
        }
    }

    /// The slopes over the numbers at fixed voltages (added to `gradient`) and over the voltages (to `adjoint`).
    fn direct(&self, circuit: &Circuit, point: &Point, gradient: &mut [f64], adjoint: &mut [f64]) {
        match *self {
            Self::Voltages(pairs) => {
                for &(a, b) in pairs.iter().filter(|&&pair| comparable(circuit, pair)) {
                    circuit.rows[a].into_iter().for_each(|row| adjoint[row] += 1.0);
                    circuit.rows[b].into_iter().for_each(|row| adjoint[row] -= 1.0);
                }
            }
            Self::EdgeCurrent(edge) => {
                let (link, resistance) = (circuit.edges[edge], point.values[edge]);
                gradient[edge] -= link.across(&point.voltages) / (resistance * resistance);
                link.inject(adjoint, 1.0 / resistance);
            }
            Self::BatteryCurrent(battery) => direct_source(circuit, point, battery, gradient, adjoint),
            Self::AlternatorCurrent(alternator) => {
                direct_source(circuit, point, circuit.batteries + alternator, gradient, adjoint);
            }
            Self::LoadCurrents(loads) => {
                for load in fed(circuit, loads) {
                    let (link, place) = (circuit.loads[load], circuit.load_place(load));
                    let across = link.across(&point.voltages);
                    gradient[place] += 1.0 / across;
                    gradient[place + 1] += 1.0;
                    link.inject(adjoint, -point.values[place] / (across * across));
                }
            }
        }
    }
}

/// What a source does at a point.
pub(super) fn source(circuit: &Circuit, point: &Point, source: usize) -> SourceAt {
    SourceAt::new(circuit, &point.values, source, circuit.sources[source].across(&point.voltages))
}

fn fed<'a>(circuit: &'a Circuit, loads: &'a [usize]) -> impl Iterator<Item = usize> + 'a {
    loads.iter().copied().filter(|load| circuit.fed[*load])
}

fn load_current(circuit: &Circuit, point: &Point, load: usize) -> f64 {
    let place = circuit.load_place(load);
    let (power, current) = (point.values[place], point.values[place + 1]);
    let drawn = if power > 0.0 { power / circuit.loads[load].across(&point.voltages) } else { 0.0 };
    drawn + current
}

fn comparable(circuit: &Circuit, (a, b): (usize, usize)) -> bool {
    let island = |node: usize| circuit.islands.get(node).copied().flatten();
    island(a).is_some() && island(a) == island(b)
}

fn voltage(circuit: &Circuit, point: &Point, (a, b): (usize, usize)) -> f64 {
    let at = |node: usize| circuit.rows[node].map_or(0.0, |row| point.voltages[row]);
    if comparable(circuit, (a, b)) { at(a) - at(b) } else { 0.0 }
}

/// How the current of a source changes with its own voltage, its resistance and its limit, at fixed terminals.
fn source_slopes(at: SourceAt) -> [f64; 3] {
    let resistance = -(at.emf - at.across).abs() * at.conductance * at.conductance;
    [at.conductance, resistance, if at.limit.is_finite() { 1.0 } else { 0.0 }]
}

fn direct_source(circuit: &Circuit, point: &Point, index: usize, gradient: &mut [f64], adjoint: &mut [f64]) {
    let at = source(circuit, point, index);
    let place = circuit.source_place(index);
    for (offset, slope) in source_slopes(at).into_iter().enumerate() {
        gradient[place + offset] += slope;
    }
    circuit.sources[index].inject(adjoint, -at.conductance);
}

/// Turns pulls into those of the network in which one source has changed over: one conductance more, or one less (the
/// formula of Sherman and Morrison).
fn change_over(circuit: &Circuit, point: &Point, index: usize, adjoint: &mut [f64]) -> Option<()> {
    /// What is left of a network that rests on this source alone is rounding.
    const NOTHING_LEFT: f64 = 1e-6;
    let (at, link) = (source(circuit, point, index), circuit.sources[index]);
    let more = if at.mode == Mode::Giving { -at.conductance } else { at.conductance };
    let mut answer = vec![0.0; adjoint.len()];
    link.inject(&mut answer, 1.0);
    point.slopes.solve(&circuit.pattern, &mut answer);
    let rest = 1.0 + more * link.across(&answer);
    if rest < NOTHING_LEFT {
        return None;
    }
    let part = more * link.across(adjoint) / rest;
    for (pull, answer) in adjoint.iter_mut().zip(&answer) {
        *pull -= part * answer;
    }
    Some(())
}

/// Adds what every number does by way of the voltages.
fn add_network(circuit: &Circuit, point: &Point, adjoint: &[f64], gradient: &mut [f64]) {
    for (edge, link) in circuit.edges.iter().enumerate() {
        let resistance = point.values[edge];
        gradient[edge] += link.across(adjoint) * link.across(&point.voltages) / (resistance * resistance);
    }
    for (index, link) in circuit.sources.iter().enumerate() {
        let (pull, place) = (link.across(adjoint), circuit.source_place(index));
        for (offset, slope) in source_slopes(source(circuit, point, index)).into_iter().enumerate() {
            gradient[place + offset] += pull * slope;
        }
    }
    for (load, link) in circuit.loads.iter().enumerate().filter(|(load, _)| circuit.fed[*load]) {
        let (pull, place) = (link.across(adjoint), circuit.load_place(load));
        gradient[place] -= pull / link.across(&point.voltages);
        gradient[place + 1] -= pull;
    }
}
