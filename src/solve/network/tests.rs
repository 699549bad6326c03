//! Published worked examples and the corner cases of the model.
//!
//! Sources, read in the named books unless marked:
//! - OCP: `OpenStax` College Physics 2e (9 July 2026). OUP: `OpenStax` University Physics volume 2 (11 June 2026).
//! - LIEC: Lessons In Electric Circuits, 5th edition, volume I (direct current).
//!
//! Tolerances are half a unit of the last digit printed there. An ideal source of a book is a battery of 1 microohm.

use super::*;

fn edge(a: usize, b: usize, ohm: f64) -> Edge {
    Edge { a, b, resistance: Range::point(ohm) }
}

fn battery(positive: usize, negative: usize, volt: f64, ohm: f64) -> Battery {
    Battery { positive, negative, emf: Range::point(volt), resistance: Range::point(ohm) }
}

fn alternator(positive: usize, volt: f64, ohm: f64, ampere: f64) -> Alternator {
    Alternator {
        positive,
        negative: 0,
        voltage: Range::point(volt),
        resistance: Range::point(ohm),
        available: Range::point(ampere),
    }
}

fn load(positive: usize, negative: usize, watt: f64) -> Load {
    Load { positive, negative, power: Range::point(watt), current: Range::point(0.0) }
}

fn works(network: &Network) -> Solution {
    match solve(network) {
        Operating::Always(solution) => *solution,
        other => panic!("{other:?}"),
    }
}

/// A network of resistors on one source at nodes 1 and 0.
fn resistors(volt: f64, inner: f64, edges: &[(usize, usize, f64)]) -> Solution {
    works(&Network {
        edges: edges.iter().map(|&(a, b, ohm)| edge(a, b, ohm)).collect(),
        batteries: vec![battery(1, 0, volt, inner)],
        ..Network::default()
    })
}

#[track_caller]
fn near(found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "found {found}, printed {printed} ± {tolerance}");
}

/// The power lost in an edge of so many ohms.
fn lost(found: &Solution, edge: usize, ohm: f64) -> f64 {
    found.current(edge).middle().powi(2) * ohm
}

/// OCP, resistors in series: 12.0 V on 1, 6 and 13 ohm.
#[test]
fn series() {
    let found = resistors(12.0, 0.0, &[(1, 2, 1.0), (2, 3, 6.0), (3, 0, 13.0)]);
    near(found.battery_current(0).middle(), 0.600, 0.0005);
    for (edge, ohm, drop, watt) in [(0, 1.0, 0.600, 0.360), (1, 6.0, 3.60, 2.16), (2, 13.0, 7.80, 4.68)] {
        near(lost(&found, edge, ohm), watt, 0.005);
        near(found.voltage(edge + 1, (edge + 2) % 4).middle(), drop, 0.005);
    }
    near(found.voltage(2, 3).middle(), 3.60, 0.005);
}

/// OCP, the same three in parallel: 14.92 A in all; the branches are printed as 12.0, 2.00 and 0.92 A.
#[test]
fn parallel() {
    let found = resistors(12.0, 0.0, &[(1, 0, 1.0), (1, 0, 6.0), (1, 0, 13.0)]);
    near(found.battery_current(0).middle(), 14.92, 0.005);
    for (edge, ampere) in [(0, 12.0), (1, 2.00), (2, 0.92)] {
        near(found.current(edge).middle(), ampere, 0.005);
    }
}

/// OCP, series and parallel: 1 ohm of wire before 6 and 13 ohm: 2.35 A and 2.35 V lost in the wire.
#[test]
fn drop_in_a_wire() {
    let found = resistors(12.0, 0.0, &[(1, 2, 1.0), (2, 0, 6.0), (2, 0, 13.0)]);
    near(found.battery_current(0).middle(), 2.35, 0.005);
    near(found.voltage(1, 2).middle(), 2.35, 0.005);
}

/// OUP: four of 20 ohm and one of 10 ohm on 9 V: 0.1 A.
#[test]
fn five_in_series() {
    let edges = [(1, 2, 20.0), (2, 3, 20.0), (3, 4, 20.0), (4, 5, 20.0), (5, 0, 10.0)];
    near(resistors(9.0, 0.0, &edges).battery_current(0).middle(), 0.1, 0.000_05);
}

/// OUP: 1, 2 and 2 ohm in parallel on 3.00 V are 0.50 ohm.
#[test]
fn three_in_parallel() {
    let found = resistors(3.0, 0.0, &[(1, 0, 1.0), (1, 0, 2.0), (1, 0, 2.0)]);
    near(3.0 / found.battery_current(0).middle(), 0.50, 0.005);
}

