//! What the search for the ends of ranges finds, against all corners and the ways between two of them.
//!
//! Where no source changes over, every end is at a corner. Where one just changes over, an end has one fact inside its
//! range and the others at ends: it lies on a way from one corner to the next. (With two sources at once it may lie
//! between four corners. That is rare, and only told here where the search finds it.)

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
        let at_corner = self.ways.iter().flat_map(|(_, points)| [&points[0], &points[7]]).map(&value);
        let corner = at_corner.fold(f64::NEG_INFINITY, f64::max);
        let inner = self.ways.iter().flat_map(|(place, points)| (1..7).map(move |at| (*place, points, at)));
        let best = inner.max_by(|one, other| value(&one.1[one.2]).total_cmp(&value(&other.1[other.2])));
        let (place, points, at) = best.expect("some fact has a range");
        if value(&points[at]) <= corner {
            return (corner, corner);
        }
        // Thirds of what is between its neighbours.
        let (mut from, mut to) = (PARTS[at - 1], PARTS[at + 1]);
        let at = |part| value(&between(self.circuit, &points[0], place, part));
        for _ in 0..50 {
            let third = (to - from) / 3.0;
            if at(from + third) < at(to - third) { from += third } else { to -= third }
        }
        (corner, corner.max(at(f64::midpoint(from, to))))
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
        Measure::LoadCurrent(1),
    ];
    measures.extend((0..network.edges.len()).map(Measure::EdgeCurrent));
    measures.extend((0..network.batteries.len()).map(Measure::BatteryCurrent));
    measures.extend((0..network.alternators.len()).map(Measure::AlternatorCurrent));
    measures
}

/// How the ends that the search finds compare with the furthest there are, each to a microvolt or a microampere.
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
        const SAME: f64 = 1e-6;
        let Operating::Always(found) = solve(network) else { return };
        let circuit = Circuit::new(network);
        let ways = Ways::new(&circuit);
        for measure in measures {
            let (low, high) = found.range(*measure);
            for (way, found) in [(-1.0, -low), (1.0, high)] {
                let (corner, most) = ways.furthest(|point| way * measure.value(&circuit, point));
                self.ends += 1;
                self.inside += usize::from(most > corner + SAME);
                let told = format!("{name}: {measure:?} to {found}, there is {most}");
                if found < most - SAME {
                    self.short.push(told);
                } else if found > most + SAME {
                    self.beyond.push(told);
                }
            }
        }
    }
}

/// Of the ends that lie inside some fact's range the search finds all but few. None of these stands at a load.
#[test]
fn ranges_of_vehicles_from_chance() {
    let mut tally = Tally::default();
    for seed in 0..40 {
        let network = Chance::new(seed, 5).vehicle();
        tally.add(&format!("vehicle {seed}"), &network, &measures(&network));
    }
    assert!(tally.ends > 1300 && tally.inside > 55, "{tally:#?}");
    assert!(tally.short.len() <= 12 && tally.beyond.len() <= 2, "{tally:#?}");
    assert!(!tally.short.iter().any(|told| told.contains("Load") || told.contains("(3, 6)")), "{tally:#?}");
}
