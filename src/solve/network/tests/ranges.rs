//! Ranges of results and the slopes that lead to their ends.

use super::search::all_are_found;
use super::*;

/// A drop over both ways of one loop is bounded jointly: what the body carries the cable does not.
#[test]
fn joint_bounds() {
    let wide = |a, b, low, high| Edge { a, b, resistance: Range::new(low, high) };
    let found = works(&Network {
        edges: vec![wide(1, 2, 0.004, 0.006), wide(3, 0, 0.0005, 0.002), wide(3, 0, 0.003, 0.005)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        alternators: Vec::new(),
        loads: vec![load(2, 3, 800.0)],
    });
    let body = found.current(1);
    // By hand: the body's part of the current is R2 / (R1 + R2); the whole current differs little.
    assert!(body.low() < body.middle() && body.low() > 0.55 * found.load_currents(&[0]).low());
    let (joint, apart) = (found.voltage_sum(&[(1, 2), (3, 0)]), found.voltage(1, 2) + found.voltage(3, 0));
    assert!(joint.high() <= apart.high() + 1e-12 && joint.low() >= apart.low() - 1e-12);
}

/// Slopes by the adjoint against differences of two solutions, every source giving.
#[test]
fn gradients_are_slopes() {
    let base = Network {
        edges: vec![edge(1, 2, 0.004), edge(2, 4, 0.003), edge(3, 0, 0.001), edge(3, 0, 0.004), edge(4, 5, 0.006)],
        batteries: vec![battery(1, 0, 12.6, 0.005), battery(4, 3, 12.7, 0.006)],
        alternators: vec![alternator(1, 12.5, 0.003, f64::INFINITY), alternator(2, 12.4, 0.004, f64::INFINITY)],
        loads: vec![load(2, 3, 800.0), Load { current: Range::point(1.0), ..load(5, 3, 700.0) }],
    };
    let measures = [
        Measure::Voltages(&[(5, 3)]),
        Measure::Voltages(&[(1, 2), (2, 4), (3, 0)]),
        Measure::EdgeCurrent(2),
        Measure::BatteryCurrent(1),
        Measure::AlternatorCurrent(0),
        Measure::AlternatorCurrent(1),
        Measure::LoadCurrents(&[1]),
    ];
    let count = Circuit::new(&base).low.len();
    for place in 0..count {
        let mut circuit = Circuit::new(&base);
        let value = circuit.low[place];
        if value.is_infinite() {
            continue;
        }
        let step = 1e-4 * value.max(1e-3);
        let middle = operate(&circuit, &circuit.low).expect("works");
        circuit.low[place] = value + step;
        let above = operate(&circuit, &circuit.low).expect("works");
        circuit.low[place] = value - step;
        let below = operate(&circuit, &circuit.low).expect("works");
        for measure in measures {
            let difference = (measure.value(&circuit, &above) - measure.value(&circuit, &below)) / (2.0 * step);
            let slope = measure.gradient(&circuit, &middle)[place];
            let scale = 1e-5 * difference.abs().max(1.0);
            assert!((slope - difference).abs() < scale, "{measure:?} {place}: {slope} against {difference}");
        }
    }
}

/// Two equal batteries on one cable, everything known by range: most power is E²/4R, least with E low and R high. By
/// hand: 12.0 V behind 45 mohm carry 800 W, 12.8 V behind 25 mohm 1638.4 W.
#[test]
fn best_and_worst_for_delivery() {
    let battery =
        || Battery { emf: Range::new(12.0, 12.8), resistance: Range::new(0.04, 0.06), ..battery(1, 0, 12.0, 0.04) };
    let network = |low, high| Network {
        edges: vec![Edge { resistance: Range::new(0.005, 0.015), ..edge(1, 2, 0.01) }],
        batteries: vec![battery(), battery()],
        alternators: Vec::new(),
        loads: vec![Load { power: Range::new(low, high), ..load(2, 0, low) }],
    };
    let Operating::Never { reach } = solve(&network(2048.0, 3200.0)) else { panic!("more than it can give") };
    near(reach.0, 800.0 / 3200.0, 1e-8);
    near(reach.1, 1638.4 / 2048.0, 1e-8);
    let Operating::Sometimes { best, reach } = solve(&network(700.0, 1600.0)) else { panic!("at best it works") };
    near(reach, 0.5, 1e-8);
    let volt = f64::midpoint(12.8, (12.8_f64 * 12.8 - 4.0 * 0.025 * 700.0).sqrt());
    assert!(best.voltage(2, 0).is_point());
    near(best.voltage(2, 0).low(), volt, 1e-9);
    let Operating::Always(always) = solve(&network(700.0, 790.0)) else { panic!("even at worst it works") };
    let volt = f64::midpoint(12.4, (12.4_f64 * 12.4 - 4.0 * 0.035 * 745.0).sqrt());
    near(always.nominal(Measure::Voltages(&[(2, 0)])), volt, 1e-9);
}

fn known(low: f64, high: f64) -> Range<Resistance> {
    Range::new(low, high)
}

/// The operating points at every choice of the facts on a grid.
pub(super) fn everywhere(circuit: &Circuit, steps: usize) -> Vec<Point> {
    let choices = (steps + 1).pow(u32::try_from(circuit.free.len()).expect("few"));
    let point = |mut choice: usize| {
        let mut values = circuit.low.clone();
        for &place in &circuit.free {
            #[allow(clippy::cast_precision_loss, reason = "a few steps")]
            let part = (choice % (steps + 1)) as f64 / steps as f64;
            choice /= steps + 1;
            values[place] += part * (circuit.high[place] - values[place]);
        }
        operate(circuit, &values).expect("works")
    };
    (0..choices).map(point).collect()
}

/// Every result's range holds what a grid of choices finds, and goes no further than between two points of it.
fn ranges_are_those_of_a_grid(network: &Network, steps: usize, measures: &[Measure]) {
    let (circuit, found) = (Circuit::new(network), works(network));
    let points = everywhere(&circuit, steps);
    for measure in measures {
        let values: Vec<f64> = points.iter().map(|point| measure.value(&circuit, point)).collect();
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = found.range(*measure);
        let (rounding, between) = (1e-9 * (1.0 + most.abs()), 0.02 * (most - least));
        assert!(low <= least + rounding && low >= least - rounding - between, "{measure:?}: {low}, grid {least}");
        assert!(high >= most - rounding && high <= most + rounding + between, "{measure:?}: {high}, grid {most}");
    }
}

/// Body and cable side by side on the way back: more in one is less in the other.
#[test]
fn ranges_of_a_return_by_two_ways() {
    let network = Network {
        edges: vec![
            Edge { resistance: known(0.004, 0.006), ..edge(1, 2, 0.0) },
            Edge { resistance: known(0.0005, 0.002), ..edge(3, 0, 0.0) },
            Edge { resistance: known(0.003, 0.005), ..edge(3, 0, 0.0) },
        ],
        batteries: vec![Battery { emf: Range::new(12.2, 12.8), ..battery(1, 0, 0.0, 0.005) }],
        alternators: Vec::new(),
        loads: vec![Load { power: Range::new(400.0, 800.0), ..load(2, 3, 0.0) }],
    };
    let drop = Measure::Voltages(&[(1, 2), (3, 0)]);
    let currents = [0, 1, 2].map(Measure::EdgeCurrent);
    let others = [drop, Measure::Voltages(&[(2, 3)]), Measure::LoadCurrents(&[0])];
    ranges_are_those_of_a_grid(&network, 4, &[&currents[..], &others].concat());
}

/// A feed to each of two amplifiers and a link between them: the link's current turns round within the ranges.
#[test]
fn ranges_of_a_link_whose_current_turns_round() {
    let network = Network {
        edges: vec![
            Edge { resistance: known(0.004, 0.012), ..edge(1, 2, 0.0) },
            Edge { resistance: known(0.004, 0.012), ..edge(1, 3, 0.0) },
            Edge { resistance: known(0.001, 0.02), ..edge(2, 3, 0.0) },
        ],
        batteries: vec![battery(1, 0, 12.6, 0.004)],
        alternators: Vec::new(),
        loads: vec![load(2, 0, 500.0), load(3, 0, 500.0)],
    };
    let found = works(&network).current(2);
    assert!(found.low() < -15.0 && found.high() > 15.0, "{found}");
    let measures = [Measure::EdgeCurrent(2), Measure::Voltages(&[(2, 3)]), Measure::LoadCurrents(&[0])];
    ranges_are_those_of_a_grid(&network, 10, &measures);
}

/// An alternator that comes to its limit within the ranges, and the battery that then takes over.
#[test]
fn ranges_over_a_source_that_changes_over() {
    let network = Network {
        edges: vec![Edge { resistance: known(0.002, 0.006), ..edge(1, 2, 0.0) }],
        batteries: vec![Battery { emf: Range::new(12.4, 12.8), ..battery(1, 0, 0.0, 0.01) }],
        alternators: vec![Alternator { available: Range::new(40.0, 70.0), ..alternator(1, 14.2, 0.003, 0.0) }],
        loads: vec![Load { power: Range::new(500.0, 1000.0), ..load(2, 0, 0.0) }],
    };
    let found = works(&network);
    assert_eq!(found.battery_current(0).low(), 0.0);
    assert!(found.battery_current(0).high() > 20.0 && found.alternator_current(0).high() == 70.0);
    let measures = [
        Measure::BatteryCurrent(0),
        Measure::AlternatorCurrent(0),
        Measure::EdgeCurrent(0),
        Measure::Voltages(&[(2, 0)]),
        Measure::Voltages(&[(1, 2)]),
    ];
    ranges_are_those_of_a_grid(&network, 8, &measures);
}

/// Two alternators on one post: by hand the one with 14.2 V carries all until 50 A; the other one, of 14.0 V, the rest.
#[test]
fn ranges_of_a_second_alternator() {
    let network = Network {
        edges: vec![Edge { resistance: known(0.002, 0.004), ..edge(1, 2, 0.0) }],
        batteries: vec![battery(1, 0, 12.6, 0.01)],
        alternators: vec![alternator(1, 14.2, 0.004, 70.0), alternator(1, 14.0, 0.005, 40.0)],
        loads: vec![Load { power: Range::new(500.0, 1100.0), ..load(2, 0, 0.0) }],
    };
    let found = works(&network);
    assert_eq!(found.alternator_current(1).low(), 0.0);
    assert!(found.alternator_current(1).high() > 5.0 && found.alternator_current(0).low() > 30.0);
    ranges_are_those_of_a_grid(&network, 12, &[Measure::AlternatorCurrent(0), Measure::AlternatorCurrent(1)]);
}

/// An alternator with a load of its own and one at a second battery: by hand the feed to the second carries most where
/// the alternator just comes to its limit. Before, more load lowers the voltage and the far load draws more; beyond, what
/// the near load takes is missing on the feed. So an end lies within the range of the near load, along with the others.
#[test]
fn ranges_with_an_end_on_a_ridge() {
    let network = Network {
        edges: vec![Edge { resistance: known(0.002, 0.006), ..edge(1, 2, 0.0) }],
        batteries: vec![battery(1, 0, 12.0, 0.01), battery(2, 0, 12.4, 0.01)],
        alternators: vec![alternator(1, 14.2, 0.02, 80.0)],
        loads: vec![
            Load { power: Range::new(100.0, 900.0), ..load(1, 0, 0.0) },
            Load { power: Range::new(400.0, 600.0), ..load(2, 0, 0.0) },
        ],
    };
    let (_, most) = works(&network).range(Measure::EdgeCurrent(0));
    let at = |near: f64| {
        let loads = vec![load(1, 0, near), load(2, 0, 600.0)];
        let edges = vec![edge(1, 2, 0.006)];
        works(&Network { edges, loads, ..network.clone() }).current(0).high()
    };
    assert!(most > at(100.0) + 0.5 && most > at(900.0) + 0.5, "{most}, {} and {}", at(100.0), at(900.0));
    let drop = Measure::Voltages(&[(1, 2)]);
    all_are_found(&network, &[drop, Measure::EdgeCurrent(0), Measure::BatteryCurrent(0), Measure::BatteryCurrent(1)]);
}

/// Slopes as if a source had changed over, against those of the network's matrix with its conductance put in or left out.
#[test]
fn changed_over_is_one_conductance_more_or_less() {
    let network = Network {
        edges: vec![edge(1, 2, 0.004), edge(2, 4, 0.003), edge(3, 0, 0.001), edge(3, 0, 0.004)],
        batteries: vec![battery(1, 0, 12.6, 0.005), battery(4, 3, 12.7, 0.006)],
        alternators: vec![alternator(1, 14.2, 0.003, 60.0)],
        loads: vec![load(2, 3, 1100.0), load(4, 3, 500.0)],
    };
    let circuit = Circuit::new(&network);
    let point = operate(&circuit, &circuit.low).expect("works");
    let modes = [0, 1, 2].map(|index| measure::source(&circuit, &point, index).mode);
    assert_eq!(modes, [point::Mode::Giving, point::Mode::Giving, point::Mode::Limited]);
    for turned in 0..3 {
        let mut other = circuit.edge_matrix(&point.values);
        for (index, link) in circuit.sources.iter().enumerate() {
            let gives = (modes[index] == point::Mode::Giving) != (index == turned);
            other.stamp(*link, if gives { 1.0 / point.values[circuit.source_place(index) + 1] } else { 0.0 });
        }
        for (load, link) in circuit.loads.iter().enumerate() {
            other.stamp(*link, -point.values[circuit.load_place(load)] / link.across(&point.voltages).powi(2));
        }
        assert!(other.factor(&circuit.pattern));
        let other = Point { slopes: other, ..point.clone() };
        for measure in [Measure::Voltages(&[(4, 3)]), Measure::EdgeCurrent(2), Measure::LoadCurrents(&[0])] {
            let found = measure.gradient_changed_over(&circuit, &point, turned).expect("the others hold the network");
            for (found, expected) in found.iter().zip(measure.gradient(&circuit, &other)) {
                near(*found, expected, 1e-5 * expected.abs().max(1.0));
            }
        }
    }
}

/// A network that rests on one source has no slopes without it.
#[test]
fn the_only_source_cannot_change_over() {
    let network = Network {
        edges: vec![edge(1, 2, 0.004)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        loads: vec![load(2, 0, 800.0)],
        ..Network::default()
    };
    let circuit = Circuit::new(&network);
    let point = operate(&circuit, &circuit.low).expect("works");
    assert_eq!(Measure::LoadCurrents(&[0]).gradient_changed_over(&circuit, &point, 0), None);
}

/// The current of a source that is idle or at its limit leans as it does when it just gives within its range.
#[test]
fn a_source_leans_the_same_on_both_sides_of_a_change_over() {
    let network = |emf, ampere| Network {
        edges: vec![edge(1, 2, 0.004), edge(3, 0, 0.001)],
        batteries: vec![battery(1, 0, 12.0, 0.006), battery(2, 3, emf, 0.005)],
        alternators: vec![alternator(1, 9.0, 0.002, 50.0), alternator(1, 14.2, 0.003, ampere)],
        loads: vec![load(2, 3, 900.0)],
    };
    let slopes = |measure: Measure, source, network| {
        let circuit = Circuit::new(&network);
        let point = operate(&circuit, &circuit.low).expect("works");
        (measure::source(&circuit, &point, source).mode, measure.gradient(&circuit, &point))
    };
    let agree = |measure, source, one, other, modes| {
        let (one, other) = (slopes(measure, source, one), slopes(measure, source, other));
        assert_eq!((one.0, other.0), modes);
        for (one, other) in one.1.into_iter().zip(other.1) {
            near(one, other, 1e-4 * other.abs().max(1.0));
        }
    };
    let volt = works(&network(10.0, 200.0)).voltage(2, 3).middle();
    let (idle, giving) = (network(volt - 1e-9, 200.0), network(volt + 1e-9, 200.0));
    agree(Measure::BatteryCurrent(1), 1, idle, giving, (point::Mode::Idle, point::Mode::Giving));
    let ampere = works(&network(13.9, 200.0)).alternator_current(1).middle();
    let (limited, giving) = (network(13.9, ampere - 1e-7), network(13.9, ampere + 1e-7));
    agree(Measure::AlternatorCurrent(1), 3, limited, giving, (point::Mode::Limited, point::Mode::Giving));
}
