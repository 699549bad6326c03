//! What the search for the ends of ranges finds, against all corners and the ways between two of them.
//!
//! Where no source changes over, every end is at a corner. Where one just changes over, an end has one fact inside its
//! range and the others at ends: it lies on a way from one corner to the next. (With two sources at once it may lie
//! between four corners. That is rare; here it is told where the search goes beyond all ways.)

use super::ranges::everywhere;
use super::vehicles::Chance;
use super::*;

/// Points on every way from one corner to the next, in order.
struct Ways<'a> {
    circuit: &'a Circuit,
    ways: Vec<(usize, Vec<Point>)>,
}

/// The parts of a way at which points lie. Those beside the corners tell whether a corner is a peak.
const PARTS: [f64; 8] = [0.0, 0.001, 0.2, 0.4, 0.6, 0.8, 0.999, 1.0];

impl<'a> Ways<'a> {
    fn new(circuit: &'a Circuit) -> Self {
        let corners = everywhere(circuit, 1);
        let mut ways = Vec::new();
        for (bit, &place) in circuit.free.iter().enumerate() {
            for from in (0..corners.len()).filter(|corner| corner >> bit & 1 == 0) {
                let mut points = vec![corners[from].clone()];
                points.extend(PARTS[1..7].iter().map(|part| between(circuit, &corners[from], place, *part)));
                points.push(corners[from | 1 << bit].clone());
                ways.push((place, points));
            }
        }
        Self { circuit, ways }
    }

    /// The furthest at a corner, and the furthest there is.
    fn furthest(&self, value: impl Fn(&Point) -> f64) -> (f64, f64) {
        let values: Vec<_> =
            self.ways.iter().map(|(_, points)| points.iter().map(&value).collect::<Vec<f64>>()).collect();
        let corner = values.iter().map(|values| values[0].max(values[7])).fold(f64::NEG_INFINITY, f64::max);
        let mut most = corner;
        for ((place, points), values) in self.ways.iter().zip(&values) {
            let spread = |values: &[f64]| values.iter().map(|value| (value - values[0]).abs()).fold(0.0, f64::max);
            for at in (1..7).filter(|at| values[*at] > values[at - 1] && values[*at] >= values[at + 1]) {
                if values[at] + spread(values) > most {
                    most = most.max(self.peak(*place, points, at, &value));
                }
            }
        }
        (corner, most)
    }

    /// How far a result goes between the neighbours of a point, by thirds.
    fn peak(&self, place: usize, points: &[Point], at: usize, value: impl Fn(&Point) -> f64) -> f64 {
        let (mut from, mut to) = (PARTS[at - 1], PARTS[at + 1]);
        let at = |part| value(&between(self.circuit, &points[0], place, part));
        for _ in 0..34 {
            let third = (to - from) / 3.0;
            if at(from + third) < at(to - third) { from += third } else { to -= third }
        }
        at(f64::midpoint(from, to))
    }
}

fn between(circuit: &Circuit, corner: &Point, place: usize, part: f64) -> Point {
    let mut values = corner.values.clone();
    values[place] = circuit.low[place] + part * (circuit.high[place] - circuit.low[place]);
    operate(circuit, &values).expect("works between two corners at which it works")
}

fn measures(network: &Network) -> Vec<Measure<'static>> {
    let mut measures = vec![
        Measure::Voltages(&[(3, 6)]),
        Measure::Voltages(&[(1, 2), (2, 3)]),
        Measure::Voltages(&[(6, 5), (5, 0)]),
        Measure::Voltages(&[(1, 3), (6, 0)]),
        Measure::LoadCurrents(&[1]),
    ];
    measures.extend((0..network.edges.len()).map(Measure::EdgeCurrent));
    measures.extend((0..network.batteries.len()).map(Measure::BatteryCurrent));
    measures.extend((0..network.alternators.len()).map(Measure::AlternatorCurrent));
    measures
}

/// How the ends that the search finds compare with the furthest there are, each to a microvolt or a milliampere.
#[derive(Debug, Default)]
struct Tally {
    ends: usize,
    /// Ends at which a fact is inside its range.
    inside: usize,
    short: Vec<String>,
    /// Further out than all corners and ways: between four corners.
    beyond: Vec<String>,
}

impl Tally {
    fn add(&mut self, name: &str, network: &Network, measures: &[Measure]) {
        let Operating::Always(found) = solve(network) else { return };
        let circuit = Circuit::new(network);
        let ways = Ways::new(&circuit);
        for measure in measures {
            let same = if matches!(measure, Measure::Voltages(_)) { 1e-6 } else { 1e-3 };
            let (low, high) = found.range(*measure);
            for (way, found) in [(-1.0, -low), (1.0, high)] {
                let (corner, most) = ways.furthest(|point| way * measure.value(&circuit, point));
                self.ends += 1;
                self.inside += usize::from(most > corner + same);
                let told = format!("{name}: {measure:?} to {found}, there is {most}");
                if found < most - same {
                    self.short.push(told);
                } else if found > most + same {
                    self.beyond.push(told);
                }
            }
        }
    }
}