/// LIEC, combination circuit: 24 V on (100 || 250) + (350 || 200) ohm: 120.78 mA, 8.627 V and 15.373 V.
#[test]
fn combination() {
    let found = resistors(24.0, 0.0, &[(1, 2, 100.0), (1, 2, 250.0), (2, 0, 350.0), (2, 0, 200.0)]);
    near(found.battery_current(0).middle(), 0.120_78, 0.000_005);
    near(found.voltage(1, 2).middle(), 8.627, 0.0005);
    near(found.voltage(2, 0).middle(), 15.373, 0.0005);
}

/// OCP: 20 || 20 || 10 ohm before 4 ohm on 36 V: 20, 20, 40 and 64 W, 144 W in all.
#[test]
fn losses() {
    let found = resistors(36.0, 0.0, &[(1, 2, 20.0), (1, 2, 20.0), (1, 2, 10.0), (2, 0, 4.0)]);
    let edges = [(0, 20.0, 20.0), (1, 20.0, 20.0), (2, 10.0, 40.0), (3, 4.0, 64.0)];
    for (edge, ohm, watt) in edges {
        near(lost(&found, edge, ohm), watt, 0.001);
    }
    near(edges.iter().map(|(edge, ohm, _)| lost(&found, *edge, *ohm)).sum(), 144.0, 0.001);
}

/// OCP and OUP: 12.0 V behind 0.100 ohm: 10 ohm takes 1.188 A at 11.9 V, 0.500 ohm takes 20.0 A at 10.0 V.
/// LIEC: 10 V behind 0.2 ohm on 1 ohm: 8.333 A; shorted 50 A.
#[test]
fn terminal_voltage() {
    for (volt, inner, ohm, ampere, terminal, tolerance) in [
        (12.0, 0.1, 10.0, 1.188, 11.88, 0.0005),
        (12.0, 0.1, 0.5, 20.0, 10.0, 0.0005),
        (10.0, 0.2, 1.0, 8.333, 8.333, 0.0005),
        (10.0, 0.2, 0.0, 50.0, 0.0, 0.0005),
    ] {
        let found = resistors(volt, inner, &[(1, 0, ohm)]);
        near(found.battery_current(0).middle(), ampere, tolerance);
        near(found.voltage(1, 0).middle(), terminal, 0.002);
    }
}

/// OCP: the terminal voltage falls 2.00 V when the current rises 5.00 A: 0.400 ohm inside.
#[test]
fn inner_resistance() {
    let terminal = |ampere: f64| {
        let draw = Load { current: Range::point(ampere), ..load(1, 0, 0.0) };
        let network = Network { batteries: vec![battery(1, 0, 12.0, 0.4)], loads: vec![draw], ..Network::default() };
        works(&network).voltage(1, 0).middle()
    };
    near(terminal(3.0) - terminal(8.0), 2.00, 1e-9);
}

/// OCP: a starter of 0.0500 ohm on 12.0 V behind 0.0100 ohm: 200 A, 10.0 V, 2.00 kW; with corroded joints that add
/// 0.0900 ohm: 80.0 A, 4.0 V, 320 W.
#[test]
fn starter_with_corroded_joints() {
    let sound = resistors(12.0, 0.01, &[(1, 0, 0.05)]);
    near(sound.current(0).middle(), 200.0, 0.05);
    near(lost(&sound, 0, 0.05), 2000.0, 5.0);
    let corroded = resistors(12.0, 0.01, &[(1, 2, 0.045), (2, 3, 0.05), (3, 0, 0.045)]);
    near(corroded.current(1).middle(), 80.0, 0.05);
    near(corroded.voltage(2, 3).middle(), 4.0, 0.05);
    near(lost(&corroded, 1, 0.05), 320.0, 0.5);
}

/// OCP: a headlight of 30.0 W and a starter of 2.40 kW, both rated at 12.0 V, in series: 29.6 W for both.
#[test]
fn headlight_before_a_starter() {
    let found = resistors(12.0, 0.0, &[(1, 2, 144.0 / 30.0), (2, 0, 144.0 / 2400.0)]);
    near(lost(&found, 0, 144.0 / 30.0) + lost(&found, 1, 144.0 / 2400.0), 29.6, 0.05);
}