/// The search finds all ends but three of one vehicle, to which no point that it sets out from leads.
#[test]
fn ranges_of_vehicles_from_chance() {
    let mut tally = Tally::default();
    for seed in 0..30 {
        let network = Chance::new(seed, 5).vehicle();
        tally.add(&format!("vehicle {seed}"), &network, &measures(&network));
    }
    assert!(tally.ends > 900 && tally.inside > 40, "{tally:#?}");
    assert!(tally.beyond.is_empty() && tally.short.len() <= 3, "{tally:#?}");
    assert!(tally.short.iter().all(|told| told.starts_with("vehicle 6: EdgeCurrent")), "{tally:#?}");
}

/// Every end of these results is the furthest there is.
pub(super) fn all_are_found(network: &Network, measures: &[Measure]) {
    let mut tally = Tally::default();
    tally.add("all", network, measures);
    assert!(tally.ends == 2 * measures.len() && tally.short.is_empty() && tally.beyond.is_empty(), "{tally:#?}");
}

/// Resistances in milliohm from node to node.
fn milliohms<const N: usize>(edges: [(usize, usize, f64); N]) -> Vec<Edge> {
    edges.map(|(a, b, ohm)| edge(a, b, ohm / 1000.0)).to_vec()
}

/// An alternator behind its own strap to the body, controlled down to where the battery stands higher: it gives all or
/// nothing. Neither the worst nor the best corner leads to where it gives nothing; that is one to set out from.
#[test]
fn an_alternator_that_is_controlled_down() {
    let network = Network {
        edges: milliohms([(1, 2, 2.7), (2, 3, 2.4), (5, 0, 3.9), (6, 5, 1.5), (8, 0, 0.63)]),
        batteries: vec![Battery { emf: Range::new(12.6, 13.3), ..battery(1, 0, 0.0, 0.0056) }],
        alternators: vec![Alternator {
            negative: 8,
            voltage: Range::new(13.0, 14.0),
            ..alternator(1, 0.0, 0.0042, 68.0)
        }],
        loads: vec![load(3, 6, 210.0)],
    };
    all_are_found(&network, &[Measure::AlternatorCurrent(0), Measure::BatteryCurrent(0), Measure::EdgeCurrent(4)]);
}

/// Two straps of the engine, to the front and to the rear, and a second battery in the rear. The way back to the front carries
/// most where the alternator gives least of all, from where a search has to set out.
#[test]
fn a_return_between_two_straps() {
    let straps = [
        Edge { resistance: Range::new(0.003, 0.007), ..edge(8, 0, 0.0) },
        Edge { resistance: Range::new(0.002, 0.004), ..edge(8, 5, 0.0) },
    ];
    let network = Network {
        edges: [&milliohms([(1, 2, 1.9), (2, 3, 2.6), (5, 0, 4.1), (6, 5, 3.2)])[..], &straps].concat(),
        batteries: vec![battery(1, 0, 12.5, 0.0075), battery(2, 5, 12.3, 0.0047)],
        alternators: vec![Alternator {
            negative: 8,
            available: Range::new(20.0, 30.0),
            ..alternator(1, 14.0, 0.0017, 0.0)
        }],
        loads: vec![load(3, 6, 870.0)],
    };
    all_are_found(&network, &[2, 4, 5].map(Measure::EdgeCurrent));
}

/// A second battery in the rear, on the body, and an alternator of which all is known but what it has. The more it has, the
/// more it feeds to the rear, until the rear battery takes no part any more and then the front one neither: the drop on
/// the way is largest inside. Both corners agree with their slopes; the middle leads there.
#[test]
fn a_drop_that_is_largest_inside() {
    let network = Network {
        edges: milliohms([(1, 2, 0.97), (2, 3, 2.9), (5, 0, 3.9), (6, 5, 0.76), (8, 0, 0.95)]),
        batteries: vec![battery(1, 0, 12.0, 0.0071), battery(2, 5, 12.0, 0.0058)],
        alternators: vec![Alternator {
            negative: 8,
            available: Range::new(30.0, 100.0),
            ..alternator(1, 14.0, 0.0039, 0.0)
        }],
        loads: vec![load(3, 6, 850.0)],
    };
    all_are_found(
        &network,
        &[Measure::Voltages(&[(1, 2), (2, 3)]), Measure::LoadCurrents(&[0]), Measure::BatteryCurrent(1)],
    );
}