/// LIEC, Thevenin form of 28 V behind 4 ohm and 7 V behind 1 ohm: 11.2 V, 0.8 ohm; into 2 ohm 8 V and 4 A.
#[test]
fn two_sources_by_thevenin() {
    let found = resistors(11.2, 0.8, &[(1, 0, 2.0)]);
    near(found.voltage(1, 0).middle(), 8.0, 0.0005);
    near(found.current(0).middle(), 4.0, 0.0005);
}

/// The same two sources as batteries: the book's 8 V send 1 A back into the 7 V source, which a charged battery
/// does not take; without it 28 V x 2 / (2 + 4) stand at the load.
#[test]
fn a_battery_takes_no_current() {
    let found = works(&Network {
        edges: vec![edge(1, 0, 2.0)],
        batteries: vec![battery(1, 0, 28.0, 4.0), battery(1, 0, 7.0, 1.0)],
        ..Network::default()
    });
    near(found.voltage(1, 0).middle(), 28.0 / 3.0, 1e-6);
    assert_eq!(found.battery_current(1).high(), 0.0);
    // Under its own voltage the second battery helps: 1 ohm pulls the pair to 5.6 V (book values in Norton form:
    // 14 A into 0.8 || 1 ohm).
    let helped = works(&Network {
        edges: vec![edge(1, 0, 1.0)],
        batteries: vec![battery(1, 0, 28.0, 4.0), battery(1, 0, 7.0, 1.0)],
        ..Network::default()
    });
    near(helped.voltage(1, 0).middle(), 14.0 * 0.8 / 1.8, 1e-9);
}

/// LIEC: most power from 11.2 V behind 0.8 ohm: 39.2 W.
#[test]
fn most_power() {
    let network = |watt| Network {
        batteries: vec![battery(1, 0, 11.2, 0.8)],
        loads: vec![load(1, 0, watt)],
        ..Network::default()
    };
    let just = works(&network(39.2 * (1.0 - 1e-9)));
    near(just.voltage(1, 0).middle(), 5.6, 0.001);
    let Operating::Never { reach } = solve(&network(39.2 * 1.25)) else { panic!("no operating point exists") };
    near(reach.0, 0.8, 1e-8);
    assert_eq!(reach.0, reach.1);
}

/// Computed, and ngspice 39, scipy and pandapower agree: 12.6 V, 10.52 mohm, 600 W: 12.077370 V, 49.679692 A,
/// limit 3772.8 W. The body of the circuit is 4 mohm of battery and 6.52 mohm of cable.
#[test]
fn constant_power() {
    let network = |watt| Network {
        edges: vec![edge(1, 2, 6.52e-3)],
        batteries: vec![battery(1, 0, 12.6, 4e-3)],
        loads: vec![load(2, 0, watt)],
        ..Network::default()
    };
    let found = works(&network(600.0));
    near(found.voltage(2, 0).middle(), 12.077_369_643_704_65, 1e-12);
    near(found.load_current(0).middle(), 49.679_691_66, 5e-9);
    let Operating::Never { reach } = solve(&network(4000.0)) else { panic!("over the limit") };
    near(reach.0 * 4000.0, 3772.8, 0.05);
}

/// The alternator holds its voltage up to what it has; then the battery helps. Figures by hand.
#[test]
fn alternator_regimes() {
    let network = |watt, available| Network {
        batteries: vec![battery(1, 0, 12.6, 0.01)],
        alternators: vec![alternator(1, 14.4, 0.002, available)],
        loads: vec![load(1, 0, watt)],
        ..Network::default()
    };
    let regulating = works(&network(500.0, 80.0));
    let volt = f64::midpoint(14.4, (14.4_f64 * 14.4 - 4.0 * 0.002 * 500.0).sqrt());
    near(regulating.voltage(1, 0).middle(), volt, 1e-9);
    assert_eq!(regulating.battery_current(0).high(), 0.0);

    let limited = works(&network(1500.0, 60.0));
    near(limited.alternator_current(0).middle(), 60.0, 1e-9);
    // 12.6 V and 60 A behind 10 mohm are 13.2 V behind 10 mohm.
    let volt = f64::midpoint(13.2, (13.2_f64 * 13.2 - 4.0 * 0.01 * 1500.0).sqrt());
    near(limited.voltage(1, 0).middle(), volt, 1e-9);
    near(limited.battery_current(0).middle(), (12.6 - volt) / 0.01, 1e-6);

    // Just more than the alternator has: from 14 V down to where the battery joins is a long way for a small lack.
    let short = works(&network(60.0 * 14.28 + 0.01, 60.0));
    assert!(short.voltage(1, 0).middle() < 12.6 && short.battery_current(0).low() > 0.0);
}