/// A second battery with its minus at an amplifier's, and an alternator at its limit. In the ground there the corner that
/// its slopes agree with is not the furthest: the other one lies where the second battery is idle.
#[test]
fn a_ground_beside_a_second_battery() {
    let body = Edge { resistance: Range::new(0.002, 0.007), ..edge(5, 0, 0.0) };
    let others = milliohms([(1, 2, 1.6), (2, 3, 1.4), (2, 4, 1.8), (6, 5, 1.3), (7, 5, 0.56), (8, 0, 2.4)]);
    let network = Network {
        edges: std::iter::once(body).chain(others).collect(),
        batteries: vec![battery(1, 0, 12.0, 0.003), battery(2, 6, 12.6, 0.008)],
        alternators: vec![Alternator { negative: 8, ..alternator(1, 15.0, 0.005, 116.0) }],
        loads: vec![Load { power: Range::new(500.0, 700.0), ..load(3, 6, 0.0) }, load(4, 7, 820.0)],
    };
    all_are_found(&network, &[Measure::EdgeCurrent(4), Measure::LoadCurrents(&[0]), Measure::BatteryCurrent(1)]);
}

/// A second battery with its own return to the front, and straps from the engine both to the front and to the body in the
/// rear. The one to the rear carries least where a battery just gives nothing: as the sources stand nothing leads there,
/// only the way that one would pull.
#[test]
fn a_strap_that_carries_least_where_a_battery_is_just_idle() {
    let network = Network {
        edges: milliohms([(1, 2, 4.5), (2, 4, 0.52), (5, 0, 1.7), (7, 5, 1.4), (8, 0, 2.5), (8, 5, 2.8)]),
        batteries: vec![battery(1, 0, 13.0, 0.0064), battery(2, 0, 13.0, 0.0072)],
        alternators: vec![Alternator {
            negative: 8,
            available: Range::new(30.0, 90.0),
            ..alternator(1, 14.0, 0.0041, 0.0)
        }],
        loads: vec![load(4, 7, 670.0)],
    };
    all_are_found(&network, &[Measure::EdgeCurrent(5), Measure::LoadCurrents(&[0]), Measure::AlternatorCurrent(0)]);
}

/// Two amplifiers with a link between their feeds, the second battery at one of them, an alternator just before its limit.
/// The end lies on the ridges of two sources, between four corners: on the way there both tangents have to be taken anew,
/// now the one that rises and now the one that falls.
#[test]
fn a_drop_with_a_link_between_two_amplifiers() {
    let feeds = milliohms([(1, 2, 3.9), (1, 2, 0.7), (2, 3, 0.95), (2, 4, 4.0), (3, 4, 2.3)]);
    let returns = milliohms([(5, 0, 0.2), (6, 5, 4.4), (7, 5, 0.94), (8, 0, 1.3)]);
    let cable = Range::new(0.0025, 0.0061);
    let network = Network {
        edges: [feeds, returns].concat(),
        batteries: vec![battery(1, 0, 12.0, 0.0058), battery(3, 6, 12.984, 0.0035)],
        alternators: vec![Alternator { negative: 8, resistance: cable, ..alternator(1, 13.816, 0.0, 104.58) }],
        loads: vec![
            Load { power: Range::new(240.0, 670.0), ..load(3, 6, 0.0) },
            Load { power: Range::new(450.0, 1100.0), current: Range::point(0.57), ..load(4, 7, 0.0) },
        ],
    };
    let mut tally = Tally::default();
    tally.add("link", &network, &[Measure::Voltages(&[(1, 2), (2, 3)])]);
    assert!(tally.short.is_empty() && tally.beyond.len() == 1, "{tally:#?}");
}

/// One battery, one amplifier: what the alternator gives at most is all it has, with the largest load. At its limit its
/// own voltage does not move its current, and what it has does; within its limit it is the other way round.
#[test]
fn the_most_that_an_alternator_gives() {
    let network = Network {
        edges: milliohms([(1, 2, 3.9), (2, 4, 3.4), (5, 0, 3.5), (7, 5, 3.0), (8, 0, 2.9)]),
        batteries: vec![battery(1, 0, 13.0, 0.0086)],
        alternators: vec![Alternator {
            negative: 8,
            available: Range::new(80.0, 100.0),
            ..alternator(1, 14.0, 0.0041, 0.0)
        }],
        loads: vec![Load { power: Range::new(300.0, 1000.0), ..load(4, 7, 0.0) }],
    };
    all_are_found(&network, &[Measure::AlternatorCurrent(0), Measure::BatteryCurrent(0), Measure::EdgeCurrent(4)]);
}