/// Parts that no source reaches are told, not solved.
#[test]
fn dead_parts() {
    let found = works(&Network {
        edges: vec![edge(1, 2, 0.01), edge(3, 4, 0.01), edge(5, 0, 0.001)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        alternators: vec![Alternator { positive: 9, negative: 10, ..alternator(0, 14.0, 0.001, 0.0) }],
        loads: vec![load(2, 0, 100.0), load(4, 0, 100.0), load(3, 4, 100.0), load(5, 0, 100.0), load(2, 7, 9.0)],
    });
    assert_eq!(found.unfed(), [1, 2, 3, 4]);
    assert_eq!((found.is_live(2), found.is_live(4), found.is_live(9), found.is_live(99)), (true, false, false, false));
    assert_eq!(found.load_current(1), Range::point(0.0));
    assert_eq!(found.voltage(4, 0), Range::point(0.0));
    near(found.load_current(0).middle(), 100.0 / found.voltage(2, 0).middle(), 1e-9);
    let nothing = works(&Network { loads: vec![load(1, 0, 5.0)], ..Network::default() });
    assert_eq!(nothing.unfed(), [0]);
}

/// A terminal behind an idle battery stands at that battery's own voltage.
#[test]
fn idle_battery_alone() {
    let found = works(&Network {
        edges: vec![edge(2, 3, 0.001)],
        batteries: vec![battery(1, 0, 14.0, 0.005), battery(2, 0, 12.5, 0.005)],
        ..Network::default()
    });
    near(found.voltage(3, 0).middle(), 12.5, 1e-6);
}

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
    assert!(body.low() < body.middle() && body.low() > 0.55 * found.load_current(0).low());
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
        Measure::LoadCurrent(1),
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

/// Two vehicles side by side: what one does is nothing to the other, and no voltage stands between them.
#[test]
fn two_islands() {
    let found = works(&Network {
        edges: vec![edge(1, 2, 0.01), edge(4, 5, 0.02)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        alternators: vec![Alternator { positive: 4, negative: 3, ..alternator(0, 14.4, 0.005, 100.0) }],
        loads: vec![load(2, 0, 120.0), Load { current: Range::point(10.0), ..load(5, 3, 0.0) }],
    });
    assert!(found.unfed().is_empty());
    near(found.voltage(5, 3).middle(), 14.4 - 10.0 * 0.025, 1e-9);
    near(found.alternator_current(0).middle(), 10.0, 1e-9);
    let ampere = found.battery_current(0).middle();
    near(ampere * (12.6 - ampere * 0.015), 120.0, 1e-6);
    assert_eq!((found.voltage(1, 4), found.voltage(3, 0)), (Range::point(0.0), Range::point(0.0)));
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
fn everywhere(circuit: &Circuit, steps: usize) -> Vec<Point> {
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
    let others = [drop, Measure::Voltages(&[(2, 3)]), Measure::LoadCurrent(0)];
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
    let measures = [Measure::EdgeCurrent(2), Measure::Voltages(&[(2, 3)]), Measure::LoadCurrent(0)];
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

/// 12 V behind 100 mohm give 120 A into a short and no more: what asks for 130 A would turn the voltage round.
#[test]
fn no_current_beyond_a_short() {
    let network = |ampere| Network {
        batteries: vec![battery(1, 0, 12.0, 0.1)],
        loads: vec![Load { current: Range::point(ampere), ..load(1, 0, 0.0) }],
        ..Network::default()
    };
    near(works(&network(119.0)).voltage(1, 0).middle(), 0.1, 1e-9);
    let Operating::Never { reach } = solve(&network(130.0)) else { panic!("more than a short takes") };
    near(reach.0, 12.0 / 13.0, 1e-6);
}

/// A wire laid from a post back to the same post carries nothing and changes nothing.
#[test]
fn a_wire_with_both_ends_on_one_post() {
    let network = |more: &[Edge]| Network {
        edges: [&[edge(1, 2, 0.01)], more].concat(),
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        loads: vec![load(2, 0, 300.0)],
        ..Network::default()
    };
    let (plain, looped) = (works(&network(&[])), works(&network(&[edge(2, 2, 0.001)])));
    assert_eq!(looped.voltage(2, 0), plain.voltage(2, 0));
    assert_eq!(looped.current(1), Range::point(0.0));
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
        for measure in [Measure::Voltages(&[(4, 3)]), Measure::EdgeCurrent(2), Measure::LoadCurrent(0)] {
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
    assert_eq!(Measure::LoadCurrent(0).gradient_changed_over(&circuit, &point, 0), None);
}
